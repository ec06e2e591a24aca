"""Mutation, coverage, differences, explanations and pages."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from reviewer.engine.types import Fact, Value
from reviewer.errors import InputError
from reviewer.facts.vocabulary import KINDS
from reviewer.result import Evidence, Step
from reviewer.rules.coverage import coverage
from reviewer.rules.explain import nearest_miss, proof_of
from reviewer.rules.findings import findings_from
from reviewer.rules.mutation import mutants_of, mutate
from reviewer.rules.page import FORMS, HEADINGS, WIDTH, Form, rule_page, rulebook_index
from reviewer.rules.rulediff import difference
from reviewer.rules.ruleset import Ruleset, load_ruleset
from reviewer.units import parse

RuleText = Callable[..., str]
RulesetOf = Callable[..., Ruleset]


def perm(value: float) -> float:
    return parse(f"{value} perm", "permeance").low


def cases(demo: Ruleset) -> dict[str, tuple[Fact, ...]]:
    return {f"{r.id}: {e.name}": e.facts or () for r in demo.rules.values() for e in r.examples}


# Mutation


def test_the_examples_of_the_demonstration_pack_notice_every_change(demo: Ruleset) -> None:
    report = mutate(demo)
    assert report.tried > 50
    assert [s.what for s in report.survivors] == []
    assert report.not_run == ()
    assert report.killed == report.tried


@pytest.mark.parametrize(
    ("dropped", "survives"),
    [
        (
            "the outer layer is a little too open",
            'the limit of "permeance_wet: <= 1 perm" is 0.1 perms higher',
        ),
        ("a floor", 'the test "kind: wall or roof" is left out'),
        ("warm climate, humid rooms, a roof", "alternative 2 of “any” is left out"),
        ("another layer dries outward", 'the test "layer: = between.index" is left out'),
        ("the layer between dries outward", 'the condition "not concluded dry" is left out'),
    ],
)
def test_a_planted_weak_spot_is_found(demo: Ruleset, dropped: str, survives: str) -> None:
    rule = demo.rules["demo/shut-in"]
    weak = replace(rule, examples=tuple(e for e in rule.examples if e.name != dropped))
    assert len(weak.examples) == len(rule.examples) - 1
    ruleset = Ruleset.of(demo.topics, [weak if r is rule else r for r in demo.rules.values()])
    report = mutate(ruleset, ["demo/shut-in"])
    assert survives in [s.what for s in report.survivors]
    survivor = next(s for s in report.survivors if s.what == survives)
    assert survivor.as_problem().message == f'no example of "demo/shut-in" notices when {survives}'
    assert survivor.mark.file.endswith("drying.yaml")


def test_a_rule_whose_examples_fail_or_are_missing_is_not_tried(demo: Ruleset) -> None:
    rule = demo.rules["demo/no-cladding"]
    wrong = replace(rule, examples=tuple(replace(e, fires=not e.fires) for e in rule.examples))
    for changed in (wrong, replace(rule, examples=())):
        report = mutate(Ruleset.of([], [changed]))
        assert (report.tried, report.not_run) == (0, ("demo/no-cladding",))


def test_mutants_are_other_rules_and_each_says_what_it_changed(demo: Ruleset) -> None:
    for rule in demo.rules.values():
        mutants = list(mutants_of(rule))
        assert all(m.rule != rule and m.rule.id == rule.id for m in mutants)
        assert len({(m.what, m.mark) for m in mutants}) == len(mutants)


def test_yes_and_no_are_swapped(demo: Ruleset) -> None:
    said = [m.what for m in mutants_of(demo.rules["demo/no-cladding"])]
    assert '"has_cladding: no" becomes yes' in said
    assert '"not slab" of "kind: not slab" is turned round' in said


# Coverage


def test_coverage_counts_cases_alternatives_and_sides(demo: Ruleset) -> None:
    every = coverage(demo, cases(demo))
    assert every.never_fired == ()
    assert every.one_sided == ()
    few = coverage(demo, {"bare": [Fact("section", "section", {"kind": "wall", "has_cladding": "no"})]})
    assert few.never_fired == ("demo/open-outward", "demo/shut-in", "demo/one-side-tight")
    by_rule = {r.rule: r for r in few.rules}
    assert by_rule["demo/no-cladding"].fired_in == ("bare",)
    assert by_rule["demo/shut-in"].alternatives == 2
    assert len(few.one_sided) == few.thresholds == 5
    text = few.render()
    assert text.startswith("1 case: 1 of 4 rules fire, 0 of 5 thresholds seen from both sides")
    assert "demo/open-outward: no layer whose permeance_outboard passes or fails >= 5 perm" in text


def test_a_threshold_seen_from_one_side_names_the_missing_side(
    rule_text: RuleText, ruleset_of: RulesetOf
) -> None:
    ruleset = ruleset_of(rule_text('when: [{layer a: {thickness: "> 2 in"}}]'))
    seen = coverage(ruleset, {"thin": [Fact("layer:1", "layer", {"index": 1.0, "thickness": 0.04})]})
    (sides,) = seen.one_sided
    assert (sides.passing, sides.failing) == (None, 0.04)
    assert "no layer whose thickness passes > 2 in" in seen.render()


# Differences


def test_a_rulebook_differs_in_nothing_from_itself(demo: Ruleset, packs: Path) -> None:
    load_ruleset([packs])
    same = difference(demo, load_ruleset([packs]), cases(demo))
    assert (same.added, same.removed, same.judging, same.wording, same.cases) == ((), (), (), (), ())
    assert same.cases_run == len(cases(demo))


def test_a_moved_limit_is_told_with_the_cases_it_turns(demo: Ruleset) -> None:
    rule = demo.rules["demo/one-side-tight"]
    moved = next(m.rule for m in mutants_of(rule) if "higher" in m.what)
    new = Ruleset.of(demo.topics, [moved if r is rule else r for r in demo.rules.values()])
    found = difference(demo, new, cases(demo))
    assert (found.judging, found.wording) == ((rule.id,), ())
    turned = {c.case: c for c in found.cases}
    one = turned["demo/one-side-tight: a little too open"]
    assert (one.gone, one.new) == ((), ((rule.id, (1, 2)),))
    assert (one.worst_before, one.worst_after, one.verdict_changes) == ("", "caution", True)


def test_rules_that_come_go_or_are_only_reworded_are_told_apart(demo: Ruleset) -> None:
    rules = list(demo.rules.values())
    reworded = replace(rules[3], title="Rain comes in")
    renamed = replace(rules[2], id="demo/renamed")
    assert rules[3].finding is not None
    graver = replace(rules[3], finding=replace(rules[3].finding, severity="serious"))
    found = difference(demo, Ruleset.of([], [rules[0], rules[1], renamed, reworded]), {})
    assert (found.added, found.removed) == (("demo/renamed",), ("demo/one-side-tight",))
    assert (found.judging, found.wording) == ((), ("demo/no-cladding",))
    facts = {"bare": [Fact("section", "section", {"kind": "wall", "has_cladding": "no"})]}
    (case,) = difference(demo, Ruleset.of([], [*rules[:3], graver]), facts).cases
    assert case.severities == ((("demo/no-cladding", ()), "caution", "serious"),)
    assert case.verdict_changes


# Explanations


def layer(n: int, name: str, **fields: Value) -> Fact:
    return Fact(f"layer:{n}", "layer", {"index": float(n), "name": name, **fields})


SANDWICH = [
    Fact("section", "section", {"kind": "wall", "has_cladding": "yes"}),
    Fact("climate", "climate", {"hdd18": 5000.0}),
    Fact("indoor", "indoor", {"humid": "no"}),
    layer(1, "polyethylene", permeance_wet=perm(0.06)),
    layer(2, "plywood", holds_water="yes", permeance_outboard=perm(0.05)),
    layer(3, "foil", permeance_wet=perm(0.05)),
]


def evidence_from(facts: list[Fact]) -> Callable[[str, str], Evidence | None]:
    by_id = {f.id: f for f in facts}

    def evidence(fact_id: str, field: str) -> Evidence | None:
        fact = by_id.get(fact_id)
        if fact is None or field not in fact.fields:
            return None
        spec = KINDS[fact.kind].fields[field]
        return Evidence(
            fact=f"{fact_id} {field}",
            label=spec.meaning,
            value=fact.fields[field],
            unit="",
            dimension=spec.dimension,
            origin="given",
            how="",
            source="",
        )

    return evidence


def proofs(ruleset: Ruleset, facts: list[Fact]) -> list[Step]:
    outcome = ruleset.program.run(facts)
    first = findings_from(outcome, ruleset, facts)[0]
    return proof_of(first, ruleset, outcome, evidence_from(facts), "ip")


def test_a_proof_names_every_value_and_every_absence(demo: Ruleset) -> None:
    (step,) = proofs(demo, SANDWICH)
    assert (step.rule, step.says) == ("demo/shut-in", "plywood is shut in between polyethylene and foil")
    values = {e.fact: e.value for e in step.facts}
    assert values["section kind"] == "wall"
    assert values["layer:1 permeance_wet"] == perm(0.06)
    assert values["climate hdd18"] == 5000.0
    (absence,) = [e for e in step.facts if e.fact == "absent"]
    assert absence.label.startswith("there is no conclusion “dry” where conclusion is dries outward")
    assert step.because == []


def test_a_proof_goes_down_through_conclusions(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    ruleset = ruleset_of(
        rule_text("when: [{layer a: {holds_water: yes}}]", "conclude: {fact: wet, layer: a}", "wet"),
        rule_text("when: [{concluded w: {name: wet}}]", "conclude: {fact: soaked, layer: w.layer}", "soaked"),
        rule_text("when: [{concluded s: {name: soaked}}]"),
    )
    facts = [layer(2, "plywood", holds_water="yes")]
    (step,) = proofs(ruleset, facts)
    assert [s.rule for s in step.because] == ["t/soaked"]
    (below,) = step.because[0].because
    assert below.rule == "t/wet"
    assert [e.fact for e in below.facts] == ["layer:2 holds_water", "layer:2 index"]


def changed(**fields: Value) -> list[Fact]:
    return [Fact(f.id, f.kind, {**f.fields, **fields}) if f.id == "layer:3" else f for f in SANDWICH]


def test_the_nearest_miss_says_what_failed_by_how_much_and_what_would_do(demo: Ruleset) -> None:
    miss = nearest_miss(demo, "demo/shut-in", changed(permeance_wet=perm(1.5)), system="ip")
    assert not miss.fires
    (failed,) = miss.failed
    assert (failed.fact, failed.field) == ("layer:3", "permeance_wet")
    assert failed.distance == pytest.approx(perm(0.5), rel=1e-6)
    assert (
        failed.text
        == "permeance when damp of layer 4, foil is 1.5 perms, 0.5 perms over; asked is at most 1 perm"
    )
    assert failed.change == "permeance when damp of layer 4, foil were at most 1 perm"
    assert len(miss.holds) == 5
    assert miss.render().startswith("demo/shut-in does not fire: 1 condition of 6 fails.\n")


def test_the_change_named_makes_the_rule_fire(demo: Ruleset) -> None:
    facts = changed(permeance_wet=perm(1.5))
    (failed,) = nearest_miss(demo, "demo/shut-in", facts).failed
    assert failed.wanted is not None
    assert nearest_miss(demo, "demo/shut-in", changed(permeance_wet=failed.wanted)).fires


def test_an_unknown_value_is_said_to_be_unknown(demo: Ruleset) -> None:
    facts = [Fact(f.id, f.kind, {k: v for k, v in f.fields.items() if k != "holds_water"}) for f in SANDWICH]
    (failed,) = nearest_miss(demo, "demo/shut-in", facts).failed
    assert "is unknown; asked is yes" in failed.text
    assert failed.distance is None


def test_a_choice_of_words_is_told_as_the_rule_has_it(demo: Ruleset) -> None:
    floor = [Fact("section", "section", {"kind": "floor"}), *SANDWICH[1:]]
    (failed,) = nearest_miss(demo, "demo/shut-in", floor).failed
    assert failed.text == "kind of section of the section is floor; asked is wall or roof"
    unknown = [Fact("section", "section", {}), *SANDWICH[1:]]
    (failed,) = nearest_miss(demo, "demo/shut-in", unknown).failed
    assert failed.text == "kind of section of the section is unknown; asked is wall or roof"


def test_what_stands_against_a_rule_is_named(demo: Ruleset) -> None:
    facts = [
        Fact(f.id, f.kind, {**f.fields, "permeance_outboard": perm(9)}) if f.id == "layer:2" else f
        for f in SANDWICH
    ]
    (failed,) = nearest_miss(demo, "demo/shut-in", facts).failed
    assert failed.text.startswith("the concluded “dries outward” stands against")


def test_a_missing_fact_is_named(demo: Ruleset) -> None:
    miss = nearest_miss(demo, "demo/one-side-tight", SANDWICH)
    assert [f.text.split(" where ")[0] for f in miss.failed] == ["nothing fits: there is a pair of layers"]


def test_a_rule_that_fires_is_told_as_such(demo: Ruleset) -> None:
    miss = nearest_miss(demo, "demo/shut-in", SANDWICH)
    assert miss.fires and miss.failed == ()
    assert miss.render() == "demo/shut-in fires: all its conditions hold."


def test_temperatures_are_apart_by_a_difference(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    ruleset = ruleset_of(rule_text('when: [{layer a: {t_winter_inner: "< 8 C"}}]'))
    (failed,) = nearest_miss(ruleset, "t/r", [layer(1, "brick", t_winter_inner=10.0)], system="ip").failed
    assert "is 50 °F, 3.6 °F over; asked is below 46 °F" in failed.text


# Pages


def page_of(ruleset: Ruleset, rule: str, form: Form = "text") -> str:
    return rule_page(ruleset.rule(rule), ruleset, form)


def test_a_page_has_every_section_in_order(demo: Ruleset) -> None:
    text = page_of(demo, "demo/shut-in")
    places = [re.search(rf"^{re.escape(h)}$", text, re.MULTILINE) for h in HEADINGS]
    assert all(places)
    starts = [m.start() for m in places if m]
    assert starts == sorted(starts)
    assert max(map(len, text.splitlines())) <= WIDTH


def test_a_page_says_what_the_rule_says(demo: Ruleset) -> None:
    text = " ".join(page_of(demo, "demo/shut-in").split())
    for part in (
        "A layer that holds water is shut in between two vapor-tight layers",
        "Kind of section is wall or roof",
        "permeance when damp is at most 1 perm",
        "There is no conclusion “dry”",
        "[between] is shut in between [inner] and [outer]",
        "Serious. Wood that stays wet for months rots.",
        "IRC 2021 R702.7 (from memory of the document)",
        "common practice, no published source",
        "Takes the place of demo/one-side-tight",
        "Rests on the conclusion “dries outward” of demo/open-outward",
        "Fires: tight on both sides, cold",
        "Silent: a floor",
        "permeance when damp: 0.95 perm",
    ):
        assert part in text, part


def test_other_rules_that_speak_of_a_rule_stand_on_its_page(demo: Ruleset) -> None:
    assert "Gives way to demo/shut-in" in page_of(demo, "demo/one-side-tight")
    assert "Has the symptom demo/one-side-tight" in page_of(demo, "demo/no-cladding")
    assert "Concludes" in page_of(demo, "demo/open-outward")


def test_every_rule_has_a_page_in_every_form(demo: Ruleset) -> None:
    for rule in demo.rules:
        for form in FORMS:
            assert page_of(demo, rule, form).endswith("\n")


def test_html_is_closed_and_escaped(rule_text: RuleText, ruleset_of: RulesetOf) -> None:
    ruleset = ruleset_of(rule_text("applies to: {kind: wall}").replace("title: A test", 'title: "<b>&"'))
    text = page_of(ruleset, "t/r", "html")
    assert "<h1>&lt;b&gt;&amp;</h1>" in text
    open_tags: list[str] = []

    class Parser(HTMLParser):
        def handle_starttag(self, tag: str, attrs: object) -> None:
            if tag != "meta":
                open_tags.append(tag)

        def handle_endtag(self, tag: str) -> None:
            assert open_tags.pop() == tag

    Parser().feed(text)
    assert open_tags == []


def test_markdown_escapes_what_would_be_markup(demo: Ruleset) -> None:
    text = page_of(demo, "demo/shut-in", "markdown")
    assert "\\[between\\] is shut in" in text
    assert text.startswith("# A layer that holds water")


def test_the_index_lists_all_rules_by_pack(demo: Ruleset) -> None:
    text = rulebook_index(demo)
    assert text.startswith("4 rules in 1 pack\n")
    for rule in demo.rules.values():
        assert rule.id in text
    assert "concludes  demo/open-outward" in text
    with pytest.raises(InputError) as caught:
        rulebook_index(demo, "dem")
    assert caught.value.problems[0].nearest == "demo"
