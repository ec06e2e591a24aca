"""Sections side by side: what differs in layers, numbers and findings, and what one buys over the other."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from string import ascii_uppercase
from typing import TYPE_CHECKING

import reviewer
from reviewer.advice import FindingLine
from reviewer.comparison import At, Compared, Comparison, FindingPair, LayerPair, Number, Pair
from reviewer.errors import InputError, Problem
from reviewer.facts.book import Record
from reviewer.facts.resolve import Properties
from reviewer.facts.vocabulary import KINDS
from reviewer.model.override import override
from reviewer.model.section import Section
from reviewer.result import Evidence, Finding, LayerLine, Result
from reviewer.review import Units, judge, review
from reviewer.units import DIMENSIONS, show
from reviewer.variants import standing
from reviewer.variants.align import Matched, align
from reviewer.variants.judging import Judges
from reviewer.variants.standing import QUANTITIES, Standing

if TYPE_CHECKING:
    from reviewer.rules.ruleset import Ruleset

MOST_SECTIONS = 12
_SAME = 1e-6
"""Relative: numbers that differ by less are the same."""
_WORTH_SAYING = 0.05
"""Relative: what differs by less is in the table and not in the sentence."""

Climates = Sequence[tuple[str, Callable[[Section], Section]]]
"""What was asked for, and how a section comes to stand there."""


@dataclass(frozen=True, slots=True)
class _Side:
    """One of the sections, reviewed."""

    letter: str
    result: Result
    standing: Standing
    numbers: Mapping[str, float]

    @property
    def layers(self) -> list[Properties]:
        return self.standing.built[1]


def compare(
    sections: Sequence[Section], judges: Judges, climates: Climates = (), units: Units | None = None
) -> Comparison:
    """The first section against each of the others. Raises InputError: fewer than two, or as `review` does.

    A section that has no place stands in the first of the climates.
    """
    if not 2 <= len(sections) <= MOST_SECTIONS:
        raise InputError(
            Problem(
                f"{len(sections)} section{'s' if len(sections) != 1 else ''} to compare",
                None,
                f"two to {MOST_SECTIONS}",
            )
        )
    here = [s if s.place is not None or not climates else climates[0][1](s) for s in sections]
    sides = [_side(s, judges, units, n) for n, s in enumerate(here)]
    system: Units = units or sides[0].result.units
    if any(s.result.units != system for s in sides):
        sides = [_side(s, judges, system, n) for n, s in enumerate(here)]
    related = _related(judges.rules)
    pairs = [_pair(sides[0], other, n, related, system) for n, other in enumerate(sides[1:], 1)]
    across = _across(sections, climates, judges, system)
    return Comparison(
        program=f"reviewer {reviewer.__version__}",
        units=system,
        sections=[_compared(s) for s in sides],
        numbers=_numbers(sides),
        pairs=pairs,
        climates=across,
        summary=_summary(sides, pairs, across),
        cautions=list(dict.fromkeys(c for s in sides for c in s.result.cautions)),
    )


def _side(section: Section, judges: Judges, units: Units | None, n: int) -> _Side:
    result = review(section, judges.rules, edition=judges.edition, units=units)
    built = judges.build([section])[0]
    found = Standing(built, judge(built[0], judges.rules))
    return _Side(ascii_uppercase[n], result, found, standing.numbers(found))


def _compared(s: _Side) -> Compared:
    r = s.result
    return Compared(
        letter=s.letter,
        name=_name(s),
        section=r.section,
        climate=r.climate,
        disposition=r.disposition,
        summary=r.summary,
        layers=list(r.layers),
    )


def _name(s: _Side) -> str:
    head = s.result.section
    in_line = head.file in ("<line>", "-")
    return head.title or (f"{head.kind}, {len(s.result.layers)} layers" if in_line else head.id)


# -- layers --------------------------------------------------------------------------------------


def _layer_pairs(a: _Side, b: _Side, matched: Sequence[Matched], system: Units) -> list[LayerPair]:
    out: list[LayerPair] = []
    for m in matched:
        x = a.result.layers[m.before] if m.before is not None else None
        y = b.result.layers[m.after] if m.after is not None else None
        differs = _differences(x, y, system) if x is not None and y is not None else []
        if x is None or y is None:
            step = "added" if x is None else "taken out"
        else:
            step = "changed" if differs else "same"
        out.append(
            LayerPair(
                step=step,
                before=m.before,
                after=m.after,
                text_before=x.text if x is not None else "",
                text_after=y.text if y is not None else "",
                differs=differs,
            )
        )
    return out


_SHOWN = (
    ("thickness", "thickness", "length"),
    ("r_value", "resistance", "thermal resistance"),
    ("permeance_dry", "permeance when dry", "permeance"),
    ("permeance_wet", "permeance when damp", "permeance"),
)


def _differences(x: LayerLine, y: LayerLine, system: Units) -> list[str]:
    out = [f"material: {x.name}, {y.name}"] if x.name != y.name else []
    for name, label, dimension in _SHOWN:
        v, w = getattr(x, name), getattr(y, name)
        if not _same(v, w):
            out.append(f"{label}: {_shown(v, dimension, system)}, {_shown(w, dimension, system)}")
    if x.roles != y.roles:
        gone, new = [r for r in x.roles if r not in y.roles], [r for r in y.roles if r not in x.roles]
        out += [f"no longer {' and '.join(gone)}"] if gone else []
        out += [f"now also {' and '.join(new)}"] if new else []
    if x.ventilated != y.ventilated:
        out.append("ventilated: " + ("yes, no" if x.ventilated else "no, yes"))
    if not out and x.text != y.text:
        out.append(f"written “{x.text}”, “{y.text}”")
    return out


def _same(v: float | None, w: float | None) -> bool:
    if v is None or w is None:
        return v is w
    return v == w or abs(v - w) <= _SAME * max(abs(v), abs(w))


def _shown(v: float | str | None, dimension: str, system: Units) -> str:
    if v is None:
        return "not known"
    if isinstance(v, str):
        return v
    return show(v, dimension, system) if dimension in DIMENSIONS else f"{v:.3g}"


# -- numbers -------------------------------------------------------------------------------------


def _numbers(sides: Sequence[_Side]) -> list[Number]:
    out: list[Number] = []
    for q in QUANTITIES:
        values = [s.numbers.get(q.name) for s in sides]
        if all(v is None for v in values):
            continue
        at = [standing.where(s.standing, q.name) for s in sides]
        out.append(
            Number(
                name=q.name,
                label=q.label,
                dimension=q.dimension,
                values=[None if v is None else float(f"{v:.9g}") for v in values],
                better=q.better,  # type: ignore[arg-type]
                layers=at if any(at) else [],
            )
        )
    return out


# -- findings ------------------------------------------------------------------------------------


def _pair(a: _Side, b: _Side, at: int, related: Related, system: Units) -> Pair:
    matched = align(a.layers, b.layers)
    layers = _layer_pairs(a, b, matched, system)
    findings = _finding_pairs(a, b, matched, related, system)
    moved = [f for f in findings if f.moved != "both" and _weighs(f)]
    return Pair(
        before=0,
        after=at,
        layers=layers,
        findings=findings,
        says=_says(a, b, layers, findings, system),
        because=list(dict.fromkeys(t for f in moved for t in f.because))
        if a.result.disposition != b.result.disposition
        else [],
    )


def _weighs(f: FindingPair) -> bool:
    return bool({f.severity_before, f.severity_after} & {"serious", "caution"})


_RANK = {"serious": 3, "caution": 2, "note": 1, "credit": 0}


Related = Callable[[str, str], bool]
"""Whether one of two rules takes the place of the other's findings."""


def _related(rules: Ruleset) -> Related:
    def related(one: str, other: str) -> bool:
        a, b = rules.rules.get(one), rules.rules.get(other)
        if a is None or b is None or a.finding is None or b.finding is None:
            return False
        same = a.finding.severity == b.finding.severity or "credit" in (
            a.finding.severity,
            b.finding.severity,
        )
        return not same and (any(d.rule == other for d in a.defeats) or any(d.rule == one for d in b.defeats))

    return related


def _finding_pairs(
    a: _Side, b: _Side, matched: Sequence[Matched], related: Related, system: Units
) -> list[FindingPair]:
    across = {m.before: m.after for m in matched if m.before is not None and m.after is not None}
    back = {j: i for i, j in across.items()}
    rest = list(b.result.findings)
    found: list[tuple[Finding | None, Finding | None]] = []
    for exact in (True, False):
        # Findings at layers that stand for each other first, so that what is left is paired by its rule alone.
        for f in a.result.findings:
            if any(x is f for x, _ in found):
                continue
            places = [across.get(i) for i in f.layers]
            other = next((g for g in rest if g.rule == f.rule and (not exact or g.layers == places)), None)
            if other is not None:
                rest = [g for g in rest if g is not other]
                found.append((f, other))
    alone = [f for f in a.result.findings if not any(x is f for x, _ in found)]
    for f in list(alone):
        # Where one rule takes the place of another, the one here and the other there are one thing grown or eased.
        places = {across.get(i) for i in f.layers}
        other = next(
            (g for g in rest if related(f.rule, g.rule) and (places & set(g.layers) or not f.layers)), None
        )
        if other is not None:
            alone = [x for x in alone if x is not f]
            rest = [g for g in rest if g is not other]
            found.append((f, other))
    found += [(f, None) for f in alone]
    found += [(None, g) for g in rest]
    pairs = [_finding_pair(x, y, a, b, across, back, system) for x, y in found]
    order = [r.rule for r in (*a.result.findings, *b.result.findings)]

    def rank(p: FindingPair) -> tuple[int, int]:
        worst = max(_RANK[s] for s in (p.severity_before, p.severity_after) if s is not None)
        return -worst, order.index(p.rule)

    return sorted(pairs, key=rank)


def _finding_pair(
    x: Finding | None,
    y: Finding | None,
    a: _Side,
    b: _Side,
    across: Mapping[int, int],
    back: Mapping[int, int],
    system: Units,
) -> FindingPair:
    either = x or y
    assert either is not None
    if x is not None and y is not None:
        steps = _RANK[y.severity] - _RANK[x.severity]
        moved = "both" if steps == 0 else "graver" if steps > 0 else "milder"
    else:
        moved = "only before" if y is None else "only after"
    because: list[str] = []
    if moved != "both":
        if x is not None:
            because += _moves(x.evidence, a, b, across, system, turned=False)
        if y is not None:
            because += _moves(y.evidence, b, a, back, system, turned=True)
    return FindingPair(
        rule=either.rule,
        moved=moved,
        before=_line(x),
        after=_line(y),
        severity_before=x.severity if x is not None else None,
        severity_after=y.severity if y is not None else None,
        because=list(dict.fromkeys(because)),
    )


def _line(f: Finding | None) -> FindingLine | None:
    if f is None:
        return None
    return FindingLine(rule=f.rule, severity=f.severity, title=f.title, layers=list(f.layers))


_PLACE = re.compile(r"\d+")


def _moves(
    evidence: Sequence[Evidence],
    mine: _Side,
    other: _Side,
    across: Mapping[int, int],
    system: Units,
    turned: bool,
) -> list[str]:
    """The facts that a finding rests on which are otherwise in the other section: the first's value first."""
    records = other.standing.built[0].by_id()
    out: list[str] = []
    for e in evidence:
        subject, _, name = e.fact.rpartition(" ")
        kind, _, places = subject.partition(" ")
        if kind not in KINDS or name not in KINDS[kind].fields or e.dimension == "index":
            continue
        counterpart = _counterpart(kind, places, across)
        if counterpart is None:
            label = e.label.partition(":")[0]
            # A layer that is not there says it all; what it was like adds nothing.
            out.append(f"{label}: not in {other.letter}")
            continue
        there = records.get(counterpart)
        letters = (other.letter, mine.letter) if turned else (mine.letter, other.letter)
        text = _moved(e, name, there, system, turned, letters)
        if text:
            out.append(text)
    return out


def _counterpart(kind: str, places: str, across: Mapping[int, int]) -> str | None:
    """The id of the fact that speaks of the same in the other section; None where a layer is not there."""
    if not places or kind not in ("layer", "pair", "joint"):
        return f"{kind}:{places}" if places else kind
    found = [across.get(int(p)) for p in _PLACE.findall(places)]
    if any(p is None for p in found):
        return None
    return f"{kind}:{'-'.join(str(p) for p in found)}"


def _moved(
    e: Evidence, name: str, there: Record | None, system: Units, turned: bool, letters: tuple[str, str]
) -> str:
    value = there.fields.get(name) if there is not None else None
    if isinstance(value, float) and isinstance(e.value, float):
        if _same(value, e.value):
            return ""
    elif value == e.value:
        return ""
    mine, other = _shown(e.value, e.dimension, system), _shown(value, e.dimension, system)
    if mine == other:
        return ""
    first, second = (other, mine) if turned else (mine, other)
    return f"{e.label}: {first} in {letters[0]}, {second} in {letters[1]}"


# -- climates ------------------------------------------------------------------------------------


def _across(sections: Sequence[Section], climates: Climates, judges: Judges, units: Units) -> list[At]:
    moved = [[stand(s) for s in sections] for _, stand in climates]
    built = judges.build([s for group in moved for s in group])
    out: list[At] = []
    for n, (asked, _) in enumerate(climates):
        group = [
            Standing(b, judge(b[0], judges.rules)) for b in built[n * len(sections) : (n + 1) * len(sections)]
        ]
        site = group[0].site
        deciders = [s.decider for s in group]
        out.append(
            At(
                asked=asked,
                place=site.climate.place if site.climate is not None else "",
                zone=site.zone,
                dispositions=[s.disposition for s in group],
                deciding=[standing.line(f, units) if f is not None else None for f in deciders],
            )
        )
    return out


def climates_of(zones: Sequence[str], places: Sequence[str]) -> Climates:
    """Zones and places as ways to put a section there."""
    return [
        *((f"zone {z}", lambda s, z=z: override(s, zone=z)) for z in zones),
        *((p, lambda s, p=p: override(s, place=p)) for p in places),
    ]


# -- words ---------------------------------------------------------------------------------------


def _says(
    a: _Side, b: _Side, layers: Sequence[LayerPair], findings: Sequence[FindingPair], system: Units
) -> str:
    """What the second buys over the first, and what it costs."""
    same_numbers = all(_same(a.numbers.get(q.name), b.numbers.get(q.name)) for q in QUANTITIES)
    same_findings = all(f.moved == "both" for f in findings)
    if same_numbers and same_findings and all(p.step == "same" for p in layers):
        return f"{b.letter} is {a.letter}: no difference in layers, numbers or findings."
    was, now = a.result.disposition, b.result.disposition
    both = f"Both come to “{now}”"
    parts = [f"{both if was == now else f'{b.letter} comes to “{now}” where {a.letter} comes to “{was}”'}."]
    gone = [f.before for f in findings if f.moved == "only before" and f.before and _weighs(f)]
    new = [f.after for f in findings if f.moved == "only after" and f.after and _weighs(f)]
    if gone:
        parts.append(f"It is rid of {_listed(gone)}.")
    if new:
        parts.append(f"It brings {_listed(new)}.")
    eased = [f.after for f in findings if f.moved == "milder" and f.after and _weighs(f)]
    worse = [f.after for f in findings if f.moved == "graver" and f.after and _weighs(f)]
    if eased:
        parts.append(f"Milder: {_listed(eased)}.")
    if worse:
        parts.append(f"Graver: {_listed(worse)}.")
    lost = [
        f.before.title
        for f in findings
        if f.moved == "only before" and f.severity_before == "credit" and f.before
    ]
    if lost:
        parts.append(f"It loses what {a.letter} does well: {'; '.join(lost)}.")
    better, worse_numbers = _in_numbers(a, b, system)
    if better:
        parts.append(f"Better in numbers: {'; '.join(better)}.")
    if worse_numbers:
        parts.append(f"{'Worse' if better else 'Worse in numbers'}: {'; '.join(worse_numbers)}.")
    if same_numbers and same_findings:
        parts.append("The layers differ; no number and no finding does.")
    return " ".join(parts)


def _listed(found: Sequence[FindingLine]) -> str:
    """`1 serious finding (…) and 2 cautions (…)`."""
    parts = []
    for severity, one, many in (
        ("serious", "serious finding", "serious findings"),
        ("caution", "caution", "cautions"),
    ):
        titles = [f.title for f in found if f.severity == severity]
        if titles:
            parts.append(f"{len(titles)} {one if len(titles) == 1 else many} ({'; '.join(titles)})")
    return " and ".join(parts)


def _in_numbers(a: _Side, b: _Side, system: Units) -> tuple[list[str], list[str]]:
    """The differences worth a word, in the order of the table: what is better in the second, and what is worse."""
    better: list[str] = []
    worse: list[str] = []

    def both(name: str) -> tuple[float, float] | None:
        v, w = a.numbers.get(name), b.numbers.get(name)
        return (v, w) if v is not None and w is not None else None

    u = both("u_value")
    if u and _apart(*u):
        less = u[1] < u[0]
        text = f"it lets {abs(u[1] / u[0] - 1) * 100:.0f} % {'less' if less else 'more'} heat through"
        (better if less else worse).append(text)
    for name, says, dimension, least in (
        ("condensate_peak", "condensate at most", "area density", 0.001),
        ("wood_wettest", "wettest wood", "wood moisture", 0.005),
        ("mold_index", "mold index", "ratio", 0.05),
    ):
        v = both(name)
        if v and _apart(*v) and abs(v[0] - v[1]) > least:
            text = f"{says} {_shown(v[1], dimension, system)} instead of {_shown(v[0], dimension, system)}"
            (better if v[1] < v[0] else worse).append(text)
    for name, says in (("drying_inward", "to the room"), ("drying_outward", "outwards")):
        v = both(name)
        if v and _apart(*v) and min(v) > 0:
            times = max(v) / min(v)
            much = f"{times:.1f} times" if times < 20 else f"more than {times // 10 * 10:.0f} times"
            more = v[1] > v[0]
            text = f"it dries {much} as well {says}" if more else f"{a.letter} dries {much} as well {says}"
            (better if more else worse).append(text)
    d = both("thickness")
    if d and abs(d[0] - d[1]) > 0.001:
        thicker = d[1] > d[0]
        text = f"{_shown(abs(d[1] - d[0]), 'length', system)} {'thicker' if thicker else 'thinner'}"
        (worse if thicker else better).append(text)
    return better, worse


def _apart(v: float, w: float) -> bool:
    return abs(v - w) > _WORTH_SAYING * max(abs(v), abs(w))


def _summary(sides: Sequence[_Side], pairs: Sequence[Pair], climates: Sequence[At]) -> str:
    verdicts = ", ".join(f"{s.letter} {s.result.disposition}" for s in sides)
    text = f"{verdicts}."
    if len(pairs) == 1 and pairs[0].says.endswith("no difference in layers, numbers or findings."):
        text = pairs[0].says
    for n, s in enumerate(sides):
        if not climates:
            break
        held = sum(standing.gravity(x.dispositions[n]) <= 1 for x in climates)
        text += f" {s.letter} holds in {held} of {len(climates)} climates."
    return text
