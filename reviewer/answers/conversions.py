"""`What is 60 ng in perms?`: figures in the other system's unit, and the dew point of air at a humidity."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from reviewer.answers.scan import scan
from reviewer.units import INCH_HG, UnitError, number, parse, show

METRIC_PERM = 1e-3 / (86400 * INCH_HG / 25.4)
"""1 g/(24 h·m²·mmHg) in kg/(s·m²·Pa): the metric perm by its older definition (ASTM E96)."""
_INCH = 0.0254
_BTU_U = "Btu/(h·ft²·°F)"

_R, _U, _P = "thermal resistance", "thermal transmittance", "permeance"
_DEW_POINT = "dew point"
_UNITS = {
    "perm": (_P, "perm"), "us perm": (_P, "perm"), "ng": (_P, "ng"), "nanogram": (_P, "ng"), "metric perm": (_P, "metric"),
    "rsi": (_R, "rsi"), "rsi value": (_R, "rsi"), "r": (_R, "r"), "r value": (_R, "r"),
    "u value": (_R, "u"), "u factor": (_R, "u"),
}  # fmt: skip
"""What is asked for, in the singular and without hyphens: its dimension and which of its units."""
_CONCEPTS = {_P: "perm", _R: "r-value"}

_VULGAR = "½¼¾⅓⅔⅛⅜⅝⅞"
_N = (
    rf"(?<![\d.,/⁄{_VULGAR}])(?:(?:\d+[ -])?\d+[/⁄]\d+|\d*[{_VULGAR}]|\d{{1,3}}(?:,\d{{3}})+(?:\.\d+)?|\d+(?:[.,]\d+)?|\.\d+)"
    rf"(?![\d{_VULGAR}]|[.,/⁄]\d)"
)
_TO = r"\s*(?:\bto\b|-|–|—|\.\.)\s*"
_M2K = r"\(?\s*m\^?[2²]\s*[·.*-]?\s*"
_M2K_W = rf"{_M2K}k\s*/\s*w(?![a-z])"
_SI_U = rf"\s*w\s*/\s*{_M2K}k\b\)?"
_IP_U = r"\s*btu\s*/\s*\(?\s*hr?\s*[·.*-]?\s*(?:ft\^?[2²]|sq\.? ?ft\.?|sf)\s*[·.*-]?\s*°?f\b\)?"
_PER_INCH = r"\s*(?:/|\bper\b|\ban?\b|-per-)\s*(?:inch\b|in\b\.?)"
_PER_25 = rf"(?:{_PER_INCH}|\s*(?:/|\bper\b)\s*25(?:\.4)? ?mm\b)"
_NG = r"(?:ng|nanograms?)(?![a-z])(?:\s*/\s*(?:\([a-z²2\s·.*]+\)|[a-z²2·.*]+))?"


def _after(unit: str) -> str:
    """A figure or two, and the unit after them or after each."""
    return rf"(?:between\s+{_N}(?:\s*{unit})?\s+and\s+|{_N}(?:\s*{unit})?{_TO})?{_N}\s*-?{unit}"


def _behind(prefix: str, unit: str = "") -> str:
    """A prefix, and a figure or two behind it, the second with the prefix or without."""
    return rf"\b{prefix}(?:[ -]?(?:values?|factors?))?(?:\s+(?:of|is))?[\s:=-]*{_N}(?:(?:{unit})?{_TO}(?:{prefix}[\s-]*)?{_N})?{unit}"


_SORTS = {
    "ng": _after(_NG),
    "metric": _after(r"metric\s+perms?\b"),
    # Before a hyphen or an inch, a perm is of permeability and no layer's.
    "perm": _after(r"(?:u\.?s\.?\s+)?perms?\b(?![-·]\s*in|\s+inch)"),
    "sd": _behind("sd", r"\s*m\b"),
    "r_inch": _behind("r", _PER_INCH),
    "rsi_25": _behind("rsi", _PER_25),
    "u_si": rf"{_behind('u', _SI_U)}|{_after(_SI_U)}",
    "u_ip": rf"{_behind('u', _IP_U)}|{_after(_IP_U)}",
    "u": rf"{_behind('u')}(?!\s*(?:w|btu)\b)",
    "rsi": rf"{_behind('rsi')}|{_after(_M2K_W)}",
    "r": _behind("r"),
}
_QUANTITY = re.compile("|".join(f"(?P<{sort}>{form})" for sort, form in _SORTS.items()))
_SAME = {"r_inch": "r", "rsi_25": "rsi", "u_si": "u", "u_ip": "u"}
_PER_THICKNESS = ("r_inch", "rsi_25")

_NAMED = "|".join(sorted((re.escape(u).replace(r"\ ", "[ -]") for u in _UNITS), key=len, reverse=True))
_TARGET = re.compile(
    rf"\b(?:in|into|to|as|how many|how much)\s+(?:an?\s+|the\s+|your\s+|our\s+|old\s+)*(?P<unit>(?:{_NAMED})s?)(?![\w-]| ?\d)"
    rf"(?P<per>{_PER_25})?"
)
_ASKS = re.compile(
    r"\b(?:what|what's|whats|how many|how much|convert|translate|equals?|equivalent|is that|which is)\b"
)
_LITTLE = re.compile(r"\b(?:and|so|ok|okay|then|please|between|is|are|or)\b|[^a-z0-9]")
"""What may stand beside figures and units in a question of nothing else: `0.5 to 1 perm in ng`."""

_DEGREES = re.compile(
    rf"(?P<minus>(?:(?<![\w.])[-−–]|\bminus )\s?)?(?P<n>{_N})\s*(?:°|deg(?:rees?)?\.?)?\s*(?P<unit>f|c|fahrenheit|celsius)\b"
)
_HUMIDITY = re.compile(
    rf"(?P<n>{_N})\s*(?:%|percent\b|rh\b)|\b(?:rh|humidity)(?:\s+of)?\s*(?P<m>{_N})\s*(?:%|percent\b)?"
)
_DEW = re.compile(r"\bdew[ -]?points?\b")
_DEW_ASKED = re.compile(
    r"\A\W*(?:the )?dew[ -]?point|\b(?:what|what's|whats|calculate|compute|find|tell me|give me)"
    r"(?:\s+(?:is|was|will|would|be|the|an?|my|our|indoor|room|air))*\s+dew[ -]?point"
)
_DESCRIBES = frozenset(("material", "loose", "kind", "role", "size", "R", "spacing", "place"))
"""Sorts of words that describe a section or say where one stands: there a dew point is sought in the section."""


def asked(text: str, start: int, end: int) -> tuple[str, str] | None:
    """The quantities to convert and the units that are asked for, each with `; ` between them, where the sentence from
    `start` to `end` asks for that; a quantity may stand in the text before it."""
    low = text.lower()
    while start and not (low[start - 1].isalpha() or low[start - 1] in "?!;\n"):
        # What is read begins with a word or a figure, and may leave out a sign before it.
        start -= 1
    if (air := _air(text, low, start, end)) is not None:
        return air, _DEW_POINT
    targets = list(_TARGET.finditer(low, start, end))
    if not targets:
        return None
    told = [
        m
        for m in _QUANTITY.finditer(low, 0, end)
        if not any(m.start() < t.end("unit") and t.start("unit") < m.end() for t in targets)
    ]
    if not (_ASKS.search(low, start, end) or _nothing_else(low, start, end, [*told, *targets])):
        return None
    pairs: list[tuple[str, str]] = []
    used: set[int] = set()
    for k, t in enumerate(targets):
        unit = _singular(t["unit"])
        fit = [m for m in told if _converts(m, unit, per=bool(t["per"])) and m.start() not in used]
        since = targets[k - 1].end() if k else start
        until = targets[k + 1].start() if k + 1 < len(targets) else end
        own = [m for m in fit if since <= m.start() < t.start()]
        own = own or [m for m in fit if t.end() <= m.start() < until]
        for m in own or [m for m in fit if m.start() < start][-1:]:
            used.add(m.start())
            pairs.append((m[0].strip(), unit))
    return ("; ".join(q for q, _ in pairs), "; ".join(u for _, u in pairs)) if pairs else None


def _singular(unit: str) -> str:
    return unit.replace("-", " ").removesuffix("s")


def _nothing_else(low: str, start: int, end: int, found: Iterable[re.Match[str]]) -> bool:
    """Whether a sentence holds figures and the units asked for, and no other word."""
    rest = list(low[start:end])
    for m in found:
        inside = range(max(m.start() - start, 0), min(m.end(), end) - start)
        for i in inside:
            rest[i] = " "
    return not _LITTLE.sub("", "".join(rest))


def _converts(m: re.Match[str], unit: str, *, per: bool) -> bool:
    """Whether a quantity can be told in a unit, `per` where that is asked for an inch; not in its own."""
    dimension, wanted = _UNITS[unit]
    sort = _sort(m)
    if _SAME.get(sort, sort) == wanted or (_dimension(sort) != dimension):
        return False
    if sort in _PER_THICKNESS:
        if wanted == "u":
            return False
    elif per:
        # What a whole layer has says nothing of an inch of it.
        return False
    try:
        values = _values(m)
    except (UnitError, ValueError):
        return False
    return sort[0] != "u" or all(values)


def _sort(m: re.Match[str]) -> str:
    return next(s for s in _SORTS if m[s])


def _dimension(sort: str) -> str:
    return _P if sort in ("ng", "metric", "perm", "sd") else _R


_IN_UNITS = re.compile(rf"{_PER_25}|(?:m|ft)\^?[2²]")
"""Figures that belong to a unit."""


def _figures(text: str) -> list[str]:
    """The figures of a quantity, one or two, as they stand.

    >>> _figures("0.5 to 1 perm"), _figures("rsi 3,5"), _figures("u-0.28 w/m2k"), _figures("rsi 1 per 25 mm")
    (['0.5', '1'], ['3,5'], ['0.28'], ['1'])
    """
    return re.findall(_N, _IN_UNITS.sub("", text))


def _plain(figure: str, *, decimal: bool = False) -> float:
    """A figure as a number: a comma before three digits parts thousands, unless `decimal`; any other is a decimal comma.
    Raises ValueError.

    >>> _plain("1-1/2"), _plain("1½"), _plain("3,5"), _plain("0,875"), _plain("1,000"), _plain("3,875", decimal=True)
    (1.5, 1.5, 3.5, 0.875, 1000.0, 3.875)
    """
    if figure[-1] in _VULGAR:
        return float(figure[:-1] or 0) + unicodedata.numeric(figure[-1])
    if figure.count(",") == 1 and (decimal or figure[0] == "0" or not re.search(r",\d{3}(?:\.|\Z)", figure)):
        return float(figure.replace(",", "."))
    return number(figure.replace("⁄", "/").replace(",", ""))


_PARSED = {
    "ng": "{} ng", "perm": "{} perm", "sd": "sd {} m", "metric": "{} ng",
    "r": "R-{}", "rsi": "RSI-{}", "r_inch": "R-{}", "rsi_25": "RSI-{}",
    "u": "{} btu/(h ft2 f)", "u_ip": "{} btu/(h ft2 f)", "u_si": "{} w/(m2 k)",
}  # fmt: skip


def _values(m: re.Match[str]) -> list[float]:
    """The ends of a quantity in SI, as asked: U as U, and what an inch or 25 mm has as that of the thickness. Raises
    UnitError, ValueError."""
    sort = _sort(m)
    dimension = _U if sort[0] == "u" else _dimension(sort)
    out: list[float] = []
    for figure in _figures(m[0]):
        try:
            out.append(parse(_PARSED[sort].format(f"{_plain(figure):.12g}"), dimension).low)
        except UnitError:
            # No layer is RSI 3875.
            out.append(parse(_PARSED[sort].format(f"{_plain(figure, decimal=True):.12g}"), dimension).low)
    return out


def converted(quantity: str, unit: str) -> tuple[str, str]:
    """The sentence that converts, one for each quantity, and the id of the concept behind the first."""
    if unit == _DEW_POINT:
        return _dew_told(quantity), "dew-point"
    units = unit.split("; ")
    told = [_told(q, u) for q, u in zip(quantity.split("; "), units, strict=True)]
    return " ".join(dict.fromkeys(told)), _CONCEPTS[_UNITS[units[0]][0]]


def _told(quantity: str, unit: str) -> str:
    m = _QUANTITY.fullmatch(quantity)
    assert m is not None
    sort, wanted, values = _sort(m), _UNITS[unit][1], _values(m)
    if "metric" in (sort, wanted):
        return _of_metric_perms(m, wanted)
    if sort in _PER_THICKNESS:
        return _of_an_inch(sort, values)
    if sort[0] == "u":
        return _of_u(sort, wanted, values)
    if wanted == "u":
        given = _spread(values, _R, "si" if sort == "rsi" else "ip")
        inverse = [1 / v for v in values if v]
        return f"{given} is {_u_spread(inverse, 'ip')}, {_u_spread(inverse, 'si')}: U is the inverse of R."
    dimension = _dimension(sort)
    given = _spread(values, dimension, "ip" if sort in ("perm", "r") else "si")
    if sort == "sd":
        given = quantity
    return f"{given} is {_spread(values, dimension, 'ip' if wanted in ('perm', 'r') else 'si')}."


def _spread(values: list[float], dimension: str, system: str) -> str:
    """One value, or the ends of a range with the unit once.

    >>> _spread([2.86e-11, 5.72e-11], "permeance", "si"), _spread([2.29, 2.64], "thermal resistance", "ip")
    ('28.6 to 57.2 ng/(s·m²·Pa)', 'R-13 to R-15')
    """
    shown = [show(v, dimension, system) for v in values]
    first, _, unit = shown[0].partition(" ")
    if len(shown) > 1 and unit and unit.rstrip("s") == shown[-1].partition(" ")[2].rstrip("s"):
        shown[0] = first
    return " to ".join(shown)


def _u_spread(values: list[float], system: str) -> str:
    return f"U-{_spread(values, _U, system)}"


def _of_u(sort: str, wanted: str, values: list[float]) -> str:
    """U is told as R with the unit that it is in; without one, as both."""

    def inverse(us: list[float], system: str) -> str:
        return _spread([1 / u for u in us], _R, system)

    first, second = ("ip", "si") if wanted == "r" else ("si", "ip")
    if sort != "u":
        given = _u_spread(values, "si" if sort == "u_si" else "ip")
        return f"{given} is {inverse(values, first)} ({inverse(values, second)}): R is the inverse of U."
    one = parse(f"1 {_BTU_U}", _U).low
    metric = [v / one for v in values]
    return (
        f"{_u_spread(values, 'ip')} is {inverse(values, first)} ({inverse(values, second)}): R is the inverse of U. "
        f"The figure stands without a unit and is taken for inch-pound; in W/(m²·K) it would be "
        f"{inverse(metric, first)} ({inverse(metric, second)})."
    )


def _of_an_inch(sort: str, values: list[float]) -> str:
    """What an inch has is a resistivity of the material, and no layer's resistance."""
    inch = sort == "r_inch"
    given = f"{_spread(values, _R, 'ip')} per inch" if inch else f"{_spread(values, _R, 'si')} per 25 mm"
    thickness = _INCH if inch else 0.025
    resistivity = " to ".join(f"{v / thickness:.3g}" for v in values)
    if inch:
        each = f"{_spread(values, _R, 'si')} (RSI) for each inch, 25.4 mm,"
    else:
        each = f"{_spread([v / thickness * _INCH for v in values], _R, 'ip')} for each inch"
    return (
        f"{given} is {resistivity} m·K/W, a resistivity of the material: {each} of thickness. "
        f"A layer has that times its thickness."
    )


def _of_metric_perms(m: re.Match[str], wanted: str) -> str:
    """A metric perm is two things; both figures are told, and what each is."""
    values = _values(m)
    older = "g/(24 h·m²·mmHg)"
    if wanted == "metric":
        given = m[0] if m["sd"] else _spread(values, _P, "ip" if m["perm"] else "si")
        old = " to ".join(f"{v / METRIC_PERM:.3g}" for v in values)
        ng = _spread(values, _P, "si")
        now = f"{given} is {ng}, often called" if given != ng else f"{ng} is often called"
        return (
            f"{now} {ng.partition(' ng')[0]} metric perms in Canadian talk; “metric perm” is ambiguous, and by the older "
            f"definition, {older}, it is {old} metric perms."
        )
    system = "ip" if wanted == "perm" else "si"
    shown = " to ".join(f"{_plain(f):.12g}" for f in _figures(m[0]))
    old = _spread([v / 1e-12 * METRIC_PERM for v in values], _P, system)
    now = _spread(values, _P, "si")
    now += f", {_spread(values, _P, system)}" if system == "ip" else ""
    return (
        f"{shown} metric perm{'' if shown == '1' else 's'} is {now}, as Canadian talk often means it; "
        f"“metric perm” is ambiguous, and by the older definition, {older}, it is {old}."
    )


# -- the dew point of air ---------------------------------------------------------------------------


def _air(text: str, low: str, start: int, end: int) -> str | None:
    """The air whose dew point a sentence asks for, `70 F; 40 %`: one temperature and one humidity, in a text that describes
    no section and names no place."""
    here = low[start:end]
    if not (_DEW.search(here) and _DEW_ASKED.search(here)):
        return None
    degrees, humid = list(_DEGREES.finditer(here)), list(_HUMIDITY.finditer(here))
    if len(degrees) != 1 or len(humid) != 1 or any(x.sort in _DESCRIBES for x in scan(text)):
        return None
    (t,), (h,) = degrees, humid
    share = _plain(h["n"] or h["m"])
    if "%" not in h[0] and "percent" not in h[0] and share <= 1:
        share *= 100
    air = f"{'-' if t['minus'] else ''}{_plain(t['n']):g} {t['unit'][0].upper()}; {share:g} %"
    try:
        _dew_told(air)
    except ValueError:
        # No air is so hot, so cold or so full, or the equations of saturation end before.
        return None
    return air


def _dew_told(air: str) -> str:
    """The sentence of `70 F; 40 %`. Raises ValueError, as UnitError is one."""
    from reviewer.humidity import dew_point, saturation_pressure

    warm, humid = air.split("; ")
    t, rh = parse(warm, "temperature").low, parse(humid, "relative humidity").low
    dew = float(dew_point(rh * saturation_pressure(t)))
    name = "dew point" if dew >= 0 else "frost point"
    sees = "gathers frost" if dew < 0 else "sweats"
    return (
        f"Air of {_degrees(t)} and {show(rh, 'relative humidity')} relative humidity has a {name} of {_degrees(dew)}: "
        f"a surface colder than that {sees}."
    )


def _degrees(t: float) -> str:
    """Both scales to a tenth, since a dew point is set against another.

    >>> _degrees(10.2)
    '50.4 °F (10.2 °C)'
    """
    return f"{t * 9 / 5 + 32:.1f} °F ({show(t, 'temperature')})"
