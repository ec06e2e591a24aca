"""A reply to a question, as a person reads it in a terminal or pastes it: what was understood, the answer, why."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from reviewer.names import shown_name
from reviewer.reply import Replies, Reply, WordReading
from reviewer.report import words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Paper
from reviewer.report.terminal import MAX_WIDTH, MIN_WIDTH, Line, paint, wrap
from reviewer.result import Finding, LayerLine

INTENTS = {
    "safe here": "is it safe?",
    "need": "is it needed?",
    "cheapest": "what is the cheapest that works?",
    "how much": "how much?",
    "which": "which of them?",
    "why not always": "why not always?",
    "what went wrong": "what went wrong?",
    "what is": "what is it?",
    "what to use": "what should be used?",
    "leave out": "may it be left out?",
    "add": "may it be added?",
}
"""What is asked, in words."""
MOST_EXPLAINED = 1
"""Reasons whose explanation is printed in full; the others say what, how far and on whose authority."""
MOST_TAKEN = 90
"""Characters of an assumption of the calculation; longer ones are cut to their head."""


def as_json(found: Replies) -> str:
    return found.model_dump_json(by_alias=True, indent=2) + "\n"


def as_line(found: Replies) -> str:
    """JSON on one line, for questions that come through a pipe."""
    return json.dumps(found.model_dump(mode="json", by_alias=True), ensure_ascii=False) + "\n"


def schema() -> dict[str, Any]:
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Replies.model_json_schema(by_alias=True, mode="serialization"),
    }


def as_paper(found: Replies, letterhead: Letterhead | None = None, *, pictures: bool = True) -> Paper:
    """For PDF, DOCX, Markdown and the linear text."""
    from reviewer.report.reply_paper import reply_paper

    return reply_paper(found, letterhead, pictures=pictures)


def as_text(found: Replies, width: int = 80, color: bool = False) -> str:
    """For a terminal: plain text, with colors when asked for."""
    width = min(max(width, MIN_WIDTH), MAX_WIDTH)
    out = [Line("You asked", "heading")]
    out += [Line(t, "dim") for t in wrap(words.clean(found.text), width, "  ")]
    for n, r in enumerate(found.replies, 1):
        out.append(Line(""))
        if len(found.replies) > 1:
            head = f"Question {n} of {len(found.replies)}: {words.clean(r.question)}"
            out += [*(Line(t, "heading") for t in wrap(head, width)), Line("")]
        out += _lines(r, width)
    return paint(out, width, color)


# -- what both forms share --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Part:
    """A heading with its items."""

    heading: str
    items: list[str]


def understood(r: Reply) -> str:
    """What is asked, of what, where."""
    asked = "no question that can be answered here" if r.refusal is not None else INTENTS[r.intent]
    parts = [asked] + [words.clean(t) for t in (r.kind, r.place) if t]
    return " · ".join(parts)


def layer_words(r: Reply) -> dict[int, list[str]]:
    """The words of the question that each layer was read from."""
    found: dict[int, list[str]] = {x.index: [] for x in r.layers}
    for w in r.words:
        for i in _layers_of(w, r.layers):
            found[i].append(words.clean(w.text))
    return found


def _layers_of(w: WordReading, layers: list[LayerLine]) -> list[int]:
    reads = w.reads.lower()
    exact = [x.index for x in layers if reads and (x.name.lower() == reads or x.text.lower() == reads)]
    if exact or w.sort not in ("material", "framing", "quantity", "space", "layer", "joints", "condition"):
        return exact
    return [
        x.index
        for x in layers
        if reads
        and (reads in x.text.lower() or x.name.lower() in reads or (w.sort == "framing" and x.framed))
    ]


def other_words(r: Reply) -> list[str]:
    """What was read besides layers: place, kind, what is asked."""
    out: dict[str, None] = {}
    for w in r.words:
        if not _layers_of(w, r.layers):
            text, reads = words.clean(w.text), words.clean(w.reads)
            sure = "" if w.confidence >= 1.0 else f", {w.confidence * 100:.0f} % sure"
            out.setdefault(
                f"“{text}”: {reads}{sure}" if reads.lower() != text.lower() else f"“{text}” ({w.sort}{sure})"
            )
    return list(out)


def drawing(layers: list[LayerLine], width: int) -> list[str]:
    """The layers side by side by number, in one row or more; thicker layers are wider."""
    room, rows, row = width - 16, [], []
    for x in layers:
        if row and sum(_least(y) + 1 for y in (*row, x)) + 1 > room:
            rows.append(row)
            row = []
        row.append(x)
    rows += [row] if row else []
    out = []
    for n, row in enumerate(rows):
        spare = room - sum(_least(x) + 1 for x in row) - 1
        weights = [(x.thickness or 0.0) ** 0.5 for x in row]
        total = sum(weights) or 1.0
        text = "  room |" if n == 0 else "   ... |"
        for x, weight in zip(row, weights, strict=True):
            size = _least(x) + int(max(spare, 0) * weight / total)
            text += f"{_mark(x):^{size}}" + ("*" if x.condensing else "|")
        out.append(text + (" out" if n == len(rows) - 1 else " ..."))
    if any(x.condensing for x in layers):
        out.append("  * condensate collects at this joint")
    return out


def _mark(x: LayerLine) -> str:
    return f"{x.index + 1}" + ("?" if x.unknown else "~" if x.ventilated else "")


def _least(x: LayerLine) -> int:
    return len(_mark(x)) + 2


def layer_rows(r: Reply) -> list[tuple[str, str, str]]:
    """Number, layer, and the words it was read from or that it was assumed."""
    read = layer_words(r)
    carried = any("question before" in a.what for a in r.assumed)
    otherwise = "from before" if carried else "assumed" if r.words else ""
    rows = []
    for x in r.layers:
        said = ", ".join(f"“{t}”" for t in dict.fromkeys(read[x.index]))
        rows.append((_mark(x), shown_name(words.clean(x.text or x.name)), said or otherwise))
    return rows


def parts(r: Reply) -> list[Part]:
    """What follows the answer and its reasons, in the order of reading."""
    asked = [
        text
        for n, a in enumerate(r.asked, 1)
        for text in (f"{n}. {a.question} {a.why}", *(f"If {label}: {reply}" for label, reply in a.replies))
    ]
    zones = [f"{z.zone} ({z.place}): {words.DISPOSITIONS[z.disposition].lower()}. {z.says}" for z in r.zones]
    options = []
    for o in r.options:
        cost = "" if o.cost is None else f" Relative cost {o.cost:g}."
        numbers = f" {_sentence('; '.join(o.margins[:2]))}" if o.margins else ""
        options.append(
            f"{o.label}: {words.DISPOSITIONS[o.disposition].lower()}. {o.says.rstrip('.')}.{numbers}{cost}"
        )
    refusal = [] if r.refusal is None else r.refusal.can
    found = (
        Part("Please tell me", asked),
        Part("What can be asked", refusal),
        Part("Side by side", options),
        Part("Zone by zone", zones),
        Part("Another voice", r.dissent),
        Part("What would change the answer", r.changes_it),
        Part("The cheapest way to a better one", r.better),
        Part("What to check on site", r.check),
        Part("What the calculation took besides", [taken(r)] if r.grounds else []),
        Part("See the computation", r.commands),
        Part("Cautions", r.cautions),
    )
    return [p for p in found if p.items]


def taken(r: Reply) -> str:
    """What the calculation took, in a line; the reasons stand in the report of `reviewer review`."""
    heads = []
    for a in r.grounds:
        text = words.clean(a.what)
        heads.append(text if len(text) <= MOST_TAKEN else re.split(r": |; | \(|\. ", text, maxsplit=1)[0])
    return f"{'; '.join(dict.fromkeys(heads))}."


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def reason_head(f: Finding) -> str:
    hazard = ", hazard" if f.hazard else ""
    return f"{words.SEVERITY_HEADINGS[f.severity].upper()}{hazard}: {words.clean(f.title)}"


def reason_grounds(f: Finding) -> str:
    """Margin, voice and authority of a reason, with the rule."""
    margin = f"{words.clean(f.margin)}. " if f.margin else ""
    voice = f"{f.voice}; " if f.voice else ""
    return f"{margin}By {voice}{words.citations(f)} [{f.rule}]"


# -- terminal ---------------------------------------------------------------------------------------

_QUIET = ("What the calculation took besides", "Cautions")
_STYLE = {"yes": "no exceptions taken", "no": "revise and resubmit", "depends": "make corrections noted"}


def _lines(r: Reply, width: int) -> Iterator[Line]:
    yield Line("What was understood", "heading")
    for t in wrap(understood(r), width, "  "):
        yield Line(t)
    yield from _section(r, width)
    said = other_words(r)
    if said:
        for t in wrap(f"Read: {'; '.join(said)}", width, "  ", "    "):
            yield Line(t, "dim")
    for a in r.assumed:
        for t in wrap(f"Assumed: {a.what} ({a.why})", width, "  ", "    "):
            yield Line(t, "dim")
    if r.unused:
        for t in wrap("Not used: " + ", ".join(f"“{words.clean(u)}”" for u in r.unused), width, "  ", "    "):
            yield Line(t)
    yield Line("")
    for t in wrap(r.answer, width):
        yield Line(t, _STYLE.get(r.direction, "heading"))
    for text in r.more:
        yield Line("")
        for t in wrap(text, width):
            yield Line(t)
    if r.reasons:
        yield Line("")
        yield Line("Why", "heading")
    for n, f in enumerate(r.reasons, 1):
        for k, t in enumerate(wrap(f"{n}. {reason_head(f)}", width, "  ", "     ")):
            yield Line(t, f.severity if k == 0 else "plain")
        if n <= MOST_EXPLAINED:
            for t in wrap(f.explanation, width, "     "):
                yield Line(t)
            numbers = [e for e in f.evidence if e.dimension not in ("word", "text", "index")]
            for e in numbers[:4]:
                for t in wrap(words.evidence(e, r.units), width, "     - ", "       "):
                    yield Line(t, "dim")
        for t in wrap(reason_grounds(f), width, "     "):
            yield Line(t, "dim")
    for p in parts(r):
        yield Line("")
        yield Line(p.heading, "heading")
        style = "dim" if p.heading in _QUIET else "plain"
        for text in p.items:
            first, rest = ("      - ", "        ") if text.startswith("If ") else ("  - ", "    ")
            if p.heading == "See the computation":
                # A command is copied, so it is not broken.
                yield Line(f"  {words.clean(text)}", "dim")
                continue
            for t in wrap(text, width, first, rest):
                yield Line(t, style)
    if r.sources:
        yield Line("")
        for t in wrap(f"Sources: {'; '.join(r.sources)}", width, "", "  "):
            yield Line(t, "dim")


def _section(r: Reply, width: int) -> Iterator[Line]:
    if not r.layers:
        return
    yield Line("")
    for text in drawing(r.layers, width):
        yield Line(text)
    rows = layer_rows(r)
    size = min(max(len(name) for _, name, _ in rows), width // 2)
    for number, name, said in rows:
        head = wrap(name, size) or [""]
        for n, t in enumerate(wrap(said, max(width - size - 8, 12)) if said else [""]):
            left = head[n] if n < len(head) else ""
            yield Line(f"  {number if n == 0 else '':>3}  {left:<{size}}  {t}".rstrip())
        for t in head[max(1, len(wrap(said, max(width - size - 8, 12))) if said else 1) :]:
            yield Line(f"       {t}")
    yield Line("")
