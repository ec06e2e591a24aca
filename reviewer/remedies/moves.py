"""What can be done to a section: the changes that rules propose and those that builders make, with price and side."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from reviewer.errors import InputError, Problem, nearest
from reviewer.facts.build import build
from reviewer.facts.resolve import Properties
from reviewer.library.types import ROLES
from reviewer.model.section import Section
from reviewer.remedies.catalog import Work, stock_changes
from reviewer.remedies.changes import WHOLE, Change, Draft, apply, draft_of, read
from reviewer.remedies.costs import Costs
from reviewer.remedies.parts import PARTS, Here, here_of
from reviewer.result import Disposition

if TYPE_CHECKING:
    from reviewer.review import Judgment, Units

UNTIL: tuple[Disposition, ...] = ("no exceptions taken", "make corrections noted")
"""Dispositions that a remedy may reach, the better first."""
MOST_CHANGES, MOST_CANDIDATES = 3, 2000
SIDES = ("inside", "outside")
VENT_SPACE = 0.0254
"""The least ventilated space of a roof: 1 in (IRC R806.3, from memory)."""
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
    """The rule that proposes it, or `common practice`."""
    cost: float
    trades: tuple[str, ...]
    side: str
    """`inside`, `outside`, `both`; empty when no layer is touched."""
    opened: frozenset[int]
    """Layers that come off and are put back."""
    changed: frozenset[int]
    """Layers that are removed, replaced or set."""
    gone: frozenset[int]
    """Layers that are removed or replaced, and need not be put back."""
    slots: frozenset[tuple[Any, ...]]
    """Two moves that share a slot exclude each other."""
    says: tuple[str, str] = ("", "")
    """In words, for inch-pound and for SI readers; empty where the changes speak for themselves."""

    @property
    def settings(self) -> tuple[tuple[str, str, str], ...]:
        """Statements that the changed section makes: part, key, value."""
        return tuple(
            (str(c["set"]), k, str(v))
            for c in self.changes
            if c.get("set") in WHOLE
            for k, v in c.items()
            if k != "set"
        )


def existing(section: Section) -> bool:
    """Whether something stands already, so that layers in the way must come off."""
    return section.building.work == "retrofit" or any(x.condition == "existing" for x in section.layers)


# -- moves -----------------------------------------------------------------------------------------


def moves_of(
    section: Section, judged: Judgment, edition: str, limits: Limits, costs: Costs
) -> tuple[list[Move], list[str]]:
    """What rules propose, then what builders do; each different result once, cheapest first. And what has no
    price."""
    book, layers, _, anatomy, _ = build(section, edition)
    here = here_of(section, book, layers, anatomy)
    found: dict[Any, Move] = {}
    unpriced: list[str] = []
    start = draft_of(section)
    for work, source in _proposed(judged, here):
        try:
            key = made(start, work.changes).key
        except InputError:
            continue
        if key == start.key or key in found or not all(buildable(c, here) for c in work.changes):
            continue
        price = costs.work(work, section.layers)
        if price is None:
            unpriced.append(_called(work, layers))
            continue
        move = _placed(work, source, *price, here, limits, costs)
        if move is not None and existing(section):
            getting_at = [costs.open(section.layers[i]) for i in sorted(move.opened)]
            if None in getting_at:
                unpriced.append(f"{_called(work, layers)} (getting at it)")
                continue
            by = (p.trade for p in getting_at if p is not None and p.trade)
            move = replace(move, trades=tuple(dict.fromkeys((*move.trades, *by))))
        if move is not None:
            found[key] = move
    return sorted(found.values(), key=lambda m: m.cost), list(dict.fromkeys(unpriced))


def _called(work: Work, layers: list[Properties]) -> str:
    name = work.says[0] or says(work.changes, layers)
    return f"{name} (job: {work.job})" if work.job else name


def _proposed(judged: Judgment, here: Here) -> Iterator[tuple[Work, str]]:
    for f in judged.findings:
        if f.part.severity not in ("serious", "caution"):
            continue
        for (text, change), (si, _) in zip(f.remedies("ip"), f.remedies("si"), strict=True):
            if change:
                # What is done to a layer says itself; a statement that comes true needs the rule's words.
                own = change.get("set") in WHOLE or "condition" in change
                yield Work((change,), (_bare(text), _bare(si)) if own else ("", "")), f.rule.id
    for work in stock_changes(here):
        yield work, "common practice"


def _bare(text: str) -> str:
    """A sentence as a part of one."""
    words = " ".join(text.split()).removeprefix("Or ").rstrip(".")
    return words[:1].lower() + words[1:]


def buildable(change: Change, here: Here) -> bool:
    """Whether builders can do it at all (common practice): a thin ventilated space draws no air under a roof of low
    slope, and nothing fits between foam and the finish that it carries."""
    if "insert" not in change:
        return True
    layer = read(str(change["insert"]))
    vented = layer.thickness if layer.space == "air" and layer.vents else None
    if here.section.kind == "roof" and vented and (here.low_slope or vented.middle < VENT_SPACE):
        return False
    coated = PARTS["coated foam"](here)
    at = int(change["inside of"]) - 1 if "inside of" in change else int(change["outside of"])
    return at not in coated


def _placed(
    work: Work,
    source: str,
    cost: float,
    trades: tuple[str, ...],
    here: Here,
    limits: Limits,
    costs: Costs,
) -> Move | None:
    """A move with the side it is done from; None when the limits forbid it."""
    changed: set[int] = set()
    gone: set[int] = set()
    spans: list[tuple[int, int]] = []
    slots: set[tuple[Any, ...]] = set()
    for c in work.changes:
        if "turn" in c:
            slots.add(("turn",))
        elif c.get("set") in WHOLE:
            slots.update(("whole", c["set"], k) for k in c if k != "set")
        elif "insert" in c:
            at = int(c["inside of"]) if "inside of" in c else int(c["outside of"]) + 1
            spans.append((at, at - 1))
            slots.add(("insert", at, _sort(str(c["insert"]))))
        else:
            action = next(a for a in ("remove", "replace", "set") if a in c)
            at = int(c[action])
            changed.add(at)
            spans.append((at, at))
            if action == "set":
                slots.update(("layer", at, k) for k in c if k != "set")
            else:
                gone.add(at)
                slots.add(("layer", at))
    # Soil is in the way from outside; other surroundings are where people stand.
    solid = {p.layer.index for p in here.layers if not p.is_surroundings or p.layer.space == "soil"}
    sides: set[str] = set()
    opened: set[int] = set()
    for first, last in _together(spans, solid - changed):
        ways = {
            "inside": frozenset(i for i in solid if i < first),
            "outside": frozenset(i for i in solid if i > last),
        }
        allowed = [s for s in SIDES if not ways[s] & limits.keep and limits.side in ("", s)]
        if not allowed:
            return None
        side = min(allowed, key=lambda s: (_getting_at(ways[s], here.section, costs), len(ways[s])))
        sides.add(side)
        opened |= ways[side]
    if changed & limits.keep or (("turn",) in slots and limits.keep):
        return None
    side = "both" if len(sides) > 1 else next(iter(sides), "")
    return Move(
        changes=work.changes,
        source=source,
        cost=cost,
        trades=trades,
        side=side,
        opened=frozenset(opened),
        changed=frozenset(changed),
        gone=frozenset(gone),
        slots=frozenset(slots),
        says=work.says,
    )


def _getting_at(layers: Iterable[int], section: Section, costs: Costs) -> float:
    prices = [costs.open(section.layers[i]) for i in sorted(layers)]
    return sum(math.inf if p is None else p.amount for p in prices)


def _together(spans: Sequence[tuple[int, int]], stays: set[int]) -> list[tuple[int, int]]:
    """Spans of layers that are worked on, joined where nothing that stays lies between."""
    out: list[tuple[int, int]] = []
    for first, last in sorted(spans):
        if out and not any(out[-1][1] < i < first for i in stays):
            out[-1] = (min(out[-1][0], first), max(out[-1][1], last))
        else:
            out.append((first, last))
    return out


@lru_cache(maxsize=1024)
def _sort(text: str) -> str:
    """Layers of one sort are not put in twice at one place."""
    layer = read(text)
    if layer.material is None:
        return layer.name
    return "insulation" if "insulation" in layer.material.family else layer.material.family


def excludes(a: Move, b: Move) -> bool:
    """Whether two moves can't be made together."""
    if a.slots & b.slots:
        return True
    if _touches_layers(a) and _touches_layers(b) and ("turn",) in a.slots | b.slots:
        return True
    return any(("layer", s[1]) in y.slots for x, y in ((a, b), (b, a)) for s in x.slots if s[0] == "layer")


def _touches_layers(m: Move) -> bool:
    return any(s[0] != "whole" for s in m.slots)


def made(draft: Draft, changes: Iterable[Change]) -> Draft:
    """The draft with changes whose places are those of the original's layers. Raises InputError."""
    for change in changes:
        moved = {
            k: draft.place_of(v) if isinstance(v, int) and k in _PLACES else v for k, v in change.items()
        }
        draft = apply(moved, draft)
    return draft


def told(move: Move, layers: list[Properties], units: Units) -> str:
    """What is done, in words: the rule's or the data file's own where they have any."""
    return move.says[0 if units == "ip" else 1] or says(move.changes, layers)


def says(changes: Sequence[Change], layers: list[Properties]) -> str:
    """Changes in words."""
    return ", then ".join(_says_one(c, layers) for c in changes)


_FRAMING = re.compile(r"; framing = .*|,? 2x\d+ @ [\d.]+ in\b")


def _short(text: object) -> str:
    """A layer without the framing that it is put between, which stays.

    >>> _short("3-1/2 in glass fiber batt; framing = 1-1/2 in wide @ 16 in")
    '3-1/2 in glass fiber batt'
    """
    return _FRAMING.sub("", str(text))


def _says_one(c: Change, layers: list[Properties]) -> str:
    def named(i: Any) -> str:
        return f"layer {int(i) + 1}, {layers[int(i)].name}"

    if "remove" in c:
        return f"leave out {named(c['remove'])}"
    if "replace" in c:
        return f"put {_short(c['with'])} in place of {named(c['replace'])}"
    if "insert" in c:
        side = "inside of" if "inside of" in c else "outside of"
        return f"put {_short(c['insert'])} {side} {named(c[side])}"
    if "turn" in c:
        return "write the layers the other way round"
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
