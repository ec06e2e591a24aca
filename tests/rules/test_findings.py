"""From firings to findings: merged, placed, defeated, hung under their causes."""

from __future__ import annotations

from collections.abc import Callable

from reviewer.engine.types import Fact, Value
from reviewer.rules.findings import RawFinding, defeats_of, findings_from, firings
from reviewer.rules.ruleset import Ruleset
from reviewer.units import parse

RuleText = Callable[..., str]
RulesetOf = Callable[..., Ruleset]


def perm(value: float) -> float:
    return parse(f"{value} perm", "permeance").low


def layer(index: int, name: str, **fields: Value) -> Fact:
    return Fact(f"layer:{index}", "layer", {"index": float(index), "name": name, **fields})


COLD = [
    Fact("section", "section", {"kind": "wall", "has_cladding": "no", "zone": "7"}),
    Fact("climate", "climate", {"hdd18": 5000.0, "place": "Lantern Row"}),
    Fact("indoor", "indoor", {}),
]
SANDWICH = [
    layer(1, "polyethylene", permeance_wet=perm(0.06)),
    layer(2, "plywood", holds_water="yes", permeance_wet=perm(10), permeance_outboard=perm(0.05)),
    layer(3, "foil", permeance_wet=perm(0.05)),
    Fact("pair:2-3", "pair", {"inner": 2.0, "outer": 3.0, "adjacent": "yes"}),
]


def found(ruleset: Ruleset, facts: list[Fact]) -> list[RawFinding]:
    return findings_from(ruleset.program.run(facts), ruleset, facts)


def test_a_finding_names_its_layers_and_speaks_in_the_readers_units(demo: Ruleset) -> None:
    first = found(demo, COLD + SANDWICH)[0]
    assert first.rule.id == "demo/shut-in"
    assert first.layers == (1, 2, 3)
    assert first.says("ip") == "plywood is shut in between polyethylene and foil"
    assert "polyethylene passes 0.06 perms" in first.explanation("ip")
    assert "polyethylene passes 3.43 ng/(s·m²·Pa)" in first.explanation("si")
    assert first.margin("ip") == "2.86 ng/(s·m²·Pa) against 1 perm"


def test_remedies_say_which_layers_they_change(demo: Ruleset) -> None:
    first = found(demo, COLD + SANDWICH)[0]
    assert first.remedies("ip") == [
        ("Leave polyethylene out.", {"remove": 1}),
        (
            "Replace it with a membrane whose permeance rises when damp.",
            {"replace": 1, "with": "variable-permeance membrane"},
        ),
        ("Insulate outside of foil.", {"insert": "2 in mineral wool board", "outside of": 3}),
        ("Keep the rooms drier.", {"set": "indoor", "humidity": "35 %"}),
    ]


def test_a_defeated_finding_is_dropped_and_listed_with_the_reason(demo: Ruleset) -> None:
    findings = found(demo, COLD + SANDWICH)
    assert [f.rule.id for f in findings] == ["demo/shut-in", "demo/no-cladding"]
    (defeat,) = findings[0].defeated
    assert (defeat.rule, defeat.by) == ("demo/one-side-tight", "demo/shut-in")
    assert defeat.because == "Both sides are tight, which says more than one side does."


def test_without_the_defeater_the_finding_stands_and_hangs_under_its_cause(demo: Ruleset) -> None:
    mild = [COLD[0], Fact("climate", "climate", {"hdd18": 100.0}), COLD[2]]
    findings = found(demo, mild + SANDWICH)
    assert [f.rule.id for f in findings] == ["demo/one-side-tight", "demo/no-cladding"]
    assert findings[0].symptom_of == ("demo/no-cladding",)
    assert findings[1].symptoms == ("demo/one-side-tight",)
    clad = [Fact("section", "section", {"kind": "wall", "has_cladding": "yes"}), *mild[1:]]
    (alone,) = found(demo, clad + SANDWICH)
    assert alone.symptom_of == ()


def chain(rule_text: RuleText, name: str, kind: str, keys: str = "") -> str:
    return rule_text(f"applies to: {{kind: {kind}}}\n{keys}", name=name)


def test_what_is_defeated_defeats_nothing(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    because = "\ndefeats because: It says more."
    ruleset = ruleset_of(
        chain(rule_text, "a", "wall", "defeats: [t/b]" + because).replace("topic: Test", "topic: A"),
        chain(rule_text, "b", "wall or roof", "defeats: [t/c]" + because).replace("topic: Test", "topic: B"),
        chain(rule_text, "c", "wall or roof").replace("topic: Test", "topic: C"),
    )

    def ids(kind: str) -> list[str]:
        return [f.rule.id for f in found(ruleset, [Fact("section", "section", {"kind": kind})])]

    assert ids("wall") == ["t/a", "t/c"]
    assert ids("roof") == ["t/b"]


def test_a_conclusion_can_defeat(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    ruleset = ruleset_of(
        chain(rule_text, "a", "wall"),
        rule_text(
            "applies to: {work: new}\ndefeats: t/a\ndefeats because: New work is exempt.",
            "conclude: {fact: exempt}",
            "exempt",
        ).replace("topic: Test", "topic: B"),
    )
    old = [Fact("section", "section", {"kind": "wall", "work": "retrofit"})]
    new = [Fact("section", "section", {"kind": "wall", "work": "new"})]
    assert [f.rule.id for f in found(ruleset, old)] == ["t/a"]
    assert found(ruleset, new) == []
    fired = firings(ruleset.program.run(new), ruleset)
    assert defeats_of(fired, ruleset)["t/a"].because == "New work is exempt."


LAYERS = [layer(n, f"board {n}", holds_water="yes", membrane="yes") for n in range(3)]
TWO = "when: [{layer a: {holds_water: yes}}, {layer b: {membrane: yes}}]"


def with_head(rule_text: RuleText, ruleset_of: RulesetOf, extra: str) -> Ruleset:
    head = f"""
finding:
  severity: note
  reason: So.
  confidence: low
  voice: rule of thumb
  says: "{{a.name}} and {{b.name}}"
  explanation: So.
  {extra}
"""
    return ruleset_of(rule_text(TWO, head))


def test_firings_on_the_same_layers_are_one_finding(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    findings = found(with_head(rule_text, ruleset_of, "layers: [a, b]"), LAYERS)
    assert [f.layers for f in findings] == [(0, 1), (0, 2), (1, 2)]
    assert [len(f.firings) for f in findings] == [2, 2, 2]
    assert findings[0].says("ip") == "board 0 and board 1"


def test_findings_can_be_merged_by_section_or_by_one_layer(
    rule_text: RuleText, ruleset_of: RulesetOf
) -> None:
    (one,) = found(with_head(rule_text, ruleset_of, "layers: [a, b]\n  one per: section"), LAYERS)
    assert one.layers == (0, 1, 2)
    assert len(one.firings) == 6
    by_layer = found(with_head(rule_text, ruleset_of, "layers: [a]\n  one per: a"), LAYERS)
    assert [f.layers for f in by_layer] == [(0,), (1,), (2,)]


def test_alternatives_that_hold_together_are_one_finding(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    ruleset = ruleset_of(
        rule_text(
            "when: [{layer a: {}}]\nany: [[{layer b: {membrane: yes}}], [{layer c: {holds_water: yes}}]]"
        )
    )
    (one,) = found(ruleset, LAYERS)
    assert {f.alternative for f in one.firings} == {1, 2}
    assert one.firings[0].alternative == 1


def test_a_layer_can_be_named_by_a_field_and_may_be_unknown(
    rule_text: RuleText, ruleset_of: RulesetOf
) -> None:
    head = """
finding:
  severity: note
  reason: So.
  confidence: low
  voice: code
  layers: [requirement.layer]
  says: "{requirement.layer} falls short"
  explanation: So.
  do: [{text: Leave it out, change: {remove: requirement.layer}}]
"""
    ruleset = ruleset_of(rule_text("when: [{requirement: {met: no}}]", head))
    facts = [layer(4, "kraft facing"), Fact("requirement:a", "requirement", {"met": "no", "layer": 4.0})]
    (one,) = found(ruleset, facts)
    assert (one.layers, one.says("ip"), one.remedies("ip")) == (
        (4,),
        "kraft facing falls short",
        [("Leave it out", {"remove": 4})],
    )
    (unplaced,) = found(ruleset, [Fact("requirement:a", "requirement", {"met": "no"})])
    assert (unplaced.layers, unplaced.says("ip"), unplaced.remedies("ip")) == (
        (),
        "unknown falls short",
        [("Leave it out", {})],
    )


def test_the_worst_comes_first_then_the_order_of_the_rulebook(demo: Ruleset) -> None:
    outer = [
        layer(5, "plywood", holds_water="yes", permeance_outboard=perm(0.05)),
        layer(6, "foil", permeance_wet=perm(0.05)),
    ]
    findings = found(demo, COLD + SANDWICH + outer)
    assert [f.rule.id for f in findings] == ["demo/shut-in"] * 4 + ["demo/no-cladding"]
    assert [f.layers for f in findings[:4]] == [(1, 2, 3), (1, 2, 6), (1, 5, 6), (3, 5, 6)]
    assert len(findings[0].defeated) == 1
    assert not any(f.defeated for f in findings[1:])
