"""Charts of a result as SVG: profiles through the section, and courses over the year.

Every chart has a title and a description in words; the pages that show them set the numbers beside them in a table.
Lines are told apart by dashes and by names at their ends or in a key, not by color alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from math import ceil, floor, log10
from typing import Any

from reviewer.report import words
from reviewer.report.drawing import FONT, LEFT, RIGHT, WIDTH, number, shortened
from reviewer.report.ink import ink
from reviewer.report.markup import Markup, el, figures
from reviewer.report.scale import Scale, scale, spread
from reviewer.result import Result
from reviewer.units import DIMENSIONS

DASHES = (None, "6 3", "2 3", "9 3 2 3", "1 3", "12 4")
LIMIT_DASHES = ("3 3", "9 3 3 3")
MOST_LINES = len(DASHES)
"""Lines in one chart; where there are more, those that reach highest are shown and the rest stand in the table."""
FILM = 12.0
"""Units for the air on either side, whose film is not drawn to scale."""
SATURATED = 0.995
"""Humidity from which a joint is marked as saturated."""


@dataclass(frozen=True, slots=True)
class Profile:
    """What lies along a section in one month, from the air of the room to the air outside. SI."""

    places: tuple[float, ...]
    temperature: tuple[float, ...]
    vapor: tuple[float, ...]
    saturation: tuple[float | None, ...]
    """None in the air on either side."""
    wet: tuple[bool, ...]


def profile(result: Result, month: int, s: Scale) -> Profile | None:
    """The profile of one month (0 to 11); None where nothing was calculated."""
    monthly = result.calculations.get("monthly")
    if not monthly or not result.layers:
        return None
    surfaces, joints = monthly["surfaces"], monthly["joints"]
    last = len(joints) + 1
    places = [s.edges[0] - FILM, *s.edges[: last + 1], s.edges[last] + FILM]
    inner, outer = monthly["indoor"], monthly["outer_side"]
    t = [
        inner["temperature"][month],
        surfaces["inner"][month],
        *(j["temperature"][month] for j in joints),
        surfaces["outer"][month],
        outer["temperature"][month],
    ]
    p = [
        inner["vapor_pressure"][month],
        surfaces["inner_vapor_pressure"][month],
        *(j["vapor_pressure"][month] for j in joints),
        surfaces["outer_vapor_pressure"][month],
        outer["vapor_pressure"][month],
    ]
    sat = [
        None,
        surfaces["inner_saturation"][month],
        *(j["saturation"][month] for j in joints),
        surfaces["outer_saturation"][month],
        None,
    ]
    wet = [False, False, *(j["humidity"][month] >= SATURATED for j in joints), False, False]
    return Profile(tuple(places), tuple(t), tuple(p), tuple(sat), tuple(wet))


def worst_month(result: Result) -> tuple[int, str]:
    """The month to show, and why: the one in which most water condenses, else that of the highest humidity."""
    monthly = result.calculations["monthly"]
    joints = monthly["joints"]
    gained = [sum(max(j["condensation"][k], 0.0) for j in joints) for k in range(12)]
    if max(gained, default=0.0) > 0.0:
        k = max(range(12), key=lambda m: gained[m])
        return k, "the month in which most water condenses"
    if joints:
        k = max(range(12), key=lambda m: max(j["humidity"][m] for j in joints))
        return k, "the month in which a joint is most humid"
    return monthly["months"].index(result.calculations["dew_point"]["month"]), "the coldest month"


@dataclass(frozen=True, slots=True)
class Axis:
    """A vertical axis: values from `low` to `high` on `bottom` up to `top`, with labeled steps."""

    low: float
    high: float
    top: float
    bottom: float
    steps: tuple[float, ...]

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.bottom - min(max(share, 0.0), 1.0) * (self.bottom - self.top)


def axis(low: float, high: float, top: float, bottom: float, steps: int = 4) -> Axis:
    """Round ends and steps around `low` to `high`."""
    span = max(high - low, 1e-9)
    raw = span / steps
    unit = 10.0 ** floor(log10(raw))
    step = next(unit * m for m in (1, 2, 2.5, 5, 10) if unit * m >= raw * 0.999)
    a, b = floor(low / step + 1e-9) * step, ceil(high / step - 1e-9) * step
    b = b if b > a else a + step
    count = round((b - a) / step)
    return Axis(a, b, top, bottom, tuple(a + step * n for n in range(count + 1)))


def _label(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _line(points: Iterable[tuple[float, float]], places: int = 2) -> str:
    return "M" + "L".join(f"{figures(x, places)} {figures(y, places)}" for x, y in points)


def _svg(title: str, told: str, height: float, *body: Markup, width: float = WIDTH, prefix: str) -> Markup:
    return el(
        "svg",
        el("title", title, id=f"{prefix}-title"),
        el("desc", told, id=f"{prefix}-desc"),
        *body,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {figures(width)} {figures(height)}",
        role="img",
        aria_labelledby=f"{prefix}-title {prefix}-desc",
        font_family=FONT,
        font_size=9.5,
        **ink("word"),
    )


def _stroke(d: str, name: str, width: float, dash: str | None = None) -> Markup:
    return el(
        "path",
        d=d,
        fill="none",
        stroke_width=width,
        stroke_dasharray=dash,
        stroke_linejoin="round",
        **ink(name),
    )


def _scale_of(axis_: Axis, left: float, right: float) -> Iterator[Markup]:
    lines, labels = [], []
    for v in axis_.steps:
        y = axis_.y(v)
        lines.append(f"M{figures(left)} {figures(y)}H{figures(right)}")
        labels.append(el("text", _label(v), x=left - 3, y=y + 3.3))
    yield el("path", d="".join(lines), fill="none", stroke_width=0.7, **ink("rule"))
    yield el("g", *labels, text_anchor="end", **ink("aside"))


def figure(value: float, dimension: str, unit: str) -> float:
    """A value in one of the units of its dimension.

    >>> figure(20.0, "temperature", "°F"), figure(0.012, "area density", "g/m²")
    (68.0, 12.0)
    """
    factor, offset = DIMENSIONS[dimension].spellings[unit.lower()]
    return round((value - offset) / factor, 9)


def pressure_unit(system: str) -> str:
    d = DIMENSIONS["vapor pressure"]
    return d.ip_unit if system == "ip" else d.si_unit


# Through the section


def through(result: Result, month: int, prefix: str) -> Markup | None:
    """Temperature, and vapor pressure against saturation, through the section in one month, one under the other and
    both under the drawing of a wall: the same scale, the room at the left."""
    s = scale(result.layers, LEFT, RIGHT - LEFT)
    p = profile(result, month, s)
    if p is None:
        return None
    degree, pressure = words.degree(result.units), pressure_unit(result.units)
    name = result.calculations["monthly"]["months"][month]
    t = [figure(v, "temperature", degree) for v in p.temperature]
    vapor = [figure(v, "vapor pressure", pressure) for v in p.vapor]
    sat = [None if v is None else figure(v, "vapor pressure", pressure) for v in p.saturation]
    height = 270.0
    at = axis(min(t), max(t), 34, 118)
    ap = axis(0.0, max([*vapor, *(v for v in sat if v is not None)]), 156, 246)
    lo, hi = p.places[0], p.places[-1]
    frame = _bands(result, s, len(p.places) - 3, 34.0, 246.0)
    inside = list(zip(p.places[1:-1], sat[1:-1], strict=True))
    body = [
        *frame,
        *_scale_of(at, lo, hi),
        *_scale_of(ap, lo, hi),
        el("text", f"Temperature, {degree}", x=lo, y=27, font_weight="600"),
        el("text", f"Vapor pressure, {pressure}", x=lo, y=149, font_weight="600"),
        el(
            "path",
            d=_line([(x, at.y(v)) for x, v in zip(p.places, t, strict=True)]),
            fill="none",
            stroke_width=2,
            stroke_linejoin="round",
            **ink("warmth"),
        ),
        el(
            "path",
            d=_line([(x, ap.y(v)) for x, v in inside if v is not None]),
            fill="none",
            stroke_width=1.6,
            stroke_dasharray="6 3",
            stroke_linejoin="round",
            **ink("saturation"),
        ),
        el(
            "path",
            d=_line([(x, ap.y(v)) for x, v in zip(p.places, vapor, strict=True)]),
            fill="none",
            stroke_width=2,
            stroke_linejoin="round",
            **ink("vapor"),
        ),
        *(_drop(x, ap.y(v)) for x, v, wet in zip(p.places, vapor, p.wet, strict=True) if wet),
        *_key(lo, 263, any(p.wet)),
    ]
    told = [
        f"{name}: from {_label(round(t[0], 1))} {degree} in the room to {_label(round(t[-1], 1))} outside."
    ]
    wet = [n for n, w in enumerate(p.wet) if w]
    told.append(
        f"Vapor pressure reaches saturation at the outer face of {_joined([f'layer {n - 1}' for n in wet])}."
        if wet
        else "Vapor pressure stays below saturation everywhere."
    )
    return _svg(
        f"Temperature and vapor pressure through the section in {name}",
        " ".join(told),
        height,
        *body,
        prefix=prefix,
    )


def _joined(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _bands(result: Result, s: Scale, count: int, top: float, bottom: float) -> Iterator[Markup]:
    """Every other layer shaded lightly, with the numbers of those that have room."""
    for i in range(len(result.layers)):
        if i % 2 == 0 and i < count:
            yield el(
                "rect", x=s.edges[i], y=top, width=max(s.size(i), 0.6), height=bottom - top, **ink("band")
            )
    rows = max(1, -(-len(result.layers) // 17))
    if rows == 1:
        places = spread([s.middle(i) for i in range(count)], 16, LEFT - 16, RIGHT + 16)
        for i, x in enumerate(places):
            yield number(i, x, 8.5)


def _drop(x: float, y: float, size: float = 3.4) -> Markup:
    """Saturated here: a drop of our own."""
    return el(
        "path",
        d=f"M{figures(x)} {figures(y - 2 * size)}q{figures(2.4 * size)} {figures(3 * size)} 0 {figures(3 * size)}t0 {figures(-3 * size)}z",
        stroke_width=0.6,
        stroke="none",
        **ink("water-body"),
    )


def _key(x: float, y: float, wet: bool) -> Iterator[Markup]:
    entries = [("vapor", None, 2.0, "vapor pressure"), ("saturation", "6 3", 1.6, "at saturation")]
    for name, dash, width, text in entries:
        yield el(
            "path",
            d=f"M{figures(x)} {figures(y - 3)}h20",
            fill="none",
            stroke_width=width,
            stroke_dasharray=dash,
            **ink(name),
        )
        yield el("text", text, x=x + 24, y=y)
        x += 34 + 5.2 * len(text)
    if wet:
        yield _drop(x + 4, y - 3)
        yield el("text", "saturated", x=x + 12, y=y)


def month_panel(result: Result, month: int, prefix: str, ranges: Ranges) -> Markup:
    """The same in small, for setting twelve side by side on common scales."""
    s = scale(result.layers, 12.0, 126.0)
    p = profile(result, month, s)
    assert p is not None
    name = result.calculations["monthly"]["months"][month]
    at = Axis(*ranges.temperature, 4, 44, ())
    ap = Axis(*ranges.pressure, 52, 104, ())
    lo, hi = p.places[0] + FILM - 5, p.places[-1] - FILM + 5
    places = (lo, *p.places[1:-1], hi)
    body = [
        el(
            "path",
            d=f"M{figures(lo)} 44H{figures(hi)}M{figures(lo)} 104H{figures(hi)}",
            fill="none",
            stroke_width=0.7,
            **ink("rule"),
        ),
        el(
            "path",
            d=_line([(x, at.y(v)) for x, v in zip(places, p.temperature, strict=True)], 1),
            fill="none",
            stroke_width=1.6,
            **ink("warmth"),
        ),
        el(
            "path",
            d=_line([(x, ap.y(v)) for x, v in zip(places, p.saturation, strict=True) if v is not None], 1),
            fill="none",
            stroke_width=1.2,
            stroke_dasharray="5 2.5",
            **ink("saturation"),
        ),
        el(
            "path",
            d=_line([(x, ap.y(v)) for x, v in zip(places, p.vapor, strict=True)], 1),
            fill="none",
            stroke_width=1.6,
            **ink("vapor"),
        ),
        *(_drop(x, ap.y(v), 2.6) for x, v, wet in zip(places, p.vapor, p.wet, strict=True) if wet),
    ]
    state = (
        "saturated at " + _joined([f"{n - 1}/{n}" for n, w in enumerate(p.wet) if w]) if any(p.wet) else "dry"
    )
    return _svg(
        f"{name}: {state}",
        f"Profile of {name}; the numbers are in the tables below.",
        108,
        *body,
        width=150,
        prefix=prefix,
    )


@dataclass(frozen=True, slots=True)
class Ranges:
    """Scales that all months share, SI."""

    temperature: tuple[float, float]
    pressure: tuple[float, float]


def ranges(result: Result) -> Ranges:
    monthly = result.calculations["monthly"]
    t: list[float] = [*monthly["indoor"]["temperature"], *monthly["outer_side"]["temperature"]]
    p: list[float] = [0.0, *monthly["indoor"]["vapor_pressure"], *monthly["outer_side"]["vapor_pressure"]]
    p += monthly["surfaces"]["inner_saturation"] + monthly["surfaces"]["outer_saturation"]
    for j in monthly["joints"]:
        t += j["temperature"]
        p += j["saturation"]
    low, high = min(t), max(t)
    return Ranges((low, high if high > low else low + 1.0), (0.0, max(p) or 1.0))


# Over the year


@dataclass(frozen=True, slots=True)
class Course:
    """A line over the months."""

    name: str
    values: Sequence[float]


@dataclass(frozen=True, slots=True)
class Limit:
    value: float
    says: str


@dataclass(frozen=True, slots=True)
class Months:
    """What a chart over the year shows."""

    title: str
    unit: str
    courses: Sequence[Course]
    limits: Sequence[Limit] = field(default_factory=tuple)
    """Two at most."""
    ceiling: float | None = None
    """The highest value of the axis, where the quantity has one."""


def over_the_year(months: Months, prefix: str) -> Markup:
    """Lines over twelve months, or over several years of them."""
    courses = sorted(months.courses, key=lambda c: -max(c.values))[:MOST_LINES]
    courses = [c for c in months.courses if c in courses]
    count = len(courses[0].values)
    top = max([max(c.values) for c in courses] + [l_.value for l_ in months.limits])
    a = axis(0.0, months.ceiling or top * 1.02, 24, 150)
    left, right = 34.0, 346.0
    step = (right - left) / count

    def x(k: int) -> float:
        return left + (k + 0.5) * step

    body = [
        el("text", f"{months.title}, {months.unit}", x=6, y=12, font_weight="600"),
        *_scale_of(a, left, right),
        *_month_names(count, left, step, 150),
    ]
    limits = list(zip(months.limits, LIMIT_DASHES, strict=False))
    for limit, dash in limits:
        y = figures(a.y(limit.value))
        body.append(_stroke(f"M{figures(left)} {y}H{figures(right)}", "limit", 1.2, dash))
    entries: list[tuple[str, float, str | None, str]] = []
    for n, c in enumerate(courses):
        d = _line([(x(k), a.y(v)) for k, v in enumerate(c.values)])
        body.append(_stroke(d, f"line-{n + 1}", 1.8, DASHES[n]))
        entries.append((f"line-{n + 1}", 1.8, DASHES[n], shortened(c.name, 58)))
    entries += [("limit", 1.2, dash, limit.says) for limit, dash in limits]
    height = 176.0
    for name, width, dash, text in entries:
        body.append(_stroke(f"M6 {figures(height)}h26", name, width, dash))
        body.append(el("text", text, x=38, y=height + 3.2))
        height += 12
    if len(courses) < len(months.courses):
        more = len(months.courses) - len(courses)
        body.append(el("text", f"and {more} lower, in the table", x=38, y=height + 3.2, **ink("aside")))
        height += 12
    told = [f"{c.name}: highest {_label(round(max(c.values), 2))} {months.unit}." for c in courses]
    told += [f"Limit {_label(limit.value)}: {limit.says}." for limit in months.limits]
    return _svg(f"{months.title} over the year", " ".join(told), height, *body, prefix=prefix)


def _month_names(count: int, left: float, step: float, y: float) -> Iterator[Markup]:
    letters = "JFMAMJJASOND"
    if count <= 12:
        yield el(
            "g",
            *(el("text", letters[k], x=left + (k + 0.5) * step, y=y + 13) for k in range(count)),
            text_anchor="middle",
            **ink("aside"),
        )
        return
    years = count // 12
    for n in range(years):
        yield el(
            "text",
            f"year {n + 1}",
            x=left + (n + 0.5) * 12 * step,
            y=y + 13,
            text_anchor="middle",
            **ink("aside"),
        )
        if n:
            yield el(
                "path",
                d=f"M{figures(left + n * 12 * step)} 24V{figures(y + 5)}",
                fill="none",
                stroke_width=0.7,
                **ink("rule"),
            )


def wetting_and_drying(months: Sequence[str], joint: dict[str, Any], system: str, prefix: str) -> Markup:
    """Water at one joint: what comes and goes in each month as bars, what is held at its end as a line."""
    unit = words.water_row(joint["held"], system)[0]
    rate = [figure(v, "area density", unit) for v in joint["condensation"]]
    held = [figure(v, "area density", unit) for v in joint["held"]]
    top, low = max([*rate, *held, 0.0]), min([*rate, 0.0])
    a = axis(low, top or 1.0, 24, 150)
    left, right = 34.0, 346.0
    step = (right - left) / 12
    zero = a.y(0.0)
    bars = []
    for k, v in enumerate(rate):
        if v:
            y = a.y(v)
            shape = {
                "x": left + (k + 0.22) * step,
                "y": min(y, zero),
                "width": 0.56 * step,
                "height": max(abs(y - zero), 0.5),
            }
            bars.append(el("rect", **shape, **ink("water-body" if v > 0 else "drying"), data_month=months[k]))
    points = [(left + (k + 0.5) * step, a.y(v)) for k, v in enumerate(held)]
    body = [
        el("text", f"Water, {unit}", x=6, y=12, font_weight="600"),
        *_scale_of(a, left, right),
        *_month_names(12, left, step, 150),
        *bars,
        el(
            "path",
            d=f"M{figures(left)} {figures(zero)}H{figures(right)}",
            fill="none",
            stroke_width=0.9,
            **ink("edge"),
        ),
        el("path", d=_line(points), fill="none", stroke_width=1.8, stroke_dasharray="6 3", **ink("line-6")),
        el("rect", x=6, y=171, width=10, height=8, **ink("water-body")),
        el("text", "condenses in the month (bar up)", x=38, y=178),
        el("rect", x=6, y=184, width=10, height=8, **ink("drying")),
        el("text", "dries in the month (bar down)", x=38, y=191),
        el("path", d="M6 201h26", fill="none", stroke_width=1.8, stroke_dasharray="6 3", **ink("line-6")),
        el("text", "held at the end of the month", x=38, y=204),
    ]
    peak = max(held)
    told = f"At most {_label(round(peak, 1))} {unit} held; " + (
        "dry again within the year."
        if min(held) <= 1e-6 * max(peak, 1.0)
        else f"never less than {_label(round(min(held), 1))} {unit}."
    )
    return _svg(
        f"Wetting and drying at joint {joint['inner'] + 1}/{joint['outer'] + 1}, {joint['name']}",
        told,
        210,
        *body,
        prefix=prefix,
    )
