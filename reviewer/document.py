"""YAML documents with positions: every node knows where it stands, every scalar stays text.

Used for section files, rulesets, policies and data files alike::

    node = read_document("wall.yaml")            # or parse_document(text, "wall.yaml")
    reader = Reader()
    fields = reader.map(node, known=("title", "zone", "layers"), what="a section")
    title = reader.text(fields.get("title"))     # None when absent or wrong
    zone = reader.choice(fields.get("zone"), ("5A", "7"))
    for item in reader.list(fields.get("layers")):
        ...
    reader.finish()                              # raises one InputError with all problems, in order

Only maps with text keys, lists and scalars exist. A scalar is never converted by the YAML reader:
`no`, `1e-3` and `2027-06-30` stay as written, and the caller says what it wants. Tags, anchors,
aliases, merge keys, duplicate keys and several documents in a file are refused, as are files over
1 MiB, nesting beyond 20 levels, control characters, and tabs that indent.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Collection, Iterable
from typing import Any, Final, NoReturn

import yaml

from reviewer.errors import InputError, Mark, Problem, nearest
from reviewer.units import Span, UnitError
from reviewer.units import number as read_number
from reviewer.units import parse as read_quantity

MAX_BYTES: Final = 1 << 20
MAX_DEPTH: Final = 20

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_NOT_ALLOWED = re.compile(
    "[^\t\n\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)
_TAB_INDENT = re.compile(r"^ *\t[ \t]*(?=\S)", re.MULTILINE)
_NOT_FINITE = re.compile(r"[-+]?\.?(nan|inf|infinity)", re.IGNORECASE)
_NUMBER = re.compile(r"[-+0-9./eE \t]+", re.ASCII)
_QUOTES = ("'", '"')
_NULLS = ("", "~", "null", "Null", "NULL")


class Source:
    """A text and where it came from; makes the marks of its nodes."""

    __slots__ = ("_lines", "file", "text")

    def __init__(self, text: str, file: str):
        self.text, self.file = text, file
        self._lines: list[str] | None = None

    def mark(self, line: int, column: int, length: int) -> Mark:
        """A mark from a 0-based line and column."""
        return Mark(self.file, line + 1, column + 1, max(length, 1), self.line(line))

    def line(self, line: int) -> str:
        """A line, from 0, without its line break."""
        if self._lines is None:
            self._lines = self.text.split("\n")
        return self._lines[line] if line < len(self._lines) else ""


class Node:
    """A map, a list or a scalar, and where it stands.

    `kind` is `map`, `list` or `scalar`; `value` is a dict of name to Node (in the order of the
    text), a list of Nodes, or the scalar's text. `quoted` tells "yes" from yes.
    """

    __slots__ = ("_at", "key_nodes", "kind", "quoted", "source", "value")

    def __init__(
        self,
        kind: str,
        value: dict[str, Node] | list[Node] | str,
        source: Source,
        at: tuple[int, int, int, int],
        quoted: bool = False,
        key_nodes: dict[str, Node] | None = None,
    ):
        self.kind = kind
        self.value = value
        self.source = source
        self._at = at
        self.quoted = quoted
        self.key_nodes = key_nodes

    def __repr__(self) -> str:
        return f"Node({self.kind!r}, {self.value!r})"

    @property
    def mark(self) -> Mark:
        """Where it stands; a node of several lines is marked to the end of its first."""
        line, column, end_line, end_column = self._at
        mark = self.source.mark(line, column, 1)
        if end_line == line:
            return mark.shifted(0, end_column - column)
        return mark.shifted(0, len(mark.text.rstrip()) - column)

    @property
    def span(self) -> tuple[int, int, int, int]:
        """First line and column, last line and column just behind its end, all from 0. A map or list in lines
        of its own ends where its last scalar does."""
        line, column, end_line, end_column = self._at
        inner = self.value if self.kind == "list" else self.fields.values() if self.kind == "map" else ()
        ends = [n.span[2:] for n in inner if isinstance(n, Node)]
        flow = self.source.line(line)[column : column + 1] in ("{", "[")
        return (line, column, *max(ends)) if ends and not flow else (line, column, end_line, end_column)

    @property
    def text(self) -> str:
        """The text of a scalar."""
        assert isinstance(self.value, str)
        return self.value

    @property
    def items(self) -> list[Node]:
        """The nodes of a list."""
        assert isinstance(self.value, list)
        return self.value

    @property
    def fields(self) -> dict[str, Node]:
        """The nodes of a map by name, in the order of the text."""
        assert isinstance(self.value, dict)
        return self.value

    @property
    def empty(self) -> bool:
        """A key without a value, or a plain `~` or `null`."""
        return self.kind == "scalar" and not self.quoted and self.value in _NULLS

    def key_mark(self, name: str) -> Mark:
        """Where the key `name` of a map stands."""
        assert self.key_nodes is not None
        return self.key_nodes[name].mark

    def at(self, offset: int, length: int) -> Mark:
        """The mark of a part of a scalar's text, where the text stands in one line as it is read.

        A text that was folded or has escapes is marked as a whole.
        """
        mark = self.mark
        start = self._at[1] + self.quoted
        if mark.text.startswith(self.text, start) and self._at[0] == self._at[2]:
            return mark.shifted(self.quoted + offset, length)
        return mark

    def part(self, offset: int, length: int) -> Node:
        """A part of a scalar's text as a node of its own, spaces around it left out."""
        text = self.text[offset : offset + length]
        offset += len(text) - len(text.lstrip())
        text = text.strip()
        line, column, end_line, _ = self._at
        start = column + self.quoted
        if line == end_line and self.source.mark(line, column, 1).text.startswith(self.text, start):
            at = (line, start + offset, line, start + offset + len(text))
            return Node("scalar", text, self.source, at)
        return Node("scalar", text, self.source, self._at)


def text_node(text: str, file: str) -> Node:
    """A scalar from a text that isn't YAML, such as an argument of a command; line breaks become spaces.

    Raises InputError: too long, or characters that are not allowed.
    """
    source = Source(_decode(text, file).replace("\n", " "), file)
    _guard_characters(source)
    return Node("scalar", source.text, source, (0, 0, 0, len(source.text)))


def read_document(path: str | os.PathLike[str]) -> Node:
    """Read a YAML file as a tree of positioned nodes.

    Raises InputError: the file can't be read, or isn't a document as this module describes it.
    """
    file = os.fspath(path)
    try:
        with open(file, "rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise InputError(
            Problem(f'there is no file "{file}"', None, "the path of a YAML file", _sibling(file))
        ) from None
    except IsADirectoryError:
        raise InputError(Problem(f'"{file}" is a folder', None, "the path of a YAML file")) from None
    except PermissionError:
        raise InputError(Problem(f'"{file}" may not be read', None, "a readable file")) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(
            Problem(f"{file!r} can't be read: {reason}", None, "the path of a YAML file")
        ) from None
    return parse_document(data, file)


def parse_document(text: str | bytes, file: str = "<text>") -> Node:
    """Read a YAML text as a tree of positioned nodes; `file` is the name for messages.

    >>> node = parse_document("kind: wall\\nstories: [1, no]")
    >>> node.fields["stories"].items[1].text, node.fields["kind"].mark.column
    ('no', 7)

    Raises InputError.
    """
    source = Source(_decode(text, file), file)
    _guard_characters(source)
    builder = _Builder(source)
    try:
        node = builder.document()
    except yaml.YAMLError as error:
        raise InputError(_syntax_problem(error, source)) from None
    if builder.problems:
        raise InputError(_in_order(builder.problems))
    return node


def _decode(text: str | bytes, file: str) -> str:
    start = Mark(file, 1, 1)
    if len(text) > MAX_BYTES:
        raise InputError(Problem("the file is larger than 1 MiB", start, "a file of at most 1 MiB"))
    if isinstance(text, bytes):
        if text.startswith((b"\xff\xfe", b"\xfe\xff")):
            raise InputError(Problem("the file is UTF-16 text", start, "UTF-8 text"))
        try:
            text = text.decode("utf-8")
        except UnicodeDecodeError as error:
            before = text[: error.start].decode("utf-8", "replace")
            line, column = before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1
            shown = text.splitlines()[line - 1].decode("utf-8", "replace") if text.splitlines() else ""
            raise InputError(
                Problem(
                    f"byte 0x{text[error.start]:02x} is not UTF-8",
                    Mark(file, line, column, 1, shown),
                    "UTF-8 text",
                )
            ) from None
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")


def _guard_characters(source: Source) -> None:
    bad = _NOT_ALLOWED.search(source.text)
    if bad:
        _fail(source, bad.start(), 1, f"character U+{ord(bad[0]):04X} is not allowed", "printable text")
    tab = _TAB_INDENT.search(source.text) if "\t" in source.text else None
    if tab:
        _fail(source, tab.start(), len(tab[0]), "a tab indents this line", "spaces")


def _fail(source: Source, index: int, length: int, message: str, expected: str) -> NoReturn:
    line = source.text.count("\n", 0, index)
    column = index - (source.text.rfind("\n", 0, index) + 1)
    raise InputError(Problem(message, source.mark(line, column, length), expected))


def _sibling(file: str) -> str:
    folder, name = os.path.split(file)
    try:
        names = sorted(os.listdir(folder or "."))[:1000]
    except (OSError, ValueError):
        return ""
    hit = nearest(name, names)
    return os.path.join(folder, hit) if hit else ""


def _in_order(problems: Iterable[Problem]) -> list[Problem]:
    """By position, each only once; those without a position come first."""
    unique = dict.fromkeys(problems)
    return sorted(unique, key=lambda p: (p.mark.file, p.mark.line, p.mark.column) if p.mark else ("", 0, 0))


class _Builder:
    """Turns the parser's events into nodes. Events rather than composed nodes, because depth and
    aliases must be stopped before anything is built from them."""

    def __init__(self, source: Source):
        self.source = source
        self.problems: list[Problem] = []
        loader = _LOADER(source.text)
        self.next_event = loader.get_event

    def document(self) -> Node:
        event = self.next_event()
        while not isinstance(event, yaml.DocumentStartEvent):
            if isinstance(event, yaml.StreamEndEvent):
                self.fail_empty()
            event = self.next_event()
        node = self.node(self.next_event(), 0)
        if node.empty:
            self.fail_empty()
        while not isinstance(event, yaml.StreamEndEvent):
            event = self.next_event()
            if isinstance(event, yaml.DocumentStartEvent):
                mark = self.source.mark(event.start_mark.line, event.start_mark.column, 3)
                raise InputError(Problem("a second document starts here", mark, "one document in a file"))
        return node

    def fail_empty(self) -> NoReturn:
        raise InputError(Problem("the document is empty", Mark(self.source.file, 1, 1)))

    def node(self, event: Any, depth: int) -> Node:
        kind = type(event)
        if kind is yaml.ScalarEvent:
            start, end = event.start_mark, event.end_mark
            at = (start.line, start.column, end.line, end.column)
            if event.anchor is not None or event.tag is not None:
                self.refuse(event)
            return Node("scalar", event.value, self.source, at, event.style in _QUOTES)
        if kind is yaml.AliasEvent:
            self.refuse(event)
            mark = event.start_mark
            return Node("scalar", "alias", self.source, (mark.line, mark.column, mark.line, mark.column + 1))
        if event.anchor is not None or event.tag is not None:
            self.refuse(event)
        if depth >= MAX_DEPTH:
            mark = self.source.mark(event.start_mark.line, event.start_mark.column, 1)
            raise InputError(Problem(f"nested deeper than {MAX_DEPTH} levels", mark, "a flatter document"))
        if kind is yaml.SequenceStartEvent:
            return self.list(event, depth)
        return self.map(event, depth)

    def list(self, event: Any, depth: int) -> Node:
        items: list[Node] = []
        item = self.next_event()
        while type(item) is not yaml.SequenceEndEvent:
            items.append(self.node(item, depth + 1))
            item = self.next_event()
        return Node("list", items, self.source, _extent(event, item))

    def map(self, event: Any, depth: int) -> Node:
        fields: dict[str, Node] = {}
        keys: dict[str, Node] = {}
        item = self.next_event()
        while type(item) is not yaml.MappingEndEvent:
            key = self.node(item, depth + 1)
            value = self.node(self.next_event(), depth + 1)
            item = self.next_event()
            self.add(fields, keys, key, value)
        at = _extent(event, item)
        if len(fields) == 1 and self.source.mark(at[0], at[1], 1).text[at[1] : at[1] + 1] == "?":
            # YAML reads `- ? sheathing` as a key without a value; who writes it means the text.
            ((name, value),) = fields.items()
            if value.empty:
                return Node("scalar", f"? {name}", self.source, (*at[:2], *keys[name]._at[2:]))
        return Node("map", fields, self.source, at, False, keys)

    def add(self, fields: dict[str, Node], keys: dict[str, Node], key: Node, value: Node) -> None:
        if key.kind != "scalar":
            self.problems.append(Problem(f"a {key.kind} can't be a key", key.mark, "a word as the key"))
            return
        name = key.text
        if name == "<<" and not key.quoted:
            self.problems.append(Problem("merge keys are not allowed", key.mark, "the keys written out"))
        elif key.empty:
            self.problems.append(Problem("a key is missing", key.mark, 'a word before the ":"'))
        elif name in fields:
            first = keys[name].mark.line
            self.problems.append(
                Problem(f'"{name}" is given twice, first in line {first}', key.mark, "each key once")
            )
        else:
            fields[name] = value
            keys[name] = key

    def refuse(self, event: Any) -> None:
        line, column = event.start_mark.line, event.start_mark.column
        tag = getattr(event, "tag", None)
        if isinstance(event, yaml.AliasEvent):
            what, expected = f'the alias "*{event.anchor}" is', "the text written out"
        elif event.anchor is not None:
            what, expected = f'the anchor "&{event.anchor}" is', "the text without an anchor"
        else:
            short = str(tag).replace("tag:yaml.org,2002:", "!!")
            what, expected = f'the tag "{short}" is', "the text without a tag"
        self.problems.append(Problem(f"{what} not allowed", self.source.mark(line, column, 1), expected))


def _extent(start: Any, end: Any) -> tuple[int, int, int, int]:
    first, last = start.start_mark, end.end_mark
    return (first.line, first.column, last.line, last.column)


_INCH_MARK = re.compile(r"(?<=[\d/])\"\s*$")
_NO_INCH_MARK = '"in" for inches, or a text without quotes around it'
_CLOSE = "is not closed, or a comma is missing in it"
_FIT = "lines that line up, and text in quotes wholly or not at all"
_SYNTAX = (
    (("mapping values are not",), 'a ": " where no key can stand', 'quotes around a text with ": "', False),
    (("expected ',' or ']'",), f"this list {_CLOSE}", 'a "," or "]"', True),
    (("expected ',' or '}'",), f"this map {_CLOSE}", 'a "," or "}"', True),
    (
        ("found unexpected end of stream", "found unexpected document indicator"),
        "this quoted text is not closed",
        "a closing quote",
        True,
    ),
    (("expected '-'",), "this line is not an item of the list above it", 'a "- " that lines up', False),
    (
        ("expected <block end>, but found", "did not find expected key"),
        "this does not fit what stands before it",
        _FIT,
        False,
    ),
    (("could not find expected ':'",), 'a key without a ":"', 'a ":" after the key', True),
    (
        ("found character that cannot start any token", "found character '"),
        "a plain text can't start with this character",
        "quotes around the text",
        False,
    ),
    (
        ("unknown escape",),
        "an unknown escape in a quoted text",
        "single quotes, or the backslash twice",
        False,
    ),
    (("sequence entries are not",), 'a list item "- " can\'t stand here', "it in a line of its own", False),
    (("node content",), "a value is missing here", "a text, a list or a map", False),
    (("maximum nesting depth",), f"nested deeper than {MAX_DEPTH} levels", "a flatter document", True),
    (("incompatible YAML",), "this version of YAML is not read", "no %YAML line, or version 1.2", False),
    (("<document start>",), "text after the end of the document", "one document in a file", False),
)
"""What the YAML parser says, what we say, what was expected, and whether the start of the construct
is the better place to point to."""


def _syntax_problem(error: yaml.YAMLError, source: Source) -> Problem:
    said = str(getattr(error, "problem", None) or getattr(error, "reason", None) or "unreadable")
    at: Any = getattr(error, "problem_mark", None)
    message, expected = f"this is not valid YAML: {said}", ""
    for parts, meaning, wanted, at_start in _SYNTAX:
        if any(part in said for part in parts):
            message, expected = meaning, wanted
            at = (getattr(error, "context_mark", None) if at_start else at) or at
            break
    if at is None:
        return Problem(message, Mark(source.file, 1, 1), expected)
    mark = source.mark(at.line, at.column, 1)
    inch = _INCH_MARK.search(mark.text[: at.column])
    if inch:
        return Problem(
            "the inch mark ends this quoted text", mark.shifted(inch.start() - at.column, 1), _NO_INCH_MARK
        )
    if not mark.text.strip() and at.line:
        # The parser noticed at the end of the text: show the last line that has any.
        above = source.text.split("\n")[: at.line + 1]
        while len(above) > 1 and not above[-1].strip():
            above.pop()
        mark = source.mark(len(above) - 1, len(above[-1].rstrip()), 1)
    return Problem(message, mark, expected)


class Reader:
    """Takes values out of nodes and gathers what is wrong with them.

    Every accessor takes a node or None (a key that isn't there) and returns None, or an empty
    collection, when the node is absent or wrong; in the second case a located problem is kept.
    `finish` raises them all at once. `what` is the name of the thing in messages; by default the
    messages speak of "this".
    """

    __slots__ = ("problems",)

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def problem(self, at: Node | Mark | None, message: str, expected: str = "", near: str = "") -> None:
        """Keep a problem found by the caller."""
        self.problems.append(Problem(message, at.mark if isinstance(at, Node) else at, expected, near))

    def finish(self) -> None:
        """Raise InputError with all problems in the order of the text, if there are any."""
        if self.problems:
            raise InputError(_in_order(self.problems))

    def text(self, node: Node | None, what: str = "", limit: int = 10_000) -> str | None:
        """A text that is not empty, spaces around it stripped, at most `limit` characters long.

        >>> Reader().text(parse_document("a: ' no '").fields["a"])
        'no'
        """
        scalar = self._scalar(node, what, "a text")
        if scalar is None:
            return None
        text = scalar.strip()
        if not text:
            self.problem(node, f"{_subject(what)} is empty", "a text")
            return None
        if len(text) > limit:
            self.problem(node, f"{_subject(what)} is longer than {limit} characters", "a shorter text")
            return None
        if any(c not in "\n\t" and unicodedata.category(c) == "Cc" for c in text):
            # Written as an escape in quotes: it would steer the terminal of whoever reads the text.
            self.problem(
                node, f"{_subject(what)} holds a control character", "a text of printable characters"
            )
            return None
        return text

    def choice(self, node: Node | None, words: Collection[str], what: str = "") -> str | None:
        """One of `words`, whatever the case and the spaces; returned as in `words`.

        >>> Reader().choice(parse_document("a: Foundation  WALL").fields["a"], ("wall", "foundation wall"))
        'foundation wall'
        """
        expected = one_of(words)
        scalar = self._scalar(node, what, expected)
        if scalar is None:
            return None
        if scalar in words:
            return scalar
        wanted = " ".join(scalar.split()).casefold()
        for word in words:
            if word.casefold() == wanted:
                return word
        self.problem(node, f'{_subject(what)} can\'t be "{_short(scalar)}"', expected, nearest(wanted, words))
        return None

    def flag(self, node: Node | None, what: str = "") -> bool | None:
        """`yes` or `no`; `true` and `false` are read as well."""
        scalar = self._scalar(node, what, "yes or no")
        if scalar is None:
            return None
        word = scalar.strip().casefold()
        if word in ("yes", "true"):
            return True
        if word in ("no", "false"):
            return False
        self.problem(node, f'"{_short(scalar)}" is neither yes nor no', "yes or no")
        return None

    def number(
        self, node: Node | None, what: str = "", low: float = -1e300, high: float = 1e300
    ) -> float | None:
        """A bare number from `low` to `high`, fractions included (`7/16`); NaN and infinities are refused.

        >>> Reader().number(parse_document("a: 1e-3").fields["a"])
        0.001
        """
        scalar = self._scalar(node, what, "a number")
        if scalar is None:
            return None
        try:
            if not _NUMBER.fullmatch(scalar):
                raise ValueError(scalar)
            value = read_number(scalar)
        except (ValueError, OverflowError):
            why = "a finite number" if _NOT_FINITE.fullmatch(scalar.strip()) else "a number"
            self.problem(node, f'"{_short(scalar)}" is not {why}', "a number without a unit")
            return None
        if not low <= value <= high:
            self.problem(node, f'"{_short(scalar)}" is out of range', f"a number from {low:g} to {high:g}")
            return None
        return value

    def integer(
        self, node: Node | None, what: str = "", low: int = -(10**9), high: int = 10**9
    ) -> int | None:
        """A whole number from `low` to `high`."""
        value = self.number(node, what, low, high)
        if value is None:
            return None
        if value != int(value):
            self.problem(
                node, f'"{_short(node.text if node else "")}" is not a whole number', "a whole number"
            )
            return None
        return int(value)

    def quantity(self, node: Node | None, dimension: str, what: str = "") -> Span | None:
        """A quantity or a range of it, in SI (see `reviewer.units.parse`).

        >>> Reader().quantity(parse_document("a: 1/2 in").fields["a"], "length").low
        0.0127
        """
        scalar = self._scalar(node, what, f"a {dimension} with its unit")
        if scalar is None or node is None:
            return None
        return self.quantity_in(scalar, dimension, node)

    def quantity_in(self, text: str, dimension: str, at: Node | Mark) -> Span | None:
        """As `quantity`, of a text that is a part of a node."""
        try:
            return read_quantity(text, dimension)
        except UnitError as error:
            self.problem(at, error.message, error.expected, error.nearest)
        return None

    def list(self, node: Node | None, what: str = "") -> list[Node]:
        """The items of a list."""
        if node is None:
            return []
        if node.kind != "list":
            self.problem(node, f"{_subject(what)} is {_found(node)}", 'a list, "- …" a line or "[…, …]"')
            return []
        return node.items

    def texts(self, node: Node | None, what: str = "") -> list[str]:
        """A list of texts; a single text stands for a list of one."""
        if node is not None and node.kind == "scalar" and not node.empty:
            one = self.text(node, what)
            return [] if one is None else [one]
        return [t for t in (self.text(item, what) for item in self.list(node, what)) if t is not None]

    def map(
        self,
        node: Node | None,
        known: Collection[str] | None = None,
        what: str = "",
        required: Collection[str] = (),
    ) -> dict[str, Node]:
        """The fields of a map. Keys outside `known` (None: any key goes) are problems and left out,
        as are missing `required` keys and keys without a value."""
        if node is None:
            return {}
        if node.kind != "map":
            self.problem(
                node,
                f"{_subject(what)} is {_found(node)}",
                f"a map with the keys {_listed(required or known or ())}",
            )
            return {}
        fields: dict[str, Node] = {}
        for name, value in node.fields.items():
            if known is not None and name not in known:
                of = f" of {what}" if what else ""
                self.problem(
                    node.key_mark(name),
                    f'"{_short(name)}" is not a key{of}',
                    one_of(known),
                    nearest(" ".join(name.split()), known),
                )
            elif value.empty:
                self.problem(node.key_mark(name), f'"{_short(name)}" has no value', "a value, or no such key")
            else:
                fields[name] = value
        for name in required:
            if name not in node.fields:
                self.problem(node, f'{_subject(what)} has no "{name}"', f'the key "{name}"')
        return fields

    def _scalar(self, node: Node | None, what: str, expected: str) -> str | None:
        if node is None:
            return None
        if node.kind != "scalar" or node.empty:
            self.problem(node, f"{_subject(what)} is {_found(node)}", expected)
            return None
        return node.text


def one_of(words: Iterable[str]) -> str:
    """How a choice is put in a message.

    >>> one_of(["wall", "roof", "slab"])
    'wall, roof or slab'
    """
    listed = [str(w) for w in words]
    return " or ".join(filter(None, (", ".join(listed[:-1]), listed[-1]))) if listed else "nothing"


def _listed(words: Collection[str]) -> str:
    return ", ".join(words)


def _subject(what: str) -> str:
    return what or "this"


def _found(node: Node) -> str:
    return {"map": "a map", "list": "a list"}.get(
        node.kind, "without a value" if node.empty else "a plain text"
    )


def _short(text: str) -> str:
    one_line = " ".join(text.split())
    return one_line if len(one_line) <= 60 else one_line[:57] + "…"
