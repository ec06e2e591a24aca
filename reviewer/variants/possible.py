"""The review over the possibilities: verdicts as shares, which unknown matters most, and what to find out next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from reviewer.model.section import Section
from reviewer.possibilities import (
    Answer,
    AssumptionMade,
    Bound,
    Course,
    Decider,
    Possibilities,
    Question,
    Share,
    Switch,
    percent,
)
from reviewer.review import Units, judge, sentences
from reviewer.units import show
from reviewer.values import Disposition
from reviewer.variants.judging import Judges
from reviewer.variants.sampling import choices, combinations
from reviewer.variants.standing import GRAVITY, Standing, gravity
from reviewer.variants.unknowns import WHAT, Choice, Unknown, unknowns, with_choice

MOST = 64
"""Possibilities reviewed unless more are asked for."""
_BATCH = 128
_BINS = 8
_LINE = 9
"""Points along a range at which a number's course is checked."""
_CLOSE = 2.0**-14
"""Share of a range to which a switch is found."""
_MOST_CORNERS = 5
BOUNDED = (
    ("u_value", "heat let through, with framing (U)", "thermal transmittance"),
    ("condensate_peak", "most condensate held at any plane", "area density"),
    ("wood_wettest", "wettest wood, monthly mean", "wood moisture"),
    ("mold_index", "highest mold index in three years", "ratio"),
)


@dataclass(frozen=True, slots=True)
class _Case:
    """What one possibility comes to."""

    choice: Choice
    disposition: Disposition
    decider: tuple[str, str, str] | None
    """Rule, severity, title."""
    findings: frozenset[tuple[str, str]]
    numbers: tuple[float | None, ...]
    missing: tuple[str, ...]


def possibilities(
    section: Section,
    judges: Judges,
    most: int = MOST,
    units: Units = "ip",
    progress: Callable[[int], None] = lambda n: None,
) -> Possibilities | None:
    """The review over what unknown and ranged layers may be, at most `most` possibilities of it.

    None where no layer is unknown and none has a range. Raises InputError as `review` does.
    """
    home = judges.build([section])[0][2]
    found, left = unknowns(section, home.zone_number)
    if not found and not left:
        return None
    runner = _Runner(section, found, judges, units, progress)
    picked, every = choices(found, most) if found else ([], True)
    cases = runner.run(picked)
    exact = all(not u.ranged for u in found)
    switches = _switches(runner, found) if found and all(u.ranged for u in found) else []
    questions = [_question(n, u, cases, every, switches, units) for n, u in enumerate(found)]  # fmt: skip
    # Of two that decide as much, the one that lies nearer the room is easier to look at.
    questions.sort(key=lambda q: (-round(q.decides, 6), -round(q.decides_findings, 6), q.layer))
    open_still = list(dict.fromkeys([*left, *(m for c in cases for m in c.missing if not _told(m, left))]))
    shares = _shares(cases)
    return Possibilities(
        count=len(cases),
        of=combinations(found) if found else 0,
        method="every combination" if every and exact else "low-discrepancy sample",
        shares=shares,
        deciders=_deciders(cases),
        questions=questions,
        switches=switches,
        bounds=_bounds(runner, found, cases) if cases else [],
        not_varied=open_still,
        assumptions=_assumptions(section, found, units),
        summary=_summary(len(cases), combinations(found), every, shares, open_still),
        next=_next(questions, shares, units),
    )


def _told(missing: str, left: Sequence[str]) -> bool:
    """Whether a missing fact is a layer that has been spoken of already."""
    return any(missing.startswith(f"what {t.partition(':')[0]} is") for t in left)


class _Runner:
    """Reviews choices in batches, each different one once."""

    def __init__(
        self,
        section: Section,
        found: Sequence[Unknown],
        judges: Judges,
        units: Units,
        progress: Callable[[int], None],
    ):
        self.section, self.found, self.judges = section, found, judges
        self.units: Units = units
        self.progress = progress
        self.known: dict[Choice, _Case] = {}

    def run(self, picked: Iterable[Choice]) -> list[_Case]:
        wanted = list(picked)
        new = [c for c in dict.fromkeys(wanted) if c not in self.known]
        for at in range(0, len(new), _BATCH):
            batch = new[at : at + _BATCH]
            made = [with_choice(self.section, self.found, c)[0] for c in batch]
            for c, built in zip(batch, self.judges.build(made), strict=True):
                self.known[c] = _case(c, Standing(built, judge(built[0], self.judges.rules)), self.units)
            self.progress(len(self.known))
        return [self.known[c] for c in wanted]


def _case(choice: Choice, s: Standing, units: Units) -> _Case:
    f = s.decider
    return _Case(
        choice,
        s.disposition,
        (f.rule.id, f.part.severity, sentences(f.says(units))) if f is not None else None,
        frozenset((x.rule.id, x.part.severity) for x in s.judgment.findings if x.part.severity != "credit"),
        _numbers(s),
        tuple(s.missing()) if s.disposition == "incomplete" else (),
    )


def _numbers(s: Standing) -> tuple[float | None, ...]:
    head, year = s.head().fields, s.year
    mold = [v for r in s.records("layer") if isinstance(v := r.fields.get("mold_index"), float)]
    wood = None if year is None or np.isnan(year.wood).all() else float(np.nanmax(year.wood))
    return (
        _float(head.get("u_value")),
        _float(head.get("condensate_peak")),
        wood,
        max(mold) if mold else None,
    )


def _float(value: object) -> float | None:
    return value if isinstance(value, float) else None


# -- shares ----------------------------------------------------------------------------------------


def _shares(cases: Sequence[_Case]) -> list[Share]:
    counts: Counter[Disposition] = Counter(c.disposition for c in cases)
    order = sorted(counts, key=lambda d: -gravity(d))
    return [Share(disposition=d, share=_rounded(counts[d] / len(cases)), count=counts[d]) for d in order]


def _rounded(value: float) -> float:
    return round(value, 6) + 0.0


def _deciders(cases: Sequence[_Case]) -> list[Decider]:
    """The findings that verdicts hang on; of one rule, the title that comes first."""
    counts: Counter[tuple[str, str]] = Counter()
    titles: dict[tuple[str, str], str] = {}
    for c in cases:
        if c.decider is not None:
            rule, severity, title = c.decider
            counts[rule, severity] += 1
            titles.setdefault((rule, severity), title)
    ordered = sorted(counts, key=lambda k: (k[1] != "serious", -counts[k], k))
    return [
        Decider(rule=k[0], severity=k[1], title=titles[k], share=_rounded(counts[k] / len(cases)))  # type: ignore[arg-type]
        for k in ordered
    ]


# -- what matters ----------------------------------------------------------------------------------


def decided(groups: Sequence[Sequence[Hashable]], sampled: bool) -> float:
    """How much of the doubt about an outcome goes when the group is known: Goodman and Kruskal's tau, the share of
    the outcome's variance between groups. From a sample, less what groups of that size would show by chance.

    >>> decided([["dry", "dry"], ["wet", "wet"]], False), decided([["dry", "wet"], ["dry", "wet"]], False)
    (1.0, 0.0)
    """
    groups = [g for g in groups if g]
    every = [x for g in groups for x in g]
    total = len(every)
    doubt = 1.0 - sum((n / total) ** 2 for n in Counter(every).values())
    if doubt <= 0:
        return 0.0
    left = sum(len(g) / total * (1.0 - sum((n / len(g)) ** 2 for n in Counter(g).values())) for g in groups)
    tau = 1.0 - left / doubt
    if sampled and total > len(groups):
        tau = 1.0 - (1.0 - tau) * (total - 1) / (total - len(groups))
    return min(max(_rounded(tau), 0.0), 1.0)


def _question(
    at: int, u: Unknown, cases: Sequence[_Case], every: bool, switches: Sequence[Switch], units: Units
) -> Question:
    if u.ranged:
        bins: list[list[_Case]] = [[] for _ in range(_BINS)]
        for c in cases:
            bins[min(int(c.choice[at] * _BINS), _BINS - 1)].append(c)
        mine = [s for s in switches if (s.layer, s.quantity) == (u.layer, u.quantity)]
        answers = _parts(at, u, cases, mine, units)
    else:
        bins = [[c for c in cases if c.choice[at] == n] for n in range(len(u.options))]
        answers = [
            _answer(o.says, o.text, o.basis, group, cases)
            for o, group in zip(u.options, bins, strict=True)
            if group
        ]
    return Question(
        layer=u.layer,
        subject=u.subject,
        quantity=u.quantity,
        dimension=u.dimension,
        low=_nine(u.low) if u.ranged else None,
        high=_nine(u.high) if u.ranged else None,
        decides=decided([[c.disposition for c in g] for g in bins], not every),
        decides_findings=decided([[c.findings for c in g] for g in bins], not every),
        find_out=u.find_out,
        answers=answers,
    )


def _parts(
    at: int, u: Unknown, cases: Sequence[_Case], switches: Sequence[Switch], units: Units
) -> list[Answer]:
    """A range in parts: between the switches of the verdict where they are known, else in thirds."""
    edges = [(s.at - u.low) / (u.high - u.low) for s in switches] or [1 / 3, 2 / 3]
    if not switches and len({c.disposition for c in cases}) == 1:
        edges = []
    edges = [0.0, *edges, 1.0]
    out: list[Answer] = []
    for low, high in pairwise(edges):
        group = [c for c in cases if low <= c.choice[at] and (c.choice[at] < high or high == 1.0)]
        if group:
            says = f"{show(u.at(low), u.dimension, units)} to {show(u.at(high), u.dimension, units)}"
            out.append(_answer(says, "", "as the section says", group, cases))
    return out


def _answer(says: str, text: str, basis: str, group: Sequence[_Case], cases: Sequence[_Case]) -> Answer:
    verdicts = _shares(group)
    deciders = _deciders(group)
    return Answer(
        says=says,
        text=text,
        share=_rounded(len(group) / len(cases)),
        basis=basis,
        verdicts=verdicts,
        settled=verdicts[0].disposition
        if len(verdicts) == 1 and verdicts[0].disposition != "incomplete"
        else None,
        decider=max(deciders, key=lambda d: d.share) if deciders else None,
    )


# -- along a range ---------------------------------------------------------------------------------


def _middle(found: Sequence[Unknown]) -> Choice:
    return tuple(0.5 if u.ranged else 0.0 for u in found)


def _along(found: Sequence[Unknown], at: int, x: float) -> Choice:
    middle = _middle(found)
    return (*middle[:at], x, *middle[at + 1 :])


def _switches(runner: _Runner, found: Sequence[Unknown]) -> list[Switch]:
    """Where the verdict changes along each range, the others at their middle: between neighbors of an even row of
    points that differ, halved until close."""
    out: list[Switch] = []
    row = [n / (2 * _LINE - 2) for n in range(2 * _LINE - 1)]
    for n, u in enumerate(found):
        line = runner.run([_along(found, n, x) for x in row])
        for a, b in pairwise(line):
            if a.disposition == b.disposition:
                continue
            low, high = a.choice[n], b.choice[n]
            below: Disposition = a.disposition
            above: Disposition = b.disposition
            while high - low > _CLOSE:
                x = 0.5 * (low + high)
                there = runner.run([_along(found, n, x)])[0].disposition
                if there == below:
                    low = x
                else:
                    high, above = x, there
            out.append(
                Switch(
                    layer=u.layer,
                    quantity=u.quantity,
                    dimension=u.dimension,
                    at=_nine(u.at(high)),
                    below=below,
                    above=above,
                )
            )
    return out


def _nine(value: float) -> float:
    return float(f"{value:.9g}")


def _bounds(runner: _Runner, found: Sequence[Unknown], cases: Sequence[_Case]) -> list[Bound]:
    """The least and the most of each number. U runs one way with every resistance (both limits of ISO 6946 do), so that
    the ends of the ranges bound it; of the others, the course along the ranges is checked and told, and the bounds are
    those of all points reviewed, the ends of the ranges among them."""
    ranges = [n for n, u in enumerate(found) if u.ranged]
    lines = {n: runner.run([_along(found, n, k / (_LINE - 1)) for k in range(_LINE)]) for n in ranges}
    seen = list(cases) + [c for line in lines.values() for c in line]
    corners = 0 < len(ranges) <= _MOST_CORNERS
    if corners:
        seen += runner.run(_corners(found, ranges, cases))
    points = len({c.choice for c in seen})
    out: list[Bound] = []
    for k, (name, label, dimension) in enumerate(BOUNDED):
        values = [v for c in seen if (v := c.numbers[k]) is not None]
        if not values:
            continue
        courses: dict[int, Course] = {n: course([c.numbers[k] for c in line]) for n, line in lines.items()}
        one_way = corners and name in _ONE_WAY and "turns" not in courses.values()
        out.append(
            Bound(
                name=name,
                label=label,
                dimension=dimension,
                low=_nine(min(values)),
                high=_nine(max(values)),
                how=_how(found, courses, points, one_way),
            )
        )
    return out


_ONE_WAY = ("u_value",)
"""Numbers that run one way along each range by their formula."""


def _corners(found: Sequence[Unknown], ranges: Sequence[int], cases: Sequence[_Case]) -> list[Choice]:
    """All ends of the ranges together, with each combination of the rest that was reviewed."""
    rest = list(dict.fromkeys(tuple(-1.0 if u.ranged else x for u, x in zip(found, c.choice, strict=True))
                              for c in cases))  # fmt: skip
    out: list[Choice] = []
    for base in rest[:MOST]:
        for corner in range(1 << len(ranges)):
            choice = list(base)
            for bit, n in enumerate(ranges):
                choice[n] = float(corner >> bit & 1)
            out.append(tuple(choice))
    return out


def course(values: Sequence[float | None]) -> Course:
    """How a number runs along a row of points.

    >>> course([1.0, 1.0, 2.0]), course([3.0, 1.0]), course([1.0, 2.0, 1.5]), course([2.0, 2.0])
    ('rises', 'falls', 'turns', 'stays')
    """
    known = [v for v in values if v is not None]
    close = 1e-9 * max((abs(v) for v in known), default=0.0)
    steps = [b - a for a, b in pairwise(known)]
    up, down = any(s > close for s in steps), any(s < -close for s in steps)
    if len(known) < len(values) or (up and down):
        return "turns"
    return "rises" if up else "falls" if down else "stays"


def _how(found: Sequence[Unknown], courses: dict[int, Course], points: int, one_way: bool) -> str:
    if not courses:
        return f"least and most of the {points} possibilities reviewed"
    said = " and ".join(
        f"{'turns along' if c == 'turns' else f'{c} with'} {found[n].subject}"
        for n, c in courses.items()
        if c != "stays"
    )
    checked = f"it {said or 'stays the same'} (checked at {_LINE} points of each)"
    if one_way:
        return f"at the ends of the ranges: {checked}"
    return f"least and most of {points} points reviewed; {checked}"


# -- words -----------------------------------------------------------------------------------------


def _assumptions(section: Section, found: Sequence[Unknown], units: Units) -> list[AssumptionMade]:
    out: list[AssumptionMade] = []
    for u in found:
        if u.ranged:
            ends = f"{show(u.low, u.dimension, units)} to {show(u.high, u.dimension, units)}"
            out.append(
                AssumptionMade(
                    what=f"{u.subject}: anywhere from {ends}, each value as likely", why="a range was given"
                )
            )
        else:
            listed = "; ".join(o.says for o in u.options)
            why = "; ".join(dict.fromkeys(o.source for o in u.options))
            out.append(AssumptionMade(what=f"{u.subject} may be {listed}; each counts the same", why=why))
    if any(not u.ranged for u in found) and section.building.year is None:
        out.append(
            AssumptionMade(
                what="a building of any age",
                why="the year built is not stated; it narrows down what a layer may be",
            )
        )
    elif any(not u.ranged for u in found):
        out.append(
            AssumptionMade(
                what=f"what was usual in {section.building.year}, or was put in since", why="the year built"
            )
        )
    return out


def _summary(count: int, of: int, every: bool, shares: Sequence[Share], left: Sequence[str]) -> str:
    if not count:
        return "No possibility can be reviewed: " + "; ".join(left) + "."
    if every:
        many = (
            "Over the one possibility"
            if count == 1
            else f"Over {'both' if count == 2 else f'all {count}'} possibilities"
        )
    else:
        many = f"Over {count} {f'of {of:,} ' if of else ''}possibilities, evenly spread{'' if of else ' over the ranges'}"
    if len(shares) == 1:
        if shares[0].disposition == "incomplete":
            return f"{many}: none can be judged; {'; '.join(left) or 'a decisive fact is missing'}."
        return f"{many}: {'each ' if count > 1 else 'it '}comes to “{shares[0].disposition}”."
    parts = [f"“{s.disposition}” in {percent(s.share)}" for s in shares]
    return f"{many}: {', '.join(parts)}."


def _next(questions: Sequence[Question], shares: Sequence[Share], units: Units) -> str:
    if not questions or not shares:
        return ""
    if len(shares) == 1:
        first = max(questions, key=lambda q: q.decides_findings)
        if shares[0].disposition == "incomplete":
            return ""
        text = "Whatever is found, the verdict stays"
        if first.decides_findings > 0:
            return f"{text}; which findings there are hangs most on {_matter(first)}: {first.find_out}."
        return f"{text}: nothing needs to be opened up for it."
    first = questions[0]
    if first.decides <= 0:
        return f"No single answer decides it: the verdict hangs on several together. Begin with {_matter(first)}: {first.find_out}."
    head = f"First find out {_matter(first)}: {first.find_out}. It settles {percent(first.decides)} of the doubt."
    return f"{head} {' '.join(_then(first))}"


def _matter(q: Question) -> str:
    subject = q.subject.partition(", ")[2]
    return (
        f"what the {subject} (layer {q.layer + 1}) is"
        if q.quantity == WHAT
        else f"the {subject} (layer {q.layer + 1})"
    )


def _then(q: Question) -> list[str]:
    """What each answer decides, answers with the same outcome together."""
    groups: dict[tuple[Disposition | None, tuple[Disposition, ...]], list[Answer]] = {}
    for a in q.answers:
        groups.setdefault((a.settled, tuple(s.disposition for s in a.verdicts)), []).append(a)
    out = []
    ordered = sorted(groups.items(), key=lambda g: -max(GRAVITY.index(d) for d in g[0][1]))
    for (settled, verdicts), answers in ordered:
        said = _or([a.says for a in answers])
        if settled is not None:
            decider = answers[0].decider
            one = decider is not None and all(a.decider and a.decider.rule == decider.rule for a in answers)
            why = f" ({decider.title})" if decider is not None and one else ""
            out.append(f"If it is {said}: “{settled}”{why}.")
        else:
            out.append(f"If it is {said}: still open, {_or([f'“{v}”' for v in verdicts])}.")
    return out


def _or(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{'; '.join(parts[:-1])} or {parts[-1]}"
