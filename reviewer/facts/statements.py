"""What the user states beside the layers, with what such a text says in plain terms.

People write `none`, `no drain`, `1/150` or `R-19 glass fiber batts`; rules need yes or no and numbers.
"""

from __future__ import annotations

import re

from reviewer.facts.book import Book, Origin
from reviewer.model.section import Section

_NEGATIVE = re.compile(r"(no|none|not|nothing|without|never|absent|missing|unsealed|unknown)\b")
_RATIO = re.compile(r"(\d+(?:\.\d+)?)\s*(?:/|:)\s*(\d+(?:\.\d+)?)")
_PERCENT = re.compile(r"(\d+(?:\.\d+)?)\s*(?:%|percent\b)")
_FIBER = re.compile(r"\b(fiber|fibre|glass fiber|fiberglass|batts?|wool|cellulose)\b")
_FOAM = re.compile(r"\b(foam|spray|sprayed|rigid|polystyrene|polyiso\w*|xps|eps)\b")


def present(says: str) -> bool:
    """Whether a statement says that the thing is there.

    >>> [present(text) for text in ("yes", "None", "no drain", "footing drain", "not checked")]
    [True, False, False, True, False]
    """
    return _NEGATIVE.match(says.strip().casefold()) is None


def ratio(says: str) -> float | None:
    """The first ratio or percentage of a statement.

    >>> ratio("1/150"), ratio("1:300 at the ridge"), ratio("45 %"), ratio("enough")
    (0.006666666666666667, 0.0033333333333333335, 0.45, None)
    """
    if (m := _RATIO.search(says)) is not None:
        return float(m[1]) / float(m[2]) if float(m[2]) else None
    if (m := _PERCENT.search(says)) is not None:
        return float(m[1]) / 100.0
    return None


def fiber_only(says: str) -> bool:
    """Whether a statement names fibrous insulation and no foam.

    >>> [fiber_only(text) for text in ("R-19 batts", "2 in foam, then batts", "bare")]
    [True, False, False]
    """
    lower = says.casefold()
    return _FIBER.search(lower) is not None and _FOAM.search(lower) is None


def statement_facts(section: Section, book: Book) -> None:
    """One fact for each subject of the section's `known`."""
    read = Origin("computed", "read from the statement")
    for about, says in section.known.items():
        r = book.record("statement", about, f"stated: {about}")
        r.put("about", about)
        r.put("says", says)
        r.put("present", present(says), read)
        r.put("fiber_only", fiber_only(says), read)
        if (value := ratio(says)) is not None:
            r.put("ratio", value, read)
