"""Names of materials as people write them: the library's are in lower case, abbreviations are not."""

from __future__ import annotations

import re

_ABBREVIATIONS = re.compile(r"\b(?:epdm|pvc|tpo|i{1,3}|iv)\b")


def shown_name(name: str) -> str:
    """A material's name for people.

    >>> shown_name("tpo membrane"), shown_name("expanded polystyrene board type ii")
    ('TPO membrane', 'expanded polystyrene board type II')
    """
    return _ABBREVIATIONS.sub(lambda m: m[0].upper(), name)
