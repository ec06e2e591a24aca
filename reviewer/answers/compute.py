"""Sections judged for an answer: kept by what they say, several at once where several are asked for."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, TypeVar

from reviewer.facts.batch import build_all
from reviewer.facts.build import Sites
from reviewer.model.section import Framing, Indoor, Layer, Place, Section
from reviewer.reply import Direction, Intent
from reviewer.result import Disposition, Result, verdict
from reviewer.review import Judgment, Units, judge, load_rules, report
from reviewer.rules.findings import RawFinding

if TYPE_CHECKING:
    from reviewer.facts.build import Built
    from reviewer.remedies.search import Judges
    from reviewer.rules.ruleset import Ruleset

RANKS: tuple[Disposition, ...] = (
    "no exceptions taken",
    "make corrections noted",
    "incomplete",
    "revise and resubmit",
)
"""Dispositions, the best first."""
ZONES = ("1A", "2A", "3A", "4A", "4C", "5A", "6A", "7", "8")
"""Zones that an answer goes through when the place is open: the moist ones, the marine one, the coldest."""
ALL_ZONES = ("1A", "2A", "2B", "3A", "3B", "3C", "4A", "4B", "4C", "5A", "5B", "6A", "6B", "7", "8")
_KEPT_RESULTS, _KEPT_JUDGED = 512, 8192


@dataclass(frozen=True, slots=True)
class Point:
    """A finding in short."""

    rule: str
    severity: str
    voice: str
    hazard: bool
    says: str
    margin: str
    layers: tuple[int, ...]
    symptom: bool
    """Another finding is its cause."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What the rules make of a section, in short."""

    disposition: Disposition
    points: tuple[Point, ...]
    """Worst first, causes before their symptoms."""
    missing: tuple[str, ...]
    """What would have to be known for a verdict."""
    place: str
    zone: str
    u_value: float | None
    opens: tuple[float, float] | None
    """Permeance of the room side and of the outer side when damp, kg/(s·m²·Pa): the more, the more a section
    forgives; None where one is not known."""

    def of(self, *severities: str) -> dict[str, Point]:
        """Findings of these severities by rule, the first of each."""
        found: dict[str, Point] = {}
        for p in self.points:
            if p.severity in severities:
                found.setdefault(p.rule, p)
        return found

    @property
    def rank(self) -> tuple[int, int, int]:
        """Less is better: disposition, serious findings, cautions."""
        return RANKS.index(self.disposition), len(self.of("serious")), len(self.of("caution"))

    @property
    def moist(self) -> tuple[int, int, int]:
        """The rank by what speaks of moisture: a batt too deep for its cavity costs heat and no more, and joints that
        are not told as sealed are sealed with any of the alternatives."""
        kept = self.with_points(p for p in self.points if p.rule not in _ANYWHERE)
        cautions = [p for p in kept.of("caution").values() if _of_moisture(p)]
        return RANKS.index(kept.disposition), len(kept.of("serious")), len(cautions)

    def with_points(self, points: Iterable[Point]) -> Judged:
        """With these of its points, and the disposition that they alone would have."""
        kept = tuple(points)
        undecided = self.disposition == "incomplete" or bool(self.missing)
        return replace(self, points=kept, disposition=verdict({p.severity for p in kept}, undecided))

    @property
    def dry(self) -> Judged:
        """The same without hazards: what fire, fumes and old materials ask for is no question of moisture."""
        return self.with_points(p for p in self.points if not p.hazard)

    @property
    def worst(self) -> Point | None:
        """The finding that a report names first; None when there is neither a serious one nor a caution."""
        return next((p for p in self.points if p.severity in ("serious", "caution")), None)


_SEVERITY = ("serious", "caution", "note", "credit")


def _ordered(points: Iterable[Point]) -> tuple[Point, ...]:
    return tuple(sorted(points, key=lambda p: (_SEVERITY.index(p.severity), p.symptom, p.hazard)))


# -- keys ------------------------------------------------------------------------------------------

_LAYER_FIELDS = tuple(f.name for f in fields(Layer) if f.name not in ("material", "framing", "mark", "index"))


def layer_key(layer: Layer) -> Hashable:
    """Two layers with one key are the same layer, wherever they were written."""
    return (*(getattr(layer, name) for name in _LAYER_FIELDS), _framing_key(layer.framing))


def _framing_key(f: Framing | None) -> Hashable:
    return None if f is None else (f.material.id, f.width, f.spacing, f.depth, f.pattern, f.fraction)


def _place_key(p: Place | None) -> Hashable:
    if p is None:
        return None
    monthly = None if p.monthly is None else tuple(sorted(p.monthly.items()))
    return p.name, p.zone, p.weather, monthly, p.zone_override


def _indoor_key(i: Indoor | None) -> Hashable:
    return None if i is None else (i.name, i.temperature, i.humidity)


def section_key(s: Section) -> Hashable:
    """Two sections with one key get the same review."""
    return (
        s.kind,
        _place_key(s.place),
        _indoor_key(s.indoor),
        s.cooling,
        s.rain,
        s.faces,
        s.slope,
        s.depth_below_grade,
        s.building,
        tuple(layer_key(x) for x in s.layers),
        s.waivers,
        tuple(sorted(s.known.items())),
        s.absent,
        s.title,
        s.id,
        s.file,
    )


# -- the desk --------------------------------------------------------------------------------------

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class _Kept(OrderedDict[K, V]):
    """The last so many values."""

    def __init__(self, most: int):
        super().__init__()
        self.most = most

    def keep(self, key: K, value: V) -> V:
        self[key] = value
        if len(self) > self.most:
            self.popitem(last=False)
        return value


class Desk:
    """Where sections are judged: one rulebook, one edition, one system of units, and what was judged before."""

    def __init__(
        self,
        rules: Ruleset | None = None,
        edition: str = "",
        units: Units | None = None,
        brief: bool = False,
    ):
        self._rules = rules
        self.brief = brief
        """Replies leave out what would change the answer, the way to a better one and the commands."""
        self.edition = edition
        self.units: Units | None = units
        self._results: _Kept[Hashable, Result] = _Kept(_KEPT_RESULTS)
        self._judged: _Kept[Hashable, Judged] = _Kept(_KEPT_JUDGED)
        self._places: dict[Hashable, Place] = {}
        self._indoors: dict[Hashable, Indoor] = {}
        self._sites: Sites = {}
        self._kept: _Kept[Hashable, object] = _Kept(_KEPT_RESULTS)

    @property
    def rules(self) -> Ruleset:
        """Loaded when the first section is judged: a material is explained without them."""
        if self._rules is None:
            self._rules = load_rules()
        return self._rules

    def result(self, section: Section) -> Result:
        """The whole review. Raises InputError as `review`."""
        return self.results([section])[0]

    def results(self, sections: Sequence[Section]) -> list[Result]:
        """The whole review of each, in their order; those not reviewed before calculated in one batch."""
        keys = [section_key(s) for s in sections]
        found = {k: self._results[k] for k in keys if k in self._results}
        new = {k: s for k, s in zip(keys, sections, strict=True) if k not in found}
        for (k, s), b in zip(new.items(), self._built(list(new.values())), strict=True):
            j = judge(b[0], self.rules)
            found[k] = self._results.keep(k, report(s, b, j, self.rules, units=self.units))
            self._judged.keep(k, self._brief(b, j))
        return [found[k] for k in keys]

    def judged(self, sections: Sequence[Section]) -> list[Judged]:
        """What the rules make of each, in their order; those not judged before in one batch. Raises InputError."""
        keys = [section_key(s) for s in sections]
        found = {k: self._judged[k] for k in keys if k in self._judged}
        new = {k: s for k, s in zip(keys, sections, strict=True) if k not in found}
        for k, b in zip(new, self._built(list(new.values())), strict=True):
            found[k] = self._judged.keep(k, self._brief(b, judge(b[0], self.rules)))
        return [found[k] for k in keys]

    def _built(self, sections: Sequence[Section]) -> list[Built]:
        return build_all([self._shared(s) for s in sections], self.edition, self._sites)

    def kept(self, key: Hashable, make: Callable[[], V]) -> V:
        """What was made for a key before, or what `make` makes."""
        if key not in self._kept:
            self._kept.keep(key, make())
        return self._kept[key]  # type: ignore[return-value]

    def judges(self) -> Judges:
        """For the search of remedies."""
        from reviewer.remedies.search import Judges

        return Judges(self.rules, self.edition)

    def _shared(self, s: Section) -> Section:
        """The section with the place and indoor objects that are kept: sites go by their identity."""
        place, indoor = s.place, s.indoor
        if place is not None:
            place = self._places.setdefault(_place_key(place), place)
        if indoor is not None:
            indoor = self._indoors.setdefault(_indoor_key(indoor), indoor)
        return replace(s, place=place, indoor=indoor)

    def _brief(self, built: Built, j: Judgment) -> Judged:
        book, _, site, _, _ = built
        american = site.climate is None or site.climate.country == "US"
        system: Units = self.units or ("ip" if american else "si")
        head = next(r for r in book.records if r.kind == "section").fields
        u = head.get("u_value")
        inner, outer = head.get("interior_permeance_wet"), head.get("exterior_permeance_wet")
        return Judged(
            j.disposition,
            _ordered(_points(j, system)),
            tuple(dict.fromkeys(m.settle or m.missing for m in j.missing if m.decisive)),
            site.climate.place if site.climate is not None else "",
            site.zone,
            round(u, 5) if isinstance(u, float) else None,
            (inner, outer) if isinstance(inner, float) and isinstance(outer, float) else None,
        )


def _points(j: Judgment, system: Units) -> list[Point]:
    hung = {rule for f in j.findings for rule in f.symptoms}

    def point(f: RawFinding) -> Point:
        says = f.says(system)
        return Point(
            f.rule.id, f.part.severity, f.part.voice, f.part.hazard, says[:1].upper() + says[1:],
            f.margin(system), tuple(f.layers), f.rule.id in hung,
        )  # fmt: skip

    return [point(f) for f in j.findings]


# -- the same section elsewhere ---------------------------------------------------------------------


@lru_cache(maxsize=64)
def _zone_place(zone: str) -> Place:
    return Place(name=None, zone=zone, weather=None, monthly=None, mark=None)


def in_zone(section: Section, zone: str) -> Section:
    """The section in a zone, at the place that stands for it."""
    return replace(section, place=_zone_place(zone))


def neighbors(zone: str) -> list[str]:
    """The next warmer and the next colder zone of the same moisture regime, as far as there are such.

    >>> neighbors("5A"), neighbors("7"), neighbors("1A"), neighbors("4C")
    (['4A', '6A'], ['6A', '8'], ['2A'], ['3C', '5A'])
    """
    if not zone or not zone[0].isdigit() or zone in ("4", "5", "6", "7A", "7B"):
        return []
    number, regime = int(zone[0]), zone[1:]
    out = []
    for n in (number - 1, number + 1):
        named = f"{n}{regime or 'A'}" if n < 7 else str(n)
        named = named if named in ALL_ZONES else f"{n}A"
        if named in ALL_ZONES:
            out.append(named)
    return out


def transplant(base: Section, option: Section, other: Section) -> Section:
    """What makes `option` out of `base`, made in another section: layers left out, put in or exchanged, and
    whatever else the two differ in. Layers of the two bases are matched in order, by what they are."""
    from difflib import SequenceMatcher

    old, new = [x.name for x in base.layers], [x.name for x in option.layers]
    here = [x.name for x in other.layers]
    at: dict[int, int] = {}
    for i, j, size in SequenceMatcher(None, old, here, autojunk=False).get_matching_blocks():
        at.update((i + k, j + k) for k in range(size))
    gone: set[int] = set()
    changed: dict[int, Layer] = {}
    put: dict[int, list[Layer]] = {}
    for tag, i1, i2, j1, j2 in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag == "equal":
            for i, j in zip(range(i1, i2), range(j1, j2), strict=True):
                if i in at and layer_key(base.layers[i]) != layer_key(option.layers[j]):
                    changed[at[i]] = option.layers[j]
            continue
        gone |= {at[i] for i in range(i1, i2) if i in at}
        if j2 > j1:
            inner = next((at[i] + 1 for i in range(i1 - 1, -1, -1) if i in at), None)
            outer = next((at[i] for i in range(i1, len(old)) if i in at), len(here))
            put.setdefault(outer if inner is None else inner, []).extend(option.layers[j1:j2])
    layers: list[Layer] = []
    for n in range(len(here) + 1):
        layers += put.get(n, ())
        if n < len(here) and n not in gone:
            layers.append(changed.get(n, other.layers[n]))
    differs = {
        f.name: getattr(option, f.name)
        for f in fields(Section)
        if f.name not in ("layers", "marks") and getattr(option, f.name) != getattr(base, f.name)
    }
    renumbered = tuple(replace(x, index=n) for n, x in enumerate(layers))
    return replace(other, layers=renumbered, **differs)


# -- decisions --------------------------------------------------------------------------------------

Case = Literal[
    "sound", "corrections", "fails", "unknown", "prevents", "harms", "mixed", "cautions", "adds cautions",
    "notes", "exposed", "no matter", "chosen", "alike", "told",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Decision:
    """Which way an answer goes, and the finding that decides it."""

    direction: Direction
    case: Case
    point: Point | None = None
    best: int = 0
    """Of the options of `which`."""
    without: Point | None = None
    given: Point | None = None
    """Where it is mixed: what the thing clears, and what it causes."""

    @property
    def key(self) -> tuple[str, bool, int]:
        """Two decisions with one key give the asker the same advice."""
        return self.direction, self.case in ("corrections", "adds cautions"), self.best


Purpose = Literal["", "rain", "air", "heat"]
"""What a thing in question is there for: against rain, against air that leaks, or against the cold."""


def decide(intent: Intent, judged: Sequence[Judged], purpose: Purpose = "") -> Decision:
    """The direction of an answer from the sections that the question sets up: one, without and with, or the
    alternatives. `purpose`: what the thing in question is there for."""
    if intent in ("need", "leave out", "add") and len(judged) >= 2:
        return _with_or_without(intent, judged[0], judged[1], purpose)
    if len(judged) >= 2:
        best = min(range(len(judged)), key=lambda n: judged[n].moist)
        alike = all(j.moist == judged[best].moist for j in judged)
        return Decision("choice", "alike" if alike else "chosen", judged[best].worst, best)
    if not judged:
        return Decision("explanation", "told")
    found = _alone(judged[0])
    if intent in ("need", "leave out") and found.case in ("sound", "corrections"):
        # The thing has no place among the layers: the section as told is the one without it, and passes.
        return replace(found, direction="no" if intent == "need" else "yes")
    # Where the thing could not be placed, a section that fails without it is no answer about the thing.
    return replace(found, direction="depends") if intent in ("need", "leave out", "add") else found


_MOST_CORRECTIONS = 2
"""What hangs on more things than that is not called safe."""


def _alone(j: Judged) -> Decision:
    if j.disposition == "revise and resubmit":
        first = next((p for p in j.points if p.severity == "serious"), None)
        if j.dry.disposition != "revise and resubmit" and first is not None and first.rule in _TO_COVER:
            return Decision("yes", "corrections", first)
        return Decision("no", "fails", j.worst)
    if j.disposition == "incomplete":
        return Decision("depends", "unknown")
    if j.disposition == "make corrections noted":
        said = {
            _MET if p.rule.endswith(_MET) else p.rule
            for p in j.points
            if p.severity == "caution" and not p.symptom and p.rule not in _ANYWHERE and _of_moisture(p)
        }
        many = len(said) > _MOST_CORRECTIONS
        cautions = [p for p in j.points if p.severity == "caution" and not p.symptom]
        counted = sorted(cautions, key=lambda p: not _of_moisture(p))
        own = next((p for p in counted if p.rule not in _ANYWHERE), j.worst)
        looks = own is not None and own.rule.startswith(_LOOK_FIRST) and own.rule not in _ANYWHERE
        over = next((p for p in counted if p.rule in _ONE_TOO_MANY), None)
        if over is not None:
            return Decision("depends", "corrections", over)
        return Decision("depends" if many or looks else "yes", "corrections", own)
    return Decision("yes", "sound")


def _with_or_without(intent: Intent, without: Judged, given: Judged, purpose: Purpose) -> Decision:
    """By the difference: what the thing prevents and what it causes; what is wrong either way decides nothing."""
    # A cover that foam needs, or a test for lead, is said beside: it is no reason against the thing.
    stops = [
        p for rule, p in given.of("serious").items() if rule in _STOPS and rule not in without.of("serious")
    ]
    if stops and intent != "leave out":
        return Decision("no", "harms", stops[0])
    dry = given.dry if intent != "leave out" else given
    prevents, causes = _cured(without, given), _first(given.dry, without, "serious")
    if prevents and causes:
        # What the code forbids by its class alone, another class does: something of the kind is needed.
        other = intent == "need" and causes.rule in _BY_CLASS and prevents.rule not in _BY_CODE
        direction: Direction = "yes" if other else "depends" if intent == "leave out" else "no"
        return Decision(direction, "mixed", causes, without=prevents, given=causes)
    eased, caused = _those(without, given, "caution"), _those(given.dry, without, "caution")
    burdens = next((p for p in caused if p.rule in _ONE_TOO_MANY), caused[0] if caused else None)
    weighs = next((p for p in eased if _weighs(p, purpose)), None)
    eases = weighs or (eased[0] if eased else None)
    if eases and burdens and burdens.rule in _ANYWHERE:
        # What any section without a told air barrier has is no reason against what eases something.
        burdens = None
    look = next((p for p in dry.of("serious", "caution").values() if p.rule.startswith(_LOOK_FIRST)), None)
    if prevents:
        if intent == "add" and look is not None:
            return Decision("depends", "mixed", look)
        if intent != "leave out" and burdens is not None and burdens.rule in _ONE_TOO_MANY:
            # It cures what something else cures better.
            return Decision("depends", "mixed", burdens, without=prevents, given=burdens)
        return Decision("no" if intent == "leave out" else "yes", "prevents", prevents)
    if causes:
        return Decision("yes" if intent == "leave out" else "no", "harms", causes)
    if "incomplete" in (without.disposition, dry.disposition) and without.disposition != dry.disposition:
        return Decision("depends", "unknown")
    gap = _first(without, given, "caution", "note", packs=_AIR) if purpose == "air" else None
    if gap is not None:
        # The code asks every building for a continuous air barrier, wherever it stands (IRC N1102.4; NBC 9.25.3).
        return Decision("no" if intent == "leave out" else "yes", "cautions", gap)
    if eases and not burdens:
        if intent in ("need", "leave out") and eases.rule in _TESTED:
            return Decision("depends", "cautions", eases)
        counts = intent == "add" or weighs is not None
        if not counts and without.disposition == "revise and resubmit":
            # It fails with the thing as without, and is not to be called passing.
            return Decision("no" if intent == "need" else "yes", "no matter", without.worst)
        return Decision("yes" if counts != (intent == "leave out") else "no", "cautions", eases)
    if burdens and intent == "add" and purpose == "heat" and _colder(burdens):
        return Decision("yes", "adds cautions", burdens)
    if burdens and not eases:
        looks = intent == "add" and burdens.rule.startswith(_LOOK_FIRST)
        direction = "yes" if intent == "leave out" else "depends" if looks else "no"
        return Decision(direction, "adds cautions", burdens)
    fails = intent == "add" and dry.disposition == "revise and resubmit"
    if eases and burdens:
        if burdens.rule in _ONE_TOO_MANY:
            return Decision("yes" if intent == "leave out" else "no", "adds cautions", burdens)
        if fails or (intent == "need" and not eases.rule.startswith(_WET)):
            return Decision("no", "adds cautions", burdens)
        return Decision("depends", "mixed", eases, without=eases, given=burdens)
    noted = _first(without, given, "note") if intent == "need" else None
    if noted is not None and noted.rule.partition("/")[0] in _WORTH_NOTING and noted.rule not in _NOT_SHOWN:
        return Decision("depends", "notes", noted)
    return Decision("no" if intent == "need" or fails else "yes", "no matter", without.worst)


_WET = (
    "water-control/",
    "roof/",
    "moisture-state/",
    "foundation/fiber-on-concrete",
    "foundation/foam-t",
    "foundation/carpet",
    "foundation/clay",
    "foundation/old-slab",
)
"""A caution of these packs is reason enough for what keeps it away: rain on a section, or water that the calculation finds
in it, does more harm than what only takes from a margin (common practice)."""
_NO_RAIN = ("air-control/", "moisture-state/", "vapor-control/sheathing", "vapor-control/class-ii")
"""Cautions of room air and room vapor: what keeps rain away is not needed for them."""


def is_class_by_code(d: Decision) -> bool:
    """Whether a thing is only missed by the code's table of classes, and by no moisture that would be found."""
    return d.case == "prevents" and d.point is not None and d.point.rule in _BY_CODE


def is_one_too_many(p: Point) -> bool:
    """Whether a finding is put right by leaving out a thing that the section is told to have."""
    return p.rule in _ONE_TOO_MANY


_MET = "-where-code-is-met"
"""What only the monthly calculation finds in a section that the code's table lets pass: said, and no reason by itself."""
_AIR = ("air-control/", "retrofit/board-sheathing-leaks")
"""Findings of an air barrier that is missing."""
_ANYWHERE = ("air-control/leaks-outrun-drying", "retrofit/board-sheathing-leaks")
"""Cautions that hold for every section of which no air barrier is told: said, and not counted."""
_COLDER = (
    "air-control/leaks-outrun-drying",
    "vapor-control/sheathing-damp-in-winter",
    "moisture-state/wood-damp-for-months",
)
_LOOK_FIRST = (
    "retrofit/",
    "foundation/rubble-insulated",
    "foundation/old-slab-without-retarder",
    "foundation/tight-floor-on-new-slab",
    "code-canada/low-permeance-by-product",
)
"""Findings that hang on what is found: in an existing building, or by a test of the slab or of the product."""
_BY_CLASS = (
    "code-us-residential/class-not-permitted",
    "code-us-residential/class-ii-with-exterior-foam",
    "code-us-commercial/class-not-permitted",
)
_BY_CODE = ("code-us-residential/retarder-required", "code-us-commercial/retarder-required")
_TESTED = ("roof/concrete-deck-in-a-hot-climate",)
"""Cautions of which a test tells whether the thing in question is needed at all."""
_ONE_TOO_MANY = (
    "roof/faced-batts-on-attic-insulation",
    "vapor-control/barrier-inside-log-wall-in-a-dry-zone",
    "vapor-control/board-between-two-sheets",
    "vapor-control/foam-and-interior-barrier",
    "vapor-control/open-cell-foam-under-cooled-floor",
    "vapor-control/sheet-under-joists",
    "vapor-control/shut-in-but-warm",
    "vapor-control/tight-finish-and-outer-barrier",
)
"""Cautions that are put right by leaving out what the section is told to have: as told it is not called safe."""
_STOPS = ("hazards/knob-and-tube",)
"""Hazards that a thing brings about and that nothing can be put over: what it would do for moisture counts only after them."""
_TO_COVER = ("hazards/foam-faces-the-room",)
"""What is put right by a cover over a section that stays dry."""
_NOT_SHOWN = ("foundation/dampproofing-not-shown",)
"""Notes of what a drawing does not show; it may be there."""
_WORTH_NOTING = ("vapor-control", "roof", "foundation", "water-control")
"""Packs whose notes speak of a thing that may be worth having."""


def _cured(without: Judged, given: Judged) -> Point | None:
    """The first serious finding that the thing clears; where all causes stay, what only follows from them is no cure."""
    causes = {p.rule for p in without.points if p.severity == "serious" and not p.symptom}
    found = _first(without, given, "serious")
    stays = causes and causes <= set(given.of("serious"))
    return None if stays else found


def _first(a: Judged, b: Judged, *severities: str, packs: tuple[str, ...] = ()) -> Point | None:
    """The first finding of these severities, and of these packs, that `a` has and `b` has not."""
    mine = [p for s in severities for p in _those(a, b, s) if not packs or p.rule.startswith(packs)]
    return mine[0] if mine else None


def _those(a: Judged, b: Judged, severity: str) -> list[Point]:
    """Findings of a severity that `a` has and `b` has not; what `b` has graver still counts as had."""
    had = b.of(*_SEVERITY[: _SEVERITY.index(severity) + 1])
    mine = [p for rule, p in a.of(severity).items() if rule not in had]
    return [p for p in mine if severity == "serious" or _of_moisture(p)]


def _of_moisture(p: Point) -> bool:
    return p.rule.partition("/")[0] not in _NO_MOISTURE


def _weighs(p: Point, purpose: Purpose) -> bool:
    """Whether a caution is reason enough for what keeps it away; a symptom counts as its cause does."""
    if p.symptom:
        return False
    if purpose == "rain":
        return not p.rule.startswith(_NO_RAIN)
    return p.rule.startswith(_WET) and not p.rule.endswith(_MET)


def _colder(p: Point) -> bool:
    """Whether a caution only says that what lies outboard of insulation gets colder, as behind any: that is put right
    on the room side, and no reason against the insulation."""
    return p.rule in _COLDER or p.rule.endswith(_MET)


_NO_MOISTURE = ("thermal", "completeness")
"""Packs whose cautions speak of heat, or of what was not told: no reason for or against a thing."""
