"""The letterhead file: what is read, what is refused and how it is said."""

from __future__ import annotations

from contextlib import suppress

import jsonschema
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from reviewer.errors import InputError
from reviewer.report.letterhead import Letterhead, Signatory, letterhead_schema, parse_letterhead

WHOLE = """
firm: Lantern Row Enclosure Office
address: [14 Lantern Row, "Duluth, MN 55802"]
contact: 218 555 0142
date: 2026-03-02
project: Mill Street addition
reference: 26-114
client:
  - Lantern Row Housing Cooperative
reviewer: {name: A. Okafor, license: PE 00000}
paper: a4
"""


def test_every_key_is_read() -> None:
    assert parse_letterhead(WHOLE) == Letterhead(
        firm="Lantern Row Enclosure Office",
        address=("14 Lantern Row", "Duluth, MN 55802"),
        contact=("218 555 0142",),
        date="2026-03-02",
        project="Mill Street addition",
        reference="26-114",
        client=("Lantern Row Housing Cooperative",),
        reviewer=Signatory(name="A. Okafor", license="PE 00000"),
        paper="A4",
    )


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("frim: x", 1, '"frim" is not a key of a letterhead'),
        ("date: 3/2/2026", 1, "year, month and day, such as 2026-11-25"),
        ("date: 2026-02-30", 1, "is not a date"),
        ("date: 20260302", 1, "is not a date"),
        ("firm: x\npaper: legal", 2, "letter or A4"),
        ("address: {a: b}", 1, "a map"),
        ("client: [1, 2, 3, 4, 5, 6, 7, 8, 9]", 1, "more than 8 lines"),
        (f"firm: {'x' * 121}", 1, "longer than 120 characters"),
        ('firm: "a\\x1b[31mb"', 1, "control character"),
        ("reviewer: {licence: 1}", 1, "license"),
        ("- a list", 1, "a map with the keys"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(text: str, line: int, says: str) -> None:
    with pytest.raises(InputError) as refused:
        parse_letterhead(text, "firm.yaml")
    assert says in str(refused.value)
    mark = refused.value.problems[0].mark
    assert mark is not None
    assert mark.line == line


def test_the_schema_takes_what_the_reader_takes() -> None:
    described = letterhead_schema()
    jsonschema.Draft202012Validator.check_schema(described)
    check = jsonschema.Draft202012Validator(described)
    # The reader takes any case of a choice; an editor suggests the one spelling.
    check.validate(yaml.load(WHOLE.replace("a4", "A4"), yaml.BaseLoader))
    for wrong in ("frim: x", "date: tomorrow", "paper: legal", "reviewer: {licence: 1}"):
        assert list(check.iter_errors(yaml.load(wrong, yaml.BaseLoader))), wrong


@given(st.text(max_size=200))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    with suppress(InputError):
        assert isinstance(parse_letterhead(text), Letterhead)
