"""Speed of the remedy search, as ratios against references in the same run.

Targets: the physics of many candidates at once at least ten times as fast as one by one; 2,000 candidates, judged by
the whole pipe, in at most 10 s on one core; the part of the rulebook that turns candidates away faster than all of it.
"""

from __future__ import annotations

import itertools
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from reviewer.facts import monthly
from reviewer.facts.build import Begun, begin
from reviewer.model.parse import load_section
from reviewer.physics import condensation, heat, vapor
from reviewer.remedies.changes import section_of
from reviewer.remedies.combine import candidates
from reviewer.remedies.costs import coarse
from reviewer.remedies.moves import Limits, moves_of
from reviewer.remedies.search import search
from reviewer.remedies.serious import part_of
from reviewer.variants.judging import Judges

CASE = Path(__file__).parents[2] / "cases/vapor-control/harbor-hill-painted-wall.yaml"
HARD = CASE.parent / "mill-street-pool.yaml"
"""A case whose front is not settled before all 2,000 candidates are tried."""
REFERENCE_LOOP = 440_000
"""Additions in the reference: 10 ms on this kind of machine when it is quiet."""
FEW = 48


@pytest.fixture(scope="module")
def begun() -> list[Begun]:
    """Candidates of one search that have as many layers, before anything is calculated."""
    judges = Judges()
    section = load_section(CASE)
    original = judges.judge([section])[0].judgment
    moves, _ = moves_of(section, original, "", Limits(), coarse())
    first = itertools.islice(candidates(section, moves, 3, coarse()), 2000)
    found = [begin(section_of(c.draft)) for c in first]
    usual = Counter(b.anatomy.end for b in found).most_common(1)[0][0]
    return [b for b in found if b.anatomy.end == usual and not b.why][:768]


def best(work: Callable[[], object], rounds: int = 5) -> float:
    """Least processor time of a few runs (s)."""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def arrays(batch: list[Begun]) -> tuple[np.ndarray, ...]:
    """What the equations take: resistances and permeances by layer, and the climates on both sides."""
    thermal = monthly.thermal_years([b.job for b in batch])
    return (
        np.array([t.r for t in thermal]),
        np.array([[p.permeance for p in b.job.parts] for b in batch]),
        np.array([t.t_in for t in thermal]),
        np.array([t.t_ext for t in thermal]),
        np.array([b.site.p_in for b in batch]),
        np.array([t.p_ext for t in thermal]),
    )


def physics(r, table, t_in, t_ext, p_in, p_ext) -> condensation.CondensationYear:
    """Temperatures, vapor and condensation of a year for any number of sections at once."""
    t = heat.temperatures(r, t_in, t_ext, 0.13, 0.04)
    points = table.shape[-1]
    first = np.arange(0, table.size, points).reshape(table.shape[0], 1, table.shape[1])
    flat = table.reshape(-1)
    rise = np.diff(flat, append=0.0)

    def permeance(rh):
        x = np.clip(rh, 0.0, 1.0) * (points - 1)
        low = np.minimum(x.astype(int), points - 2)
        return flat.take(first + low) + rise.take(first + low) * (x - low)

    w = vapor.iterate_permeance(permeance, t, p_in, p_ext).permeances
    return condensation.condensation_year(t, 1.0 / np.maximum(w, 1e-18), p_in, p_ext)


def test_physics_of_a_batch_is_ten_times_as_fast_as_one_by_one(benchmark, begun: list[Begun]) -> None:
    whole = arrays(begun)
    one = [tuple(x[n : n + 1] for x in whole) for n in range(FEW)]
    together = best(lambda: physics(*whole)) / len(begun)
    alone = best(lambda: [physics(*x) for x in one]) / FEW
    steps_together = best(lambda: years(begun)) / len(begun)
    steps_alone = best(lambda: [years([b]) for b in begun[:FEW]]) / FEW
    benchmark.pedantic(physics, whole, rounds=3, warmup_rounds=1)
    benchmark.extra_info.update(
        batch=len(begun), ratio=alone / together, with_objects=steps_alone / steps_together
    )
    print(
        f"\n{len(begun)} candidates: {together * 1e6:.0f} µs each at once, {alone * 1e6:.0f} µs one by one: "
        f"{alone / together:.1f} times; with all objects of the facts {steps_alone / steps_together:.1f} times"
    )
    assert alone >= 10 * together
    assert steps_alone >= 5 * steps_together
    for n in (0, FEW - 1):
        assert physics(*one[n]).total_peak[0] == pytest.approx(
            physics(*whole).total_peak[n], rel=1e-9, abs=1e-12
        )


def years(batch: list[Begun]) -> list[monthly.Year]:
    """The monthly calculation as the facts ask for it, mold and wood moisture with it."""
    thermal = monthly.thermal_years([b.job for b in batch])
    return monthly.monthly_years(
        [(b.job.parts, b.site, b.anatomy, t) for b, t in zip(batch, thermal, strict=True)]
    )


def test_two_thousand_candidates_take_no_longer_than_ten_seconds_of_reference() -> None:
    judges = Judges()
    section = load_section(HARD)
    search(section, judges, Limits(most_candidates=64))
    start = time.process_time()
    found = search(section, judges, Limits(most_candidates=2000))
    took = time.process_time() - start
    reference = best(reference_work)
    print(f"\n{found.tried} candidates {took:.1f} s, {took / reference / 100:.1f} s of a quiet machine")
    assert found.tried == 2000
    assert took <= 1000 * reference


def reference_work() -> int:
    total = 0
    for n in range(REFERENCE_LOOP):
        total += n
    return total


def test_turning_away_takes_at_most_two_thirds_of_the_whole_rulebook() -> None:
    judges = Judges()
    facts = [b[0].facts() for b in judges.build([load_section(HARD)] * 16)]
    part = part_of(judges.rules)
    for rules in (judges.rules, part):
        rules.run(facts[0])
    whole = best(lambda: [judges.rules.run(f) for f in facts])
    short = best(lambda: [part.run(f) for f in facts])
    print(f"\nwhole rulebook {whole / 16 * 1e3:.2f} ms, the part of it {short / 16 * 1e3:.2f} ms")
    assert short <= whole * 2 / 3
