"""What was proposed, demanded or would be left out in a statement before a question that names no layer itself:
`A roofer wants to put foam over it. Should I let him?`"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import cast

from reviewer.answers.intents import LAYERS, Asked, Pattern, compiled, line_of, meant, words_of
from reviewer.answers.lexicon import data, normal
from reviewer.answers.scan import Lexeme
from reviewer.reply import Intent

_ASKS: tuple[str, ...] = ("leaving out", "needed", "doing")
"""What a question can ask of a proposal, the surest words first."""
_RESULT: dict[str, Intent] = {"needed": "need", "leaving out": "leave out"}
_BY_INTENT: dict[Intent, str] = {"need": "needed", "leave out": "leaving out", "add": "doing"}
_FEW = 2
"""Layers up to which a statement is about one, and sets out no section."""


@cache
def _offers(tier: str) -> tuple[tuple[Intent, str, Pattern], ...]:
    return tuple(
        (cast(Intent, row["intent"]), text, compiled(text))
        for row in data("proposals.yaml")[tier]
        for text in row["patterns"]
    )


@cache
def _asks() -> dict[str, tuple[Pattern, ...]]:
    return {k: tuple(compiled(p) for p in data("proposals.yaml")["asks"][k]) for k in _ASKS}


@cache
def _past() -> tuple[Pattern, ...]:
    return tuple(compiled(p) for p in data("proposals.yaml")["past"])


@cache
def _explaining() -> tuple[Pattern, ...]:
    return tuple(compiled(p) for p in data("proposals.yaml")["explaining"])


def proposed(lexemes: list[Lexeme], decided: bool = False, empty: bool = False) -> Asked | None:
    """What a statement proposes to add or to leave out: "we want to skip the poly". `decided`: it is known that a
    proposal is asked about, and fainter words for one will do; `empty`: the question says nothing by itself."""
    line, starts = line_of(lexemes)
    words = words_of(line)
    layers = sum(x.sort in LAYERS for x in lexemes)
    past = any(p.search(line, words) for p in _past())
    others = empty and layers <= _FEW and not past
    for tier in ("plainly", *(("where decided",) * (decided or others)), *(("of others",) * others)):
        for intent, text, pattern in _offers(tier):
            m = pattern.search(line, words)
            if m is None or not m["s"]:
                continue
            last = next((i for i, s in enumerate(starts) if s >= m.end()), len(lexemes))
            at = meant(intent, text, lexemes, starts.index(m.start("s")), last)
            if intent != "add" or lexemes[max(at - 1, 0)].sort != "negation":
                return Asked(intent, at, 0, text)
    return None


def asks(question: Asked, lexemes: list[Lexeme]) -> str:
    """What a question asks of a proposal: `doing` it, whether it is `needed`, `leaving out`; empty where it may be
    about anything."""
    plain = _BY_INTENT.get(question.intent, "")
    line, _ = line_of(lexemes)
    words = words_of(line)
    said = [k for k in _ASKS if any(p.search(line, words) for p in _asks()[k])]
    if question.intent == "add":
        return "leaving out" if "leaving out" in said else plain
    return plain if question.intent == "leave out" else (*said, "doing" if plain else "")[0]


_LEAVING = frozenset(("skip", "omit", "delete", "drop", "scrap", "ditch"))


def objectless(lexemes: list[Lexeme]) -> bool:
    """Whether something is left out that the sentence does not name: `so ok to skip, no?`"""
    after = [*(x.sort for x in lexemes[1:]), "break"]
    return any(normal(x.text) in _LEAVING and sort == "break" for x, sort in zip(lexemes, after, strict=True))


def _names_few(statement: list[Lexeme], most: int = _FEW + 1) -> bool:
    """Whether a statement names a layer or two, and sets out no section."""
    return sum(x.sort in LAYERS for x in statement) <= most


def taken_up(
    question: Asked, lexemes: list[Lexeme], statements: Sequence[list[Lexeme]], empty: bool
) -> tuple[Asked, list[Lexeme]] | None:
    """The proposal that a question without a layer of its own is about, among the statements before it, the nearest
    first: the question as asked about it, and the lexemes of proposal and question in one. `empty`: the question says
    nothing by itself."""
    how = asks(question, lexemes)
    for n, statement in enumerate(statements):
        about_one = how == "doing" or _names_few(statement, _FEW)
        found = proposed(
            statement, decided=bool(how) and about_one, empty=not n and (empty or how == "doing")
        )
        lists = not how and found is not None and found.intent == "add" and not _names_few(statement)
        if found is None or lists or (not how and n and found.intent != "leave out"):
            continue
        intent = _RESULT.get(how, found.intent) if found.intent != "which" else "which"
        if how == "doing" and intent == "need":
            intent = "add"
        how = how or "doing" * empty
        return Asked(intent, found.subject, 0, f"{how} {found.pattern}"), [*statement, *lexemes]
    if how in _RESULT and question.intent == "safe here":
        return Asked(_RESULT[how], -1, 0, how), lexemes
    return None


def explains(lexemes: list[Lexeme]) -> bool:
    """Whether a question is only what something means that was said before it."""
    line, _ = line_of(lexemes)
    words = words_of(line)
    return any(p.search(line, words) for p in _explaining())


__all__ = ["asks", "explains", "objectless", "proposed", "taken_up"]
