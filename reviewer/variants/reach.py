"""Where a section holds: its verdict in every code zone, over a list of places, and the limit in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import reviewer
from reviewer.library.places import zone_places
from reviewer.library.zones import NBC_ZONES
from reviewer.model.override import override
from reviewer.model.section import Section
from reviewer.reaching import HOME, NoPlace, Plane, Reach, ReachLine, Regime
from reviewer.result import Assumption, Disposition, SectionHead
from reviewer.review import CAUTIONS, MEMORY_CAUTION, Units, judge
from reviewer.rules.findings import RawFinding
from reviewer.variants import standing
from reviewer.variants.judging import Judges
from reviewer.variants.standing import Standing

US_ZONES = (
    *("0A", "0B", "1A", "1B", "2A", "2B", "3A", "3B", "3C", "4A", "4B", "4C", "5A", "5B", "5C", "6A", "6B"),
    *("7", "8"),
)
HOLDS: tuple[Disposition, ...] = ("make corrections noted", "no exceptions taken")
"""Verdicts that may be asked for as the least that counts as holding."""
REGIMES: tuple[tuple[Regime, str], ...] = (("A", "moist"), ("B", "dry"), ("C", "marine"))
_NUMBERS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def reach(
    section: Section,
    judges: Judges,
    places: Sequence[tuple[str, Section]] = (),
    units: Units | None = None,
    *,
    zones: bool = True,
    at_least: Disposition = "make corrections noted",
) -> Reach:
    """The verdict of a section in every zone of its code, and at `places` (what was asked, the section there).

    Indoor condition, code and edition stay those of the section. Raises InputError as `review` does.
    """
    home = Standing(b := judges.build([section])[0], judge(b[0], judges.rules))
    site = home.site
    code = f"{site.code} {site.edition}" if site.edition else "none"
    kept = _kept_code(section, code)
    canadian = site.code == "NBC" or (
        site.code == "none" and site.climate is not None and site.climate.country == "CA"
    )
    system = "NBC" if canadian else "US"
    chosen: Units = units or ("ip" if site.climate is None or site.climate.country == "US" else "si")
    wanted, not_reviewed = _zones(kept, system) if zones else ([], [])
    named = section.place is not None and section.place.zone is None
    at_home = [(HOME, section)] if named and home.year is not None else []
    there = [(asked, _kept_code(s, code)) for asked, s in places]
    lines = _reviewed([*wanted, *at_home, *there], judges, chosen, at_least)
    in_zones, elsewhere = lines[: len(wanted)], lines[len(wanted) :]
    limit, limits = say_limit(in_zones) if in_zones else (_say_places(lines[-len(there) :]), [])
    return Reach(
        program=f"reviewer {reviewer.__version__}",
        section=SectionHead(id=section.id, title=section.title, kind=section.kind, file=section.file),
        units=chosen,
        home=site.climate.place if site.climate is not None else "",
        indoor=_indoor(section),
        edition=code,
        system=system,
        at_least=at_least,
        zones=in_zones,
        places=elsewhere,
        not_reviewed=not_reviewed,
        claims=list(section.zones_claimed),
        limit=limit,
        limits=[*limits, *_say_claims(section.zones_claimed, in_zones)],
        assumptions=_assumptions(home, section, code, system, bool(in_zones)),
        cautions=[*CAUTIONS, MEMORY_CAUTION],
    )


def _kept_code(section: Section, code: str) -> Section:
    if section.building.code:
        return section
    return replace(section, building=replace(section.building, code=code))


def _zones(section: Section, system: str) -> tuple[list[tuple[str, Section]], list[NoPlace]]:
    """The section in each zone of the code for which a place stands, and the zones for which none does."""
    found: list[tuple[str, Section]] = []
    without: list[NoPlace] = []
    for zone in NBC_ZONES if system == "NBC" else US_ZONES:
        if (system, zone) not in zone_places():
            without.append(NoPlace(zone=zone, why="no place of the table lies in it"))
            continue
        text = f"NBC {zone}" if system == "NBC" else zone
        found.append((f"zone {zone}", override(section, zone=text)))
    return found, without


def _reviewed(
    asked: Sequence[tuple[str, Section]], judges: Judges, units: Units, at_least: Disposition
) -> list[ReachLine]:
    built = judges.build([s for _, s in asked])
    return [
        _line(text, Standing(b, judge(b[0], judges.rules)), units, at_least)
        for (text, _), b in zip(asked, built, strict=True)
    ]


def _line(asked: str, s: Standing, units: Units, at_least: Disposition) -> ReachLine:
    site, found = s.site, s.judgment.findings
    plane = _plane(s)
    f = s.decider
    number = site.zone_number
    regime = site.moisture if site.moisture in ("A", "B", "C") and site.code != "NBC" else ""
    return ReachLine(
        asked=asked,
        place=site.climate.place if site.climate is not None else "",
        zone=site.zone,
        number=number,
        regime=regime,  # type: ignore[arg-type]
        edition=f"{site.code} {site.edition}" if site.edition else "none",
        disposition=s.disposition,
        holds=standing.gravity(s.disposition) <= standing.gravity(at_least),
        deciding=standing.line(f, units) if f is not None else None,
        margin=f.margin(units) if f is not None else "",
        because=_because(f, s, units),
        serious=sum(x.part.severity == "serious" for x in found),
        cautions=sum(x.part.severity == "caution" for x in found),
        findings=[standing.line(x, units) for x in found if x.part.severity in ("serious", "caution")],
        plane=plane,
        coldest_month=round(float(site.t_out.min()), 3) if site.t_out is not None else None,
        missing=s.missing() if s.disposition == "incomplete" else [],
    )


def _plane(s: Standing) -> Plane | None:
    """The inner face most likely to condense; where none is, the one below the room's dew point longest."""
    year, site = s.year, s.site
    if year is None or site.t_out is None:
        return None
    faces = {
        int(r.fields["index"]): r
        for r in s.records("layer")
        if "months_below_dew_point" in r.fields and 0 < int(r.fields["index"]) < s.built[3].end
    }
    if not faces:
        return None
    at = s.head().fields.get("condensing_layer")
    longest = max(faces, key=lambda i: (float(faces[i].fields["months_below_dew_point"]), -i))
    i = int(at) if isinstance(at, float) and int(at) in faces else longest
    t, margin = float(year.thermal.t[site.coldest, i]), faces[i].fields.get("dew_margin")
    return Plane(
        layer=i,
        name=s.built[1][i].shown,
        months_below_dew_point=int(faces[i].fields["months_below_dew_point"]),
        coldest=round(t, 3),
        dew_point=round(t - float(margin), 3) if isinstance(margin, float) else round(t, 3),
        condensate=round(float(year.balance.peak[i]), 6),
    )


def _because(f: RawFinding | None, s: Standing, units: Units) -> str:
    """Why the verdict is what it is, in a clause."""
    if s.disposition == "incomplete":
        return "it can't be judged: " + ("; ".join(s.missing()) or "a decisive fact is missing")
    return "nothing is found" if f is None else f.says(units)


_OF_COLD = ("retarder", "unvented", "class-", "condens", "winter", "cold", "dew")
"""In a rule's name: it is about vapor that meets a cold plane."""


def _by_cold(line: ReachLine) -> bool:
    """Whether the deciding finding is of the plane, or about what keeps vapor or cold from it."""
    if line.plane is None or line.deciding is None or not line.plane.months_below_dew_point:
        return False
    near = {line.plane.layer, line.plane.layer - 1}
    return bool(near & set(line.deciding.layers)) or any(w in line.deciding.rule for w in _OF_COLD)


def below_dew_point(plane: Plane) -> str:
    """`oriented strand board stays below the indoor dew point for three months`."""
    n = plane.months_below_dew_point
    span = "all year" if n >= 12 else f"for {_NUMBERS[n]} month{'s' if n > 1 else ''}"
    return f"{plane.name} stays below the indoor dew point {span}"


def _indoor(section: Section) -> str:
    given = section.indoor
    if given is None:
        return "home (none is stated)"
    parts = [given.name] if given.name else []
    if given.temperature is not None or given.humidity is not None:
        parts.append("temperature and humidity as stated" if given.temperature and given.humidity else
                     "temperature as stated" if given.temperature else "humidity as stated")  # fmt: skip
    return ", ".join(parts)


def _assumptions(home: Standing, section: Section, code: str, system: str, zones: bool) -> list[Assumption]:
    out: list[Assumption] = []
    if zones:
        out.append(
            Assumption(
                what="each zone is reviewed at one place, named beside it",
                why="a zone is wide: places at its cold edge are harder than the one that stands for it",
            )
        )
    if section.building.code is None:
        out.append(
            Assumption(what=f"{code} everywhere", why="the section names no code; the adopted one governs")
        )
    elif system == "US":
        out.append(Assumption(what=f"{code} everywhere", why="as the section or the command says"))
    if section.indoor is None or section.indoor.humidity is None:
        name = section.indoor.name if section.indoor is not None and section.indoor.name else "home"
        out.append(
            Assumption(
                what=f"indoors `{name}` everywhere: its humidity follows the outdoor climate",
                why="the section names a condition and no humidity" if section.indoor else "none is stated",
                affects="every vapor calculation",
            )
        )
    if section.cooling is None:
        out.append(
            Assumption(
                what="air-conditioned where the summer is humid", why="not stated; taken from each climate"
            )
        )
    if section.rain is None:
        out.append(
            Assumption(
                what="exposed to driving rain as each climate's precipitation has it: moderate, or high from 1500 mm (59 in) a year",
                why="not stated",
            )
        )
    seen = {(a.what, a.why) for a in out}
    for a in home.built[0].assumptions:
        if a.what.startswith("layer ") and (a.what, a.why) not in seen:
            out.append(Assumption(what=a.what, why=a.why, affects=a.affects))
    return out


def _say_claims(claims: Sequence[str], lines: Sequence[ReachLine]) -> list[str]:
    """Whether it holds where its file says that it does; nothing where the file says nothing."""
    if not claims or not lines:
        return []
    fails = [x for x in lines if x.zone in claims and not x.holds]
    listed = f"zone{'s' if len(claims) > 1 else ''} {_and(list(claims))}"
    if not fails:
        seen = {x.zone for x in lines}
        unseen = [c for c in claims if c not in seen]
        rest = f" ({_and(unseen)} not reviewed)" if unseen else ""
        return [f"Its file claims {listed}: it holds there{rest}."]
    return [f"Its file claims {listed}: it does not hold in {_and([x.zone for x in fails])}."]


# -- the limit in words ------------------------------------------------------------------------------


Named = Callable[[ReachLine], str]
"""What a zone is called in a sentence: with its letter, or by its number."""


@dataclass(frozen=True, slots=True)
class _Run:
    """Neighboring zones with the same answer."""

    holds: bool
    lines: tuple[ReachLine, ...]

    @property
    def first(self) -> ReachLine:
        return self.lines[0]

    @property
    def last(self) -> ReachLine:
        return self.lines[-1]


def say_limit(lines: Sequence[ReachLine]) -> tuple[str, list[str]]:
    """How far a section holds, and the same by moisture regime where the regimes differ.

    Zones of one number that agree are spoken of by their number; where they don't, each regime has its own
    sentence, and the first sentence says what they have in common, or else where each holds.
    """
    by_number = [list(g) for _, g in groupby(lines, key=_no)]
    if all(len({x.holds for x in group}) == 1 for group in by_number):
        return _say([_worst(group) for group in by_number], _no), []
    regimes = [
        (regime, word, [x for x in lines if x.regime == regime or (not x.regime and regime != "C")])
        for regime, word in REGIMES
        if any(x.regime == regime for x in lines)
    ]
    said = [f"{word.capitalize()} ({r}): {_lower(_say(mine, _with_letter))}" for r, word, mine in regimes]
    together = _say_together([(word, mine) for _, word, mine in regimes])
    return together or _say_short(lines, regimes), said


def _no(line: ReachLine) -> str:
    """What zones are grouped by: their number; Canada's 7A and 7B are zones of their own."""
    return str(line.number) if line.regime else line.zone


def _with_letter(line: ReachLine) -> str:
    return line.zone


def _worst(group: Sequence[ReachLine]) -> ReachLine:
    return max(group, key=lambda x: standing.gravity(x.disposition))


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _say_together(regimes: Sequence[tuple[str, Sequence[ReachLine]]]) -> str:
    """One sentence for regimes that all hold from the warm end to some zone, or all from some zone to the cold end;
    empty for any other course."""
    split = [(word, _runs(mine)) for word, mine in regimes]
    if any(len(runs) > 2 for _, runs in split):
        return ""
    for cold in (True, False):
        kept = [runs[0 if cold else -1] for _, runs in split]
        if not all(run.holds for run in kept):
            continue
        ends = [(run.last if cold else run.first) for run in kept]
        to = _and([f"{end.zone} where it is {word}" for (word, _), end in zip(split, ends, strict=True)])
        beyond = [(runs[1].first if cold else runs[0].last, end)
                  for (_, runs), end in zip(split, ends, strict=True) if len(runs) == 2]  # fmt: skip
        edge, beside = beyond[0]
        where = f"{'beyond' if cold else 'short of it'}, in zone {edge.zone} "
        return f"Holds {'to' if cold else 'from'} zone {to}; {where}{_clause(edge, beside)}."
    return ""


def _say_short(lines: Sequence[ReachLine], regimes: Sequence[tuple[str, str, list[ReachLine]]]) -> str:
    """Where it holds, regime by regime, without the reasons."""
    parts = []
    for regime, word, mine in regimes:
        runs = _runs(mine)
        holding = [r for r in runs if r.holds]
        if not holding or len(runs) == 1:
            where = "everywhere" if holding else "nowhere"
        elif len(holding) == 1 and holding[0] is runs[0]:
            where = f"to {runs[0].last.zone}"
        elif len(holding) == 1 and holding[0] is runs[-1]:
            where = f"from {runs[-1].first.zone} on"
        else:
            where = f"in {_and([_zones_of(r.lines, _with_letter).partition(' ')[2] for r in holding])}"
        parts.append(f"{word} ({regime}) {where}")
    held = sum(x.holds for x in lines)
    return f"Holds in {held} of {len(lines)} zones reviewed: {'; '.join(parts)}."


def _runs(lines: Sequence[ReachLine]) -> list[_Run]:
    return [_Run(holds, tuple(g)) for holds, g in groupby(lines, key=lambda x: x.holds)]


def _say(lines: Sequence[ReachLine], named: Named) -> str:
    runs = _runs(lines)
    holding = [r for r in runs if r.holds]
    if not holding:
        return _say_none(runs[0], named)
    if len(runs) == 1:
        return f"Holds in every zone reviewed, {named(lines[0])} to {named(lines[-1])}."
    if len(holding) == 1 and holding[0] is runs[0]:
        head = f"Holds to zone {named(runs[0].last)}"
    elif len(holding) == 1 and holding[0] is runs[-1]:
        head = f"Holds from zone {named(runs[-1].first)} on"
    else:
        between = ", and not in between" if len(holding) > 1 else ""
        head = f"Holds in {_and([_zones_of(r.lines, named) for r in holding])}{between}"
    parts = [head]
    for n, run in enumerate(runs):
        if run.holds:
            continue
        # The zone next to where it still holds tells the limit; the others are in the table.
        edge, beside = (run.first, runs[n - 1].last) if n > 0 else (run.last, runs[1].first)
        if n == len(runs) - 1 and len(run.lines) > 1:
            where = f"from zone {named(run.first)} on"
        else:
            where = f"in {_zones_of(run.lines, named)}"
        parts.append(f"{where} {_clause(edge, beside)}")
    return "; ".join(parts) + "."


def _clause(line: ReachLine, beside: ReachLine | None = None) -> str:
    """Why it doesn't hold there; `beside` is the next zone where it does."""
    text = line.because.removesuffix(".")
    if line.plane is None or not _by_cold(line):
        return text if line.disposition == "incomplete" else f"it fails: {text}"
    cold = below_dew_point(line.plane)
    if beside is not None and beside.plane is not None:
        there = beside.plane.months_below_dew_point
        if there >= line.plane.months_below_dew_point:
            return f"it fails: {text}"
        cold += f" ({_NUMBERS[there] if there else 'never'} in zone {beside.zone})"
    return f"{cold}: {text}"


def _say_none(run: _Run, named: Named) -> str:
    rules = {x.deciding.rule if x.deciding else "" for x in run.lines}
    first, last = run.first, run.last
    if all(x.disposition == "incomplete" for x in run.lines):
        return f"Can't be judged in any zone: {'; '.join(first.missing) or 'a decisive fact is missing'}."
    if len(rules) == 1:
        return f"Holds in no zone reviewed: {_clause(first)}."
    return f"Holds in no zone reviewed: in zone {named(first)} {_clause(first)}; in zone {named(last)} {_clause(last)}."


def _zones_of(lines: Sequence[ReachLine], named: Named) -> str:
    if len(lines) == 1:
        return f"zone {named(lines[0])}"
    return f"zones {named(lines[0])} {'and' if len(lines) == 2 else 'to'} {named(lines[-1])}"


def _and(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _say_places(lines: Sequence[ReachLine]) -> str:
    held = [x for x in lines if x.holds]
    not_held = [x for x in lines if not x.holds]
    if not not_held:
        return "Holds at " + ("the place asked for." if len(held) == 1 else f"all {len(held)} places.")
    if not held:
        return (
            f"Holds at none of the {len(lines)} places."
            if len(lines) > 1
            else f"Does not hold there: {_clause(lines[0])}."
        )
    return f"Holds at {len(held)} of {len(lines)} places; not in {_and(_few(not_held))}."


def _few(lines: Sequence[ReachLine]) -> list[str]:
    """Names of places, of many the first."""
    names = [x.place or x.asked for x in lines]
    return names if len(names) <= 6 else [*names[:5], f"{len(names) - 5} more"]
