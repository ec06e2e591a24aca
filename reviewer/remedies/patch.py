"""The section file with changes made: comments, order and everything else in it stay as they are."""

from __future__ import annotations

import json
from dataclasses import replace

from reviewer.document import Node, parse_document
from reviewer.errors import InputError, Problem
from reviewer.model.parse import parse_section
from reviewer.model.section import Section
from reviewer.model.write import same_layer, yaml_scalar
from reviewer.remedies.changes import Draft, Entry, Setting, section_of

_Edit = tuple[int, int, str]
"""Replace the text from one offset to another."""


class _File:
    """A file's text with its lines, and edits to it that don't overlap."""

    def __init__(self, text: str):
        self.text = text
        self.starts = [0]
        for line in text.split("\n"):
            self.starts.append(self.starts[-1] + len(line) + 1)
        self.edits: list[_Edit] = []

    def offset(self, line: int, column: int) -> int:
        return self.starts[line] + column

    def line_end(self, line: int) -> int:
        """Behind the line's break, or at the end of the text."""
        return min(self.starts[line + 1], len(self.text))

    def span(self, node: Node) -> tuple[int, int]:
        line, column, end_line, end_column = node.span
        return self.offset(line, column), self.offset(end_line, end_column)

    def edit(self, start: int, end: int, text: str) -> None:
        self.edits.append((start, end, text))

    def lines_after(self, line: int, lines: list[str]) -> None:
        """Whole lines behind a line."""
        end = self.line_end(line)
        broken = "" if self.text[:end].endswith("\n") else "\n"
        self.edit(end, end, broken + "".join(f"{x}\n" for x in lines))

    def lines_before(self, line: int, lines: list[str]) -> None:
        start = self.starts[line]
        self.edit(start, start, "".join(f"{x}\n" for x in lines))

    def done(self) -> str:
        out = self.text
        for _, (start, end, text) in sorted(enumerate(self.edits), key=lambda e: (-e[1][0], -e[1][1], -e[0])):
            out = out[:start] + text + out[end:]
        return out


def patch(text: str, draft: Draft) -> str:
    """The text of the original's section file with the changes of the draft made in it.

    >>> from reviewer.remedies.changes import apply, draft_of
    >>> text = "kind: wall\\nlayers:\\n  - latex paint  # 2 coats\\n  - 1/2 in gypsum board\\n"
    >>> d = apply({"insert": "house wrap", "outside of": 1}, draft_of(parse_section(text)))
    >>> print(patch(text, d), end="")
    kind: wall
    layers:
      - latex paint  # 2 coats
      - 1/2 in gypsum board
      - house wrap

    Raises InputError: a file in which the changes can't be made without touching the rest.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    wanted = draft
    if draft.turned:
        text, draft = _turned(text, draft)
    root = parse_document(text, draft.original.file)
    file = _File(text)
    _layers(file, root.fields["layers"], draft)
    for part in dict.fromkeys(s.part for s in draft.settings):
        _settings(file, root, part, [s for s in draft.settings if s.part == part])
    out = file.done()
    if not _agrees(parse_section(out, draft.original.file), section_of(wanted)):
        raise InputError(
            Problem("the changes can't be written into this file", None, "layers as a list, one in a line")
        )
    return out


def _turned(text: str, draft: Draft) -> tuple[str, Draft]:
    """The text with its layers listed the other way round, each with its comments, and the draft of that."""
    node = parse_document(text, draft.original.file).fields["layers"]
    last = len(draft.original.layers) - 1
    file = _File(text)
    if node.kind == "scalar":
        words = " | ".join(x.text for x in reversed(draft.original.layers))
        file.edit(*file.span(node), json.dumps(words, ensure_ascii=False))
    elif len(node.items) != last + 1:
        raise InputError(Problem("the list can't be turned round in this file", None, "one layer in a line"))
    elif text[file.span(node)[0]] == "[":
        spans = [file.span(item) for item in node.items]
        for (start, end), (a, b) in zip(spans, reversed(spans), strict=True):
            file.edit(start, end, text[a:b])
    else:
        ends = [file.line_end(item.span[2]) for item in node.items]
        starts = [file.starts[node.items[0].span[0]], *ends[:-1]]
        blocks = [
            text[a:b] if text[:b].endswith("\n") else text[a:b] + "\n"
            for a, b in zip(starts, ends, strict=True)
        ]
        file.edit(starts[0], ends[-1], "".join(reversed(blocks)))
    turned = file.done()
    original = parse_section(turned, draft.original.file)
    entries = tuple(replace(e, origin=None if e.origin is None else last - e.origin) for e in draft.entries)
    return turned, replace(draft, original=original, entries=entries, turned=False)


def _agrees(a: Section, b: Section) -> bool:
    bare = [replace(s, layers=(), marks={}, place=None, indoor=None, waivers=()) for s in (a, b)]
    rooms = [s.indoor and (s.indoor.name, s.indoor.temperature, s.indoor.humidity) for s in (a, b)]
    return (
        bare[0] == bare[1]
        and rooms[0] == rooms[1]
        and len(a.layers) == len(b.layers)
        and all(map(same_layer, a.layers, b.layers))
    )


def _layers(file: _File, node: Node, draft: Draft) -> None:
    original = draft.original
    if node.kind == "scalar":
        if draft.entries != tuple(Entry(x.text, x.index) for x in original.layers):
            absent = [f"no {what}" for what in original.absent]
            words = " | ".join([*(e.text for e in draft.entries), *absent])
            file.edit(*file.span(node), json.dumps(words, ensure_ascii=False))
        return
    items = [(item, [x.index for x in original.layers if x.mark == item.mark]) for item in node.items]
    groups: dict[int, list[Entry]] = {n: [] for n in range(-1, len(items))}
    at = -1
    for e in draft.entries:
        if e.origin is not None:
            at = next(n for n, (_, own) in enumerate(items) if e.origin in own)
        groups[at].append(e)
    flow = file.text[file.span(node)[0]] == "["
    before = [e.text for e in groups[-1]]
    if before and items:
        _insert(file, items[0][0], before, flow, first=True)
    gone = 0
    for n, (item, own) in enumerate(items):
        entries = groups[n]
        kept = [e for e in entries if e.origin is not None]
        whole = [e.origin for e in kept] == own and not any(e.sets or e.replaced for e in kept)
        tail = entries[len(kept) :] if entries[: len(kept)] == kept else None
        if whole and tail is not None:
            _insert(file, item, [e.text for e in tail], flow)
        elif len(own) == 1 and kept and tail is not None:
            _rewrite(file, item, kept[0], flow)
            _insert(file, item, [e.text for e in tail], flow)
        elif entries:
            file.edit(*file.span(item), _scalar(entries[0].text, flow))
            _insert(file, item, [e.text for e in entries[1:]], flow)
        else:
            _remove(file, items, n, flow, gone)
            gone += 1


def _scalar(text: str, flow: bool) -> str:
    return json.dumps(text, ensure_ascii=False) if flow else yaml_scalar(text)


def _dash(file: _File, item: Node) -> str:
    line, column, _, _ = item.span
    return file.text[file.starts[line] : file.offset(line, column)]


def _insert(file: _File, item: Node, texts: list[str], flow: bool, first: bool = False) -> None:
    if not texts:
        return
    start, end = file.span(item)
    if flow:
        words = ", ".join(_scalar(t, True) for t in texts)
        file.edit(*((start, start, f"{words}, ") if first else (end, end, f", {words}")))
        return
    lines = [f"{_dash(file, item)}{_scalar(t, False)}" for t in texts]
    if first:
        file.lines_before(item.span[0], lines)
    else:
        file.lines_after(item.span[2], lines)


def _remove(file: _File, items: list[tuple[Node, list[int]]], n: int, flow: bool, gone: int) -> None:
    item = items[n][0]
    if not flow:
        file.edit(file.starts[item.span[0]], file.line_end(item.span[2]), "")
    elif n + 1 < len(items):
        file.edit(file.span(item)[0], file.span(items[n + 1][0])[0], "")
    else:
        previous = items[n - 1][0] if n > gone else None
        start = file.span(previous)[1] if previous else file.span(item)[0]
        file.edit(start, file.span(item)[1], "")


def _rewrite(file: _File, item: Node, entry: Entry, flow: bool) -> None:
    if item.kind == "map" and entry.sets and not entry.replaced:
        for key, value in entry.sets:
            _set_key(file, item, key, value)
        return
    file.edit(*file.span(item), _scalar(entry.text, flow))


def _set_key(file: _File, node: Node, key: str, value: str) -> None:
    """A key of a map set, at its place or behind the others."""
    flow = file.text[file.span(node)[0]] == "{"
    if key in node.fields:
        old = node.fields[key]
        file.edit(*file.span(old), _scalar(value, flow or file.text[file.span(old)[0]] in "'\""))
    elif flow:
        end = file.span(node)[1] - 1
        file.edit(end, end, f"{', ' if node.fields else ''}{key}: {json.dumps(value, ensure_ascii=False)}")
    else:
        line, column, last, _ = node.span
        del line
        file.lines_after(last, [f"{' ' * column}{key}: {yaml_scalar(value)}"])


def _settings(file: _File, root: Node, part: str, settings: list[Setting]) -> None:
    said = ", ".join(f"{s.key}: {json.dumps(s.value, ensure_ascii=False)}" for s in settings)
    node = root.fields.get(part)
    if part == "section":
        for s in settings:
            _set_key(file, root, s.key, s.value)
    elif node is None:
        if file.text[file.span(root)[0]] == "{":
            end = file.text.rindex("}")
            file.edit(end, end, f", {part}: {{{said}}}")
        else:
            line = root.key_mark("layers").line - 1
            file.lines_before(line, [f"{part}: {{{said}}}"])
    elif node.kind == "scalar":
        condition = json.dumps(node.text, ensure_ascii=False)
        file.edit(*file.span(node), f"{{condition: {condition}, {said}}}")
    else:
        for s in settings:
            _set_key(file, node, s.key, s.value)
