"""The year on a page: profiles by month, humidity at every joint, wetting and drying, wood, mold; and the numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from reviewer.report import charts, words
from reviewer.report.html_context import Context
from reviewer.report.markup import Markup, el, join
from reviewer.report.page import table
from reviewer.result import Result


def months(result: Result, c: Context) -> Iterator[Markup]:
    """Twelve small profiles on common scales."""
    monthly = result.calculations["monthly"]
    shared = charts.ranges(result)
    worst, why = charts.worst_month(result)
    panels = []
    for k, name in enumerate(monthly["months"]):
        wet = [j for j in monthly["joints"] if j["humidity"][k] >= charts.SATURATED]
        said = (
            "saturated"
            if wet
            else f"to {max((j['humidity'][k] for j in monthly['joints']), default=0) * 100:.0f} %"
        )
        panels.append(
            el(
                "li",
                el("b", name),
                el("span", said),
                charts.month_panel(result, k, c.id(f"month-{k + 1}"), shared),
                class_="worst" if k == worst else None,
            )
        )
    yield el(
        "p",
        "Above, the temperature; below it, the vapor pressure (whole line) against saturation (broken line), from the "
        "room at the left to the outer side. All months share their scales. A drop marks a joint that is saturated; "
        "the percentage is the highest humidity at any joint. "
        f"Framed: {monthly['months'][worst]}, {why}.",
    )
    yield el("ul", *panels, class_="months")


def year(result: Result, c: Context) -> Iterator[Markup]:
    calc = result.calculations
    monthly = calc["monthly"]
    yield from _humidity(
        monthly["months"],
        monthly["joints"],
        "Relative humidity at each joint, monthly means, %",
    )
    yield el("p", words.drying(result))
    figures_: list[Markup] = []
    for n, j in enumerate(_wettest(monthly["joints"])):
        figures_.append(
            el(
                "figure",
                charts.wetting_and_drying(monthly["months"], j, c.system, c.id(f"water-{n + 1}")),
                el("figcaption", f"Joint {_between(j)}: condensation and drying"),
            )
        )
    wood, limits = calc.get("wood_moisture", []), calc.get("wood_limits")
    if wood and limits:
        lines = [
            charts.Course(f"{w['layer'] + 1} {words.clean(w['name'])}", [v * 100 for v in w["monthly"]])
            for w in wood
        ]
        marks = [
            charts.Limit(
                limits["caution"] * 100, f"{limits['caution'] * 100:.0f} %: wood in service stays below"
            ),
            charts.Limit(limits["decay"] * 100, f"{limits['decay'] * 100:.0f} %: decay, where it is warm"),
        ]
        figures_.append(
            el(
                "figure",
                charts.over_the_year(charts.Months("Wood moisture", "% MC", lines, marks), c.id("wood")),
                el(
                    "figcaption",
                    "Moisture content of wood by month",
                    c.sources.cite(limits["source"], c.id("year"), "wood moisture"),
                ),
            )
        )
    mold = calc.get("mold")
    if mold and mold["joints"]:
        lines = [
            charts.Course(f"{j['inner'] + 1}/{j['outer'] + 1} {words.clean(j['name'])}", j["index"])
            for j in mold["joints"]
        ]
        mark = charts.Limit(mold["limit"], f"{mold['limit']:g}: visible, the limit")
        figures_.append(
            el(
                "figure",
                charts.over_the_year(charts.Months("Mold index", "0 to 6", lines, [mark], 6.0), c.id("mold")),
                el(
                    "figcaption",
                    f"Mold risk over {mold['years']} years: 0 none, 1 under the microscope, 3 visible, 6 dense",
                    c.sources.cite(mold["source"], c.id("year"), "mold index"),
                ),
            )
        )
    elif mold:
        yield el("p", "No joint is humid and warm enough for mold to grow, by monthly means.")
    if figures_:
        yield el("div", *figures_, class_="charts")
    yield el("p", f"Limits of the method: {calc['limits']}", class_="quiet")


def _wettest(joints: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """The joints that hold condensate, at most six, those that hold most."""
    wet = [j for j in joints if any(j["held"])]
    chosen = sorted(wet, key=lambda j: -max(j["held"]))[:6]
    return [j for j in wet if j in chosen]


def _between(j: dict[str, Any]) -> str:
    return f"{j['inner'] + 1}/{j['outer'] + 1}, {words.clean(j['name'])}"


def _humidity(names: Sequence[str], joints: Sequence[dict[str, Any]], caption: str) -> Iterator[Markup]:
    if not joints:
        return
    rows = []
    for j in joints:
        cells = Markup("".join(_shaded(h) for h in j["humidity"]))
        rows.append(
            el(
                "tr",
                el(
                    "th",
                    f"{j['inner'] + 1}/{j['outer'] + 1} ",
                    el("small", j["name"]),
                    scope="row",
                    class_="name",
                ),
                cells,
            )
        )
    yield table(caption, _month_heads("Joint", names), rows)
    yield el(
        "p",
        el("span", "80 and over", class_="r80"),
        " mold can grow ",
        el("span", "95 and over", class_="r95"),
        " nearly saturated ",
        el("span", "100", class_="r100"),
        " saturated: condensate forms or is held",
        class_="keys quiet",
    )


def _shaded(humidity: float) -> str:
    percent = f"{humidity * 100:.0f}"
    n = int(percent)
    shade = "r100" if n >= 100 else "r95" if n >= 95 else "r80" if n >= 80 else ""
    return f'<td class="{shade}">{percent}</td>' if shade else f"<td>{percent}</td>"


def _month_heads(first: str, names: Sequence[str]) -> list[Markup]:
    return [el("th", first, scope="col", class_="l"), *(el("th", m, scope="col") for m in names)]


def numbers(result: Result, c: Context) -> Iterator[Markup]:
    """Every number behind the charts, as tables."""
    calc, system = result.calculations, c.system
    monthly = calc["monthly"]
    names, joints = monthly["months"], monthly["joints"]
    degree, pressure = words.degree(system), charts.pressure_unit(system)
    places = 3 if system == "ip" else 0

    def degrees(values: Sequence[float]) -> list[str]:
        return [f"{charts.figure(v, 'temperature', degree):.{0 if system == 'ip' else 1}f}" for v in values]

    def pressures(values: Sequence[float]) -> list[str]:
        return [f"{charts.figure(v, 'vapor pressure', pressure):.{places}f}" for v in values]

    def block(caption: str, rows: list[tuple[str, list[str]]]) -> Markup:
        body = [
            el(
                "tr",
                el("th", name, scope="row", class_="name"),
                Markup("".join(f"<td>{v}</td>" for v in values)),
            )
            for name, values in rows
        ]
        return el("details", el("summary", caption), table(caption, _month_heads("Where", names), body))

    def through(name: str, outer: str, show: Any) -> list[tuple[str, list[str]]]:
        inner = "" if name == "temperature" else f"_{name}"
        surfaces = monthly["surfaces"]
        rows = [("room-side face", show(surfaces[f"inner{inner}"]))]
        rows += [(_between(j), show(j[name])) for j in joints]
        return [
            *rows,
            ("outer face", show(surfaces[f"outer{inner}"])),
            *([(outer, show(monthly["outer_side"][name]))] if outer else []),
        ]

    yield block(
        f"Temperature, {degree}",
        [
            ("room air", degrees(monthly["indoor"]["temperature"])),
            *through("temperature", "air on the outer side", degrees),
        ],
    )
    yield block(
        f"Vapor pressure, {pressure}",
        [
            ("room air", pressures(monthly["indoor"]["vapor_pressure"])),
            *through("vapor_pressure", "air on the outer side", pressures),
        ],
    )
    yield block(f"Vapor pressure at saturation, {pressure}", through("saturation", "", pressures))
    wet = [j for j in joints if any(j["held"]) or any(j["condensation"])]
    if wet:
        rows = []
        unit = words.water_row([v for j in wet for v in j["held"]], system)[0]
        for j in wet:
            for name, label in (("condensation", "comes or goes"), ("held", "held at the end")):
                values = [f"{charts.figure(v, 'area density', unit):.3g}" for v in j[name]]
                rows.append((f"{_between(j)}: {label}", values))
        yield block(f"Condensate, {unit}", rows)
    if calc.get("wood_moisture"):
        yield block(
            "Moisture content of wood, %",
            [
                (f"{w['layer'] + 1} {words.clean(w['name'])}", [f"{v * 100:.1f}" for v in w["monthly"]])
                for w in calc["wood_moisture"]
            ],
        )
    for year_ in range(calc["mold"]["years"] if calc.get("mold") and calc["mold"]["joints"] else 0):
        yield block(
            f"Mold index at the end of the month, year {year_ + 1}",
            [
                (_between(j), [f"{v:.1f}" for v in j["index"][12 * year_ : 12 * year_ + 12]])
                for j in calc["mold"]["joints"]
            ],
        )


def hourly(result: Result, c: Context) -> Iterator[Markup]:
    """What the hourly simulation says."""
    h = result.calculations["hourly"]
    names = result.calculations["monthly"]["months"]
    settled = "until the years repeat" if h["periodic"] else "without settling into a repeating year"
    yield el("p", f"{h['years']} years of a {h['weather']}, {settled}. {h['limits']}")
    yield from _humidity(
        names, h["joints"], "Hourly simulation, last year: relative humidity at each joint, monthly means, %"
    )
    if h["wood_moisture"]:
        lines = [
            charts.Course(f"{w['layer'] + 1} {words.clean(w['name'])}", [v * 100 for v in w["monthly"]])
            for w in h["wood_moisture"]
        ]
        chart = charts.over_the_year(
            charts.Months("Wood moisture, hourly simulation", "% MC", lines), c.id("hourly-wood")
        )
        yield el(
            "figure", chart, el("figcaption", "Moisture content of wood in the last year, monthly means")
        )
    molds = [j for j in h["joints"] if j["mold_index"] > 0]
    if molds:
        said = [el("li", f"{_between(j)}: {j['mold_index']:.1f}") for j in molds]
        yield join([el("p", "Highest mold index:"), el("ul", *said)])


def strips(result: Result, c: Context) -> Iterator[Markup]:
    """Below grade: the wall at several depths."""
    names = result.calculations["monthly"]["months"]
    degree = words.degree(c.system)
    rows = []
    for s in result.calculations["strips"]:
        depth = words.show(s["depth"], "length", c.system)
        soil, plane = (
            "".join(f"<td>{charts.figure(v, 'temperature', degree):.0f}</td>" for v in s[name])
            for name in ("soil", "plane")
        )
        humidity = "".join(map(_shaded, s["humidity"]))
        for label, cells in ((f"soil {degree}", soil), (f"plane {degree}", plane), ("humidity %", humidity)):
            head = el("th", f"{depth} down: {label}", scope="row", class_="name")
            rows.append(el("tr", head, Markup(cells)))
    yield table(
        "The wall by its depth below grade: soil, and the condensing plane",
        _month_heads("Depth", names),
        rows,
    )
