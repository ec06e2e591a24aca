"""From an engine's outcome to findings: firings merged, defeated ones dropped, symptoms attached."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from reviewer.engine.types import Derivation, Fact, Outcome
from reviewer.facts.vocabulary import KINDS
from reviewer.rules.language import SEVERITIES, SINGLE, FindingPart, Reference, Rule
from reviewer.rules.ruleset import Ruleset
from reviewer.rules.template import Template, render


@dataclass(frozen=True, slots=True)
class Firing:
    """One way in which a rule's conditions hold."""

    rule: str
    alternative: int
    bindings: Mapping[str, str]
    """Alias to fact id."""
    derivation: Derivation


@dataclass(frozen=True, slots=True)
class Defeat:
    """A rule whose findings are dropped, by which rule and why."""

    rule: str
    by: str
    because: str


@dataclass(frozen=True, slots=True)
class RawFinding:
    """A finding before provenance: the rule, where, and on which facts.

    The texts are functions of the reader's unit system (`ip` or `si`).
    """

    rule: Rule
    layers: tuple[int, ...]
    """Places of layers from the room, rising; of all firings."""
    firings: tuple[Firing, ...]
    """All that were merged; the texts speak of the first."""
    facts: Mapping[str, Fact]
    """Every fact of the review by id, concluded ones too."""
    bindings: Mapping[str, Fact]
    """Alias to fact, of the first firing, with the facts of which there is one only."""
    names: Mapping[int, str]
    """Place of a layer to its name."""
    symptoms: tuple[str, ...] = ()
    """Rules whose findings hang under this one."""
    symptom_of: tuple[str, ...] = ()
    defeated: tuple[Defeat, ...] = ()
    """Findings that this one has dropped."""

    @property
    def part(self) -> FindingPart:
        assert self.rule.finding is not None
        return self.rule.finding

    def says(self, system: str) -> str:
        return self.text(self.part.says, system)

    def explanation(self, system: str) -> str:
        return self.text(self.part.explanation, system)

    def margin(self, system: str) -> str:
        return self.text(self.part.margin, system) if self.part.margin else ""

    def remedies(self, system: str) -> list[tuple[str, dict[str, str | int]]]:
        """What to do, and the change as data: aliases have become places of layers.

        A change whose layer is not known is left out; its text stays.
        """
        return [(self.text(r.text, system), self._placed(r.change)) for r in self.part.remedies]

    def text(self, template: Template, system: str) -> str:
        return render(template, self.bindings, system, self.layer_name)

    def layer_name(self, index: int) -> str:
        return self.names.get(index, f"layer {index + 1}")

    def _placed(self, change: Mapping[str, str]) -> dict[str, str | int]:
        placed: dict[str, str | int] = {}
        for key, value in change.items():
            if key in ("remove", "replace", "set", "inside of", "outside of"):
                alias, _, field = value.partition(".")
                if key == "set" and alias in (*SINGLE, "building") and not field:
                    placed[key] = value
                    continue
                place = _place(Reference(alias, field or "index"), self.bindings)
                if place is None:
                    return {}
                placed[key] = place
            else:
                placed[key] = value
        return placed


def firings(outcome: Outcome, ruleset: Ruleset) -> dict[str, list[Firing]]:
    """Every firing of every rule, those of the first alternative first."""
    found: dict[str, list[Firing]] = {}
    for derivations in outcome.proofs.values():
        for derivation in derivations:
            alternative = ruleset.by_engine_name.get(derivation.rule)
            if alternative is None:
                continue
            bindings = {
                alias: parent
                for alias, parent in zip(alternative.aliases, derivation.parents, strict=False)
                if alias
            }
            firing = Firing(alternative.rule, alternative.number, bindings, derivation)
            found.setdefault(alternative.rule, []).append(firing)
    for of_rule in found.values():
        of_rule.sort(key=lambda f: (f.alternative, [_natural(p) for p in f.derivation.parents]))
    return found


def _natural(fact_id: str) -> list[tuple[int, int, str]]:
    """`layer:10` after `layer:9`."""
    return [(0, int(w), "") if w.isdigit() else (1, 0, w) for w in fact_id.replace("-", ":").split(":")]


def defeats_of(fired: Iterable[str], ruleset: Ruleset) -> dict[str, Defeat]:
    """Which of the rules that fired are defeated by another that stands itself."""
    by_defeated: dict[str, list[Rule]] = {}
    ids = sorted(fired, key=lambda r: ruleset.order[r])
    for rule_id in ids:
        rule = ruleset.rules[rule_id]
        for ref in rule.defeats:
            by_defeated.setdefault(ref.rule, []).append(rule)
    known: dict[str, Defeat | None] = {}

    def defeat(rule_id: str) -> Defeat | None:
        if rule_id not in known:
            standing = [r for r in by_defeated.get(rule_id, ()) if defeat(r.id) is None]
            known[rule_id] = (
                Defeat(rule_id, standing[0].id, standing[0].defeats_because) if standing else None
            )
        return known[rule_id]

    return {rule_id: d for rule_id in ids if (d := defeat(rule_id)) is not None}


def findings_from(outcome: Outcome, ruleset: Ruleset, facts: Iterable[Fact]) -> list[RawFinding]:
    """The findings that stand, worst first, then in the order of the rulebook, then from the room.

    Firings that differ only in what the finding does not name are one finding. A finding that another
    rule defeats is left out, and listed on the one that defeats it (see `defeats_of` for those that a
    conclusion defeats).
    """
    by_id = {fact.id: fact for fact in (*facts, *outcome.facts)}
    names = layer_names(by_id.values())
    fired = firings(outcome, ruleset)
    defeats = defeats_of(fired, ruleset)
    raised = [r for r in fired if r not in defeats and ruleset.rules[r].finding is not None]
    found = [f for rule_id in raised for f in _merged(ruleset.rules[rule_id], fired[rule_id], by_id, names)]
    order = ruleset.order
    found.sort(key=lambda f: (SEVERITIES.index(f.part.severity), order[f.rule.id], f.layers))
    return _linked(found, defeats)


def raised_by(rule_id: str, outcome: Outcome, ruleset: Ruleset, facts: Iterable[Fact]) -> list[RawFinding]:
    """What one rule gives before any defeat: its findings, or one for each conclusion that it draws."""
    rule = ruleset.rule(rule_id)
    of_rule = firings(outcome, ruleset).get(rule_id, [])
    by_id = {fact.id: fact for fact in (*facts, *outcome.facts)}
    names = layer_names(by_id.values())
    if rule.finding is not None:
        found = list(_merged(rule, of_rule, by_id, names))
        return sorted(found, key=lambda f: f.layers)
    drawn: dict[str, list[Firing]] = {}
    for fact_id, derivations in outcome.proofs.items():
        mine = [f for f in of_rule if f.derivation in derivations]
        if mine:
            drawn[fact_id] = mine
    return [
        RawFinding(
            rule=rule,
            layers=_layers_of(by_id[fact_id]),
            firings=tuple(mine),
            facts=by_id,
            bindings={alias: by_id[fact] for alias, fact in mine[0].bindings.items() if fact in by_id},
            names=names,
        )
        for fact_id, mine in drawn.items()
    ]


def _layers_of(concluded: Fact) -> tuple[int, ...]:
    """The places of layers that a conclusion copied."""
    fields = KINDS[concluded.kind].fields
    places = {
        int(float(value))
        for name, value in concluded.fields.items()
        if name in fields and fields[name].dimension == "index"
    }
    return tuple(sorted(places))


def layer_names(facts: Iterable[Fact]) -> dict[int, str]:
    """Place of a layer from the room to its name."""
    return {
        int(float(fact.fields["index"])): str(fact.fields["name"])
        for fact in facts
        if fact.kind == "layer" and "name" in fact.fields and "index" in fact.fields
    }


def _merged(
    rule: Rule, of_rule: list[Firing], by_id: Mapping[str, Fact], names: Mapping[int, str]
) -> Iterable[RawFinding]:
    assert rule.finding is not None
    part = rule.finding
    groups: dict[object, list[tuple[Firing, dict[str, Fact], tuple[int, ...]]]] = {}
    for firing in of_rule:
        bindings = {kind: by_id[kind] for kind in SINGLE if kind in by_id}
        bindings |= {alias: by_id[fact] for alias, fact in firing.bindings.items() if fact in by_id}
        places = (_place(ref, bindings) for ref in part.layers)
        layers = tuple(sorted({p for p in places if p is not None}))
        key: object = layers
        if part.one_per == "section":
            key = ()
        elif part.one_per != "layers":
            key = firing.bindings.get(part.one_per)
        groups.setdefault(key, []).append((firing, bindings, layers))
    for group in groups.values():
        yield RawFinding(
            rule=rule,
            layers=tuple(sorted({place for _, _, layers in group for place in layers})),
            firings=tuple(firing for firing, _, _ in group),
            facts=by_id,
            bindings=group[0][1],
            names=names,
        )


def _place(ref: Reference, bindings: Mapping[str, Fact]) -> int | None:
    fact = bindings.get(ref.alias)
    value = fact.fields.get(ref.field) if fact else None
    return int(value) if isinstance(value, (float, int)) else None


def _linked(found: list[RawFinding], defeats: Mapping[str, Defeat]) -> list[RawFinding]:
    """With symptoms and defeats: each hangs on one finding of the rule, the first that shares a layer."""
    under: dict[int, list[str]] = {}
    over: dict[int, list[str]] = {}
    for n, finding in enumerate(found):
        for ref in finding.rule.symptom_of:
            causes = [k for k, other in enumerate(found) if other.rule.id == ref.rule]
            if not causes:
                continue
            touching = [k for k in causes if set(found[k].layers) & set(finding.layers)]
            cause = (touching or causes)[0]
            if finding.rule.id not in under.setdefault(cause, []):
                under[cause].append(finding.rule.id)
            over.setdefault(n, []).append(ref.rule)
    told: set[str] = set()
    out: list[RawFinding] = []
    for n, finding in enumerate(found):
        mine = (
            () if finding.rule.id in told else tuple(d for d in defeats.values() if d.by == finding.rule.id)
        )
        told.add(finding.rule.id)
        out.append(
            RawFinding(
                finding.rule,
                finding.layers,
                finding.firings,
                finding.facts,
                finding.bindings,
                finding.names,
                tuple(under.get(n, ())),
                tuple(over.get(n, ())),
                mine,
            )
        )
    return out
