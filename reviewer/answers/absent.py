"""Layers that a text names and that are not in the section: taken out, planned but not built, or of another part.

A text tells a history, too: what was torn off, what the plans showed, what the neighbor has. Such layers are denied here as
if the text said `no`, so that they are neither put in nor assumed.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from reviewer.answers.intents import Pattern, compiled, line_of, words_of
from reviewer.answers.lexicon import data
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Mention

_TAKEN = frozenset(
    ("tore", "torn", "ripped", "pulled", "stripped", "demoed", "demolished", "gutted", "scraped", "took", "removed", "off", "down", "out", "away")
)  # fmt: skip
"""Words for what was there until it was taken away."""
_TURNS = frozenset(("but", "while", "whereas", "though"))
_SOMEBODY = frozenset(("neighbor", "neighbors", "neighbour", "brother", "sister", "friend", "cousin", "parent", "uncle", "aunt", "buddy"))  # fmt: skip
_SAYING = frozenset(("say", "tell", "telling", "told", "said", "want", "insist", "swear", "think", "claim", "suggest", "offer", "bought"))  # fmt: skip
_THEIRS = frozenset(("his", "her", "hers", "their", "theirs"))
_HAS = frozenset(
    (
        "has",
        "had",
        "have",
        "put",
        "used",
        "uses",
        "got",
        "built",
        "is",
        "was",
        "s",
        "did",
        "house",
        "place",
        "wall",
        "roof",
    )
)
_OURS = frozenset(("our", "ours", "mine", "my", "we", "i"))


@cache
def _patterns() -> tuple[Pattern, ...]:
    return tuple(compiled(text) for text in data("absent.yaml")["absent"])


def deny(lexemes: list[Lexeme], mentions: Sequence[Mention]) -> None:
    """Mark what a sentence names as not there."""
    if not mentions:
        return
    line, starts = line_of(lexemes)
    words = words_of(line)
    for pattern in _patterns():
        found = pattern.search(line, words)
        if found is not None and found["s"]:
            x = lexemes[starts.index(found.start("s"))]
            for m in mentions:
                if m.lexeme is x:
                    m.negated, m.alternative_to = True, None
                    m.removed = bool(_TAKEN & set(found[0].split()))
    _of_another_part(lexemes, mentions)


def _of_another_part(lexemes: list[Lexeme], mentions: Sequence[Mention]) -> None:
    """`The roof has polyiso but the wall is …`: what stands on the side of the turn that tells less is of the other part."""
    turn = next((x for x in lexemes if x.sort == "word" and x.value in _TURNS), None)
    if turn is None:
        return
    kinds = [
        {x.value.partition("/")[0] for x in lexemes if x.sort == "kind" and (x.end <= turn.start) is before}
        for before in (True, False)
    ]
    if len(kinds[0]) != 1 or len(kinds[1]) != 1 or kinds[0] == kinds[1]:
        return
    sides = [[m for m in mentions if (m.lexeme.end <= turn.start) is before] for before in (True, False)]
    if len(sides[0]) == len(sides[1]):
        return
    for m in min(sides, key=len):
        m.negated, m.alternative_to = True, None


def of_somebody_else(lexemes: list[Lexeme], rest: Sequence[Lexeme]) -> int:
    """Where a sentence begins to tell of the neighbor's section, the rest being one's own; -1 where it does not."""
    if not any(x.sort == "word" and x.value in _OURS for x in rest):
        return -1
    for k, x in enumerate(lexemes):
        if x.value not in _SOMEBODY and x.value.removesuffix("s") not in _SOMEBODY:
            continue
        if x.text.lower().endswith(("'s", "’s")) or any(y.value in _HAS for y in lexemes[k + 1 : k + 4]):
            return x.start
    return -1


__all__ = ["deny", "of_somebody_else"]
