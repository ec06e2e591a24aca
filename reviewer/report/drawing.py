"""The section drawn to scale, from the room outwards, as SVG.

Walls are cut level and seen from above: the room at the left. Roofs have the room below, floors and slabs above.
Thicknesses, member widths and spacings share one scale. Layers too thin to show are lines at their true place;
what has no thickness is drawn open-ended and said to be out of scale.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from reviewer.report import hatch, words
from reviewer.report.ink import dark_rules, ink
from reviewer.report.markup import Markup, el, figures, join
from reviewer.report.scale import SHEET, Scale, scale, spread
from reviewer.result import LayerLine, Result
from reviewer.units import show

WIDTH = 360.0
"""Units on paper of every drawing and chart: readable on a phone, and twice the size on a desk."""
LEFT, RIGHT = 40.0, 320.0
"""Where sections of walls and all profiles begin and end, so that they stand under each other."""
FONT = "ui-sans-serif, system-ui, -apple-system, 'Segoe UI', 'DejaVu Sans', sans-serif"
_ROW = 17.0
_DEPTH = 150.0
"""How far the cut is seen along the wall."""
_LEGEND_ROW = 15.0


@dataclass(frozen=True, slots=True)
class Sketch:
    """What a drawing shows."""

    title: str
    kind: str
    layers: Sequence[LayerLine]
    units: str
    temperatures: Sequence[tuple[int, float]] = ()
    """°C at joints: 0 is the room-side face, n the outer face of layer n."""
    room: float | None = None
    """°C."""
    out: float | None = None
    full: float = 0.0
    """m that fill the drawing, so that several share a scale; the section's own thickness where it is more."""


def sketch(result: Result) -> Sketch:
    """A result's section, with its temperatures in the coldest month."""
    given = {
        "title": words.title(result),
        "kind": result.section.kind,
        "layers": result.layers,
        "units": result.units,
    }
    monthly = result.calculations.get("monthly")
    if not monthly or not result.layers:
        return Sketch(**given)
    k = monthly["months"].index(result.calculations["dew_point"]["month"])
    joints = [(x.index + 1, x.temperature_outer) for x in result.layers]
    return Sketch(
        **given,
        temperatures=[(0, monthly["surfaces"]["inner"][k]), *((n, t) for n, t in joints if t is not None)],
        room=monthly["indoor"]["temperature"][k],
        out=monthly["outer_side"]["temperature"][k],
    )


def drawing(section: Result | Sketch, prefix: str = "", *, legend: bool = True) -> str:
    """The section as an SVG element. `prefix` keeps ids apart where several stand on one page; `legend` adds the
    list of layers under it."""
    k = sketch(section) if isinstance(section, Result) else section
    upright = k.kind not in ("roof", "floor", "slab")
    body, height = _upright(k, prefix) if upright else _lying(k, prefix)
    if legend and k.layers:
        listed, more = _legend(k, prefix, height + 8)
        body = join([body, listed])
        height += 8 + more
    return el(
        "svg",
        el(
            "title",
            f"Section of {words.clean(k.title)}, to scale, from the room outwards",
            id=f"{prefix}section-title",
        ),
        el("desc", " ".join(described(k)), id=f"{prefix}section-desc"),
        el("defs", hatch.patterns(k.layers, prefix, upright)),
        body,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {figures(WIDTH)} {figures(height)}",
        role="img",
        aria_labelledby=f"{prefix}section-title {prefix}section-desc",
        font_family=FONT,
        font_size=10.0,
        **ink("word"),
    )


def standalone(result: Result) -> str:
    """The drawing as an SVG file: on paper of its own, with the list of layers, light and dark."""
    svg = drawing(result)
    style = f"<style>@media (prefers-color-scheme:dark){{{dark_rules()}}}</style>"
    paper = el("rect", width="100%", height="100%", **ink("paper"))
    head, _, rest = svg.partition("<defs>")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{head}{style}{paper}<defs>{rest}\n'


def described(section: Result | Sketch) -> Iterator[str]:
    """The drawing in words, one sentence a layer."""
    for x in section.layers:
        parts = [f"{x.index + 1}: {words.clean(x.name)}"]
        if x.thickness:
            parts.append(words.thickness(x, section.units))
        if x.framing:
            parts.append(_members(x, section.units))
        if x.ventilated:
            parts.append("ventilated")
        if x.condensing:
            parts.append("condensate collects at its outer face")
        yield f"{', '.join(parts)}."
    if not section.layers:
        yield "The section has no layers."


def _members(x: LayerLine, system: str) -> str:
    f = x.framing
    assert f is not None
    return (
        f"{words.clean(f.material)} members {show(f.width, 'length', system)} wide, "
        f"{show(f.spacing, 'length', system)} on center"
    )


def beyond(k: Sketch) -> str:
    """What lies on the outer side."""
    last = k.layers[-1].family if k.layers else ""
    return (
        last
        if last in ("soil", "vented attic", "vented crawl space", "unvented crawl space", "garage")
        else "outdoors"
    )


# Walls


def _upright(k: Sketch, prefix: str) -> tuple[Markup, float]:
    layers = k.layers
    s = scale(layers, LEFT, RIGHT - LEFT, k.full)
    rows = _rows(len(layers), RIGHT - LEFT)
    top = 8 + rows * 16 + 14
    bottom = top + _DEPTH
    body = [
        *_bodies(layers, s, prefix, Frame(True, top, bottom, lambda v: v)),
        *_numbers_above(layers, s, rows, top),
        *_temperatures_below(k, s, bottom),
        _side(_beside("room", k.room, k), 20, top, bottom),
        _side(_beside(beyond(k), k.out, k), s.edges[-1] + 20, top, bottom),
    ]
    foot = bottom + 30
    body.append(_scale_bar(s, k.units, LEFT, foot))
    return join(body), foot + 16


def _rows(count: int, length: float) -> int:
    """Rows of numbers that are needed so that they don't touch."""
    return max(1, -(-count // int(length / _ROW)))


def _numbers_above(layers: Sequence[LayerLine], s: Scale, rows: int, top: float) -> Iterator[Markup]:
    places = spread([s.middle(i) for i in range(len(layers))], _ROW / rows, LEFT - 24, RIGHT + 24)
    heights = [14.0 + (i % rows) * 16 for i in range(len(layers))]
    leaders = (
        f"M{figures(x)} {figures(y + 7)}L{figures(x)} {figures(top - 9)}L{figures(s.middle(i))} {figures(top)}"
        for i, (x, y) in enumerate(zip(places, heights, strict=True))
    )
    yield el("path", d="".join(leaders), fill="none", stroke_width=0.7, **ink("edge"))
    for i, x in enumerate(layers):
        yield number(i, places[i], heights[i], x.unknown)


def number(index: int, cx: float, cy: float, unknown: bool = False) -> Markup:
    """The number of a layer in a disk."""
    text = f"{index + 1}{'?' if unknown else ''}"
    disk = el("rect", x=cx - 7.5, y=cy - 7, width=15, height=14, rx=7, **ink("mark"))
    size = {"font_size": 9.5 if len(text) < 3 else 8, "font_weight": "600", "text_anchor": "middle"}
    return join([disk, el("text", text, x=cx, y=cy + 3.3, **size, **ink("on-mark"))])


def _temperatures_below(k: Sketch, s: Scale, bottom: float) -> Iterator[Markup]:
    """The temperature at each joint that has room for it, in the coldest month."""
    joints = k.temperatures
    labels = {n: f"{words.temperature(t, k.units)}°" for n, t in joints}
    gap = 5.2 * max(map(len, labels.values()), default=0) + 3
    # Those of the two faces come first; the others where they leave room.
    faces = {joints[0][0], joints[-1][0]} if joints else set()
    last = -1e9
    for n, label in labels.items():
        x = s.edges[n]
        if x - last < gap or (n not in faces and any(abs(s.edges[m] - x) < gap for m in faces)):
            continue
        last = x
        yield el("path", d=f"M{figures(x)} {figures(bottom)}v5", fill="none", stroke_width=0.7, **ink("edge"))
        yield el(
            "text",
            label,
            x=x,
            y=bottom + 15,
            text_anchor="middle",
            font_size=9.5,
        )


def _side(text: str, x: float, top: float, bottom: float) -> Markup:
    """What lies on a side of a wall, written along it."""
    middle = 0.5 * (top + bottom)
    return el(
        "text",
        text,
        x=x,
        y=middle,
        text_anchor="middle",
        font_size=11,
        letter_spacing="0.06em",
        transform=f"rotate(-90 {figures(x)} {figures(middle)})",
        dy="0.35em",
        **ink("aside"),
    )


# Roofs, floors and slabs


def _lying(k: Sketch, prefix: str) -> tuple[Markup, float]:
    layers = k.layers
    room_below = k.kind == "roof"
    left, right = 40.0, 190.0
    length = max(210.0, len(layers) * 15.0)
    top = 26.0
    s = scale(layers, 0.0, length, k.full)

    def y(at: float) -> float:
        return top + (length - at if room_below else at)

    bottom = top + length
    body = list(_bodies(layers, s, prefix, Frame(False, left, right, y)))
    wanted = sorted((y(s.middle(i)), i) for i in range(len(layers)))
    places = spread([w for w, _ in wanted], 15.0, top - 4, bottom + 4)
    for (w, i), cy in zip(wanted, places, strict=True):
        x = layers[i]
        body.append(
            el(
                "path",
                d=f"M{figures(right)} {figures(w)}L{figures(right + 12)} {figures(cy)}h4",
                fill="none",
                stroke_width=0.7,
                **ink("edge"),
            )
        )
        body.append(number(i, right + 24, cy, x.unknown))
        body.append(el("text", shortened(x.name, 25), x=right + 36, y=cy + 3.3, font_size=9.5))
    last = -1e9
    found = k.temperatures
    for n, t in sorted(found, key=lambda item: y(s.edges[item[0]])):
        at = y(s.edges[n])
        if at - last < 12:
            continue
        last = at
        body.append(
            el(
                "path",
                d=f"M{figures(left - 5)} {figures(at)}h5",
                fill="none",
                stroke_width=0.7,
                **ink("edge"),
            )
        )
        body.append(
            el(
                "text",
                f"{words.temperature(t, k.units)}°",
                x=left - 8,
                y=at + 3.3,
                text_anchor="end",
                font_size=9.5,
            )
        )
    room, out = _beside("room", k.room, k), _beside(beyond(k), k.out, k)
    over, under = (out, room) if room_below else (room, out)
    outer = y(s.edges[-1])
    above, below = (outer - 12, bottom + 18) if room_below else (top - 12, outer + 18)
    for text, at in ((over, above), (under, below)):
        body.append(
            el(
                "text",
                text,
                x=0.5 * (left + right),
                y=at,
                text_anchor="middle",
                font_size=11,
                letter_spacing="0.06em",
                **ink("aside"),
            )
        )
    foot = bottom + 30
    body.append(_scale_bar(s, k.units, left, foot))
    return join(body), foot + 16


def _beside(name: str, temperature: float | None, k: Sketch) -> str:
    return name if temperature is None else f"{name}, {show(temperature, 'temperature', k.units)}"


# What both share


@dataclass(frozen=True, slots=True)
class Frame:
    """How a section lies on paper: `start` and `end` bound the cut along the layers, `at` places a point across."""

    upright: bool
    start: float
    end: float
    at: Callable[[float], float]

    def box(self, a: float, b: float, c: float, d: float) -> dict[str, float]:
        """A rectangle, across from `a` to `b` and along from `c` to `d`."""
        a, b = sorted((self.at(a), self.at(b)))
        if self.upright:
            return {"x": a, "y": c, "width": b - a, "height": d - c}
        return {"x": c, "y": a, "width": d - c, "height": b - a}

    def line(self, v: float) -> str:
        """A line along the layers."""
        v, c, d = self.at(v), self.start, self.end
        return self.path((v, c), (v, d))

    def path(self, *points: tuple[float, float]) -> str:
        """A line through points, each across (on paper already) and along."""
        pairs = points if self.upright else tuple((y, x) for x, y in points)
        return "M" + "L".join(f"{figures(x)} {figures(y)}" for x, y in pairs)


def _bodies(layers: Sequence[LayerLine], s: Scale, prefix: str, frame: Frame) -> Iterator[Markup]:
    solid = [i for i in range(len(layers)) if s.nominal[i] or not s.is_sheet(i)]
    for i in solid:
        x = layers[i]
        name = hatch.kind(x)
        fill = {"fill": f"url(#{hatch.hatch_id(prefix, name)})"} if name else ink("ground-open")
        shape = frame.box(s.edges[i], s.edges[i + 1], frame.start, frame.end)
        yield el("rect", **shape, **fill, data_layer=i + 1, data_scale="none" if s.nominal[i] else None)
        if x.ventilated:
            yield _drift(s, i, frame)
        yield from _framing(x, s, i, frame, prefix)
    whole: dict[float, None] = {}
    broken: dict[float, None] = {}
    for i in solid:
        drawn = broken if s.nominal[i] else whole
        drawn[s.edges[i]] = None
        if not s.nominal[i] or i + 1 == len(layers):
            drawn[s.edges[i + 1]] = None
    for places, dashes in ((whole, None), (broken, "4 2.5")):
        if places:
            d = "".join(map(frame.line, places))
            yield el("path", d=d, fill="none", stroke_width=0.8, stroke_dasharray=dashes, **ink("edge"))
    for i, x in enumerate(layers):
        if i not in solid:
            yield el(
                "path",
                d=frame.line(s.middle(i)),
                fill="none",
                stroke_width=SHEET,
                stroke_dasharray=hatch.dashes(x),
                data_layer=i + 1,
                data_thickness=f"{s.size(i):.4f}",
                **ink("edge"),
            )
    for i, x in enumerate(layers):
        if x.condensing:
            yield _beads(frame.line(s.edges[i + 1]), data_condensate=i + 1)


def _framing(x: LayerLine, s: Scale, i: int, frame: Frame, prefix: str) -> Iterator[Markup]:
    """The members within view, at their width and spacing."""
    f = x.framing
    if f is None or not s.per_meter or s.nominal[i]:
        return
    width, spacing = f.width * s.per_meter, max(f.spacing * s.per_meter, 4.0)
    middle = frame.start + 0.66 * (frame.end - frame.start)
    at = middle - spacing * int((middle - frame.start + width / 2) / spacing)
    metal = "steel" in f.material or "aluminum" in f.material
    while at - width / 2 < frame.end:
        low, high = max(at - width / 2, frame.start), min(at + width / 2, frame.end)
        if high - low > 0.5:
            shape = frame.box(s.edges[i], s.edges[i + 1], low, high)
            look = {"stroke_width": 1.8 if metal else 0.8, "data_member": i + 1}
            if metal:
                fill = ink("ground-open")["fill"]
                yield el("rect", **shape, fill=fill, **look, **ink("edge", "ground-open"))
            else:
                fill = f"url(#{hatch.hatch_id(prefix, 'framing')})"
                yield el("rect", **shape, fill=fill, **look, **ink("edge"))
        at += spacing


def _drift(s: Scale, i: int, frame: Frame) -> Markup:
    """Small darts along a ventilated space."""
    v = frame.at(s.middle(i))
    half = min(3.0, max(s.size(i) / 3, 1.2))
    darts = []
    for k in range(4):
        a = frame.start + (k + 0.5) * (frame.end - frame.start) / 4
        darts.append(
            frame.path((v, a + 8), (v, a - 6)) + frame.path((v - half, a - 2), (v, a - 7), (v + half, a - 2))
        )
    return el("path", d="".join(darts), fill="none", stroke_width=0.9, stroke_linecap="round", **ink("water"))


def _beads(d: str, **attributes: int) -> Markup:
    """Where condensate collects: a beaded line."""
    return el(
        "path",
        d=d,
        fill="none",
        stroke_width=3.2,
        stroke_linecap="round",
        stroke_dasharray="0.1 6",
        **attributes,
        **ink("water"),
    )


def _scale_bar(s: Scale, system: str, x: float, y: float) -> Markup:
    """A length that reads well at this scale, in the units of the report."""
    if not s.per_meter:
        return el("text", "Not to scale: no thickness is known.", x=x, y=y + 9, font_size=9.5, **ink("aside"))
    steps = (
        [0.0254 * n for n in (0.25, 0.5, 1, 2, 4, 6, 12, 24, 48)]
        if system == "ip"
        else [0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0]
    )
    length = max((m for m in steps if m * s.per_meter <= 90), default=steps[0])
    size = length * s.per_meter
    ends = f"M{figures(x)} {figures(y)}v6M{figures(x)} {figures(y + 3)}h{figures(size)}M{figures(x + size)} {figures(y)}v6"
    notes = [show(length, "length", system)]
    if any(s.nominal):
        notes.append("broken edges: not to scale")
    return el(
        "g",
        el("path", d=ends, fill="none", stroke_width=1, **ink("edge")),
        el("text", "; ".join(notes), x=x + size + 6, y=y + 6.4, font_size=9.5, **ink("aside")),
    )


def _legend(k: Sketch, prefix: str, top: float) -> tuple[Markup, float]:
    """Layers by number: hatch, name, thickness."""
    rows = []
    y = top
    for x in k.layers:
        rows.append(hatch.swatch(x, prefix, LEFT, y + 1.5, 22, 10))
        rows.append(
            el(
                "text",
                f"{x.index + 1}{'?' if x.unknown else ''}",
                x=LEFT - 6,
                y=y + 10,
                text_anchor="end",
                font_size=9.5,
                font_weight="600",
            )
        )
        rows.append(el("text", shortened(x.name, 42), x=LEFT + 30, y=y + 10, font_size=9.5))
        rows.append(
            el(
                "text",
                words.thickness(x, k.units),
                x=RIGHT + 24,
                y=y + 10,
                text_anchor="end",
                font_size=9.5,
            )
        )
        y += _LEGEND_ROW
    for mark, text in _marks(k, prefix):
        rows.append(el("g", mark, transform=f"translate({figures(LEFT)} {figures(y + 6.5)})"))
        rows.append(el("text", text, x=LEFT + 30, y=y + 10, font_size=9.5, **ink("aside")))
        y += _LEGEND_ROW
    return join(rows), y - top + 6


def _marks(k: Sketch, prefix: str) -> Iterator[tuple[Markup, str]]:
    """The signs of the drawing that need a word."""
    if any(x.condensing for x in k.layers):
        yield (
            _beads("M2 0h20"),
            "condensate collects here in some month",
        )
    if any(x.ventilated for x in k.layers):
        yield (
            el(
                "path",
                d="M2 0h17M15-3l4 3l-4 3",
                fill="none",
                stroke_width=0.9,
                stroke_linecap="round",
                **ink("water"),
            ),
            "ventilated",
        )
    framed = [x for x in k.layers if x.framing]
    if framed:
        yield (
            hatch.framing_swatch(prefix, 22, 10),
            f"framing: {shortened(_members(framed[0], k.units), 52)}",
        )
    if any(x.unknown for x in k.layers):
        yield el("text", "?", x=11, y=3.5, text_anchor="middle", font_weight="600"), "not known"


def shortened(text: str, length: int) -> str:
    """A name that fits; the whole of it stands in the table.

    >>> shortened("oriented strand board", 12)
    'oriented st…'
    """
    text = words.clean(text)
    return text if len(text) <= length else text[: length - 1].rstrip() + "…"
