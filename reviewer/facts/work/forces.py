"""Air leaks, sun, inward drive, rain and built-in water."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from reviewer.facts.arithmetic import Term, constant, figures, greatest, least, number, places_of, total
from reviewer.facts.forces import (
    CONCRETE_AGE,
    CONCRETE_RATIO,
    DRY_WOOD,
    SUN_HOURS,
    WET_WOOD,
    BuiltInWork,
    InwardWork,
    LeakageWork,
    RainWork,
    SunWork,
)
from reviewer.facts.monthly import Year
from reviewer.facts.work.sheet import (
    MEMORY,
    Case,
    as_is,
    celsius,
    indoor_vapor,
    midpoint,
    month_seconds,
    r_value,
    saturation,
    shown_as,
    taken,
    worked,
)
from reviewer.humidity import saturation_pressure
from reviewer.library.types import MONTHS
from reviewer.physics import builtin, rain
from reviewer.result import Work


def force_work(c: Case, year: Year) -> Iterator[Work]:
    w = c.book.workings
    if "leakage" in w:
        yield _leakage(c, year, w["leakage"])
    if "sun" in w:
        yield _sun(c, w["sun"])
    if "inward" in w:
        yield _inward(c, w["inward"])
    if "rain" in w:
        yield _rain(c, year, w["rain"])
    for b in w.get("built in", []):
        yield _built_in(c, year, b)


def _leakage(c: Case, year: Year, w: LeakageWork) -> Work:
    k, month = c.k, MONTHS[c.k]
    assert c.site.t_out is not None and c.site.t_in is not None
    cold, warm = float(c.site.t_out[k]), float(c.site.t_in[k])
    kelvin = constant("273.15")
    stack = greatest(
        constant("0"),
        constant("9.80665")
        * number(w.height, 3)
        * constant("101325")
        / constant("287.055")
        * (constant("1") / (celsius(cold) + kelvin) - constant("1") / (celsius(warm) + kelvin)),
    )
    flow = number(w.rated, 3) * (number(stack.exact, 3) / constant("75")) ** constant("0.65")
    p_i, t_j = float(indoor_vapor(c)[k]), float(year.thermal.t[k, w.joint])
    p_j = float(saturation_pressure(t_j))

    def ratio(p: float) -> Term:
        return constant("0.621945") * number(p, 1) / (constant("101325") - number(p, 1))

    room, plane = ratio(p_i), ratio(p_j)
    left = greatest(constant("0"), number(room.exact, 6) - number(plane.exact, 6))
    wetting = constant("1.2") * number(flow.exact, 4) / constant("1000") * left * month_seconds(k)
    able = [greatest(constant("0"), number(float(d), 4)) for d in w.drying]
    saturated = number(p_j, 1)
    inwards = figures(w.inner, 4, -12) * (saturated - number(p_i, 1)) * month_seconds(k)
    outwards = (
        figures(w.outer, 4, -12) * (saturated - number(float(c.thermal.p_ext[k]), 1)) * month_seconds(k)
    )
    return Work(
        title=f"Wetting by air leakage at {c.node(w.joint)}, {month} and year",
        formula="Δp = max(0, g·z·p_0/R_a·(1/T_e − 1/T_i)); q = q_75·(Δp/75)^0.65; x = 0.621945·p/(p_0 − p); "
        "m = ρ·q·max(0, x_i − x_j)·t",
        where="z height above the neutral plane, p_0 = 101325 Pa, q in L/(s·m²), x humidity ratio of the room and of air "
        "saturated at the joint, ρ = 1.2 kg/m³; drying W·(p_sat,j − p)·t to each side",
        numbers=[
            taken("q_75", w.rated, 3, "L/(s·m²)", note="see what was assumed"),
            worked("Δp", stack, 3, "Pa"),
            worked("q", flow, 4, "L/(s·m²)"),
            worked("x_i", room, 6, "kg/kg"),
            worked("x_j", plane, 6, "kg/kg"),
            worked(f"m in {month}", wetting, 4, "kg/m²"),
            worked(
                "m in the year, January first", total([number(float(v), 4) for v in w.wetting]), 3, "kg/m²"
            ),
            worked(f"drying inwards in {month}", inwards, 4, "kg/m²"),
            worked(f"drying outwards in {month}", outwards, 4, "kg/m²"),
            worked("drying in the year, January first", total(able), 3, "kg/m²"),
        ],
        result=f"An upper bound of {shown_as(float(w.wetting.sum()), 2)} kg/m² a year against "
        f"{shown_as(float(np.maximum(w.drying, 0.0).sum()), 2)} kg/m² that the joint can dry.",
        source=f"ASHRAE Fundamentals, Ventilation and Infiltration (stack effect, power law), Psychrometrics equation 20 ({MEMORY})",
        limits="All leaking air is taken to leave saturated at the joint: real paths wet less. Stack alone, no wind, no fans.",
    )


def _sun(c: Case, w: SunWork) -> Work:
    month = MONTHS[c.site.warmest]
    sol_air = celsius(w.air) + number(w.absorptance, 2) * number(w.irradiance, 1) / constant("17")
    assert c.site.t_in is not None
    room = float(c.site.t_in[c.site.warmest])
    r = r_value(w.resistance)
    face = (constant("17") * number(w.sol_air, 2) + celsius(room) / r) / (constant("17") + constant("1") / r)
    return Work(
        title=f"Sun on the outer face, a clear day in {month}",
        formula="θ_sa = θ_a + α·I/h_o; θ_s = (h_o·θ_sa + θ_i/R)/(h_o + 1/R)",
        where="θ_a afternoon air, taken 5 K over the month's mean, α solar absorptance, I highest irradiance of the face, "
        "h_o = 17 W/(m²·K), R from the face to the room",
        numbers=[worked("θ_sa", sol_air, 2, "°C"), worked("θ_s", face, 2, "°C")],
        result=f"The face gets as hot as {shown_as(w.face, 1)} °C.",
        source=f"ASHRAE Fundamentals, sol-air temperature ({MEMORY}); clear-day irradiance by Meinel and Meinel 1976",
        limits="Steady, so an upper bound for heavy claddings; a usual absorptance where the color is not stated.",
    )


def _inward(c: Case, w: InwardWork) -> Work:
    k = c.site.warmest
    assert c.site.t_in is not None
    room = float(indoor_vapor(c)[k])
    source, plane = float(saturation_pressure(w.cladding)), float(saturation_pressure(w.plane))
    wi, wo = figures(w.inner, 4, -12), figures(w.outer, 4, -12)
    free = (wo * number(source, 1) + wi * number(room, 1)) / (wo + wi)
    here = least(number(free.exact, 1), number(plane, 1))
    p = min(free.exact, plane)
    hours = as_is(SUN_HOURS) * constant("3600")
    into = wo * (number(source, 1) - number(p, 1)) * hours
    lines = [
        worked(f"p_sat at the cladding, {shown_as(w.cladding, 1)} °C", saturation(w.cladding), 1, "Pa"),
        worked(f"p_sat at the plane, {shown_as(w.plane, 1)} °C", saturation(w.plane), 1, "Pa"),
        worked("p at the plane, were there no saturation", free, 1, "Pa"),
        worked("p at the plane", here, 1, "Pa"),
        worked("into the plane", into, 4, "kg/m²"),
    ]
    if free.exact > plane:
        wet = (
            wo * (number(source, 1) - number(plane, 1)) - wi * (number(plane, 1) - number(room, 1))
        ) * hours
        lines.append(worked("condensed there", wet, 4, "kg/m²"))
    return Work(
        title=f"Inward drive from wet, sunlit cladding, a day in {MONTHS[k]}",
        formula="p = min((W_o·p_c + W_i·p_i)/(W_o + W_i), p_sat); in = W_o·(p_c − p)·t; condensed = in − W_i·(p − p_i)·t",
        where=f"p_c saturation at the cladding, W_o from it to the plane (inner face of {c.layer(w.layer)}), W_i from there to "
        "the room, wet cup; t 6 h a day",
        numbers=lines,
        result=f"{shown_as(1000 * w.condensed, 0)} g/m² a day condense at the plane."
        if w.condensed > 0
        else "Nothing condenses at the plane.",
        source=f"ISO 13788, 6.3, for the diffusion ({MEMORY}); the hours of sun are common practice, no published source",
        limits="Steady and without storage, so an upper bound; a ventilated cavity takes most of it away.",
    )


def _rain(c: Case, year: Year, w: RainWork) -> Work:
    k = int(np.argmax(w.on_wall))
    month = MONTHS[k]
    deposit = (
        number(w.factor, 1)
        * number(w.runoff, 2)
        * constant("0.2")
        * number(float(w.wind[k]), 2)
        * number(float(w.precipitation[k]), 1)
        / constant("3.14159265")
    )
    p_j = number(float(saturation_pressure(year.thermal.t[k, w.joint])), 1)
    inwards = figures(w.inner, 4, -12) * (p_j - number(float(indoor_vapor(c)[k]), 1)) * month_seconds(k)
    outwards = figures(w.outer, 4, -12) * (p_j - number(float(c.thermal.p_ext[k]), 1)) * month_seconds(k)
    leak, dry = float(w.leak.sum()), float(w.drying.sum())
    lines = [
        worked(f"on the wall in {month}", deposit, 3, "kg/m²"),
        worked(
            "on the wall in the year, January first",
            total([number(float(v), 3) for v in w.on_wall]),
            2,
            "kg/m²",
        ),
        worked(
            "leak in the year", number(rain.LEAK_SHARE, 2) * number(float(w.on_wall.sum()), 3), 4, "kg/m²"
        ),
        worked(f"drying inwards in {month}", inwards, 4, "kg/m²"),
        worked(f"drying outwards in {month}", outwards, 4, "kg/m²"),
        worked(
            "drying in the year, January first", total([number(float(v), 4) for v in w.drying]), 3, "kg/m²"
        ),
    ]
    if leak > 0:
        ratio = number(dry, 3) / number(leak, 4)
        lines.append(worked("drying over leak", ratio, places_of(ratio.exact, 3)))
    return Work(
        title=f"Driving rain and a leak behind the cladding, {month} and year",
        formula="r = F_E·F_D·0.2·v·P/π; leak = 0.01·r; drying W·(p_sat − p)·t to each side of the wetted face",
        where=f"F_E exposure, F_D run-off factor, v mean wind in m/s, P precipitation in mm; the wetted face is {c.node(w.joint)}",
        numbers=lines,
        result=f"{shown_as(leak, 2)} kg/m² a year may leak in; the face can dry {shown_as(dry, 2)} kg/m².",
        source=f"ASHRAE 160, 4.6 ({MEMORY}); the monthly form with 1/π is derived",
        limits="Rain from all directions alike: a wall that faces the rain gets up to three times as much.",
    )


def _built_in(c: Case, year: Year, w: BuiltInWork) -> Work:
    p = c.layers[w.layer]
    assert p.thickness is not None
    d = figures(p.thickness, 4)
    if p.has("concrete"):
        cement = midpoint(*builtin.CEMENT)
        age = builtin.hydration(CONCRETE_AGE)
        degree = midpoint(float(age.low), float(age.high))
        bound = as_is(builtin.CHEMICALLY_BOUND) * degree
        water = (cement * (as_is(CONCRETE_RATIO) - bound) - midpoint(*builtin.HELD)) * d
        formula = "M_0 = (C·(w/c − 0.23·α) − 35)·d"
        where = "C 280 to 380 kg/m³ of cement, w/c 0.5, α degree of hydration after 28 days 0.65 to 0.85, 35 kg/m³ kept in a room"
        source = f"Powers' model of cement paste ({MEMORY}), ranges of the trade"
    else:
        assert p.density is not None
        water = number(p.density, 0) * d * (as_is(WET_WOOD) - as_is(DRY_WOOD))
        formula = "M_0 = ρ·d·(0.30 − 0.15)"
        where = "ρ dry density; closed in at 30 % and dry at 15 % moisture content (common practice)"
        source = "Definition of moisture content"
    lines = [worked("M_0", water, 3, "kg/m²")]
    order = [(9 + n) % 12 for n in range(12)]
    k = order[0]
    middle = 0.5 * float(year.thermal.t[k, w.layer] + year.thermal.t[k, w.layer + 1])
    p_sat = number(float(saturation_pressure(middle)), 1)
    lines.append(
        worked(
            "p_sat in the layer, October",
            saturation(middle),
            1,
            "Pa",
            note=f"θ {shown_as(middle, 2)} °C, mean of its faces",
        )
    )
    for label, permeance, other in (
        ("inwards", w.inner, float(indoor_vapor(c)[k])),
        ("outwards", w.outer, float(c.thermal.p_ext[k])),
    ):
        lines.append(
            worked(
                f"{label} in October",
                figures(permeance, 4, -12) * (p_sat - number(other, 1)) * month_seconds(k),
                4,
                "kg/m²",
            )
        )
    net = w.inwards + w.outwards
    left = w.water
    months = 0
    while left > 0 and months < min(18.0, w.months):
        k = order[months % 12]
        after = least(number(w.water, 4), number(left, 4) - number(float(net[k]), 4))
        line = greatest(constant("0"), after)
        lines.append(worked(f"left at the end of month {months + 1}, {MONTHS[k]}", line, 4, "kg/m²"))
        left = line.exact
        months += 1
    lines.append(
        worked("drying in a year, January first", total([number(float(v), 4) for v in net]), 3, "kg/m²")
    )
    result = (
        f"Dry after {shown_as(w.months, 1)} months from October."
        if np.isfinite(w.months)
        else "It does not dry within ten years."
    )
    return Work(
        title=f"Built-in moisture of {c.layer(w.layer)}",
        formula=formula + "; m = W·(p_sat − p)·t to each side; M = max(0, min(M_0, M_before − m))",
        where=where + "; W from the middle of the layer, wet cup",
        numbers=lines,
        result=result,
        source=f"{source}; diffusion ISO 13788, 6.3 ({MEMORY})",
        limits="A bound on the quick side: as the layer dries its vapor pressure falls, and the last of the water goes slower.",
    )
