"""Why a rule fires on a section, or why not: the proof as a tree, the nearest miss as a list."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reviewer.explanation import Explanation, Given, NearestMiss
from reviewer.report import words
from reviewer.report.markdown import escape
from reviewer.report.terminal import MAX_WIDTH, MIN_WIDTH, PROSE, Line, paint, wrap
from reviewer.result import CitationLine, Evidence, Step


@dataclass(frozen=True, slots=True)
class Node:
    """A point of the tree."""

    text: str
    style: str = "plain"
    below: tuple[Node, ...] = ()
    note: str = ""
    """Said under the text, less loudly."""


def as_json(explanations: Sequence[Explanation]) -> str:
    """One explanation as an object, several as a list."""
    found = [e.model_dump(mode="json", by_alias=True) for e in explanations]
    return json.dumps(found[0] if len(found) == 1 else found, indent=2, ensure_ascii=False) + "\n"


def as_text(explanation: Explanation, width: int = 80, color: bool = False) -> str:
    """For a terminal: plain text, with colors when asked for."""
    width = min(max(width, MIN_WIDTH), MAX_WIDTH)
    return paint(_lines(explanation, min(width, PROSE)), width, color)


def as_markdown(explanation: Explanation) -> str:
    out = [f"# {escape(_head(explanation))}", "", f"**{escape(_section(explanation))}**", ""]
    out += [escape(explanation.answer), ""]

    def add(node: Node, depth: int) -> None:
        note = f" ({escape(node.note)})" if node.note else ""
        out.append(f"{'  ' * depth}- {escape(node.text)}{note}")
        for child in node.below:
            add(child, depth + 1)

    for node in _nodes(explanation):
        add(node, 0)
    return "\n".join(out) + "\n"


def as_plain(explanation: Explanation) -> str:
    """To be read out: no tree drawn, each point with its number instead."""
    out = [_head(explanation), _section(explanation), explanation.answer]

    def add(node: Node, number: str) -> None:
        out.append(f"{number} {node.text}{f' ({node.note})' if node.note else ''}")
        for n, child in enumerate(node.below, 1):
            add(child, f"{number}{n}.")

    for n, node in enumerate(_nodes(explanation), 1):
        add(node, f"{n}.")
    return "\n".join(map(words.clean, out)) + "\n"


def _head(e: Explanation) -> str:
    return f"{'Why' if e.asked == 'why' else 'Why not'} {e.rule}: {e.title}"


def _section(e: Explanation) -> str:
    s = e.section
    name = s.title or (s.id if s.file not in ("<line>", "-") else "")
    return f"{words.clean(name)} ({s.kind})" if name else s.kind.capitalize()


def _lines(e: Explanation, width: int) -> Iterator[Line]:
    yield from (Line(t, "heading") for t in wrap(_head(e), width))
    yield from (Line(t, "dim") for t in wrap(_section(e), width))
    yield Line("")
    yield from (Line(t) for t in wrap(e.answer, width))
    for node in _nodes(e):
        yield Line("")
        yield from _drawn(node, width, "", "")


def _drawn(node: Node, width: int, first: str, rest: str) -> Iterator[Line]:
    """A node and all below it. `first` stands before its first line, `rest` before all that follows."""
    room = max(width, len(rest) + 24)
    under = f"{rest}{'|  ' if node.below else '   '}"
    for n, t in enumerate(wrap(node.text, room, first, rest)):
        yield Line(t, node.style if n == 0 else "plain")
    if node.note:
        for t in wrap(node.note, room, under, under):
            yield Line(t, "dim")
    for n, child in enumerate(node.below):
        last = n == len(node.below) - 1
        yield from _drawn(child, width, f"{rest}+- ", f"{rest}{'   ' if last else '|  '}")


def _nodes(e: Explanation) -> Iterator[Node]:
    if e.defeated_by is not None:
        yield Node(f"In its place stands {e.defeated_by.rule}: ask why of that rule for its proof.")
    for given in e.given:
        yield _given(given, e.units)
    if e.nearest is not None:
        yield _missed(e.nearest, top=True)
    if not e.given:
        yield Node(f"The rule's sources: {_cited(e.citations)}", "dim")


def _given(given: Given, system: str) -> Node:
    severity = f"{words.SEVERITY_HEADINGS[given.severity].upper()}  " if given.severity else "CONCLUSION  "
    where = ""
    if given.layers:
        numbers = ", ".join(str(i + 1) for i in given.layers)
        where = f" (layer{'s' if len(given.layers) > 1 else ''} {numbers})"
    hangs = f" It hangs under {', '.join(given.symptom_of)}." if given.symptom_of else ""
    margin = f"Margin: {given.margin}" if given.margin else ""
    steps = tuple(given.proof)
    note = f"{margin}{hangs}".strip()
    if len(steps) == 1:
        return Node(
            f"{severity}{given.says}{where}", given.severity or "heading", _points(steps[0], system), note
        )
    ways = tuple(
        Node(f"way {n}: {step.says}", "heading", _points(step, system)) for n, step in enumerate(steps, 1)
    )
    return Node(f"{severity}{given.says}{where}", given.severity or "heading", ways, note)


def _points(step: Step, system: str) -> tuple[Node, ...]:
    """What a step rests on: facts, absences, conclusions, and its sources."""
    # A place that is only referred to says nothing that the other conditions don't, and the conclusions
    # follow as points of their own.
    shown = (e for e in step.facts if not (e.dimension == "index" and not e.asked))
    nodes = [_fact(e, system) for e in shown if not (e.origin == "concluded" and step.because)]
    for below in step.because:
        nodes.append(
            Node(f"because of the conclusion: {below.says} [{below.rule}]", "heading", _points(below, system))
        )
    nodes.append(Node(f"by {step.rule}, on the authority of {_cited(step.citations)}", "dim"))
    return tuple(nodes)


def _fact(e: Evidence, system: str) -> Node:
    if e.fact == "absent":
        return Node(e.label, note=e.how)
    asked = [f"asked: {e.asked}"] if e.asked else []
    origin = [e.origin, *(t for t in (e.how, e.source) if t and t != "as written")]
    return Node(f"{e.label}: {words.value(e.value, e.dimension, system)}", note="; ".join([*asked, *origin]))


def _cited(citations: Sequence[CitationLine]) -> str:
    return "; ".join(dict.fromkeys(map(words.citation, citations))) or "no source"


def _missed(miss: NearestMiss, top: bool = False) -> Node:
    count = len(miss.failed)
    every = count + len(miss.holds)
    head = f"{miss.rule}: {count} of {every} condition{'s' if every != 1 else ''} {'fails' if count == 1 else 'fail'}"
    if not top:
        head = f"nearest to it comes {head}"
    nodes: list[Node] = []
    for f in miss.failed:
        below = tuple(_missed(m) for m in f.below)
        text = f"FAILS: {f.text}"
        note = f"It would hold if {f.change}."
        if f.fact:
            note += f" The condition: {f.condition}."
        nodes.append(Node(text, "caution", below, note))
    nodes += [Node(f"holds: {text}") for text in miss.holds]
    return Node(head, "heading", tuple(nodes))
