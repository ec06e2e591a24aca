"""Message templates."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer.engine.types import Fact
from reviewer.rules.template import TemplateError, parse_template, render
from reviewer.units import parse

FOIL = Fact(
    "layer:2", "layer", {"index": 2.0, "name": "foil", "permeance_wet": parse("0.5 perm", "permeance").low}
)
PAIR = Fact("pair:2-4", "pair", {"inner": 2.0, "outer": 4.0})


def shown(text: str, system: str = "ip") -> str:
    names = {2: "foil"}
    return render(
        parse_template(text), {"tight": FOIL, "p": PAIR}, system, lambda i: names.get(i, f"layer {i + 1}")
    )


def test_values_come_in_the_readers_unit_system() -> None:
    assert shown("{tight.name}: {tight.permeance_wet}") == "foil: 0.5 perms"
    # Derived from the definitions of grain, foot and inch of mercury: 1 US perm is 57.213 ng/(s m2 Pa).
    assert shown("{tight.permeance_wet}", "si") == "28.6 ng/(s·m²·Pa)"


def test_a_system_can_be_forced() -> None:
    assert shown("{tight.permeance_wet|si}") == "28.6 ng/(s·m²·Pa)"
    assert shown("{tight.permeance_wet | ip}", "si") == "0.5 perms"


def test_braces_are_written_twice() -> None:
    assert shown("{{{tight.name}}}") == "{foil}"


def test_a_value_that_is_not_known_reads_unknown() -> None:
    assert shown("{tight.thickness} of {absent.name}") == "unknown of unknown"


def test_the_place_of_a_layer_is_shown_as_its_name() -> None:
    assert shown("{p.inner} and {p.outer}") == "foil and layer 5"


@pytest.mark.parametrize(
    ("text", "marked"),
    [
        ("a {", "{"),
        ("a } b", "}"),
        ("{name}", "{name}"),
        ("{a.b.c}", "{a.b.c}"),
        ("{}", "{}"),
        ("{a.b|us}", "{a.b|us}"),
    ],
)
def test_what_is_no_value_is_refused_where_it_stands(text: str, marked: str) -> None:
    with pytest.raises(TemplateError) as caught:
        parse_template(text)
    assert text[caught.value.offset : caught.value.offset + caught.value.length] == marked
    assert caught.value.expected


@given(st.text(alphabet=st.characters(exclude_characters="{}")))
def test_text_without_braces_stays_as_it_is(text: str) -> None:
    assert shown(text) == text


@given(st.text(alphabet="{}ab.|", max_size=12))
def test_any_template_is_read_or_refused(text: str) -> None:
    refused: TemplateError | None = None
    try:
        template = parse_template(text)
    except TemplateError as error:
        refused, template = error, parse_template("")
    assert isinstance(render(template, {}, "si"), str)
    assert refused is None or 0 <= refused.offset < len(text)
