"""Quantities as the trade writes them, SI inside.

Every dimension has one SI unit inside the program and the spellings people use at the edges.
Factors are exact definitions unless a comment says otherwise; the perm is the US perm at 0 °C
(ASTM E96: 1 grain/(h·ft²·inHg), mercury at 0 °C), 5.721349e-11 kg/(s·m²·Pa).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from reviewer.errors import nearest

INCH_HG = 3386.389
"""1 in. of mercury at 0 °C in Pa."""
GRAINS = 7000
"""Grains in a pound."""
POUND_FT2 = 0.45359237 / 0.09290304
"""1 lb/ft² in kg/m²."""
PERM = 64.79891e-6 / (3600 * 0.09290304 * INCH_HG)
"""1 US perm in kg/(s·m²·Pa)."""
PERM_INCH = PERM * 0.0254
R_IP = 0.09290304 * 5 / 9 * 3600 / 1055.05585262
"""1 h·ft²·°F/Btu in m²·K/W (international table Btu)."""
DELTA_0 = 2.0e-10
"""Vapor permeability of still air that ISO 13788 and ISO 12572 use for s_d, kg/(s·m·Pa)."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """One kind of quantity: its SI unit, the spellings read, and how it is shown."""

    name: str
    si: str
    spellings: dict[str, tuple[float, float]]
    """Spelling (lower case, spaces collapsed) to (factor, offset): SI = value × factor + offset."""
    ip_unit: str
    si_unit: str
    example: str
    low: float = -math.inf
    high: float = math.inf


def _f(factor: float, *names: str, offset: float = 0.0) -> dict[str, tuple[float, float]]:
    return dict.fromkeys(names, (factor, offset))


_LENGTH = {
    **_f(0.0254, "in", "in.", "inch", "inches", '"', "”", "″"),
    **_f(0.3048, "ft", "ft.", "foot", "feet", "'", "’", "′"),
    **_f(0.0254e-3, "mil", "mils"),
    **_f(1e-3, "mm"),
    **_f(1e-2, "cm"),
    **_f(1.0, "m"),
    **_f(1e-6, "um", "µm", "μm"),
}
_RESISTANCE = {
    **_f(R_IP, "h ft2 f/btu", "ft2 h f/btu", "h·ft²·°f/btu", "ft2 f h/btu", "h.ft2.f/btu"),
    **_f(1.0, "m2 k/w", "m²k/w", "m2k/w", "m²·k/w", "m² k/w"),
}
_PERMEANCE = {
    **_f(PERM, "perm", "perms", "us perm", "us perms"),
    **_f(1e-12, "ng/(s m2 pa)", "ng/(pa s m2)", "ng/(s·m²·pa)", "ng/(pa·s·m²)", "ng/s m2 pa", "ng"),
    **_f(1.0, "kg/(s m2 pa)", "kg/(s·m²·pa)"),
}
_PERMEABILITY = {
    **_f(PERM_INCH, "perm in", "perm-in", "perm-inch", "perm inch", "perm·in"),
    **_f(1e-12, "ng/(s m pa)", "ng/(pa s m)", "ng/(s·m·pa)", "ng/(pa·s·m)"),
    **_f(1.0, "kg/(s m pa)", "kg/(s·m·pa)"),
}
DIMENSIONS: dict[str, Dimension] = {
    d.name: d
    for d in (
        Dimension("length", "m", _LENGTH, "in", "mm", '"1/2 in", "12 mm" or "6 mil"', 0.0, 1000.0),
        Dimension(
            "temperature",
            "°C",
            {
                **_f(5 / 9, "f", "°f", "deg f", "degf", offset=-160 / 9),
                **_f(1.0, "c", "°c", "deg c", "degc"),
                **_f(1.0, "k", offset=-273.15),
            },
            "°F",
            "°C",
            '"70 F" or "21 C"',
            -90.0,
            200.0,
        ),
        Dimension(
            "temperature difference",
            "K",
            {**_f(5 / 9, "f", "°f"), **_f(1.0, "k", "c", "°c")},
            "°F",
            "K",
            '"10 F" or "5 K"',
        ),
        Dimension(
            "thermal resistance", "m²·K/W", _RESISTANCE, "R", "m²·K/W", '"R-21" or "RSI 3.7"', 0.0, 200.0
        ),
        Dimension(
            "thermal conductivity",
            "W/(m·K)",
            {
                **_f(0.1442279, "btu in/(h ft2 f)", "btu·in/(h·ft²·°f)"),
                **_f(1.0, "w/(m k)", "w/mk", "w/m k", "w/(m·k)", "w/m·k"),
            },
            "Btu·in/(h·ft²·°F)",
            "W/(m·K)",
            '"0.035 W/(m K)"',
            0.0,
            1000.0,
        ),
        Dimension(
            "thermal transmittance",
            "W/(m²·K)",
            {
                **_f(5.678263, "btu/(h ft2 f)", "btu/(h·ft²·°f)"),
                **_f(1.0, "w/(m2 k)", "w/m2k", "w/(m²·k)"),
            },
            "Btu/(h·ft²·°F)",
            "W/(m²·K)",
            '"0.3 W/(m2 K)"',
            0.0,
            100.0,
        ),
        Dimension(
            "permeance",
            "kg/(s·m²·Pa)",
            _PERMEANCE,
            "perm",
            "ng/(s·m²·Pa)",
            '"0.5 perm", "57 ng/(s m2 Pa)" or "sd 2 m"',
            0.0,
            1.0,
        ),
        Dimension(
            "permeability",
            "kg/(s·m·Pa)",
            _PERMEABILITY,
            "perm-in",
            "ng/(s·m·Pa)",
            '"1.2 perm-in" or "mu 60"',
            0.0,
            1e-6,
        ),
        Dimension(
            "relative humidity",
            "1",
            {**_f(0.01, "%", "percent", "% rh", "%rh"), **_f(1.0, "rh")},
            "%",
            "%",
            '"40 %"',
            0.0,
            1.0,
        ),
        Dimension("fraction", "1", {**_f(0.01, "%", "percent")}, "%", "%", '"25 %"', 0.0, 1.0),
        Dimension("ratio", "1", {}, "", "", '"0.35"'),
        Dimension(
            "density",
            "kg/m³",
            {
                **_f(16.01846337, "pcf", "lb/ft3", "lb/ft³", "lb/cu ft"),
                **_f(1.0, "kg/m3", "kg/m³"),
            },
            "lb/ft³",
            "kg/m³",
            '"3.5 pcf" or "56 kg/m3"',
            0.0,
            25000.0,
        ),
        Dimension(
            "specific heat capacity",
            "J/(kg·K)",
            {
                **_f(4186.8, "btu/(lb f)", "btu/lb f", "btu/(lb·°f)"),
                **_f(1.0, "j/(kg k)", "j/kgk", "j/(kg·k)"),
            },
            "Btu/(lb·°F)",
            "J/(kg·K)",
            '"1000 J/(kg K)"',
            0.0,
            10000.0,
        ),
        Dimension(
            "pressure",
            "Pa",
            {
                **_f(INCH_HG, "inhg", "in hg", "in. hg"),
                **_f(249.08891, "in wc", "in w.c.", "inwc"),
                **_f(6894.757293, "psi"),
                **_f(1.0, "pa"),
                **_f(1e3, "kpa"),
                **_f(100.0, "hpa", "mbar"),
            },
            "Pa",
            "Pa",
            '"1200 Pa"',
            0.0,
            1e6,
        ),
        Dimension(
            "vapor pressure",
            "Pa",
            {
                **_f(INCH_HG, "inhg", "in hg", "in. hg"),
                **_f(1.0, "pa"),
                **_f(1e3, "kpa"),
                **_f(100.0, "hpa", "mbar"),
            },
            "in. Hg",
            "Pa",
            '"540 Pa" or "0.16 in. Hg"',
            0.0,
            1e6,
        ),
        Dimension(
            "area density",
            "kg/m²",
            {
                **_f(POUND_FT2, "lb/ft2", "lb/ft²"),
                **_f(POUND_FT2 / GRAINS, "grain/ft2", "grain/ft²", "grains/ft2", "grains/ft²"),
                **_f(1.0, "kg/m2", "kg/m²"),
                **_f(1e-3, "g/m2", "g/m²"),
            },
            "g/m²",
            "g/m²",
            '"500 g/m2"',
            0.0,
            1e4,
        ),
        Dimension(
            "air permeance",
            "L/(s·m²) at 75 Pa",
            {
                **_f(5.080, "cfm/ft2", "cfm/ft²"),
                **_f(1.0, "l/(s m2)", "l/(s·m²)"),
            },
            "cfm/ft²",
            "L/(s·m²)",
            '"0.02 L/(s m2)"',
            0.0,
            1e4,
        ),
        Dimension(
            "irradiance",
            "W/m²",
            {**_f(1.0, "w/m2", "w/m²"), **_f(3.154591, "btu/(h ft2)")},
            "W/m²",
            "W/m²",
            '"150 W/m2"',
            0.0,
            2000.0,
        ),
        Dimension(
            "degree days",
            "K·d",
            {
                **_f(5 / 9, "f d", "f days", "f-days", "°f·d", "hdd65", "hdd65f"),
                **_f(1.0, "k d", "c d", "c-days", "c days", "k·d", "hdd18"),
            },
            "°F·d",
            "K·d",
            '"4500 K d"',
            0.0,
            20000.0,
        ),
        Dimension(
            "wood moisture", "kg/kg", {**_f(0.01, "%", "% mc", "%mc")}, "% MC", "% MC", '"20 % MC"', 0.0, 4.0
        ),
        Dimension(
            "water absorption coefficient",
            "kg/(m²·s½)",
            {
                **_f(1.0, "kg/(m2 s1/2)", "kg/(m2 s0.5)", "kg/(m²·s½)"),
                **_f(1 / 60, "kg/(m2 h1/2)", "kg/(m2 h0.5)"),
            },
            "kg/(m²·s½)",
            "kg/(m²·s½)",
            '"0.1 kg/(m2 s1/2)"',
            0.0,
            10.0,
        ),
        Dimension(
            "speed", "m/s", {**_f(0.44704, "mph"), **_f(1.0, "m/s")}, "mph", "m/s", '"4 m/s"', 0.0, 150.0
        ),
        Dimension(
            "time", "months", {**_f(1.0, "month", "months")}, "months", "months", '"3 months"', 0.0, 1200.0
        ),
        Dimension("count", "1", {}, "", "", '"2"', 0.0, 1e6),
    )
}


class UnitError(ValueError):
    """A text that is not a quantity of the wanted dimension."""

    def __init__(self, message: str, expected: str, nearest_word: str = ""):
        super().__init__(message)
        self.message, self.expected, self.nearest = message, expected, nearest_word


@dataclass(frozen=True, slots=True)
class Span:
    """A value in SI, or a range of values: `low == high` when it is one value."""

    low: float
    high: float

    @property
    def exact(self) -> bool:
        return self.low == self.high

    @property
    def middle(self) -> float:
        return 0.5 * (self.low + self.high)


_NUMBER = r"[-+]?(?:\d+(?:[ -]\d+/\d+)|\d+/\d+|\d*\.\d+(?:[eE][-+]?\d+)?|\d+\.?(?:[eE][-+]?\d+)?)"
_NUMBER_UNIT = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>.*?)\s*$")
_RANGE = re.compile(
    rf"\s*(?P<low>{_NUMBER})\s*(?P<unit1>[^\d]*?)\s*(?:\bto\b|–|\.\.)\s*(?P<high>{_NUMBER})\s*(?P<unit>.*?)\s*$"
)
_PREFIXED = re.compile(
    rf"\s*(?P<prefix>rsi|r|sd|s_d|mu|µ|μ)[\s-]*(?P<number>{_NUMBER})\s*(?P<unit>m?)\s*$", re.I
)
_PREFIXED_RANGE = re.compile(
    rf"\s*(?P<prefix>rsi|r|sd|s_d|mu|µ|μ)[\s-]*(?P<low>{_NUMBER})\s*m?\s*(?:\bto\b|–|\.\.)"
    rf"\s*(?:(?P=prefix)[\s-]*)?(?P<high>{_NUMBER})\s*(?P<unit>m?)\s*$",
    re.I,
)


def number(text: str) -> float:
    """A number as the trade writes it, fractions included.

    >>> number("1-1/2"), number("7/16"), number("3 1/2"), number("2.5")
    (1.5, 0.4375, 3.5, 2.5)

    Raises ValueError.
    """
    text = text.strip()
    sign = 1.0
    if text[:1] in "+-":
        sign, text = (-1.0 if text[0] == "-" else 1.0), text[1:]
    m = re.fullmatch(r"(?:(\d+)[ -])?(\d+)/(\d+)", text)
    if m:
        whole, top, bottom = (int(g or 0) for g in m.groups())
        if bottom == 0:
            raise ValueError(text)
        return sign * (whole + top / bottom)
    value = sign * float(text)
    if not math.isfinite(value):
        raise ValueError(text)
    return value


def parse(text: str, dimension: str) -> Span:
    """Read a quantity or a range ("8 to 12 in") of `dimension`; the result is in SI.

    >>> parse("1/2 in", "length").low
    0.0127
    >>> round(parse("R-21", "thermal resistance").low, 4)
    3.6983
    >>> parse("sd 2 m", "permeance").low
    1e-10
    >>> round(parse("8 to 12 in", "length").high, 6)
    0.3048
    >>> round(parse("R-13 to R-15", "thermal resistance").high / parse("R-1", "thermal resistance").high, 6)
    15.0

    Raises UnitError: not a number, no unit, unknown unit, or a value no such quantity can have.
    """
    d = DIMENSIONS[dimension]
    expected = f"{_article(d.name)} {d.name}, such as {d.example}"
    m = _RANGE.match(text)
    if m:
        unit = m["unit"] or m["unit1"]
        low = _convert(m["low"], m["unit1"].strip() or unit, d, text, expected)
        high = _convert(m["high"], unit, d, text, expected)
        if low > high:
            raise UnitError(f'the range "{text.strip()}" runs downwards', "the smaller value first")
        return Span(low, high)
    m = _PREFIXED_RANGE.match(text)
    if m:
        if _finite(m["low"], expected) > _finite(m["high"], expected):
            raise UnitError(f'the range "{text.strip()}" runs downwards', "the smaller value first")
        ends = [parse(f"{m['prefix']} {m[end]} {m['unit']}", dimension).low for end in ("low", "high")]
        return Span(min(ends), max(ends))
    p = _PREFIXED.match(text)
    if p:
        value = _prefixed(p, d, text, expected)
    else:
        m = _NUMBER_UNIT.match(text)
        if not m:
            raise UnitError(f'"{text.strip()}" is not a quantity', expected)
        value = _convert(m["number"], m["unit"], d, text, expected)
    return Span(value, value)


def _article(noun: str) -> str:
    return "an" if noun[0] in "aeiou" else "a"


def _finite(figures: str, expected: str) -> float:
    try:
        return number(figures)
    except (ValueError, OverflowError):
        raise UnitError(f'"{figures}" is not a number', expected) from None


def _prefixed(p: re.Match[str], d: Dimension, text: str, expected: str) -> float:
    prefix, value = p["prefix"].lower(), _finite(p["number"], expected)
    if d.name == "thermal resistance" and prefix in ("r", "rsi") and not p["unit"]:
        return _bounded(value * (R_IP if prefix == "r" else 1.0), d, text, expected)
    if d.name == "permeance" and prefix in ("sd", "s_d") and p["unit"]:
        if value <= 0:
            raise UnitError(f'"{text.strip()}" is not a possible permeance', expected)
        return DELTA_0 / value
    if d.name == "permeability" and prefix in ("mu", "µ", "μ") and not p["unit"]:
        if value <= 0:
            raise UnitError(f'"{text.strip()}" is not a possible permeability', expected)
        return DELTA_0 / value
    raise UnitError(f'"{text.strip()}" is not {_article(d.name)} {d.name}', expected)


def _convert(num: str, unit: str, d: Dimension, text: str, expected: str) -> float:
    value = _finite(num, expected)
    key = " ".join(unit.lower().split())
    if not key:
        if d.spellings:
            raise UnitError(f'"{text.strip()}" has no unit', expected)
        return _bounded(value, d, text, expected)
    if key not in d.spellings:
        raise UnitError(f'"{unit}" is not a unit of {d.name}', expected, nearest(key, d.spellings))
    factor, offset = d.spellings[key]
    return _bounded(value * factor + offset, d, text, expected)


def _bounded(value: float, d: Dimension, text: str, expected: str) -> float:
    if not (math.isfinite(value) and d.low <= value <= d.high):
        raise UnitError(f'"{text.strip()}" is not a possible {d.name}', expected)
    return value


SYSTEMS = ("ip", "si")


def show(value: float, dimension: str, system: str = "si", digits: int = 3, *, beside: bool = True) -> str:
    """A quantity for people: inch-pound (`ip`) or SI (`si`) unit, about `digits` figures. Amounts of water and
    vapor pressures in inch-pound units have SI beside them, since the standards set their limits in it; `beside`
    false leaves it out. Differences of air pressure are in Pa everywhere, as blower doors and test reports have them.

    >>> show(0.0127, "length", "ip"), show(0.0127, "length", "si")
    ('1/2 in', '12.7 mm')
    >>> show(3.698, "thermal resistance", "ip"), show(5.721349e-11, "permeance", "ip")
    ('R-21', '1 perm')
    >>> show(0.2, "area density", "ip"), show(0.2, "area density", "si")
    ('287 grains/ft² (200 g/m²)', '200 g/m²')
    >>> show(2.0, "area density", "ip", beside=False)
    '0.41 lb/ft²'
    """
    d = DIMENSIONS[dimension]
    if not math.isfinite(value):
        return "unlimited" if value > 0 else "none"
    if dimension == "length":
        return _show_length(value, system)
    if dimension == "thermal resistance":
        return (
            f"R-{_figures(value / R_IP, digits)}" if system == "ip" else f"{_figures(value, digits)} m²·K/W"
        )
    if dimension == "temperature":
        t = value * 9 / 5 + 32 if system == "ip" else value
        return f"{_fixed(t, 0 if system == 'ip' else 1)} {'°F' if system == 'ip' else '°C'}"
    if dimension == "temperature difference":
        return f"{_figures(value * 9 / 5, digits)} °F" if system == "ip" else f"{_figures(value, digits)} K"
    if dimension in ("relative humidity", "fraction"):
        return f"{_fixed(value * 100, 0)} %"
    if dimension == "wood moisture":
        return f"{_fixed(value * 100, 1 if value < 0.1 else 0)} % MC"
    if dimension == "area density":
        return _show_water(value, system, digits, beside)
    if dimension == "vapor pressure" and system == "ip" and beside:
        return f"{show(value, dimension, system, digits, beside=False)} ({_figures(value, digits)} Pa)"
    unit = d.ip_unit if system == "ip" else d.si_unit
    if not unit:
        return _figures(value, digits)
    key = unit.lower()
    factor, offset = next(
        (fo for name, fo in d.spellings.items() if name == key or name.replace(" ", "") == key),
        (_SHOWN_FACTORS.get(unit, 1.0), 0.0),
    )
    text = _figures((value - offset) / factor, digits)
    return f"{text} {unit}s" if unit == "perm" and text != "1" else f"{text} {unit}"


_SHOWN_FACTORS = {"perm-in": PERM_INCH, "lb/ft³": 16.01846337, "ng/(s·m²·Pa)": 1e-12, "ng/(s·m·Pa)": 1e-12}


def _fixed(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return text[1:] if float(text) == 0 and text.startswith("-") else text


def _figures(value: float, digits: int) -> str:
    """`digits` significant figures without exponent or useless zeros; large values to the unit."""
    if value == 0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{min(places, 12)}f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) or "0"


HEAVY_IP = 0.1 * POUND_FT2
HEAVY_SI = 10.0
"""kg/m²: from here on water is weighed in pounds and kilograms, below in grains and grams."""


def _show_water(value: float, system: str, digits: int, beside: bool) -> str:
    if system == "si":
        heavy = abs(value) >= HEAVY_SI
        return f"{_figures(value, digits)} kg/m²" if heavy else f"{_figures(value * 1000, digits)} g/m²"
    pounds = value / POUND_FT2
    heavy = abs(value) >= HEAVY_IP
    shown = (
        f"{_figures(pounds, digits)} lb/ft²" if heavy else f"{_figures(pounds * GRAINS, digits)} grains/ft²"
    )
    return f"{shown} ({_show_water(value, 'si', digits, False)})" if beside and value else shown


def _show_length(value: float, system: str) -> str:
    if system == "si":
        mm = value * 1000
        return f"{_figures(mm, 3)} mm" if mm < 1000 else f"{_figures(value, 3)} m"
    inches = value / 0.0254
    if 0 < inches < 0.03:
        return f"{_figures(inches * 1000, 2)} mil"
    if inches >= 48:
        return f"{_figures(inches / 12, 3)} ft"
    sixteenths = round(inches * 16)
    if sixteenths and abs(inches * 16 - sixteenths) < 0.16:
        whole, part = divmod(sixteenths, 16)
        if not part:
            return f"{whole} in"
        divisor = math.gcd(part, 16)
        fraction = f"{part // divisor}/{16 // divisor}"
        return f"{whole}-{fraction} in" if whole else f"{fraction} in"
    return f"{_figures(inches, 3)} in"
