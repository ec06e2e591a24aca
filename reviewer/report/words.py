"""The words and numbers that all reports share: how a value, a layer or a citation is written."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from reviewer.result import (
    SEVERITIES,
    CitationLine,
    ClimateHead,
    Evidence,
    Finding,
    LayerLine,
    NotEvaluated,
    Result,
    WorkLine,
)
from reviewer.units import DIMENSIONS, GRAINS, POUND_FT2, show

NONE = "–"
NEGLIGIBLE_R = 0.009
"""m²·K/W (R-0.05): sheets and coatings below this are shown without a resistance."""

DISPOSITIONS = {
    "no exceptions taken": "No exceptions taken",
    "make corrections noted": "Make corrections noted",
    "revise and resubmit": "Revise and resubmit",
    "incomplete": "Incomplete",
}

SHORT = {
    "no exceptions taken": "no exceptions",
    "make corrections noted": "corrections",
    "revise and resubmit": "revise",
    "incomplete": "incomplete",
}
"""The dispositions where there is little room."""

SEVERITY_HEADINGS = {
    "serious": "Serious",
    "caution": "Caution",
    "note": "Note",
    "credit": "Done well",
}


def clean(text: str) -> str:
    """A user's text without control characters, on one line.

    >>> clean("wall\\x1b[31m\\nA")
    'wall [31m A'
    """
    if not text.isprintable():
        text = "".join(c if c.isprintable() else " " for c in text)
    return " ".join(text.split())


_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:%|°[CF]|perms?|in|mil|ft|mm|m|K|Pa|in\. Hg|g/m²|kg/m²|grains/ft²|lb/ft²|cfm/ft²|miles|km|mph)"
    r"(?![\w/]))"
)


def bound(text: str) -> str:
    """A text on one line with each number bound to its unit by a space that does not break.

    >>> bound("at 34 °F in Jan")
    'at 34\\xa0°F in Jan'
    """
    return _BEFORE_UNIT.sub("\u00a0", clean(text))


def value(v: float | str, dimension: str, system: str) -> str:
    """A fact's value for people."""
    if isinstance(v, str):
        return clean(v)
    if dimension == "index":
        return f"layer {int(v) + 1}"
    if dimension == "count":
        return f"{v:g}"
    if dimension not in DIMENSIONS:
        return f"{v:.3g}"
    return show(v, dimension, system)


def evidence(e: Evidence, system: str) -> str:
    """`house wrap, permeance when damp: 10 perm (looked up; ASTM E96 …)`."""
    parts = [e.origin]
    if e.how and e.how != "as written":
        parts.append(clean(e.how))
    if e.source:
        parts.append(clean(e.source))
    return f"{clean(e.label)}: {value(e.value, e.dimension, system)} ({'; '.join(parts)})"


def calculation(line: WorkLine) -> str:
    """`0.0127/0.160 = 0.079 m²·K/W (R-0.451)`; a value that is taken as it is stands alone."""
    result = f"{line.result} {line.unit}".rstrip() + (f" ({line.trade})" if line.trade else "")
    return f"{line.put_in} = {result}" if line.put_in else result


def citation(c: CitationLine) -> str:
    if c.kind == "common practice" or c.document == "common practice":
        return "common practice, no published source"
    text = " ".join(p for p in (c.document, c.edition, c.clause) if p)
    suffix = {
        "memory": " (from memory of the document)",
        "secondhand": " (as restated)",
        "derived": " (derived)",
        "range": " (typical range)",
    }.get(c.certainty, "")
    return clean(text) + suffix


def citations(f: Finding) -> str:
    return (
        "; ".join(dict.fromkeys(citation(c) for c in f.citations)) or "common practice, no published source"
    )


def layer_numbers(f: Finding) -> str:
    if not f.layers:
        return "the section"
    numbers = ", ".join(str(i + 1) for i in f.layers)
    return f"layer {numbers}" if len(f.layers) == 1 else f"layers {numbers}"


def trees(result: Result) -> list[tuple[Finding, list[Finding]]]:
    """The findings without what is done well, each cause with all that hangs under it, directly or further down. What
    hangs under nothing but itself stands alone, so that no finding is lost."""
    found = [f for f in result.findings if f.severity != "credit"]
    hung = {rule for f in found for rule in f.symptoms if rule != f.rule}
    told: set[int] = set()

    def below(f: Finding) -> list[Finding]:
        out: list[Finding] = []
        for rule in f.symptoms:
            for g in found:
                if g.rule == rule and id(g) not in told:
                    told.add(id(g))
                    out += [g, *below(g)]
        return out

    trees: list[tuple[Finding, list[Finding]]] = []
    for loose in (False, True):
        for f in found:
            if id(f) not in told and (loose or f.rule not in hung):
                told.add(id(f))
                trees.append((f, below(f)))
    return trees


def thickness(layer: LayerLine, system: str) -> str:
    return NONE if layer.thickness is None else show(layer.thickness, "length", system)


def resistance(layer: LayerLine, system: str) -> str:
    if layer.r_value is None:
        return "?" if layer.unknown else NONE
    if layer.r_value < NEGLIGIBLE_R:
        return NONE
    return show(layer.r_value, "thermal resistance", system).removesuffix(" m²·K/W")


def permeance(v: float | None, system: str, unknown: bool) -> str:
    if v is None:
        return "?" if unknown else NONE
    return show(v, "permeance", system, 2).split(" ")[0]


def temperature(t: float | None, system: str) -> str:
    return "" if t is None else show(t, "temperature", system).split(" ")[0]


def humidity(h: float | None) -> str:
    return "" if h is None else f"{h * 100:.0f} %"


def degree(system: str) -> str:
    return "°F" if system == "ip" else "°C"


def permeance_unit(system: str) -> str:
    return "perm" if system == "ip" else "ng/(s·m²·Pa)"


def where(result: Result) -> str:
    """`wall · Duluth, MN · zone 7 · IRC 2021`."""
    return stands(result.section.kind, result.climate)


def stands(kind: str, c: ClimateHead) -> str:
    """The same of a section's kind and its climate."""
    parts = [kind, clean(c.place) if c.place != "not stated" else "place not stated"]
    if c.zone:
        parts.append(f"zone {c.zone}")
    if c.edition != "none":
        parts.append(c.edition)
    return " · ".join(parts)


def title(result: Result) -> str:
    """The section's title, else its id; a section in one line goes by its kind.

    Titles of several sections in one report tell them apart, so the id stays where there is a file.
    """
    s = result.section
    return clean(
        s.title
        or (s.id if s.file not in ("<line>", "-") else f"{s.kind.capitalize()}, {len(result.layers)} layers")
    )


def headline(result: Result) -> str:
    return f"{DISPOSITIONS[result.disposition]}. {clean(result.summary)}"


def engine_note(result: Result) -> str:
    engine = "Rete engine" if result.engine == "rete" else "fixpoint engine"
    return f"{result.program}, {engine}"


def counts(result: Result) -> str:
    """`2 serious, 1 caution, 3 notes`; `none`."""
    found = [
        f"{n} {s}{'s' if n > 1 and s != 'serious' else ''}"
        for s in SEVERITIES
        if (n := sum(f.severity == s for f in result.findings))
    ]
    return ", ".join(found) or "none"


def layer_text(x: LayerLine) -> str:
    """A layer as it was written, else its name."""
    return clean(x.text) or clean(x.name)


def numbers(f: Finding) -> list[Evidence]:
    """The evidence that is a number, else all of it."""
    return [e for e in f.evidence if e.dimension not in ("word", "text", "index")] or f.evidence


def about_the_section(result: Result) -> Iterator[str]:
    """Under the table of layers: which month its temperatures are of, and the section as a whole."""
    calc, system = result.calculations, result.units
    if "monthly" in calc:
        month = calc["dew_point"]["month"]
        k = calc["monthly"]["months"].index(month)
        room, outdoors = (calc["monthly"][side]["temperature"][k] for side in ("indoor", "outdoor"))
        yield (
            f"Temperatures: mean of {month}, the coldest month. Room {show(room, 'temperature', system)} "
            f"with a dew point of {show(calc['dew_point']['indoor'], 'temperature', system)}; outdoors "
            f"{show(outdoors, 'temperature', system)}. RH: highest monthly mean at the layer's outer face."
        )
    if "u_value" in calc:
        text = (
            f"Whole section with framing: {show(calc['r_value'], 'thermal resistance', system)}, U "
            f"{show(calc['u_value'], 'thermal transmittance', system)} ({calc['method']['u_value']})."
        )
        if "share_outboard" in calc:
            text += (
                f" Share of R outboard of the condensing plane {calc['share_outboard'] * 100:.0f} %, needed in "
                f"the coldest month {calc['share_needed'] * 100:.0f} %."
            )
        yield text


def open_questions(result: Result) -> dict[str, list[NotEvaluated]]:
    """What has to be found out, and the rules that wait for it; what decides the verdict first."""
    found: dict[str, list[NotEvaluated]] = {}
    for m in result.not_evaluated:
        found.setdefault(clean(m.settle or m.missing), []).append(m)
    return dict(sorted(found.items(), key=lambda item: not any(m.decisive for m in item[1])))


@dataclass(frozen=True, slots=True)
class YearRow:
    """A row of the year's table."""

    label: str
    """`temperature °F`."""
    values: list[str]
    """Twelve, without their unit."""
    joint: str = ""
    """The joint that it tells of: `Joint 5/6, oriented strand board / house wrap`; empty for others."""
    said: str = ""
    """The label without its unit, and the unit, for whoever hears the row read out: `temperature|°F`."""


@dataclass(frozen=True, slots=True)
class Year:
    months: list[str]
    rows: list[YearRow]


def year(result: Result) -> Year:
    """The table of the year: outdoors, each joint that holds condensate (else the most humid one), and wood."""
    monthly = result.calculations["monthly"]
    system = result.units

    def degrees(values: list[float]) -> list[str]:
        return [
            show(t, "temperature", system).split(" ")[0] if system == "ip" else f"{t:.0f}" for t in values
        ]

    unit = degree(system)
    rows = [YearRow(f"outdoors {unit}", degrees(monthly["outdoor"]["temperature"]), said=f"outdoors|{unit}")]
    joints = monthly["joints"]
    wet = [j for j in joints if any(j["held"])]
    for j in wet or [max(joints, key=lambda j: max(j["humidity"]))] if joints else []:
        joint = f"Joint {j['inner'] + 1}/{j['outer'] + 1}, {clean(j['name'])}"
        humidity = [f"{h * 100:.0f}" for h in j["humidity"]]
        rows += [
            YearRow(f"temperature {unit}", degrees(j["temperature"]), joint, f"temperature|{unit}"),
            YearRow("humidity %", humidity, joint, "humidity|%"),
        ]
        if any(j["held"]):
            water, values = water_row(j["held"], system)
            rows.append(YearRow(f"condensate held {water}", values, joint, f"condensate held|{water}"))
    for w in result.calculations.get("wood_moisture", []):
        name = clean(w["name"])
        rows.append(
            YearRow(f"{name} % MC", [f"{v * 100:.0f}" for v in w["monthly"]], said=f"moisture of {name}|% MC")
        )
    return Year(list(monthly["months"]), rows)


def water_row(values: list[float], system: str) -> tuple[str, list[str]]:
    """Amounts of water side by side, in one unit: the unit, and the figures.

    >>> water_row([0.0, 0.0123], "si"), water_row([0.0, 0.0123], "ip"), water_row([2.0, 46.25], "si")
    (('g/m²', ['0', '12']), ('grains/ft²', ['0', '18']), ('kg/m²', ['2', '46']))
    """
    most = max(values, default=0.0)
    if system == "ip":
        heavy = most >= 1000 / GRAINS * POUND_FT2
        unit, each = ("lb/ft²", 1 / POUND_FT2) if heavy else ("grains/ft²", GRAINS / POUND_FT2)
    else:
        unit, each = ("kg/m²", 1.0) if most >= 1.0 else ("g/m²", 1000.0)
    places = 2 if most * each < 1.0 else 1 if most * each < 10.0 else 0
    return unit, [f"{v * each:.{places}f}" if v else "0" for v in values]


def drying(result: Result) -> str:
    """Whether it condenses, how much, and whether the year dries it."""
    d = result.calculations["drying"]
    if not d["condenses"]:
        return "No condensation at monthly means."
    head = f"Condensation from {d['start']}; at most {show(d['peak'], 'area density', result.units)} held; "
    if d["dries_within_year"]:
        return f"{head}all of it dries within the year."
    left = f"{show(d['left'], 'area density', result.units)} left after a year"
    return head + left + (", and more each year." if d["accumulates"] else ".")
