"""Value tests: the text after a field's name, such as `<= 1 perm` or `wall or roof`.

    test      = part { " or " part }            at least one part holds
    part      = term { " and " term }           all terms hold
    term      = "known" | "not" WORD | WORD | OP operand
    OP        = "<" | "<=" | ">" | ">=" | "=" | "!="
    operand   = quantity with its unit | plain number | word | alias.field

Words may hold spaces, `and` and `or` where the field's vocabulary has such words ("top and bottom").
A field that is not known makes every test false.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from reviewer.document import one_of
from reviewer.engine.types import Value
from reviewer.errors import nearest
from reviewer.facts.vocabulary import Field
from reviewer.units import UnitError
from reviewer.units import parse as read_quantity

KNOWN = "known"
"""The operator of a test that only asks for the field to be there."""

TEXTUAL = ("word", "text")
WHOLE = ("index", "count")
"""Dimensions whose values are whole numbers."""

_OPERATORS = {"<": "<", "<=": "<=", ">": ">", ">=": ">=", "=": "==", "==": "==", "!=": "!="}
_OPERATION = re.compile(r"(<=|>=|==|!=|=|<|>|≤|≥|≠)\s*(.*)", re.DOTALL)
_REFERENCE = re.compile(r"([A-Za-z_][A-Za-z0-9_-]*)\.([A-Za-z_][A-Za-z0-9_]*)")
_PLAIN_NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)")
_FANCY = {"≤": "<=", "≥": ">=", "≠": "!="}


@dataclass(frozen=True, slots=True)
class Reference:
    """A field of the fact that another condition has matched."""

    alias: str
    field: str

    def __str__(self) -> str:
        return f"{self.alias}.{self.field}"


@dataclass(frozen=True, slots=True)
class Comparison:
    """One term of a test. `op` is an engine operator or KNOWN."""

    op: str
    operand: Value | Reference
    text: str
    """The operand as written: `1 perm`."""


Alternatives = tuple[tuple[Comparison, ...], ...]
"""At least one of them must hold; of one, all comparisons."""


class ValueTestError(ValueError):
    """A value test that can't be read: what part of the text, and what was expected."""

    def __init__(self, message: str, offset: int, length: int, expected: str = "", near: str = ""):
        super().__init__(message)
        self.message, self.offset, self.length = message, offset, length
        self.expected, self.nearest = expected, near


def parse_value_test(text: str, field: Field) -> Alternatives:
    """Read the test of one field; quantities come out in SI.

    >>> perms = Field("permeance", "permeance when damp")
    >>> ((test,),) = parse_value_test("<= 1 perm", perms)
    >>> test.op, test.text, f"{test.operand:.4g}"
    ('<=', '1 perm', '5.721e-11')
    >>> kinds = Field("word", "kind", ("wall", "roof", "slab"))
    >>> [[t.operand for t in part] for part in parse_value_test("wall or roof", kinds)]
    [['wall'], ['roof']]
    >>> place = Field("index", "place from the room")
    >>> [(t.op, str(t.operand)) for t in parse_value_test("> inner.index and < outer.index", place)[0]]
    [('>', 'inner.index'), ('<', 'outer.index')]

    Raises ValueTestError.
    """
    parts = _merged(_split(text, "or"), field, " or ")
    return tuple(_part(part, offset, field, len(parts) > 1) for part, offset in parts)


def _part(text: str, offset: int, field: Field, one_of_several: bool) -> tuple[Comparison, ...]:
    terms = _merged(_split(text, "and", offset), field, " and ")
    comparisons = tuple(_term(term, at, field) for term, at in terms)
    if one_of_several and any(c.op == "!=" for c in comparisons):
        raise ValueTestError(
            'a "not" or "!=" joined by "or" nearly always holds', offset, len(text), '"and" between them'
        )
    if len(comparisons) > 1 and any(c.op == KNOWN for c in comparisons):
        raise ValueTestError(
            '"known" adds nothing to another test',
            offset,
            len(text),
            "the other test alone: it holds for known values only",
        )
    return comparisons


def _split(text: str, joiner: str, offset: int = 0) -> list[tuple[str, int]]:
    """The pieces between joiners and where each starts, spaces stripped."""
    joiners = list(re.finditer(rf"(?:^|(?<=\s)){joiner}(?=\s|$)", text))
    pieces: list[tuple[str, int]] = []
    start = 0
    for m in [*joiners, None]:
        piece = text[start : m.start() if m else len(text)]
        indent = len(piece) - len(piece.lstrip())
        pieces.append((piece.strip(), offset + start + indent))
        start = m.end() if m else 0
    for n, (piece, _) in enumerate(pieces):
        if not piece and joiners:
            beside = joiners[max(n - 1, 0)]
            raise ValueTestError(
                f'something is missing beside "{joiner}"', offset + beside.start(), len(joiner), "a test"
            )
        if not piece:
            raise ValueTestError("the test is empty", offset, len(text), "a test")
    return pieces


def _merged(pieces: list[tuple[str, int]], field: Field, joiner: str) -> list[tuple[str, int]]:
    """Put words of the vocabulary that hold the joiner together again, the longest first."""
    if len(pieces) == 1 or not field.words:
        return pieces
    words = {w for word in field.words for w in (word, f"not {word}", f"= {word}", f"!= {word}")}
    out: list[tuple[str, int]] = []
    i = 0
    while i < len(pieces):
        for j in range(len(pieces), i, -1):
            joined = joiner.join(p for p, _ in pieces[i:j])
            if j == i + 1 or joined in words:
                out.append((joined, pieces[i][1]))
                i = j
                break
    return out


def _term(text: str, offset: int, field: Field) -> Comparison:
    if text == KNOWN:
        return Comparison(KNOWN, "", "")
    m = _OPERATION.fullmatch(text)
    if m:
        op, operand = _OPERATORS[_FANCY.get(m[1], m[1])], m[2].strip()
        at = offset + m.start(2)
        if not operand:
            raise ValueTestError(f'nothing follows "{m[1]}"', offset, len(text), _wanted(field))
        reference = _REFERENCE.fullmatch(operand)
        if op not in ("==", "!=") and field.dimension in TEXTUAL:
            raise ValueTestError(
                f'words can\'t be ordered with "{m[1]}"', offset, len(m[1]), f"a word: {_wanted(field)}"
            )
        if reference:
            return Comparison(op, Reference(reference[1], reference[2]), operand)
        return Comparison(op, _operand(operand, at, field), operand)
    negated = text.startswith("not ") and text not in field.words
    word = text.removeprefix("not ").strip() if negated else text
    at = offset + len(text) - len(word)
    if field.dimension in TEXTUAL:
        return Comparison("!=" if negated else "==", _operand(word, at, field), word)
    if _REFERENCE.fullmatch(word):
        raise ValueTestError(
            f'"{word}" has no operator before it', at, len(word), f'a comparison, such as "> {word}"'
        )
    if field.dimension in WHOLE and _PLAIN_NUMBER.fullmatch(word):
        return Comparison("!=" if negated else "==", _operand(word, at, field), word)
    raise ValueTestError(f'"{text}" is not a test of {_a(field)}', offset, len(text), _wanted(field))


def _operand(text: str, offset: int, field: Field) -> Value:
    """A constant of the field's dimension, in SI."""
    try:
        return read_constant(text, field)
    except UnitError as error:
        raise ValueTestError(error.message, offset, len(text), error.expected, error.nearest) from None


def read_constant(text: str, field: Field) -> Value:
    """One value of a field: a word, a text, a whole number, or a quantity in SI.

    >>> read_constant("yes", Field("word", "wet", ("yes", "no"))), read_constant("3", Field("index", "place"))
    ('yes', 3.0)

    Raises reviewer.units.UnitError: not one of the field's words, or not one quantity of its dimension.
    """
    text = text.strip()
    if field.dimension == "text":
        if not text:
            raise UnitError("the text is empty", "a text")
        return text
    if field.dimension == "word":
        if text not in field.words:
            raise UnitError(
                f'"{text}" is not a word of this field', one_of(field.words), nearest(text, field.words)
            )
        return text
    if field.dimension == "index":
        if not re.fullmatch(r"\d{1,4}", text):
            raise UnitError(f'"{text}" is not the place of a layer', "a whole number, 0 for the room side")
        return float(text)
    span = read_quantity(text, field.dimension)
    if not span.exact:
        raise UnitError(f'"{text}" is a range', f"one value of {field.dimension}")
    if field.dimension == "count" and span.low != int(span.low):
        raise UnitError(f'"{text}" is not a whole number', "a whole number")
    return float(span.low)


def _a(field: Field) -> str:
    names = {"word": "a word", "text": "a text", "index": "a place of a layer", "count": "a count"}
    return names.get(field.dimension, f"the dimension {field.dimension}")


def _wanted(field: Field) -> str:
    from reviewer.units import DIMENSIONS

    if field.dimension == "word":
        return f'{one_of(field.words)}, "not …", or "known"'
    if field.dimension == "text":
        return 'a text, "not …", or "known"'
    if field.dimension == "index":
        return '"> alias.index", a plain number, or "known"'
    example = DIMENSIONS[field.dimension].example.split('"')[1]
    return f'a comparison such as "<= {example}", or "known"'
