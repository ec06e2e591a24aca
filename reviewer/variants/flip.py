"""Which change of a single fact flips the verdict soonest: stepped outwards, then halved through the whole pipe.

Every value that a section rests on is taken up and down in steps of a factor, nearest first, until three verdicts
have flipped; each is then narrowed down between the last value that keeps the verdict and the first that flips it.
What lies between two steps is not looked at: a verdict that flips and flips back within one step is missed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from reviewer.facts.book import Origin
from reviewer.facts.resolve import Properties
from reviewer.facts.site import Site
from reviewer.flips import Flip, Flips, much
from reviewer.humidity import saturation_pressure
from reviewer.model.section import EXPOSURES, Indoor, Layer, Section
from reviewer.review import Units, judge, sentences
from reviewer.units import DELTA_0, Span
from reviewer.values import Disposition
from reviewer.variants.judging import Judges
from reviewer.variants.standing import Standing, decider

RINGS = (1.05, 1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 3.0, 5.0, 8.0)
"""Factors tried, up and down."""
MOST_FLIPS = 3
_CLOSE = 1.002
"""Factor between the two values of a flip."""
_STEP_RING = 2.0
"""A step along a scale of words counts as a doubling (our own choice)."""
_KEPT_AT = (10.0, 35.0)
"""°C that rooms are kept at."""


@dataclass(frozen=True, slots=True)
class _Knob:
    """A fact that can be turned."""

    subject: str
    layer: int | None
    quantity: str
    dimension: str
    now: float
    origin: Origin
    made: Callable[[float], Section | None]
    """The section with the value; None where no such value can be."""
    by: Callable[[float], float]
    """The value at a factor."""
    relative: Callable[[float], float]
    """The change of a value, for people."""


@dataclass(frozen=True, slots=True)
class _Scale:
    """A statement in words, on a scale."""

    subject: str
    quantity: str
    words: tuple[str, ...]
    at: int
    origin: Origin
    made: Callable[[str], Section]


@dataclass(slots=True)
class _Bracket:
    """A verdict that has flipped between two factors."""

    knob: _Knob
    near: float
    far: float
    far_standing: Standing


def flips(section: Section, judges: Judges, units: Units = "ip") -> Flips:
    """The facts of a section whose change flips its verdict soonest, at most three. Raises InputError."""
    base = _Run(judges).one(section)
    runner = _Run(judges)
    knobs, scales = _knobs(section, base), _scales(section, base)
    knobs = _faithful(knobs, runner, base.disposition)
    found: list[_Bracket] = []
    stepped = _stepped(scales, runner, base.disposition)
    # The last factor of each knob and direction that keeps the verdict.
    kept: dict[tuple[int, bool], float] = {(n, up): 1.0 for n in range(len(knobs)) for up in (True, False)}
    tried = 1.0
    for ring in RINGS:
        tried = ring
        asked: list[tuple[tuple[int, bool], float, Section]] = []
        for (n, up), _ in sorted(kept.items(), key=lambda item: (item[0][0], not item[0][1])):
            factor = ring if up else 1.0 / ring
            made = knobs[n].made(knobs[n].by(factor))
            if made is not None:
                asked.append(((n, up), factor, made))
        for (key, factor, _), there in zip(asked, runner.many([m for _, _, m in asked]), strict=True):
            if there.disposition == base.disposition:
                kept[key] = factor
            else:
                found.append(_Bracket(knobs[key[0]], kept.pop(key), factor, there))
        if len(found) + sum(ring >= _STEP_RING for _ in stepped) >= MOST_FLIPS:
            break
    _narrow(found, runner, base.disposition)
    ranked = [(abs(math.log(b.far)), n, _flip(b, base, units)) for n, b in enumerate(found)]
    ranked += [
        (math.log(_STEP_RING) * f.steps, len(found) + n, f)
        for n, f in enumerate(_words(stepped, base, units))
    ]
    nearest = [f for _, _, f in sorted(ranked, key=lambda x: (x[0], x[1]))[:MOST_FLIPS]]
    return Flips(
        disposition=base.disposition,
        flips=nearest,
        tried=[k.subject for k in knobs] + [s.subject for s in scales],
        reach=f"each number up to {tried:g} times as much and as little, each statement one step and more",
        reviewed=runner.count,
        summary=_summary(base, nearest, tried),
    )


class _Run:
    """Counts the reviews."""

    def __init__(self, judges: Judges):
        self.judges, self.count = judges, 0

    def many(self, sections: Sequence[Section]) -> list[Standing]:
        self.count += len(sections)
        return [Standing(b, judge(b[0], self.judges.rules)) for b in self.judges.build(sections)]

    def one(self, section: Section) -> Standing:
        return self.many([section])[0]


def _faithful(knobs: Sequence[_Knob], runner: _Run, verdict: Disposition) -> list[_Knob]:
    """The knobs that leave the verdict alone when the value is written in as it is."""
    asked = [(k, made) for k in knobs if (made := k.made(k.now)) is not None]
    there = runner.many([made for _, made in asked])
    return [k for (k, _), s in zip(asked, there, strict=True) if s.disposition == verdict]


def _narrow(found: Sequence[_Bracket], runner: _Run, verdict: Disposition) -> None:
    """Halve each bracket, all of them at once, until its ends are close."""
    while True:
        wide = [b for b in found if max(b.far / b.near, b.near / b.far) > _CLOSE]
        if not wide:
            return
        middles = [math.sqrt(b.near * b.far) for b in wide]
        made = [b.knob.made(b.knob.by(m)) for b, m in zip(wide, middles, strict=True)]
        there = iter(runner.many([m for m in made if m is not None]))
        for b, m, section in zip(wide, middles, made, strict=True):
            standing = next(there) if section is not None else None
            if standing is not None and standing.disposition != verdict:
                b.far, b.far_standing = m, standing
            else:
                b.near = m


# -- what can be turned ----------------------------------------------------------------------------


def _knobs(section: Section, base: Standing) -> list[_Knob]:
    out: list[_Knob] = []
    for p in base.built[1]:
        if p.is_surroundings or p.layer.unknown:
            continue
        out += _layer_knobs(section, p)
    return out + _room_knobs(section, base.site) + _whole_knobs(section)


def _layer_knobs(section: Section, p: Properties) -> list[_Knob]:
    out: list[_Knob] = []
    assumed = Origin("assumed")

    def knob(
        quantity: str, dimension: str, now: float, origin: Origin, change: Callable[[Layer, float], Layer]
    ) -> None:
        subject = f"{p.label()}: {quantity}"
        out.append(
            _Knob(
                subject,
                p.layer.index,
                quantity,
                dimension,
                now,
                origin,
                lambda v: _with_layer(section, change(p.layer, v)),
                lambda f: now * f,
                lambda v: v / now - 1.0,
            )
        )

    thin = p.has("membrane") or p.has("coating")
    by_r = p.layer.r_value is not None
    if p.thickness and not thin and not by_r:
        knob("thickness", "length", p.thickness, p.origins.get("thickness", assumed),
             lambda x, v: replace(x, thickness=Span(v, v)))  # fmt: skip
    if p.r and not p.is_space and not thin and (by_r or p.is_insulation):
        knob("thermal resistance", "thermal resistance", p.r, p.origins.get("r_value", assumed),
             lambda x, v: replace(x, r_value=Span(v, v)))  # fmt: skip
    if p.permeance_dry and p.permeance_wet and not p.is_space:
        wet = p.permeance_wet / p.permeance_dry
        if 1.0 / p.permeance_dry > _OPEN_SD / DELTA_0:
            knob("permeance", "permeance", p.permeance_dry, p.origins.get("permeance_dry", assumed),
                 lambda x, v: replace(x, permeance_dry=Span(v, v), permeance_wet=Span(v * wet, v * wet)))  # fmt: skip
    return out


_OPEN_SD = 0.02
"""m: what is more open than this is no resistance to anything (common practice)."""


def _with_layer(section: Section, layer: Layer) -> Section:
    layers = tuple(layer if x.index == layer.index else x for x in section.layers)
    return replace(section, layers=layers)


def _room_knobs(section: Section, site: Site) -> list[_Knob]:
    """The room's humidity, all months alike, and its temperature, at the same vapor pressure."""
    if site.t_in is None or site.p_in is None or site.t_out is None:
        return []
    t, p, k = site.t_in, site.p_in, site.coldest
    rh = p / saturation_pressure(t)
    given = section.indoor
    stated = Origin("given" if given is not None else "assumed", f"indoor condition {site.condition}")

    def stands(warmer: float, times: float) -> Section | None:
        temperature = t + warmer
        if not _KEPT_AT[0] <= temperature.min() <= temperature.max() <= _KEPT_AT[1]:
            return None
        humidity = times * (rh if warmer == 0.0 else p / saturation_pressure(temperature))
        if humidity.max() > 1.0:
            return None
        indoor = Indoor(
            name=given.name if given is not None else None,
            temperature=tuple(float(x) for x in temperature),
            humidity=tuple(float(x) for x in humidity),
            mark=given.mark if given is not None else None,
        )
        return replace(section, indoor=indoor)

    winter_rh, winter_t = float(rh[k]), float(t[k])
    cold = float(t[k] - site.t_out[k])
    out = [
        _Knob(
            "the room: humidity in the coldest month",
            None,
            "humidity of the room in the coldest month",
            "relative humidity",
            winter_rh,
            stated,
            lambda v: stands(0.0, v / winter_rh),
            lambda f: winter_rh * f,
            lambda v: v / winter_rh - 1.0,
        )
    ]
    if cold > 1.0:
        out.append(
            _Knob(
                "the room: temperature in the coldest month",
                None,
                "temperature of the room in the coldest month",
                "temperature",
                winter_t,
                stated,
                lambda v: stands(v - winter_t, 1.0),
                lambda f: winter_t + cold * (f - 1.0),
                lambda v: (v - winter_t) / cold,
            )
        )
    return out


def _whole_knobs(section: Section) -> list[_Knob]:
    out: list[_Knob] = []
    given = Origin("given", "as written")

    def knob(
        subject: str, quantity: str, dimension: str, now: float, change: Callable[[float], Section]
    ) -> None:
        out.append(_Knob(f"the section: {subject}", None, quantity, dimension, now, given, change,
                         lambda f: now * f, lambda v: v / now - 1.0))  # fmt: skip

    building = section.building
    if (height := building.height) is not None:
        knob("height of the building", "height", "length", height,
             lambda v: replace(section, building=replace(building, height=v)))  # fmt: skip
    if (air := building.airtightness) is not None:
        knob("air changes an hour at 50 Pa", "airtightness", "ratio", air,
             lambda v: replace(section, building=replace(building, airtightness=v)))  # fmt: skip
    if section.slope:
        slope = section.slope
        knob("slope", "slope", "ratio", slope, lambda v: replace(section, slope=v))
    if section.depth_below_grade:
        depth = section.depth_below_grade
        knob("depth below grade", "depth", "length", depth, lambda v: replace(section, depth_below_grade=v))
    return out


def _scales(section: Section, base: Standing) -> list[_Scale]:
    """Statements in words that have an order, as stated or as assumed."""
    fields = base.head().fields
    out: list[_Scale] = []
    rain = fields.get("rain")
    if isinstance(rain, str) and rain in EXPOSURES:
        origin = Origin("given" if section.rain else "assumed")
        out.append(
            _Scale(
                "the section: exposure to driving rain",
                "exposure",
                EXPOSURES,
                EXPOSURES.index(rain),
                origin,
                lambda w: replace(section, rain=w),
            )
        )
    for layer in section.layers:
        if layer.joints in ("sealed", "taped") and layer.material is not None:
            label = base.built[1][layer.index].label()
            out.append(
                _Scale(
                    f"{label}: joints",
                    "joints",
                    (layer.joints, "unsealed"),
                    0,
                    Origin("given"),
                    lambda w, x=layer: _with_layer(section, replace(x, joints=w)),
                )
            )
    return out


_Stepped = tuple[_Scale, int, Standing]


def _stepped(scales: Sequence[_Scale], runner: _Run, verdict: Disposition) -> list[_Stepped]:
    """For each scale, the nearest step that flips the verdict, up or down."""
    asked = [(s, n) for s in scales for n in range(len(s.words)) if n != s.at]
    there = runner.many([s.made(s.words[n]) for s, n in asked])
    out: list[_Stepped] = []
    for scale in scales:
        mine = [(abs(n - scale.at), n, x) for (s, n), x in zip(asked, there, strict=True) if s is scale]
        flipped = [m for m in mine if m[2].disposition != verdict]
        if flipped:
            _, n, x = min(flipped, key=lambda m: (m[0], m[1]))
            out.append((scale, n, x))
    return out


# -- words -----------------------------------------------------------------------------------------


def _flip(b: _Bracket, base: Standing, units: Units) -> Flip:
    k = b.knob
    value, before = k.by(b.far), k.by(b.near)
    return Flip(
        subject=k.subject,
        layer=k.layer,
        quantity=k.quantity,
        dimension=k.dimension,
        now=_nine(k.now),
        origin=k.origin.origin,  # type: ignore[arg-type]
        holds_to=_nine(before),
        flips_at=_nine(value),
        change=round(k.relative(value), 6),
        steps=0,
        before=base.disposition,
        to=b.far_standing.disposition,
        because=_because(base, b.far_standing, units),
    )


def _words(stepped: Sequence[_Stepped], base: Standing, units: Units) -> list[Flip]:
    out: list[Flip] = []
    for scale, n, there in stepped:
        steps = n - scale.at
        near = n - (1 if steps > 0 else -1)
        out.append(
            Flip(
                subject=scale.subject,
                layer=None,
                quantity=scale.quantity,
                dimension="",
                now=scale.words[scale.at],
                origin=scale.origin.origin,  # type: ignore[arg-type]
                holds_to=scale.words[near],
                flips_at=scale.words[n],
                change=0.0,
                steps=abs(steps),
                before=base.disposition,
                to=there.disposition,
                because=_because(base, there, units),
            )
        )
    return out


def _because(base: Standing, there: Standing, units: Units) -> str:
    """The gravest finding that comes, or else the one that goes."""
    was = {f.rule.id for f in base.judgment.findings}
    now = {f.rule.id for f in there.judgment.findings}
    come = decider([f for f in there.judgment.findings if f.rule.id not in was])
    gone = decider([f for f in base.judgment.findings if f.rule.id not in now])
    worse = there.decider is not None and come is not None and come.rule.id == there.decider.rule.id
    shown = come if worse or gone is None else gone
    if shown is None:
        missing = there.missing()
        return f"not known: {'; '.join(missing)}" if missing else ""
    return f"{'comes' if shown is come else 'goes'}: {sentences(shown.says(units))} [{shown.rule.id}]"


def _nine(value: float) -> float:
    return float(f"{value:.9g}")


def _summary(base: Standing, found: Sequence[Flip], tried: float) -> str:
    verdict = base.disposition
    if not found and verdict == "incomplete":
        missing = "; ".join(base.missing()) or "a decisive fact is missing"
        return f"No change of a known fact decides it: {missing}."
    if not found:
        return f"No single fact flips “{verdict}” within {tried:g} times its value, up or down."
    first = found[0]
    if first.steps:
        how = f"{first.now} to {first.flips_at}"
    else:
        how = much(first.change)
    return f"“{verdict}” flips soonest with {first.subject}: {how} makes it “{first.to}”."
