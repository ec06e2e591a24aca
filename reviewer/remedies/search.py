"""The search for remedies: changes one at a time and combined, each reviewed by the whole pipe.

Candidates are taken in rising order of cost. Cost never falls when a change is added, so the first candidate
without a serious finding or caution ends the search: whatever comes later costs as much and can't be less
risky. Nothing else is pruned, so what is found is what trying every combination finds.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from reviewer.errors import InputError, Problem, nearest
from reviewer.facts.build import build
from reviewer.facts.resolve import Properties
from reviewer.library.types import ROLES
from reviewer.model.section import Section
from reviewer.remedies.catalog import stock_changes
from reviewer.remedies.changes import WHOLE, Change, Draft, apply, draft_of, read, section_of
from reviewer.remedies.costs import Costs, coarse
from reviewer.result import Disposition
from reviewer.review import Judgment
from reviewer.variants.judging import Judges, Verdict, count

UNTIL: tuple[Disposition, ...] = ("no exceptions taken", "make corrections noted")
"""Dispositions that a remedy may reach, the better first."""
MOST_CHANGES, MOST_CANDIDATES = 3, 2000
_BATCH = 64
_SIDES = ("inside", "outside")
_PLACES = ("remove", "replace", "set", "inside of", "outside of")


@dataclass(frozen=True, slots=True)
class Limits:
    """What the user wants to keep, and where work may be done."""

    keep: frozenset[int] = frozenset()
    """Places of layers that must neither change nor come off."""
    side: str = ""
    """`inside` or `outside`; empty: either."""
    until: Disposition = "make corrections noted"
    most_changes: int = MOST_CHANGES
    most_candidates: int = MOST_CANDIDATES


@dataclass(frozen=True, slots=True)
class Move:
    """One thing that is done to the section as it is, with its price."""

    changes: tuple[Change, ...]
    """Places are those of the original's layers."""
    source: str
    cost: float
    trade: str
    side: str
    opened: frozenset[int]
    """Layers that come off and are put back."""
    changed: frozenset[int]
    """Layers that are removed, replaced or set."""
    slot: tuple[Any, ...]
    """Two moves with one slot exclude each other."""


@dataclass(frozen=True, slots=True)
class Candidate:
    moves: tuple[Move, ...]
    cost: float
    draft: Draft


@dataclass(frozen=True, slots=True)
class Judged:
    candidate: Candidate
    verdict: Verdict

    @property
    def judgment(self) -> Judgment:
        return self.verdict.judgment

    @property
    def cautions(self) -> int:
        return count(self.judgment, "caution")


@dataclass(frozen=True, slots=True)
class Search:
    """What a search found."""

    original: Verdict
    front: list[Judged]
    """Cheapest first; each costs more than the one before and leaves fewer cautions."""
    tried: int
    complete: bool
    """Nothing within the limits was left out that could stand on the front."""
    unpriced: list[str]
    moves: list[Move]


def passes(judgment: Judgment, until: Disposition) -> bool:
    """No serious finding, nothing decisive unknown, and the disposition asked for or a better one."""
    return judgment.disposition in UNTIL[: UNTIL.index(until) + 1]


MOST_HEAT = 1.05
"""A remedy may let through this many times the heat of the section as it is: a change that dries a section by
giving up its insulation is none (common practice)."""


def _keeps_warm(new: Verdict, old: Verdict) -> bool:
    return old.u_value is None or (new.u_value is not None and new.u_value <= MOST_HEAT * old.u_value)


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
    best = count(original.judgment, "caution") if passes(original.judgment, limits.until) else None
    front: list[Judged] = []
    queue = candidates(section, moves, limits.most_changes, prices)
    tried, complete = 0, best == 0
    while not complete and tried < limits.most_candidates:
        batch = list(itertools.islice(queue, min(_BATCH, limits.most_candidates - tried)))
        if not batch:
            complete = True
            break
        judged = judges.judge([section_of(c.draft) for c in batch])
        tried += len(batch)
        progress(tried)
        for c, j in zip(batch, judged, strict=True):
            found = Judged(c, j)
            allowed = passes(j.judgment, limits.until) and _keeps_warm(j, original)
            if allowed and (best is None or found.cautions < best):
                best = found.cautions
                # Of two that cost the same, the one that leaves fewer cautions stands alone.
                front = [*(f for f in front if f.candidate.cost < c.cost), found]
            if best == 0:
                complete = True
                break
    return Search(original, front, tried, complete, unpriced, moves)


def _existing(section: Section) -> bool:
    """Whether something stands already, so that layers in the way must come off."""
    return section.building.work == "retrofit" or any(x.condition == "existing" for x in section.layers)


# -- moves -----------------------------------------------------------------------------------------


def moves_of(
    section: Section, judged: Judgment, edition: str, limits: Limits, costs: Costs
) -> tuple[list[Move], list[str]]:
    """What rules propose, then what builders do; each different result once, cheapest first. And what has no
    price."""
    _, layers, _, anatomy, _ = build(section, edition)
    proposed: list[tuple[tuple[Change, ...], str]] = []
    for f in judged.findings:
        if f.part.severity in ("serious", "caution"):
            proposed += [((change,), f.rule.id) for _, change in f.remedies("si") if change]
    proposed += [(changes, "common practice") for changes in stock_changes(section, layers, anatomy)]
    found: dict[Any, Move] = {}
    unpriced: list[str] = []
    start = draft_of(section)
    for changes, source in proposed:
        try:
            key = made(start, changes).key
        except InputError:
            continue
        if key == start.key or key in found:
            continue
        prices = [p for c in changes if (p := costs.change(c, section.layers)) is not None]
        if len(prices) < len(changes):
            unpriced.append(says(changes, layers))
            continue
        move = _placed(changes, source, sum(p.amount for p in prices), prices[-1].trade, layers, limits)
        if move is not None:
            found[key] = move
    return sorted(found.values(), key=lambda m: m.cost), list(dict.fromkeys(unpriced))


def _placed(
    changes: tuple[Change, ...],
    source: str,
    cost: float,
    trade: str,
    layers: list[Properties],
    limits: Limits,
) -> Move | None:
    """A move with the side it is done from; None when the limits forbid it."""
    if changes[0].get("set") in WHOLE:
        keys = tuple(k for c in changes for k in c if k != "set")
        return Move(changes, source, cost, trade, "", frozenset(), frozenset(), ("whole", *keys))
    changed: set[int] = set()
    first, last = len(layers), -1
    slot: tuple[Any, ...] = ()
    for c in changes:
        action = next(a for a in ("remove", "replace", "insert", "set") if a in c)
        if action == "insert":
            at = int(c["inside of"]) if "inside of" in c else int(c["outside of"]) + 1
            first, last = min(first, at), max(last, at - 1)
            slot = slot or ("insert", at, _sort(str(c["insert"])))
        else:
            at = int(c[action])
            changed.add(at)
            first, last = min(first, at), max(last, at)
            slot = slot or ("layer", at, *(k for k in c if action == "set" and k != "set"))
    solid = {p.layer.index for p in layers if not p.is_surroundings}
    opened = {
        "inside": frozenset(i for i in solid if i < first),
        "outside": frozenset(i for i in solid if i > last),
    }
    allowed = [s for s in _SIDES if not opened[s] & limits.keep and limits.side in ("", s)]
    if not allowed or changed & limits.keep:
        return None
    side = min(allowed, key=lambda s: len(opened[s]))
    return Move(changes, source, cost, trade, side, opened[side], frozenset(changed), slot)


@lru_cache(maxsize=1024)
def _sort(text: str) -> str:
    """Layers of one sort are not put in twice at one place."""
    layer = read(text)
    if layer.material is None:
        return layer.name
    return "insulation" if "insulation" in layer.material.family else layer.material.family


def _excludes(a: Move, b: Move) -> bool:
    if a.slot == b.slot:
        return True
    different_keys = len(a.slot) == len(b.slot) == 3 and a.slot[0] == b.slot[0] == "layer"
    return bool(a.changed & b.changed) and not different_keys


def made(draft: Draft, changes: Iterable[Change]) -> Draft:
    """The draft with changes whose places are those of the original's layers. Raises InputError."""
    for change in changes:
        moved = {
            k: draft.place_of(v) if isinstance(v, int) and k in _PLACES else v for k, v in change.items()
        }
        draft = apply(moved, draft)
    return draft


def candidates(section: Section, moves: Sequence[Move], most: int, costs: Costs) -> Iterator[Candidate]:
    """Sets of up to `most` moves that go together, each section once, the cheapest first.

    Best first over sets of rising places: what a set costs without opening up is the least that it and all
    that grow from it cost.
    """
    opening = costs.opening if _existing(section) else 0.0
    start = draft_of(section)
    seen = {start.key}

    def least(chosen: tuple[int, ...]) -> float:
        return round(sum(moves[i].cost for i in chosen), 9)

    def cost(chosen: tuple[int, ...]) -> float:
        opened = frozenset[int]().union(*(moves[i].opened for i in chosen))
        changed = frozenset[int]().union(*(moves[i].changed for i in chosen))
        return round(least(chosen) + opening * len(opened - changed), 9)

    heap: list[tuple[float, int, int, tuple[int, ...]]] = [(least((0,)), 0, 1, (0,))] if moves else []
    while heap:
        at, ready, _, chosen = heapq.heappop(heap)
        if ready:
            try:
                draft = start
                for i in chosen:
                    draft = made(draft, moves[i].changes)
            except InputError:
                continue
            if draft.key not in seen:
                seen.add(draft.key)
                yield Candidate(tuple(moves[i] for i in chosen), at, draft)
            continue
        last = chosen[-1]
        if last + 1 < len(moves):
            sibling = (*chosen[:-1], last + 1)
            heapq.heappush(heap, (least(sibling), 0, len(sibling), sibling))
        if any(_excludes(moves[a], moves[b]) for a, b in itertools.combinations(chosen, 2)):
            continue
        heapq.heappush(heap, (cost(chosen), 1, len(chosen), chosen))
        if len(chosen) < most and last + 1 < len(moves):
            child = (*chosen, last + 1)
            heapq.heappush(heap, (least(child), 0, len(child), child))


# -- words -----------------------------------------------------------------------------------------


def says(changes: Sequence[Change], layers: list[Properties]) -> str:
    """Changes in words."""
    return ", then ".join(_says_one(c, layers) for c in changes)


def _says_one(c: Change, layers: list[Properties]) -> str:
    def named(i: Any) -> str:
        return f"layer {int(i) + 1}, {layers[int(i)].name}"

    if "remove" in c:
        return f"leave out {named(c['remove'])}"
    if "replace" in c:
        return f"put {c['with']} in place of {named(c['replace'])}"
    if "insert" in c:
        side = "inside of" if "inside of" in c else "outside of"
        return f"put {c['insert']} {side} {named(c[side])}"
    what = named(c["set"]) if isinstance(c["set"], int) else f"the {c['set']}"
    return f"{what}: " + ", ".join(f"{k} {v}" for k, v in c.items() if k != "set")


def kept_layers(words: Sequence[str], section: Section, edition: str = "") -> frozenset[int]:
    """Places of the layers that words speak of: a number from 1, a role (`cladding`), or part of a name.

    Raises InputError: words that no layer answers to.
    """
    _, layers, _, _, _ = build(section, edition)
    found: set[int] = set()
    for word in words:
        wanted = " ".join(word.casefold().split())
        here = {
            p.layer.index
            for p in layers
            if wanted == str(p.layer.index + 1) or wanted in p.roles or wanted in p.name.casefold()
        }
        if not here:
            known = [*dict.fromkeys([*(p.name for p in layers), *ROLES])]
            raise InputError(
                Problem(
                    f'no layer of the section is "{word}"',
                    None,
                    "the number, the material or the role of a layer",
                    nearest(wanted, known),
                )
            )
        found |= here
    return frozenset(found)
