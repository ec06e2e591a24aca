"""The review as Markdown, for offices that edit or paste it."""

from __future__ import annotations

from reviewer.report import words
from reviewer.result import Finding, Result
from reviewer.units import show


def escape(text: str) -> str:
    """A user's text, harmless in Markdown and in HTML made from it.

    >>> escape("a|b <script> *x*")
    'a\\\\|b &lt;script&gt; \\\\*x\\\\*'
    """
    out = words.clean(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    for c in "\\`*_{}[]|#":
        out = out.replace(c, "\\" + c)
    return out


def render(result: Result) -> str:
    system = result.units
    out = [f"# {escape(words.title(result))}", "", escape(words.where(result)), ""]
    out += [f"**{words.DISPOSITIONS[result.disposition]}.** {escape(result.summary)}", ""]
    out += ["## The section, from the room outwards", ""]
    degree = "°F" if system == "ip" else "°C"
    unit = words.permeance_unit(system)
    out.append(
        f"| # | Layer | Thickness | R | Permeance dry ({unit}) | damp | Winter joint {degree} | Highest RH |"
    )
    out.append("| --: | --- | --: | --: | --: | --: | --: | --: |")
    for x in result.layers:
        cells = (
            f"{x.index + 1}",
            escape(x.text or x.name) + (" (condensate at its outer face)" if x.condensing else ""),
            words.thickness(x, system),
            words.resistance(x, system),
            words.permeance(x.permeance_dry, system, x.unknown),
            words.permeance(x.permeance_wet, system, x.unknown),
            words.temperature(x.temperature_outer, system),
            words.humidity(x.humidity_outer),
        )
        out.append("| " + " | ".join(cells) + " |")
    out.append("")
    calc = result.calculations
    if "u_value" in calc:
        out += [
            f"Whole section with framing: {show(calc['r_value'], 'thermal resistance', system)}, "
            f"U {show(calc['u_value'], 'thermal transmittance', system)} ({calc['method']['u_value']}).",
            "",
        ]
    findings = [f for f in result.findings if f.severity != "credit"]
    if findings:
        out += ["## Findings", ""]
        for n, f in enumerate(findings, 1):
            out += _finding(f, n, system)
    credits = [f for f in result.findings if f.severity == "credit"]
    if credits:
        out += ["## What holds, and must not be lost in a change", ""]
        out += [
            f"- {escape(f.title)}. {escape(f.explanation)} ({escape(words.citations(f))}, `{f.rule}`)"
            for f in credits
        ]
        out.append("")
    if result.assumptions:
        out += ["## What was assumed", ""]
        out += [f"- {escape(a.what)} ({escape(a.why)})" for a in result.assumptions]
        out.append("")
    if result.not_evaluated:
        out += ["## What could not be judged, and what would settle it", ""]
        for settle, rules in words.open_questions(result).items():
            waiting = ", ".join(f"`{m.rule}`{' (decides the verdict)' if m.decisive else ''}" for m in rules)
            out.append(f"- {escape(settle)}: {waiting}")
        out.append("")
    out += _months(result)
    out += ["## Cautions", ""]
    out += [f"- {escape(c)}" for c in result.cautions]
    out += [f"- Climate: {escape('; '.join(result.climate.source))}"] if result.climate.source else []
    out += [f"- {escape(words.engine_note(result))}", ""]
    out += _work(result)
    return "\n".join(out)


def _finding(f: Finding, n: int, system: str) -> list[str]:
    hazard = ", hazard" if f.hazard else ""
    out = [f"### {n}. {words.SEVERITY_HEADINGS[f.severity]}{hazard}: {escape(f.title)}", ""]
    out += [
        f"*{words.layer_numbers(f)}, {f.confidence} confidence{', ' + f.voice if f.voice else ''}* `{f.rule}`",
        "",
    ]
    if f.waived:
        out += [
            f"Waived by {escape(f.waived['by'])} until {escape(f.waived['until'])}: {escape(f.waived['reason'])}",
            "",
        ]
    out += [escape(f.explanation), ""]
    if f.margin:
        out += [f"Margin: {escape(f.margin)}", ""]
    if f.reason:
        out += [f"Why {f.severity}: {escape(f.reason)}", ""]
    out += [
        f"- {escape(words.evidence(e, system))}"
        for e in f.evidence
        if e.dimension not in ("word", "text", "index")
    ]
    out += ["", f"Authority: {escape(words.citations(f))}", ""]
    if f.remedies:
        out += ["What to do:", ""] + [f"- {escape(r.text)}" for r in f.remedies] + [""]
    return out


def _work(result: Result) -> list[str]:
    if not result.work:
        return []
    out = ["## The work: every calculation with its numbers", ""]
    for n, w in enumerate(result.work, 1):
        out += [f"### {n}. {escape(w.title)}", ""]
        out += [f"- {escape(part)}" for part in w.formula.split("; ")]
        out += ["", *([escape(w.where), ""] if w.where else [])]
        if w.numbers:
            out += ["| | | |", "| --- | --- | --- |"]
            for line in w.numbers:
                cells = (line.of, words.calculation(line), line.note)
                out.append("| " + " | ".join(escape(c) for c in cells) + " |")
            out.append("")
        out += [escape(w.result), "", f"Source: {escape(w.source)}", "", f"Limits: {escape(w.limits)}", ""]
    return out


def _months(result: Result) -> list[str]:
    monthly = result.calculations.get("monthly")
    if not monthly:
        return []
    system = result.units
    degree = "°F" if system == "ip" else "°C"
    out = ["## The year, month by month", ""]
    out.append("| | " + " | ".join(monthly["months"]) + " |")
    out.append("| --- |" + " --: |" * 12)

    def row(text: str, values: list[str]) -> None:
        out.append(f"| {escape(text)} | " + " | ".join(values) + " |")

    row(f"outdoors {degree}", [words.temperature(t, system) for t in monthly["outdoor"]["temperature"]])
    for j in monthly["joints"]:
        if any(j["held"]) or j["humidity"] == max((k["humidity"] for k in monthly["joints"]), key=max):
            name = f"joint {j['inner'] + 1}/{j['outer'] + 1} ({j['name']})"
            row(f"{name}, {degree}", [words.temperature(t, system) for t in j["temperature"]])
            row(f"{name}, RH %", [f"{h * 100:.0f}" for h in j["humidity"]])
            if any(j["held"]):
                row(f"{name}, held g/m²", [f"{v * 1000:.0f}" for v in j["held"]])
    for w in result.calculations.get("wood_moisture", []):
        row(f"{w['name']}, % MC", [f"{v * 100:.0f}" for v in w["monthly"]])
    out += ["", f"Limits of the method: {result.calculations['limits']}", ""]
    return out
