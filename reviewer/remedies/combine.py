"""Moves combined: sets of them as candidates, the cheapest first."""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from reviewer.errors import InputError
from reviewer.model.section import Section
from reviewer.remedies.changes import Draft, draft_of
from reviewer.remedies.costs import Costs
from reviewer.remedies.moves import Move, excludes, existing, made


@dataclass(frozen=True, slots=True)
class Candidate:
    moves: tuple[Move, ...]
    cost: float
    draft: Draft
    chosen: frozenset[int]
    """Places of the moves among all moves of the search."""

    @property
    def trades(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(t for m in self.moves for t in m.trades if t))

    @property
    def side(self) -> str:
        """The side that all the work is done from; `both` sides; empty when no layer is touched."""
        sides = {m.side for m in self.moves if m.side}
        return "both" if len(sides) > 1 else next(iter(sides), "")


class Combine:
    """Sets of moves made into candidates, with what they cost."""

    def __init__(self, section: Section, moves: Sequence[Move], costs: Costs):
        self.moves = moves
        self.opening = {
            x.index: price.amount if existing(section) and (price := costs.open(x)) else 0.0
            for x in section.layers
        }
        self.start = draft_of(section)

    def least(self, chosen: tuple[int, ...]) -> float:
        """What a set costs without opening up: the least that it and all sets around it cost."""
        return round(sum(self.moves[i].cost for i in chosen), 9)

    def cost(self, chosen: tuple[int, ...]) -> float:
        opened = frozenset[int]().union(*(self.moves[i].opened for i in chosen))
        gone = frozenset[int]().union(*(self.moves[i].gone for i in chosen))
        return round(self.least(chosen) + sum(self.opening[i] for i in sorted(opened - gone)), 9)

    def fits(self, chosen: tuple[int, ...]) -> bool:
        """Whether the moves go together."""
        return not any(excludes(self.moves[a], self.moves[b]) for a, b in itertools.combinations(chosen, 2))

    def candidate(self, chosen: tuple[int, ...]) -> Candidate | None:
        """None where the moves don't go together."""
        if not self.fits(chosen):
            return None
        draft = self.start
        try:
            for i in chosen:
                draft = made(draft, self.moves[i].changes)
        except InputError:
            return None
        return Candidate(tuple(self.moves[i] for i in chosen), self.cost(chosen), draft, frozenset(chosen))


_Node = tuple[float, int, int, tuple[int, ...], tuple[int, ...]]


def bases(asked: Sequence[frozenset[int]], moves: Sequence[Move], most: int) -> Iterator[tuple[int, ...]]:
    """Sets of the moves that are asked for, each with at least one of every group; the empty set when none are."""
    pool = sorted(frozenset[int]().union(*asked))
    for size in range(min(most, len(pool)) + 1):
        for chosen in itertools.combinations(pool, size):
            if all(group & set(chosen) for group in asked):
                yield chosen


def candidates(
    section: Section,
    moves: Sequence[Move],
    most: int,
    costs: Costs,
    asked: Sequence[frozenset[int]] = (),
    worth: Callable[[frozenset[int], float], bool] = lambda chosen, cost: True,
) -> Iterator[Candidate]:
    """Sets of up to `most` moves that go together and have a move of every group in `asked`, each section once,
    the cheapest first.

    Best first over sets of rising places: what a set costs without opening up is the least that it and all
    that grow from it cost. A set that is not `worth` it when its turn comes, by its moves and its cost, is passed over.
    """
    combine = Combine(section, moves, costs)
    seen = {combine.start.key}
    pool = frozenset[int]().union(*asked)
    rest = [i for i in range(len(moves)) if i not in pool]
    least, cost = combine.least, combine.cost
    # Cost, whether it is a candidate, its size, its base, and places in `rest` of what is added to the base.
    heap: list[_Node] = [(least(b), 0, len(b), b, ()) for b in bases(asked, moves, most)]
    heapq.heapify(heap)
    while heap:
        at, ready, _, base, added = heapq.heappop(heap)
        chosen = tuple(sorted((*base, *(rest[i] for i in added))))
        if ready:
            found = combine.candidate(chosen) if worth(frozenset(chosen), at) else None
            if found is not None and found.draft.key not in seen:
                seen.add(found.draft.key)
                yield found
            continue
        if added and added[-1] + 1 < len(rest):
            sibling = (*added[:-1], added[-1] + 1)
            bound = least((*base, *(rest[i] for i in sibling)))
            heapq.heappush(heap, (bound, 0, len(chosen), base, sibling))
        if not combine.fits(chosen):
            continue
        if chosen:
            heapq.heappush(heap, (cost(chosen), 1, len(chosen), base, added))
        start = added[-1] + 1 if added else 0
        if len(chosen) < most and start < len(rest):
            child = (*added, start)
            bound = least((*base, *(rest[i] for i in child)))
            heapq.heappush(heap, (bound, 0, len(chosen) + 1, base, child))
