"""The search for remedies: changes one at a time and combined, each reviewed by the whole pipe.

Candidates are taken in rising order of cost. Cost never falls when a change is added, so the first candidate
without a serious finding or caution ends the search: whatever comes later costs as much and can't be less
risky. Nothing is left out but combinations that lack a change without which a finding stands whatever else is
done (`needs.py`), so what is found is what trying every combination finds. A first look at likely combinations comes
before, so that there is an answer where not all can be tried.
"""

from __future__ import annotations

import gc
import itertools
import math
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from reviewer.facts.book import Book
from reviewer.model.section import Section
from reviewer.remedies.changes import section_of
from reviewer.remedies.combine import Candidate, Combine, bases, candidates
from reviewer.remedies.costs import Costs, coarse
from reviewer.remedies.moves import SIDES, UNTIL, Limits, Move, moves_of
from reviewer.remedies.needs import needs
from reviewer.remedies.serious import serious_rules
from reviewer.result import Disposition
from reviewer.review import Judgment, judge
from reviewer.variants.judging import Judges, Verdict, count, u_value

MOST_HEAT = 1.05
"""A remedy may let through this many times the heat of the section as it is: a change that dries a section by
giving up its insulation is none (common practice)."""
_BATCH = 64
_BEAM = 6
"""Combinations of one size that the first look goes on from, by each of its two orders."""
_FEW = 256
"""Candidates after which it is known whether most are turned away."""
_FIRST_LOOK = 3
"""The first look takes one candidate in so many."""


@dataclass(frozen=True, slots=True)
class Judged:
    candidate: Candidate
    judgment: Judgment

    @property
    def cautions(self) -> int:
        return count(self.judgment, "caution")

    @property
    def order(self) -> tuple[float, int, int]:
        """Of two remedies, which comes first."""
        return self.candidate.cost, self.cautions, len(self.candidate.moves)


def bad_rules(judgment: Judgment, severities: Collection[str] = ("serious", "caution")) -> set[str]:
    """Rules with findings of these severities."""
    return {f.rule.id for f in judgment.findings if f.part.severity in severities}


@dataclass(frozen=True, slots=True)
class Search:
    """What a search found."""

    original: Verdict
    front: list[Judged]
    """Cheapest first; each costs more than the one before and leaves fewer cautions."""
    others: list[Judged]
    """The cheapest tried with the fewest trades, from one side only, or without touching a layer; cheapest first."""
    tried: int
    complete: bool
    """Nothing within the limits was left out that could stand on the front."""
    reached: float
    """Every combination that costs less was tried."""
    unpriced: list[str]
    moves: list[Move]
    unmoved: list[str]
    """Rules with serious findings that no combination cleared."""


def passes(judgment: Judgment, until: Disposition) -> bool:
    """No serious finding, nothing decisive unknown, and the disposition asked for or a better one."""
    return judgment.disposition in UNTIL[: UNTIL.index(until) + 1]


def search(
    section: Section,
    judges: Judges,
    limits: Limits | None = None,
    costs: Costs | None = None,
    progress: Callable[[int], None] = lambda n: None,
) -> Search:
    """The front of cost against risk: for each number of cautions left, the cheapest changes that pass.

    A section that passes already is given changes that leave fewer cautions. Raises InputError as `build`.
    """
    limits = limits or Limits()
    prices = costs or coarse()
    original = judges.judge([section])[0]
    moves, unpriced = moves_of(section, original.judgment, judges.edition, limits, prices)
    clean = limits.until == "no exceptions taken"
    asked = needs(original.judgment, judges.rules, moves, ("serious", "caution") if clean else ("serious",))
    stays = needs(original.judgment, judges.rules, moves, ("caution",))
    run = _Run(section, judges, limits, original, progress)

    def worth(chosen: frozenset[int], cost: float) -> bool:
        return run.open(sum(not group & chosen for group in stays), cost)

    queue = candidates(section, moves, limits.most_changes, prices, asked, worth)
    if all(asked):
        _first_look(run, moves, prices, asked)
    reached, complete = 0.0, run.settled(0.0)
    while not complete:
        batch = list(itertools.islice(queue, min(_BATCH, max(limits.most_candidates - run.tried, 0))))
        if not batch:
            complete = run.tried < limits.most_candidates
            break
        reached = batch[0].cost
        if run.settled(reached):
            complete = True
            break
        run.judge(batch, whole=False)
        reached = batch[-1].cost
        complete = run.settled(reached)
    if complete:
        reached = math.inf
    front, others = run.results()
    unmoved = [r for r in dict.fromkeys(_serious(original.judgment)) if r not in run.cleared]
    return Search(original, front, others, run.tried, complete, reached, unpriced, moves, unmoved)


def _serious(judgment: Judgment) -> list[str]:
    return [f.rule.id for f in judgment.findings if f.part.severity == "serious"]


@contextmanager
def _collector_waits() -> Iterator[None]:
    """The collector of cycles goes over the whole rulebook again and again while facts are made, a fifth of the time,
    and finds next to nothing: it waits for the end of a batch."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


class _Run:
    """One search: what was judged, and the best of it."""

    def __init__(
        self,
        section: Section,
        judges: Judges,
        limits: Limits,
        original: Verdict,
        progress: Callable[[int], None],
    ):
        self.section, self.judges, self.limits, self.progress = section, judges, limits, progress
        self.most_heat = None if original.u_value is None else MOST_HEAT * original.u_value
        passed = passes(original.judgment, limits.until)
        self.fewer_than = count(original.judgment, "caution") if passed else None
        self.was = set(_serious(original.judgment))
        self.seen: set[object] = set()
        self.tried = 0
        self.cleared: set[str] = set()
        self.turned_away = 0
        self.best: dict[tuple[str, int | str], Judged] = {}

    def judge(self, batch: Sequence[Candidate], whole: bool = True) -> list[Judged]:
        """Judge those of a batch that were not judged before. Without `whole`, those with a serious finding are turned
        away by the part of the rulebook that tells."""
        new = [c for c in batch if c.draft.key not in self.seen]
        self.seen.update(c.draft.key for c in new)
        out: list[Judged] = []
        for at in range(0, len(new), _BATCH):
            part = new[at : at + _BATCH]
            with _collector_waits():
                out += self._judged(part, whole)
            self.tried += len(part)
            self.progress(self.tried)
        for j in out:
            self.cleared |= self.was - set(_serious(j.judgment))
            self._consider(j)
        return out

    def _judged(self, part: Sequence[Candidate], whole: bool) -> list[Judged]:
        out: list[Judged] = []
        built = self.judges.build([section_of(c.draft) for c in part])
        for c, (book, *_) in zip(part, built, strict=True):
            # No rule is run on a section that lets through too much heat.
            if self.most_heat is not None and (u_value(book) or math.inf) > self.most_heat:
                continue
            if whole or not self._turned_away(book):
                out.append(Judged(c, judge(book, self.judges.rules)))
        return out

    def _turned_away(self, book: Book) -> bool:
        """Whether a serious finding stands; not asked where it would turn few away."""
        if self.tried > _FEW and self.turned_away * 3 < self.tried:
            return False
        found = serious_rules(self.judges.rules, book.facts())
        self.cleared |= self.was - found
        self.turned_away += bool(found)
        return bool(found)

    def _consider(self, j: Judged) -> None:
        if not passes(j.judgment, self.limits.until):
            return
        if self.fewer_than is not None and j.cautions >= self.fewer_than:
            return
        c = j.candidate
        self._keep(("cautions", j.cautions), j)
        # More work than another remedy takes is no way of its own.
        if not any(b.candidate.chosen < c.chosen for b in self.best.values()):
            self._keep(("trades", len(c.trades)), j)
            self._keep(("side", c.side), j)

    def _keep(self, place: tuple[str, int | str], j: Judged) -> None:
        held = self.best.get(place)
        if held is None or j.order < held.order:
            self.best[place] = j

    def open(self, cautions: int, cost: float) -> bool:
        """Whether a remedy of this cost that leaves at least so many cautions could stand on the front."""
        if self.fewer_than is not None and cautions >= self.fewer_than:
            return False
        held = (
            j
            for (what, n), j in self.best.items()
            if what == "cautions" and isinstance(n, int) and n <= cautions
        )
        return all(j.candidate.cost > cost for j in held)

    def settled(self, reached: float) -> bool:
        """Whether nothing that costs as much as this or more can stand on the front."""
        if self.fewer_than == 0:
            return True
        clean = self.best.get(("cautions", 0))
        return clean is not None and clean.candidate.cost <= reached

    def results(self) -> tuple[list[Judged], list[Judged]]:
        """The front, and what has other merits."""
        front: list[Judged] = []
        fewest: int | None = None
        levels = [j for (what, _), j in self.best.items() if what == "cautions"]
        for j in sorted(levels, key=lambda j: j.order):
            if fewest is None or j.cautions < fewest:
                front.append(j)
                fewest = j.cautions
        trades = [n for what, n in self.best if what == "trades" and isinstance(n, int)]
        wanted = [self.best.get(("side", s)) for s in (*SIDES, "")]
        wanted += [self.best[("trades", min(trades))]] if trades else []
        others: dict[object, Judged] = {}
        for j in wanted:
            if j is not None and not any(f.candidate.chosen <= j.candidate.chosen for f in front):
                others[j.candidate.draft.key] = j
        return front, sorted(others.values(), key=lambda j: j.order)


def _first_look(run: _Run, moves: list[Move], costs: Costs, asked: Sequence[frozenset[int]]) -> None:
    """Combinations that are likely to pass, judged before the rest: what each change alone clears tells which go
    together. Only the order of the work depends on it, not what is found."""
    most, limits = run.limits.most_candidates // _FIRST_LOOK, run.limits
    combine = Combine(run.section, moves, costs)
    starts = sorted(bases(asked, moves, limits.most_changes), key=lambda b: (combine.cost(b), b))[:_BEAM]
    if not starts:
        return
    clears: dict[int, set[str]] = {}
    start = starts[0]
    sets = [b for b in starts if b]
    if len(start) < limits.most_changes:
        sets += [tuple(sorted((*start, m))) for m in range(len(moves)) if m not in start]
    level = _judged_sets(run, combine, sets, most)
    at_start = next((j for s, j in level if s == start), None)
    before = bad_rules(at_start.judgment) if at_start else run.was | {""}
    for s, j in level:
        extra = set(s) - set(start)
        if len(extra) == 1:
            after = bad_rules(j.judgment)
            clears[extra.pop()] = before - after if at_start else run.was - after
    for _ in range(limits.most_changes - 1):
        picked: dict[tuple[int, ...], Judged] = {}
        for severities in (("serious",), ("serious", "caution")):
            ranked = sorted(
                level,
                key=lambda pair: (
                    sum(f.part.severity in severities for f in pair[1].judgment.findings),
                    pair[1].order,
                    pair[0],
                ),
            )
            picked.update(ranked[:_BEAM])
        wider: dict[tuple[int, ...], None] = {}
        for s, j in picked.items():
            left = bad_rules(j.judgment)
            if len(s) < limits.most_changes:
                wider.update(
                    dict.fromkeys(
                        tuple(sorted((*s, m))) for m, c in clears.items() if m not in s and c & left
                    )
                )
        level += _judged_sets(run, combine, list(wider), most)


def _judged_sets(
    run: _Run, combine: Combine, sets: Sequence[tuple[int, ...]], most: int
) -> list[tuple[tuple[int, ...], Judged]]:
    made_of: dict[object, tuple[int, ...]] = {}
    batch: list[Candidate] = []
    for s in sets[: max(most - run.tried, 0)]:
        candidate = combine.candidate(s)
        if candidate is not None and candidate.draft.key not in run.seen | made_of.keys():
            made_of[candidate.draft.key] = s
            batch.append(candidate)
    return [(made_of[j.candidate.draft.key], j) for j in run.judge(batch)]
