"""Words of one sentence that tell a vented roof only together: a channel or a gap that opens at the eave and the ridge."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from reviewer.answers.lexicon import normal
from reviewer.answers.scan import Lexeme, sentences

_LOW = frozenset(("eave", "soffit"))
_HIGH = frozenset(("ridge", "peak"))
_GAPS = frozenset(("channel", "gap", "space", "slot", "passage", "air space", "airspace", "cavity", "air gap"))
"""Words for a space that says nothing of what it is by itself."""
_SPACE = "1-1/2 in air space vented"
_NEAR = 10
"""Words between the ends of a roof and what opens there."""
_JOINED = 3
"""Words between the two ends where they are told as a pair: `ridge + soffit`."""


def tell_vents(text: str, lexemes: Sequence[Lexeme]) -> None:
    """Read what opens at both ends of a roof as a vented space, and the two ends as one where nothing is named between.

    >>> from reviewer.answers.scan import scan
    >>> text = "a 2 in channel under the deck, open at eave and ridge"
    >>> found = scan(text); tell_vents(text, found); [x.reads for x in found if x.sort == "space"]
    ['1-1/2 in air space vented']
    """
    for run in _sentences(text, lexemes):
        low, high = _first(run, _LOW), _first(run, _HIGH)
        if low < 0 or high < 0 or any(_vented(x) for x in run):
            continue
        first, last = sorted((low, high))
        near = run[max(first - _NEAR, 0) : last + _NEAR]
        gap = next((x for x in near if _word(x) in _GAPS and x.sort in ("word", "part", "other", "space")), None)
        if gap is None and last - first <= _JOINED and all(x.sort == "word" for x in run[first + 1 : last]):
            gap = run[first]
        if gap is not None:
            gap.sort, gap.value, gap.reads, gap.confidence = "space", _SPACE, _SPACE, 1.0
            for x in (run[low], run[high]):
                if x is not gap:
                    x.sort = "word"


def _sentences(text: str, lexemes: Sequence[Lexeme]) -> Iterator[list[Lexeme]]:
    for start, end, _ in sentences(text):
        yield [x for x in lexemes if start <= x.start < end]


def _word(x: Lexeme) -> str:
    return normal(x.text)


def _first(run: list[Lexeme], words: frozenset[str]) -> int:
    return next((k for k, x in enumerate(run) if _word(x).removesuffix("s") in words), -1)


def _vented(x: Lexeme) -> bool:
    """Whether it is a vented space already; battens are, and a vent is."""
    return x.sort == "space" and x.value.endswith("vented")
