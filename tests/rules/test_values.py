"""Value tests: what is read, and that nothing else than a located refusal comes of the rest."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from reviewer.facts.vocabulary import KINDS, Field
from reviewer.rules.values import KNOWN, Reference, ValueTestError, parse_value_test, read_constant
from reviewer.units import DIMENSIONS, UnitError, parse

FIELDS = [field for kind in KINDS.values() for field in kind.fields.values()]
LAYER = KINDS["layer"].fields

OPERATORS = {"<": "<", "<=": "<=", ">": ">", ">=": ">=", "=": "==", "!=": "!=", "≤": "<=", "≥": ">="}


@st.composite
def quantities(draw: st.DrawFn) -> tuple[Field, str, float]:
    """A field, a quantity in one of its unit's spellings, and its value in SI."""
    dimension = draw(st.sampled_from([d for d in DIMENSIONS.values() if d.spellings and d.name != "count"]))
    spelling = draw(st.sampled_from(sorted(s for s in dimension.spellings if not s[0].isdigit())))
    factor, offset = dimension.spellings[spelling]
    number = draw(st.decimals(min_value=0, max_value=40, places=2, allow_nan=False))
    value = float(number) * factor + offset
    assume(dimension.low <= value <= dimension.high)
    return Field(dimension.name, "a field"), f"{number} {spelling}", value


@settings(deadline=None)
@given(quantities(), st.sampled_from(sorted(OPERATORS)), st.sampled_from(["", " ", "   "]))
def test_a_comparison_with_a_quantity_is_read_in_si(
    quantity: tuple[Field, str, float], op: str, space: str
) -> None:
    field, text, value = quantity
    ((comparison,),) = parse_value_test(f"{op}{space}{text}", field)
    assert comparison.op == OPERATORS[op]
    assert isinstance(comparison.operand, float)
    assert math.isclose(comparison.operand, value, rel_tol=1e-12, abs_tol=1e-15)
    assert comparison.text == text


@settings(deadline=None)
@given(quantities(), quantities())
def test_comparisons_joined_by_and_are_one_part_and_by_or_several(
    low: tuple[Field, str, float], other: tuple[Field, str, float]
) -> None:
    field, text, _ = low
    (part,) = parse_value_test(f"> {text} and < {text}", field)
    assert [c.op for c in part] == [">", "<"]
    parts = parse_value_test(f"> {text} or < {text} or known", field)
    assert [[c.op for c in p] for p in parts] == [[">"], ["<"], [KNOWN]]
    if other[0].dimension != field.dimension:
        pieces = other[1].split(maxsplit=1)
        if pieces[1] not in DIMENSIONS[field.dimension].spellings:
            with pytest.raises(ValueTestError):
                parse_value_test(f"> {other[1]}", field)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(FIELDS), st.text(max_size=40))
def test_any_text_is_a_test_or_is_refused_with_a_place_in_it(field: Field, text: str) -> None:
    refused: ValueTestError | None = None
    parts: tuple[object, ...] = ()
    try:
        parts = parse_value_test(text, field)
    except ValueTestError as error:
        refused = error
    if refused is None:
        assert parts and all(parts)
    else:
        assert refused.message
        assert 0 <= refused.offset <= len(text)
        assert refused.offset + refused.length <= max(len(text), 1) + 1


PIECES = [
    "<",
    "<=",
    "= ",
    "not ",
    "and",
    "or",
    " ",
    "known",
    "yes",
    "no",
    "1 perm",
    "wall",
    "inner.index",
    "5",
    "\n",
    "nan",
    ".",
]


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(FIELDS), st.lists(st.sampled_from(PIECES), max_size=8).map("".join))
def test_what_looks_like_a_test_is_one_or_is_refused(field: Field, text: str) -> None:
    try:
        parts = parse_value_test(text, field)
    except ValueTestError:
        return
    for part in parts:
        for c in part:
            assert isinstance(c.operand, (str, Reference)) or math.isfinite(c.operand)


@given(st.sampled_from([f for f in FIELDS if f.words]), st.data())
def test_every_word_of_a_field_is_read_even_with_and_or_or_in_it(field: Field, data: st.DataObject) -> None:
    words = data.draw(st.lists(st.sampled_from(field.words), min_size=1, max_size=4, unique=True))
    parts = parse_value_test(" or ".join(words), field)
    assert [[(c.op, c.operand) for c in part] for part in parts] == [[("==", w)] for w in words]
    (refused,) = parse_value_test(" and ".join(f"not {w}" for w in words), field)
    assert [(c.op, c.operand) for c in refused] == [("!=", w) for w in words]


def test_yes_stays_a_word() -> None:
    assert parse_value_test("yes", LAYER["holds_water"])[0][0].operand == "yes"
    assert parse_value_test("not no", LAYER["holds_water"])[0][0].op == "!="


def test_a_text_after_an_equals_sign_is_taken_as_it_stands() -> None:
    ((c,),) = parse_value_test("= not checked", KINDS["statement"].fields["says"])
    assert (c.op, c.operand) == ("==", "not checked")


def test_half_an_inch_is_12_7_mm_in_a_test() -> None:
    ((c,),) = parse_value_test(">= 1/2 in", LAYER["thickness"])
    assert c.operand == parse("12.7 mm", "length").low


@pytest.mark.parametrize(
    ("field", "text", "message", "marked", "near"),
    [
        ("permeance_wet", "1 perm", "is not a test", "1 perm", ""),
        ("permeance_wet", "<= 1", "has no unit", "1", ""),
        ("permeance_wet", "<= 1 prem", "is not a unit of permeance", "1 prem", "perm"),
        ("permeance_wet", "<= 1 to 5 perm", "is a range", "1 to 5 perm", ""),
        ("permeance_wet", "<=", 'nothing follows "<="', "<=", ""),
        ("permeance_wet", "<= 1 perm and", "something is missing", "and", ""),
        ("permeance_wet", "inner.permeance_wet", "has no operator", "inner.permeance_wet", ""),
        ("permeance_wet", "known and <= 1 perm", "adds nothing", "known and <= 1 perm", ""),
        ("permeance_wet", "<= nan perm", "is not a quantity", "nan perm", ""),
        ("holds_water", "maybe", "is not a word of this field", "maybe", ""),
        ("side", "inboad", "is not a word of this field", "inboad", "inboard"),
        ("side", "not inbord", "is not a word of this field", "inbord", "inboard"),
        ("side", "< inboard", "words can't be ordered", "<", ""),
        ("side", "not inboard or outboard", "nearly always holds", "not inboard", ""),
        ("index", "> 1.5", "is not the place of a layer", "1.5", ""),
        ("months_humid", ">= 2.5", "is not a whole number", "2.5", ""),
        ("index", "", "the test is empty", "", ""),
    ],
)
def test_a_wrong_test_is_refused_where_it_is_wrong(
    field: str, text: str, message: str, marked: str, near: str
) -> None:
    with pytest.raises(ValueTestError) as caught:
        parse_value_test(text, LAYER[field])
    error = caught.value
    assert message in error.message
    assert text[error.offset : error.offset + error.length] == marked
    assert error.nearest == near


def test_constants_of_facts_are_read_as_in_tests() -> None:
    assert read_constant("0.5 perm", LAYER["permeance_wet"]) == parse("0.5 perm", "permeance").low
    with pytest.raises(UnitError):
        read_constant("8 to 12 in", LAYER["thickness"])
    with pytest.raises(UnitError):
        read_constant("-1", LAYER["index"])
