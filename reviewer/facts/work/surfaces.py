"""The room's dew point, the share of resistance outboard, the inner surface, wood moisture and mold."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from reviewer.facts.arithmetic import Term, constant, exp, figures, greatest, least, ln, number, total
from reviewer.facts.framing import RSI_SURFACE, Framed
from reviewer.facts.monthly import Year, mold_sensitivity
from reviewer.facts.work.sheet import (
    MEMORY,
    Case,
    as_is,
    celsius,
    frost_or_dew_point,
    indoor_vapor,
    path_names,
    r_from_room,
    r_value,
    shown_as,
    worked,
)
from reviewer.humidity import dew_point, saturation_pressure
from reviewer.library.types import MONTHS
from reviewer.physics import heat, mold, wood
from reviewer.result import Work


def dew_point_work(c: Case) -> Iterator[Work]:
    k, month = c.k, MONTHS[c.k]
    p = float(indoor_vapor(c)[k])
    dew = float(dew_point(p))
    margins = [
        worked(f"margin at {c.node(j)}", celsius(float(c.thermal.t[k, j])) - celsius(dew), 2, "K")
        for j in range(c.a.end + 1)
    ]
    below = [c.node(j) for j in range(c.a.end + 1) if c.thermal.t[k, j] < dew]
    yield Work(
        title=f"Dew point of the room and margins, {month}",
        formula="θ_d = 237.3·ln(p/610.5)/(17.269 − ln(p/610.5)); below 610.5 Pa 265.5 and 21.875",
        where="p vapor pressure indoors; the margin is the joint's temperature less the dew point",
        numbers=[worked("θ_d", frost_or_dew_point(p), 2, "°C"), *margins],
        result=f"Colder than the room's dew point: {', '.join(below)}."
        if below
        else "Nothing is colder than the room's dew point.",
        source=f"ISO 13788, Annex E, equations E.9 and E.10 ({MEMORY})",
        limits="Room air that reaches a joint below its dew point wets it; whether it does is a matter of air tightness.",
    )
    needed, share = c.head.fields.get("share_needed"), c.head.fields.get("share_outboard")
    warm, cold = float(c.thermal.t_in[k]), float(c.thermal.t_ext[k])
    if not isinstance(needed, float) or not isinstance(share, float) or c.a.condensing is None:
        return
    r_to, r_total = r_from_room(c, k), float(c.thermal.total_cavity[k])
    i = c.a.condensing
    asked = least(
        constant("1"),
        greatest(constant("0"), (celsius(dew) - celsius(cold)) / (celsius(warm) - celsius(cold))),
    )
    yield Work(
        title=f"Share of R outboard of the condensing plane, {month}",
        formula="share = (R_T − R_ij)/R_T; needed = (θ_d − θ_e)/(θ_i − θ_e), within 0 and 1",
        where=f"R_ij to the inner face of {c.layer(i)}",
        numbers=[
            worked("share", (r_value(r_total) - r_value(r_to[i])) / r_value(r_total), 3),
            worked("needed", asked, 3),
            worked("margin", number(share, 3) - number(needed, 3), 3),
        ],
        result="The plane stays above the room's dew point."
        if share >= needed
        else "The plane is colder than the room's dew point.",
        source="Steady heat flow set equal to the dew point (derived)",
        limits="Monthly means at the cavity; colder weeks need more.",
    )


def surface_work(c: Case, f: Framed) -> Iterator[Work]:
    factor, needed = c.head.fields.get("temperature_factor"), c.head.fields.get("temperature_factor_needed")
    if not isinstance(factor, float) or not isinstance(needed, float):
        return
    assert c.site.t_in is not None and c.site.t_out is not None
    p = indoor_vapor(c)
    month = int(np.argmax(heat.required_temperature_factor(p, c.site.t_in, c.site.t_out)))
    worst = int(np.argmin(f.r_paths.sum(axis=1)))
    layers = [r_value(float(r)) for r in f.r_paths[worst] if r > 0]
    path = total([number(RSI_SURFACE, 2), *layers, number(f.r_se, 2)])
    t_in, t_out = float(c.site.t_in[month]), float(c.site.t_out[month])
    least_surface = float(dew_point(p[month] / 0.8))
    names = path_names(f)
    lines = [
        worked(f"R_T of path {names[worst]}, mold film", path, 3, "m²·K/W"),
        worked("f_Rsi", constant("1") - number(RSI_SURFACE, 2) / r_value(path.exact), 3),
        worked(f"p_sat asked for in {MONTHS[month]}", number(float(p[month]), 1) / constant("0.8"), 1, "Pa"),
        worked("θ_si,min", frost_or_dew_point(float(p[month]) / 0.8), 2, "°C"),
        worked(
            "f_Rsi,min",
            greatest(
                constant("0"),
                (celsius(least_surface) - celsius(t_out)) / (celsius(t_in) - celsius(t_out)),
            ),
            3,
        ),
    ]
    yield Work(
        title="Temperature factor of the inner surface, and the one needed against mold",
        formula="f_Rsi = 1 − R_si/R_T; f_Rsi,min = (θ_si,min − θ_e)/(θ_i − θ_e), p_sat(θ_si,min) = p_i/0.8",
        where="R_si = 0.25 m²·K/W behind furniture and in corners; the path that conducts most",
        numbers=lines,
        result=f"f_Rsi {shown_as(factor, 3)} against {shown_as(needed, 3)} in {MONTHS[month]}, the critical month: "
        + ("enough." if factor >= needed else "not enough."),
        source=f"ISO 13788:2012, 5.3 ({MEMORY})",
        limits="One-dimensional: corners, slab edges and window reveals are colder.",
    )


def wood_work(c: Case, year: Year) -> Iterator[Work]:
    if np.isnan(year.wood).all():
        return
    month, i = (int(v) for v in np.unravel_index(int(np.nanargmax(year.wood)), year.wood.shape))
    p = c.layers[i]
    h = 0.5 * float(year.rh[month, i] + year.rh[month, i + 1])
    mean = 0.5 * float(year.thermal.t[month, i] + year.thermal.t[month, i + 1])
    t_value = max(mean, wood.TEMPERATURES[0])
    t, phi = celsius(t_value), number(h, 4)

    def cubic(a: str, b: str, sign_b: int, c_: str, sign_c: int) -> Term:
        first = constant(a) + constant(b) * t if sign_b > 0 else constant(a) - constant(b) * t
        square = constant(c_) * t ** constant("2")
        return first + square if sign_c > 0 else first - square

    w = cubic("349", "1.29", 1, "0.0135", 1)
    k = cubic("0.805", "0.000736", 1, "0.00000273", -1)
    k1 = cubic("6.27", "0.00938", -1, "0.000303", -1)
    k2 = cubic("1.91", "0.0407", 1, "0.000293", -1)
    kh = k.exact * h
    x = number(kh, 5)
    one, two = number(k1.exact, 4), number(k2.exact, 4)
    bound = (one * x + constant("2") * one * two * x ** constant("2")) / (
        constant("1") + one * x + one * two * x ** constant("2")
    )
    moisture = constant("18") / number(w.exact, 3) * (x / (constant("1") - x) + bound)
    faces = (float(year.rh[month, i]), float(year.rh[month, i + 1]))
    lines = [
        worked("φ, mean of the two faces", (number(faces[0], 4) + number(faces[1], 4)) / constant("2"), 4),
        worked(
            "θ, mean of the two faces",
            (celsius(float(year.thermal.t[month, i])) + celsius(float(year.thermal.t[month, i + 1])))
            / constant("2"),
            2,
            "°C",
            note="" if mean >= t_value else "below −1.2 °C the fit's end, −1.2 °C, is used",
        ),
        worked("W", w, 3),
        worked("K", k, 5),
        worked("K_1", k1, 4),
        worked("K_2", k2, 4),
        worked("K·φ", number(k.exact, 5) * phi, 5),
        worked("u", moisture, 4, "kg/kg", trade=f"{100 * moisture.exact:.1f} % MC"),
    ]
    held = float(year.balance.stock[month, i] + year.balance.stock[month, i + 1])
    if held > 0 and p.density and p.thickness:
        dry = number(p.density, 0) * figures(p.thickness, 4)
        wet = number(moisture.exact, 4) + number(held, 5) / dry
        note = "the condensate held at its faces, spread over its mass"
        lines.append(
            worked("u with condensate", wet, 4, "kg/kg", trade=f"{100 * wet.exact:.1f} % MC", note=note)
        )
    yield Work(
        title=f"Wood moisture of {c.layer(i)}, {MONTHS[month]}, its wettest month",
        formula="u = 18/W·(K·φ/(1 − K·φ) + (K_1·K·φ + 2·K_1·K_2·(K·φ)²)/(1 + K_1·K·φ + K_1·K_2·(K·φ)²))",
        where="W = 349 + 1.29·θ + 0.0135·θ², K = 0.805 + 0.000736·θ − 0.00000273·θ², K_1 = 6.27 − 0.00938·θ − "
        "0.000303·θ², K_2 = 1.91 + 0.0407·θ − 0.000293·θ²; with condensate u + M/(ρ·d)",
        numbers=lines,
        result=f"{shown_as(100 * float(year.wood[month, i]), 1)} % moisture content; wood in service should stay below 20 %.",
        source="Hailwood and Horrobin, two hydrates: USDA Wood Handbook FPL-GTR-282, equation 4-5 (as restated from FPL-RN-0268)",
        limits="Equilibrium with the month's mean humidity: thin boards follow within weeks, timber lags; panels run 1 to 3 % lower.",
    )


def mold_work(c: Case, year: Year) -> Iterator[Work]:
    parts = c.layers[: c.a.end]
    joints = [(j, s) for j in range(1, c.a.end) if (s := mold_sensitivity(parts, j))]
    t, rh = year.thermal.t, year.rh
    best: tuple[float, int, int, str] | None = None
    for j, name in joints:
        lowest = mold.SENSITIVITIES[name].lowest_humidity
        for month in range(12):
            if not 0.01 <= t[month, j] <= 50.0:
                continue
            over = 100.0 * float(rh[month, j]) - float(mold.critical_humidity(t[month, j], lowest))
            if best is None or over > best[0]:
                best = (over, month, j, name)
    if best is None:
        return
    over, month, j, name = best
    kind = mold.SENSITIVITIES[name]
    warm = celsius(float(t[month, j]))
    curve = (
        constant("100")
        - constant("3.13") * warm
        + constant("0.160") * warm ** constant("2")
        - constant("0.00267") * warm ** constant("3")
    )
    floor = as_is(kind.lowest_humidity)
    critical = greatest(curve, floor) if t[month, j] <= 20.0 else greatest(constant("80"), floor)
    p_sat = float(saturation_pressure(t[month, j]))
    humidity = 100.0 * float(rh[month, j])
    lines = [
        worked(
            "RH at the joint",
            constant("100") * number(float(rh[month, j]) * p_sat, 1) / number(p_sat, 1),
            2,
            "%",
        ),
        worked("critical RH", critical, 2, "%"),
    ]
    if over > 0:
        excess = number(humidity, 2) - number(critical.exact, 2)
        x = excess / (constant("100") - number(critical.exact, 2))
        lines.append(worked("x", x, 4))
        top = as_is(kind.a) + as_is(kind.b) * number(x.exact, 4)
        top = top - as_is(kind.c) * number(x.exact, 4) ** constant("2")
        lines.append(worked("M_max", least(constant("6"), greatest(constant("0"), top)), 3))
        weeks = exp(
            constant("66.02")
            - constant("0.68") * ln(warm)
            - constant("13.9") * ln(number(humidity, 2))
            + constant("0.14") * as_is(kind.wood)
        )
        lines.append(worked("t_m at M below 1, before k_1", weeks, 3, "weeks"))
        lines.append(worked("t_m over k_1", number(weeks.exact, 3) / as_is(kind.slow), 2, "weeks"))
    highest = float(year.mold[j])
    yield Work(
        title=f"Mold at {c.node(j)}, {MONTHS[month]}, its most favorable month",
        formula="RH_crit = 100 − 3.13·θ + 0.160·θ² − 0.00267·θ³ up to 20 °C, 80 above, not below the class's least; "
        "x = (RH − RH_crit)/(100 − RH_crit); M_max = A + B·x − C·x²; "
        "t_m = exp(66.02 − 0.68·ln θ − 13.9·ln RH + 0.14·W)",
        where=f"class `{name}`: A {kind.a:g}, B {kind.b:g}, C {kind.c:g}, k_1 {kind.slow:g} below 1, W {kind.wood:g}, "
        f"least RH {kind.lowest_humidity:g} %; t_m weeks to first growth",
        numbers=lines,
        result=(
            f"Mold can grow there in this month. Followed month by month over three such years the index comes to "
            f"{shown_as(highest, 2)} (3 is visible, the limit)."
            if over > 0
            else "Below the critical humidity all year: no growth."
        ),
        source="Hukka and Viitanen 1999, equations 1, 2 and 6; Ojanen and others 2010 and ASHRAE 160-2016 for the classes "
        f"({MEMORY})",
        limits="Monthly means: growth is understated where the mean lies just below critical; clean surfaces, no wind-driven wetting.",
    )
