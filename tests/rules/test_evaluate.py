"""What could not be judged."""

from __future__ import annotations

from reviewer.engine.types import Fact, Value
from reviewer.rules.evaluate import not_evaluated, not_judged
from reviewer.rules.ruleset import Ruleset
from reviewer.units import parse


def perm(value: float) -> float:
    return parse(f"{value} perm", "permeance").low


def layer(index: int, name: str, **fields: Value) -> Fact:
    return Fact(f"layer:{index}", "layer", {"index": float(index), "name": name, **fields})


CLIMATE = Fact("climate", "climate", {"hdd18": 5000.0})
INDOOR = Fact("indoor", "indoor", {"humid": "no"})
WALL = Fact("section", "section", {"kind": "wall", "has_cladding": "yes"})
WHY = "the material is not known"


def sandwich(**wet: Value) -> list[Fact]:
    return [
        WALL,
        CLIMATE,
        INDOOR,
        layer(1, "polyethylene", permeance_wet=perm(0.06)),
        layer(2, "unknown sheathing", **wet),
        layer(3, "foil", permeance_wet=perm(0.05)),
    ]


def test_a_rule_that_turns_on_an_unknown_value_says_which_and_why(demo: Ruleset) -> None:
    facts = sandwich(permeance_outboard=perm(0.05))
    ((rule, text),) = not_evaluated(demo, facts, {"layer:2": {"holds_water": WHY}})
    assert rule.id == "demo/shut-in"
    assert text == f"holds water and is harmed by it of layer 3, unknown sheathing ({WHY})"


def test_a_rule_that_other_values_rule_out_is_judged(demo: Ruleset) -> None:
    floor = [Fact("section", "section", {"kind": "floor", "has_cladding": "yes"})]
    facts = floor + sandwich(permeance_outboard=perm(0.05))[1:]
    assert not_evaluated(demo, facts, {"layer:2": {"holds_water": WHY}}) == []


def test_a_conclusion_in_doubt_puts_the_rules_on_it_in_doubt(demo: Ruleset) -> None:
    # Whether the sheathing dries outward is not known, and the finding asks that it does not.
    facts = sandwich(holds_water="yes")
    (one,) = not_judged(demo, facts, {"layer:2": {"permeance_outboard": WHY}})
    assert one.rule.id == "demo/shut-in"
    assert one.missing == (("layer:2", "permeance_outboard"),)
    assert "permeance outboard of it" in one.text


def test_all_that_is_missing_is_named_once_the_most_severe_rule_first(demo: Ruleset) -> None:
    facts = [Fact("section", "section", {"kind": "wall"}), *sandwich()[1:]]
    unknown = {
        "layer:2": {"holds_water": WHY, "permeance_outboard": WHY},
        "section": {"has_cladding": "no layer is named as cladding"},
    }
    found = not_judged(demo, facts, unknown)
    assert [n.rule.id for n in found] == ["demo/shut-in", "demo/no-cladding"]
    assert [set(n.missing) for n in found] == [
        {("layer:2", "holds_water"), ("layer:2", "permeance_outboard")},
        {("section", "has_cladding")},
    ]
    assert found[1].text.endswith("of the section (no layer is named as cladding)")


def test_rules_can_be_left_out_and_nothing_unknown_leaves_nothing(demo: Ruleset) -> None:
    unknown = {"layer:2": {"holds_water": WHY}}
    facts = sandwich(permeance_outboard=perm(0.05))
    assert not_evaluated(demo, facts, unknown, leave_out={"demo/shut-in"}) == []
    assert not_evaluated(demo, facts, {}) == []
    assert not_evaluated(demo, facts, {"layer:2": {}}) == []
