"""What the language means, on both engines, against plain Python that says the same in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.engine import available, compile_program
from reviewer.engine.types import Fact, Value
from reviewer.rules.ruleset import Ruleset
from reviewer.units import parse

RuleText = Callable[..., str]
RulesetOf = Callable[..., Ruleset]


@pytest.fixture(scope="module", params=available())
def engine(request: pytest.FixtureRequest) -> str:
    return request.param


def perm(value: float) -> float:
    return parse(f"{value} perm", "permeance").low


def layer(index: int, **fields: Value) -> Fact:
    return Fact(f"layer:{index}", "layer", {"index": float(index), **fields})


def section(**fields: Value) -> Fact:
    return Fact("section", "section", fields)


Fires = Callable[[str, Sequence[Fact]], bool]
SINGLES = (Fact("climate", "climate", {}), Fact("indoor", "indoor", {}))


@pytest.fixture(scope="module")
def fires(rule_text: RuleText, ruleset_of: RulesetOf, engine: str) -> Fires:
    """Whether a rule with these keys fires on some facts."""

    def ask(keys: str, facts: Sequence[Fact]) -> bool:
        ruleset = ruleset_of(rule_text(keys))
        facts = list(facts)
        kinds = {f.kind for f in facts}
        facts += [f for f in (section(), *SINGLES) if f.kind not in kinds]
        with compile_program([a.engine for a in ruleset.alternatives], engine=engine) as program:  # type: ignore[arg-type]
            return any(f.kind == "finding" for f in program.run(facts).facts)

    return ask


def test_a_word_means_equality_and_a_missing_field_fails_every_test(fires: Fires) -> None:
    for test, values in {
        "yes": {"yes"},
        "not yes": {"no"},
        "known": {"yes", "no"},
        '"= yes"': {"yes"},
        '"!= yes"': {"no"},
    }.items():
        keys = f"when: [{{layer a: {{holds_water: {test}}}}}]"
        assert [v for v in ("yes", "no") if fires(keys, [layer(1, holds_water=v)])] == [
            v for v in ("yes", "no") if v in values
        ], test
        assert not fires(keys, [layer(1)]), test


@pytest.mark.parametrize(
    ("op", "below", "at", "above"),
    [
        ("<", True, False, False),
        ("<=", True, True, False),
        (">", False, False, True),
        (">=", False, True, True),
        ("=", False, True, False),
        ("!=", True, False, True),
    ],
)
def test_comparisons_with_quantities_do_not_hang_on_the_last_digits(
    fires: Fires, op: str, below: bool, at: bool, above: bool
) -> None:
    keys = f'when: [{{layer a: {{permeance_wet: "{op} 1 perm"}}}}]'
    # The same perm, over other units: 57.21349 ng/(s m2 Pa), and an s_d value of 2e-10 / perm.
    one = perm(1)
    for value in (one, one * (1 + 1e-12), one * (1 - 1e-12), parse(f"sd {2e-10 / one!r} m", "permeance").low):
        assert fires(keys, [layer(1, permeance_wet=value)]) == at
    assert fires(keys, [layer(1, permeance_wet=perm(0.999))]) == below
    assert fires(keys, [layer(1, permeance_wet=perm(1.001))]) == above
    assert not fires(keys, [layer(1)])


def test_known_holds_for_any_number(fires: Fires) -> None:
    keys = "when: [{layer a: {dew_margin: known}}]"
    assert fires(keys, [layer(1, dew_margin=-40.0)])
    assert not fires(keys, [layer(1)])


def test_or_and_and_in_a_value(fires: Fires) -> None:
    keys = 'when: [{layer a: {class: I or II, months_humid: ">= 2 and <= 4 or >= 10"}}]'
    for name in ("I", "II", "III", "none"):
        for months in range(13):
            wanted = name in ("I", "II") and (2 <= months <= 4 or months >= 10)
            assert fires(keys, [layer(1, **{"class": name, "months_humid": float(months)})]) == wanted


def test_a_choice_of_words_makes_no_alternatives_and_needs_a_known_word(
    rule_text: RuleText, ruleset_of: RulesetOf, fires: Fires
) -> None:
    words = ("wall", "roof", "foundation wall", "floor", "slab")
    for chosen in (words[:2], words[1:4], words):
        keys = f"when: [{{section: {{kind: {' or '.join(chosen)}}}}}]"
        assert len(ruleset_of(rule_text(keys)).alternatives) == 1
        assert [w for w in words if fires(keys, [section(kind=w)])] == list(chosen)
        assert not fires(keys, [section()])


def test_conditions_on_one_kind_bind_different_facts(fires: Fires) -> None:
    keys = "when: [{layer a: {holds_water: yes}}, {layer b: {membrane: yes}}]"
    both = {"holds_water": "yes", "membrane": "yes"}
    assert not fires(keys, [layer(1, **both)])
    assert fires(keys, [layer(1, **both), layer(2, membrane="yes")])


def test_any_asks_for_one_of_its_lists(fires: Fires) -> None:
    keys = """
        when: [{layer a: {holds_water: yes}}]
        any:
          - [{layer b: {membrane: yes, index: "> a.index"}}, {section: {kind: wall}}]
          - [{not layer: {membrane: yes}}]
    """
    wet, sheet = layer(1, holds_water="yes"), layer(2, membrane="yes")
    assert fires(keys, [wet])
    assert fires(keys, [wet, sheet, section(kind="wall")])
    assert not fires(keys, [wet, sheet, section(kind="roof")])
    assert not fires(keys, [sheet])


def test_a_negated_or_excludes_each_of_the_words(fires: Fires) -> None:
    keys = "when: [{section: {}}, {not layer: {class: I or II}}]"
    assert fires(keys, [layer(1, **{"class": "III"})])
    assert not fires(keys, [layer(1, **{"class": "I"})])
    assert not fires(keys, [layer(1, **{"class": "II"})])
    keys = 'when: [{not layer: {thickness: "!= 10 mm"}}]'
    assert fires(keys, [layer(1, thickness=0.01)])
    assert not fires(keys, [layer(1, thickness=0.02)])
    assert not fires(keys, [layer(1, thickness=0.005)])


def test_all_conditions_on_the_section_speak_of_the_one_section(fires: Fires) -> None:
    keys = """
        applies to: {kind: wall}
        when: [{section: {zone_number: ">= 5"}}]
        any: [[{section: {marine: yes}}], [{section: {cooling: no}}]]
    """
    facts: dict[str, Value] = {"kind": "wall", "zone_number": 5.0, "marine": "no", "cooling": "no"}
    assert fires(keys, [section(**facts)])
    assert not fires(keys, [section(**facts | {"cooling": "yes"})])
    assert not fires(keys, [section(**facts | {"zone_number": 4.0})])


def test_single_facts_can_be_compared_with_before_and_after(fires: Fires) -> None:
    after = 'when: [{layer a: {t_winter_inner: "< indoor.dew_point_winter"}}]'
    before = 'when: [{layer a: {}}, {indoor: {dew_point_winter: "> a.t_winter_inner"}}]'
    for keys in (after, before):
        for t, wanted in ((7.9, True), (8.1, False)):
            indoor = Fact("indoor", "indoor", {"dew_point_winter": 8.0})
            assert fires(keys, [layer(1, t_winter_inner=t), indoor]) == wanted


def test_a_rule_of_absences_only_fires(fires: Fires) -> None:
    keys = "when: [{not layer: {air_barrier: yes}}]"
    assert fires(keys, [layer(1, air_barrier="no")])
    assert not fires(keys, [layer(1, air_barrier="yes")])


def test_conclusions_carry_the_layer_on(rule_text: RuleText, ruleset_of: RulesetOf, engine: str) -> None:
    ruleset = ruleset_of(
        rule_text("when: [{layer a: {holds_water: yes}}]", "conclude: {fact: wet, layer: a}", "first"),
        rule_text(
            'when: [{concluded w: {name: wet}}, {layer b: {index: "> w.layer", membrane: yes}}]',
            "conclude: {fact: shut, layer: b, other: w.layer}",
            "second",
        ),
    )
    facts = [
        layer(1, holds_water="yes"),
        layer(2, holds_water="yes"),
        layer(3, membrane="yes"),
        section(),
        *SINGLES,
    ]
    with compile_program([a.engine for a in ruleset.alternatives], engine=engine) as program:  # type: ignore[arg-type]
        concluded = [dict(f.fields) for f in program.run(facts).facts if f.fields.get("name") == "shut"]
    assert sorted(concluded, key=str) == [
        {"name": "shut", "layer": 3.0, "other": 1.0},
        {"name": "shut", "layer": 3.0, "other": 2.0},
    ]


# The demonstration pack against the same rules in Python


PERMS = [None, 0.5, 1.0, 1.0000000001, 1.2, 4.9, 5.0, 30.0]


@st.composite
def walls(draw: st.DrawFn) -> list[Fact]:
    facts: list[Fact] = []
    for index in range(draw(st.integers(0, 5))):
        fields: dict[str, Value] = {}
        for name in ("permeance_wet", "permeance_outboard"):
            value = draw(st.sampled_from(PERMS))
            if value is not None:
                fields[name] = perm(value)
        wet = draw(st.sampled_from([None, "yes", "no"]))
        if wet:
            fields["holds_water"] = wet
        facts.append(layer(index, **fields))
    for inner in range(len(facts) - 1):
        if draw(st.booleans()):
            ends = {
                "inner": float(inner),
                "outer": inner + 1.0,
                "adjacent": draw(st.sampled_from(["yes", "no"])),
            }
            facts.append(Fact(f"pair:{inner}-{inner + 1}", "pair", ends))
    single: dict[str, Value] = {}
    kind = draw(st.sampled_from([None, "wall", "roof", "slab"]))
    if kind:
        single["kind"] = kind
    cladding = draw(st.sampled_from([None, "yes", "no"]))
    if cladding:
        single["has_cladding"] = cladding
    facts.append(section(**single))
    facts.append(Fact("climate", "climate", {"hdd18": draw(st.sampled_from([2999.0, 3000.0, 5000.0]))}))
    facts.append(Fact("indoor", "indoor", {"humid": draw(st.sampled_from(["yes", "no"]))}))
    return facts


def expected(facts: Sequence[Fact]) -> set[str]:
    """The rules of the demonstration pack that fire, by the sentences of its titles."""
    by_id = {f.id: f.fields for f in facts}
    layers = [dict(f.fields) for f in facts if f.kind == "layer"]
    one, five = perm(1) * (1 + 1e-9), perm(5) * (1 - 1e-9)
    tight = [x for x in layers if x.get("permeance_wet", 9e9) <= one]
    wet = [x for x in layers if x.get("holds_water") == "yes"]
    dry = [x for x in wet if x.get("permeance_outboard", -1) >= five]
    fired = {"demo/open-outward"} if dry else set()
    cold = by_id["climate"]["hdd18"] >= 3000 or by_id["indoor"]["humid"] == "yes"
    if by_id["section"].get("kind") in ("wall", "roof") and cold:
        for w in wet:
            inside = any(t["index"] < w["index"] for t in tight)
            outside = any(t["index"] > w["index"] for t in tight)
            if inside and outside and w not in dry:
                fired.add("demo/shut-in")
    for t in tight:
        for w in wet:
            pair = by_id.get(f"pair:{int(w['index'])}-{int(t['index'])}", {})
            if pair.get("adjacent") == "yes":
                fired.add("demo/one-side-tight")
    kind = by_id["section"].get("kind")
    if kind and kind != "slab" and by_id["section"].get("has_cladding") == "no":
        fired.add("demo/no-cladding")
    return fired


@settings(max_examples=150, deadline=None)
@given(facts=walls())
def test_the_demonstration_pack_fires_as_plain_python_says(demo: Ruleset, facts: list[Fact]) -> None:
    for name in available():
        with compile_program([a.engine for a in demo.alternatives], engine=name) as program:  # type: ignore[arg-type]
            outcome = program.run(facts)
        fired = {d.rule.split("#")[0] for derivations in outcome.proofs.values() for d in derivations}
        assert fired == expected(facts), name
