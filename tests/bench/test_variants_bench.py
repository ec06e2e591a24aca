"""Speed of reach, possibilities and flips, as ratios against a reference loop in the same run.

Targets on one quiet core: all zones in at most 1 s warm; 1,000 possibilities in at most 5 s; and many sections together
in less time than one by one. The reference is a loop that takes 10 ms on this kind of machine when it is quiet, so that
a ratio of 100 stands for a second, on a busy machine too.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from reviewer.model.override import override
from reviewer.model.parse import section_from_line
from reviewer.model.section import Section
from reviewer.review import review
from reviewer.variants.flip import flips
from reviewer.variants.judging import Judges
from reviewer.variants.possible import possibilities
from reviewer.variants.reach import reach

REFERENCE_LOOP = 440_000
WALL = (
    "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with kraft-faced R-21 glass fiber batt | 7/16 in OSB | "
    "house wrap | vinyl siding"
)
RANGED = (
    "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-19 to R-23 glass fiber batt | 7/16 in OSB | "
    "house wrap | 1 to 3 in extruded polystyrene board | vinyl siding"
)


def wall(text: str) -> Section:
    return section_from_line(text, kind="wall", place="Chicago, IL")


def loop() -> None:
    total = 0
    for n in range(REFERENCE_LOOP):
        total += n


def cpu(work: Callable[[], object]) -> float:
    """Processor time, so that what others do on the machine counts less."""
    start = time.process_time()
    work()
    return time.process_time() - start


def ratio(work: Callable[[], object], rounds: int) -> float:
    """The quietest round, in reference loops measured around it."""
    found = []
    for _ in range(rounds):
        before = min(cpu(loop) for _ in range(3))
        spent = cpu(work)
        after = min(cpu(loop) for _ in range(3))
        found.append(spent / min(before, after))
    return min(found)


def test_all_zones_take_at_most_a_second_warm() -> None:
    judges, section = Judges(), wall(WALL)
    reach(section, judges)
    found = ratio(lambda: reach(section, Judges(judges.rules)), 5)
    print(f"\nreach over all zones: {found:.0f} references of 10 ms")
    assert found <= 100


def test_a_thousand_possibilities_take_at_most_five_seconds() -> None:
    judges, section = Judges(), wall(RANGED)
    possibilities(section, judges, 8)
    taken: list[float] = []

    def thousand() -> None:
        began = time.perf_counter()
        possibilities(section, judges, 1000)
        taken.append(time.perf_counter() - began)

    found = ratio(thousand, 3)
    print(f"\n1,000 possibilities: {min(taken):.2f} s, {found:.0f} references of 10 ms")
    # Five seconds here, or as many references of 10 ms where the machine is slower than that.
    assert min(taken) <= 5.0 or found <= 500


def test_zones_together_take_less_than_zones_one_by_one() -> None:
    judges, section = Judges(), wall(WALL)
    zones = [x.zone for x in reach(section, judges).zones]

    def one_by_one() -> None:
        for zone in zones:
            review(override(section, zone=zone), judges.rules)

    one_by_one()
    together = ratio(lambda: reach(section, Judges(judges.rules)), 5)
    alone = ratio(one_by_one, 5)
    print(f"\n{len(zones)} zones together {together:.0f}, one by one {alone:.0f} references")
    assert together <= 0.8 * alone


def test_flips_take_at_most_two_seconds() -> None:
    judges, section = Judges(), wall(WALL)
    flips(section, judges)
    found = ratio(lambda: flips(section, judges), 3)
    print(f"\nflips: {found:.0f} references of 10 ms")
    assert found <= 200
