"""The review as a written report: what is said in a letter, a DOCX file, Markdown and the linear text.

The letter (`brief`) is for a client, a builder and an inspector: it tells every finding, but grounds only what is
serious or calls for correction with all its numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from reviewer.report import charts, possible, words
from reviewer.report.drawing import described, drawing
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import (
    Block,
    Bullets,
    Heading,
    Paper,
    Picture,
    Pictures,
    Table,
    Text,
    Verdict,
)
from reviewer.result import Finding, LayerLine, NotEvaluated, Result
from reviewer.units import show

FULL_NAMES = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)


def review_paper(
    result: Result, letterhead: Letterhead | None = None, *, brief: bool = False, pictures: bool = True
) -> Paper:
    """The paper of a review; `pictures` false leaves the drawings out, for formats that have none."""
    blocks = [
        _verdict(result),
        *_section(result, pictures),
        *_findings(result, brief),
        *possible.blocks(result),
        *_credits(result, brief),
        *_assumed(result),
        *_open(result),
        *_year(result),
        *_cautions(result),
        *_work(result),
    ]
    return Paper(
        title=words.title(result),
        subtitle=words.where(result),
        blocks=tuple(blocks),
        system=result.units,
        summary=words.headline(result),
        letterhead=letterhead,
        program=words.clean(result.program),
    )


def _verdict(result: Result) -> Verdict:
    return Verdict(
        words.DISPOSITIONS[result.disposition],
        words.clean(result.summary),
        f"Findings: {words.counts(result)}.",
        result.disposition,
    )


def _section(result: Result, pictures: bool) -> Iterator[Block]:
    yield Heading("The section, from the room outwards")
    if pictures and result.layers:
        yield Pictures(tuple(_pictures(result)))
    if result.layers:
        yield _layers(result)
    else:
        yield Text("The section has no layers.")
    for text in words.about_the_section(result):
        yield Text(text, small=True)


def _pictures(result: Result) -> Iterator[Picture]:
    yield Picture(
        drawing(result, "d-", legend=False),
        " ".join(described(result)),
        "The section to scale, layers numbered as in the table.",
    )
    if "monthly" not in result.calculations:
        return
    month, why = charts.worst_month(result)
    svg = charts.through(result, month, "p-")
    if svg is not None:
        yield Picture(
            svg,
            _described(svg),
            f"Temperature and vapor pressure through it in {FULL_NAMES[month]}, {why}.",
        )


def _described(svg: str) -> str:
    """What a drawing says of itself to those who can't see it."""
    from xml.etree import ElementTree

    found = ElementTree.fromstring(svg).find("{http://www.w3.org/2000/svg}desc")  # noqa: S314 - our own drawing
    return " ".join((found.text or "").split()) if found is not None else ""


def _layers(result: Result) -> Table:
    system = result.units
    perms = words.permeance_unit(system)
    unit = "Perms" if system == "ip" else f"Permeance, {perms}"
    head = ("#", "Layer", "Thickness", "R" if system == "ip" else "R, m²·K/W")
    rows = []
    for x in result.layers:
        rows.append(
            (
                f"{x.index + 1}",
                words.layer_text(x) + (" (condensate at its outer face)" if x.condensing else ""),
                words.thickness(x, system),
                words.resistance(x, system),
                words.permeance(x.permeance_dry, system, x.unknown),
                words.permeance(x.permeance_wet, system, x.unknown),
                words.temperature(x.temperature_outer, system),
                words.humidity(x.humidity_outer),
            )
        )
    return Table(
        head=(*head, f"{unit}, dry", "damp", f"Outer face, {words.degree(system)}", "Highest RH"),
        rows=tuple(rows),
        said=tuple(_layer_said(x, result) for x in result.layers),
        caption="The layers",
        words=frozenset({1}),
        marked=frozenset(x.index for x in result.layers if x.condensing),
    )


def _layer_said(x: LayerLine, result: Result) -> str:
    system = result.units
    parts = [f"{words.thickness(x, system)} thick" if x.thickness is not None else "no thickness given"]
    if x.unknown:
        parts.append("its properties are not known")
    r = words.resistance(x, system)
    if r not in (words.NONE, "?"):
        parts.append(f"thermal resistance {r}" + ("" if system == "ip" else " m²·K/W"))
    for state, v in (("dry", x.permeance_dry), ("damp", x.permeance_wet)):
        if v is not None:
            parts.append(f"permeance {state} {show(v, 'permeance', system, 2)}")
    if x.temperature_outer is not None:
        parts.append(
            f"{show(x.temperature_outer, 'temperature', system)} at its outer face in the coldest month"
        )
    if x.humidity_outer is not None:
        parts.append(f"highest relative humidity there {words.humidity(x.humidity_outer)}")
    if x.ventilated:
        parts.append("ventilated")
    said = f"Layer {x.index + 1}, {words.layer_text(x)}: {'; '.join(parts)}."
    return said + (" Condensate collects at its outer face." if x.condensing else "")


def _findings(result: Result, brief: bool) -> Iterator[Block]:
    trees = words.trees(result)
    if trees:
        yield Heading("Findings")
    for n, (cause, hanging) in enumerate(trees, 1):
        if brief and cause.severity == "note" and not cause.hazard:
            yield from _note(cause, hanging, n)
        else:
            yield from _finding(cause, hanging, n, result.units)


def heading(f: Finding, n: int) -> str:
    """`3. Serious, hazard: …`."""
    hazard = ", hazard" if f.hazard else ""
    return f"{n}. {words.SEVERITY_HEADINGS[f.severity]}{hazard}: {words.clean(f.title)}"


def about(f: Finding) -> str:
    """`layers 3, 5, line 7, high confidence, calculation, rule vapor-control/shut-in-between`."""
    parts = [words.layer_numbers(f), *([f"line {f.line}"] if f.line else []), f"{f.confidence} confidence"]
    return ", ".join([*parts, *([f.voice] if f.voice else []), f"rule {f.rule}"])


def _waived(f: Finding) -> Iterator[Block]:
    if f.waived:
        text = f"by {f.waived['by']} until {f.waived['until']}: {f.waived['reason']}"
        yield Text(words.clean(text), lead="Waived")


def _finding(f: Finding, hanging: Sequence[Finding], n: int, system: str) -> Iterator[Block]:
    yield Heading(heading(f, n), 3, f.severity)
    yield Text(about(f), small=True)
    yield from _waived(f)
    yield Text(words.clean(f.explanation))
    if f.margin:
        yield Text(words.clean(f.margin), lead="Margin")
    if f.reason:
        yield Text(words.clean(f.reason), lead=f"Why {f.severity}")
    if f.remedies:
        yield Bullets(tuple(words.clean(r.text) for r in f.remedies), lead="What to do")
    numbers = words.numbers(f)
    if numbers:
        yield Bullets(tuple(words.evidence(e, system) for e in numbers), lead="Numbers", small=True)
    yield Text(words.citations(f), lead="Authority", small=True)
    yield from _hanging(f, hanging)


def _hanging(f: Finding, hanging: Sequence[Finding]) -> Iterator[Block]:
    if hanging:
        items = (
            f"{words.SEVERITY_HEADINGS[g.severity]}: {words.clean(g.title)} "
            f"({f'margin: {words.clean(g.margin)}; ' if g.margin else ''}rule {g.rule})"
            for g in hanging
        )
        yield Bullets(tuple(items), lead="Also from this cause", small=True)
    if f.defeated:
        yield Text(", ".join(f.defeated), lead="Takes the place of", small=True)


def _note(f: Finding, hanging: Sequence[Finding], n: int) -> Iterator[Block]:
    """A note in a letter: what it says and what to do, its numbers left to the full report."""
    yield Heading(heading(f, n), 3, f.severity)
    yield from _waived(f)
    margin = f" Margin: {words.clean(f.margin).rstrip('.')}." if f.margin else ""
    yield Text(words.clean(f.explanation) + margin)
    if f.remedies:
        yield Text(" ".join(words.clean(r.text) for r in f.remedies), lead="What to do")
    yield Text(f"{about(f)}; {words.citations(f)}", small=True)
    yield from _hanging(f, hanging)


def _credits(result: Result, brief: bool) -> Iterator[Block]:
    found = [f for f in result.findings if f.severity == "credit"]
    if found:
        yield Heading("What holds, and must not be lost in a change")
        yield Bullets(
            tuple(
                f"{words.clean(f.title)}. {words.clean(f.explanation)} "
                f"({f'margin: {words.clean(f.margin)}; ' if f.margin else ''}{words.citations(f)}; rule {f.rule})"
                for f in found
            ),
            small=brief,
        )


def _assumed(result: Result) -> Iterator[Block]:
    if result.assumptions:
        yield Heading("What was assumed")
        yield Bullets(
            tuple(f"{words.clean(a.what)} ({words.clean(a.why)})" for a in result.assumptions), small=True
        )


def _open(result: Result) -> Iterator[Block]:
    if not result.not_evaluated:
        return
    yield Heading("What could not be judged, and what would settle it")
    yield Bullets(tuple(_question(s, rules) for s, rules in words.open_questions(result).items()), small=True)


def _question(settle: str, rules: Sequence[NotEvaluated]) -> str:
    deciding = [m.rule for m in rules if m.decisive]
    others = [m.rule for m in rules if not m.decisive]
    text = f"{settle[:1].upper()}{settle[1:]}."
    if deciding:
        text += f" The verdict can turn on it: {', '.join(deciding)}."
    if others:
        text += f" {'Also' if deciding else 'Rules'} without an answer: {', '.join(others)}."
    return text


def _year(result: Result) -> Iterator[Block]:
    if "monthly" not in result.calculations:
        return
    yield Heading("The year, month by month")
    year = words.year(result)
    rows = tuple(
        (f"{r.joint}: {r.label}" if r.joint and r.joint != before else r.label, *r.values)
        for r, before in zip(year.rows, ["", *(r.joint for r in year.rows)], strict=False)
    )
    yield Table(
        head=("", *year.months),
        rows=rows,
        said=tuple(_month_said(year, k) for k in range(12)),
        caption="Monthly means",
    )
    yield Text(words.drying(result))
    yield Text(words.clean(result.calculations["limits"]), lead="Limits of the method", small=True)


def _month_said(year: words.Year, k: int) -> str:
    parts: list[str] = []
    joint = ""
    for r in year.rows:
        label, _, unit = r.said.partition("|")
        if r.joint and r.joint != joint:
            label = f"{r.joint[:1].lower()}{r.joint[1:]}: {label}"
        joint = r.joint
        parts.append(f"{label} {r.values[k]} {unit}")
    return f"{FULL_NAMES[k]}: {'; '.join(parts)}."


def _cautions(result: Result) -> Iterator[Block]:
    yield Heading("Cautions")
    items = [words.clean(c) for c in result.cautions]
    if result.climate.source:
        items.append(f"Climate: {words.clean('; '.join(result.climate.source))}")
    yield Bullets((*items, words.engine_note(result)), small=True)


def _work(result: Result) -> Iterator[Block]:
    if not result.work:
        return
    yield Heading("The work: every calculation with its numbers")
    for n, w in enumerate(result.work, 1):
        yield Heading(f"{n}. {words.clean(w.title)}", 3)
        yield Bullets(tuple(words.clean(part) for part in re.split("; ", w.formula)))
        if w.where:
            yield Text(words.clean(w.where), small=True)
        if w.numbers:
            lines = [(words.clean(x.of), words.calculation(x), words.clean(x.note)) for x in w.numbers]
            yield Table(
                head=("Of", "Calculation", "Note"),
                rows=tuple(lines),
                said=tuple(f"{of}: {sum_}{f' ({note})' if note else ''}" for of, sum_, note in lines),
                words=frozenset({0, 1, 2}),
                caption=f"Numbers of calculation {n}",
            )
        yield Text(words.clean(w.result), lead="Result")
        yield Text(words.clean(w.source), lead="Source", small=True)
        yield Text(words.clean(w.limits), lead="Limits", small=True)
