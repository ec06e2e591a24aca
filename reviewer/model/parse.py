"""Section files, and sections in one line, to the typed section; with everything that is wrong in them.

`load_section` reads a file, `parse_section` a text or a node, `section_from_line` layers with ` | `
between them. All problems of an input are reported together, in its order.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import PurePath
from typing import Any, Final

from reviewer.document import Node, Reader, one_of, parse_document, read_document, text_node
from reviewer.errors import Mark, nearest
from reviewer.library.types import ROLES, Material
from reviewer.model import schema
from reviewer.model.lexicon import Lexicon, library_lexicon, normalize
from reviewer.model.schema import LAYER, LOCATIONS, MAX_LAYERS, SECTION, Key
from reviewer.model.section import (
    ORIENTATIONS,
    Building,
    Expect,
    Framing,
    Indoor,
    Layer,
    Place,
    Section,
    Waiver,
)
from reviewer.model.shorthand import Words, complete, read_words
from reviewer.units import Span, number, show

_TWELVE: Final = re.compile(r"(?P<numbers>[-+]?[\d.]+(?:[,\s]+[-+]?[\d.]+){11})\s*(?P<unit>[^\d\s].*)")
_AIR_CHANGES: Final = re.compile(
    r"(?P<n>\d+(?:\.\d+)?)\s*(?:ach\s*50|ach\s+at\s+50\s*pa|ach\s*@\s*50\s*pa|/h\s+at\s+50\s*pa)", re.I
)
_SLOPE: Final = re.compile(
    r"(?P<rise>\d+(?:\.\d+)?(?:[ -]\d+/\d+|/\d+)?)\s*(?::|in|per)\s*(?P<run>\d+(?:\.\d+)?)"
)
_PER_FOOT: Final = re.compile(r"(?P<rise>[\d/. -]+?)\s*(?:in|in\.|inch|\")\s*(?:per|/)\s*(?:ft|foot)\.?")
_ANGLE: Final = re.compile(r"(?P<n>\d+(?:\.\d+)?)\s*(?P<unit>%|deg(?:rees?)?|°)")
_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_PAIRED: Final = re.compile(r"(?P<first>.+?)\s+(?P<state>dry|wet)(?:[\s-]cup)?", re.I)
_TAIL: Final = re.compile(r";\s*(?P<key>[A-Za-z_ ]+?)\s*=\s*(?P<value>(?:[^;]|;;)*)")
_STEEPEST: Final = 10.0
_DEEPEST: Final = 100.0
_NO_MARK: Final = Mark("", 1, 1)

_Fields = dict[str, Any]


def load_section(path: str | os.PathLike[str], lexicon: Lexicon | None = None) -> Section:
    """Read a section file.

    Raises InputError with every problem found.
    """
    return parse_section(read_document(path), os.fspath(path), lexicon)


def parse_section(
    source: Node | str | bytes, file: str = "<text>", lexicon: Lexicon | None = None
) -> Section:
    """Read a section from a YAML text or a node of one; `file` is the name for messages and for the id.

    >>> section = parse_section("kind: wall\\nlayers: latex paint | 1/2 in gypsum board")
    >>> [layer.name for layer in section.layers]
    ['latex paint', 'gypsum board']

    Raises InputError with every problem found.
    """
    node = source if isinstance(source, Node) else parse_document(source, file)
    reader = _SectionReader(lexicon)
    section = reader.section(node, file)
    reader.finish()
    assert section is not None
    return section


def section_from_line(
    text: str,
    *,
    kind: str | None = None,
    place: str | None = None,
    zone: str | None = None,
    indoor: str | None = None,
    title: str = "",
    id: str = "section",
    file: str = "<line>",
    building: Building | None = None,
    known: Mapping[str, str] | None = None,
    lexicon: Lexicon | None = None,
) -> Section:
    """A section from layers in one line, from the room outwards, ` | ` between them.

    >>> section = section_from_line("latex paint | 1/2 in gypsum board | ? sheathing", kind="wall")
    >>> section.layers[2].name, section.layers[1].mark.column
    ('unknown sheathing', 15)

    Raises InputError with every problem found.
    """
    reader = _SectionReader(lexicon)
    line = text_node(text, file)
    layers, absent = reader.layers(line)
    given = {"kind": kind, "place": place, "zone": zone, "indoor": indoor}
    nodes = {name: text_node(value, f"<{name}>") for name, value in given.items() if value is not None}
    if kind is None:
        reader.problem(line, "the kind of section is not given", one_of(SECTION["kind"].words))
    if place is not None and zone is not None:
        reader.problem(nodes["zone"], "both a place and a zone are given", "one of the two")
    chosen = reader.choice(nodes.get("kind"), SECTION["kind"].words, "kind of section")
    where = reader.place(nodes)
    inside = reader.indoor(nodes.get("indoor"), SECTION["indoor"])
    reader.check_order(layers)
    reader.finish()
    assert chosen is not None
    return Section(
        id=id,
        title=title,
        kind=chosen,
        place=where,
        indoor=inside,
        cooling=None,
        rain=None,
        faces=None,
        slope=None,
        depth_below_grade=None,
        building=building or Building(),
        layers=tuple(layers),
        waivers=(),
        known=dict(known or {}),
        zones_claimed=(),
        file=file,
        absent=absent,
    )


def parse_layer(text: str, index: int = 0, lexicon: Lexicon | None = None) -> Layer:
    """One layer from its one-string form.

    >>> parse_layer("6 mil polyethylene, sealed").joints
    'sealed'

    Raises InputError; a text that stands for no layer or for several is a problem, too.
    """
    reader = _SectionReader(lexicon)
    node = text_node(text, "<layer>")
    layers, _ = reader.layer(node, index)
    if len(layers) != 1:
        reader.problem(
            node, f"{len(layers)} layers in this text" if layers else "no layer in this text", "one layer"
        )
    reader.finish()
    return layers[0]


class _SectionReader(Reader):
    """Reads nodes into the model by the table of keys in `schema`."""

    __slots__ = ("lexicon",)

    def __init__(self, lexicon: Lexicon | None):
        super().__init__()
        self.lexicon = lexicon

    # -- the section -----------------------------------------------------------------------------

    def section(self, node: Node, file: str) -> Section | None:
        fields = self.map(node, SECTION, "a section", ("kind", "layers"))
        if node.kind != "map":
            return None
        kind = self.choice(fields.get("kind"), SECTION["kind"].words, "kind of section")
        layers, absent = self.layers(fields.get("layers"))
        exposure = self.values(fields.get("exposure"), SECTION["exposure"])
        section = Section(
            id=self.id(fields.get("id")) or PurePath(file).stem or "section",
            title=self.text(fields.get("title"), "the title") or "",
            kind=kind or "",
            place=self.place(fields),
            indoor=self.indoor(fields.get("indoor"), SECTION["indoor"]),
            cooling=self.flag(fields.get("cooling"), "cooling"),
            rain=exposure.get("rain"),
            faces=exposure.get("faces"),
            slope=self.slope(fields.get("slope")),
            depth_below_grade=self.one_value(fields.get("depth below grade"), "length"),
            building=Building(**self.values(fields.get("building"), SECTION["building"])),
            layers=tuple(layers),
            waivers=self.waivers(fields.get("waivers")),
            known=self.values(fields.get("known"), SECTION["known"]),
            zones_claimed=self.zones(fields.get("zones")),
            file=file,
            marks={name: node.key_mark(name) for name in fields},
            absent=absent,
            notes=self.text(fields.get("notes"), "the notes") or "",
            expect=self.expect(fields.get("expect")),
        )
        self.check_order(layers)
        if kind and kind != "roof" and "slope" in fields:
            self.problem(node.key_mark("slope"), f"a {kind} has no slope", "kind: roof")
        if kind in ("wall", "roof") and "depth below grade" in fields:
            at = node.key_mark("depth below grade")
            self.problem(at, f"a {kind} does not lie below grade", "kind: foundation wall, slab or floor")
        if section.depth_below_grade is not None and section.depth_below_grade > _DEEPEST:
            self.problem(fields["depth below grade"], "deeper than 100 m below grade", "at most 100 m")
        return section

    def expect(self, node: Node | None) -> Expect | None:
        if node is None:
            return None
        fields = self.map(node, SECTION["expect"].keys, "`expect`")
        disposition = self.choice(fields.get("disposition"), schema.DISPOSITIONS, "disposition")
        rules = {name: tuple(self.rules(fields.get(name))) for name in ("findings", "never")}
        return Expect(disposition, rules["findings"], rules["never"])

    def rules(self, node: Node | None) -> list[str]:
        texts = []
        for item in self.list(node, "a list of rules"):
            text = self.text(item, "a rule")
            if text is not None and not re.match(schema.RULE_ID, text):
                self.problem(
                    item, f'"{text}" is not the id of a rule', "such as water-control/no-drainage-gap"
                )
            elif text is not None:
                texts.append(text)
        return texts

    def values(self, node: Node | None, key: Key) -> _Fields:
        """The fields of a map whose keys are all of the simple forms."""
        fields = self.map(node, key.keys, key.about)
        read = {name: self.value(value, key.keys[name], name) for name, value in fields.items()}
        return {name: value for name, value in read.items() if value is not None}

    def value(self, node: Node, key: Key, name: str) -> Any:
        match key.form:
            case "text":
                return self.text(node, f"`{name}`")
            case "choice":
                return self.choice(node, key.words, name)
            case "integer":
                return self.integer(node, f"`{name}`", key.low, key.high)
            case "quantity":
                return self.quantity(node, key.dimension, f"`{name}`")
            case "value":
                return self.one_value(node, key.dimension)
            case "orientation":
                return self.orientation(node)
            case "code":
                return self.code(node)
            case "air changes":
                return self.air_changes(node)
            case _:
                raise AssertionError(key.form)

    def id(self, node: Node | None) -> str | None:
        text = self.text(node, "the id")
        if text is not None and not re.match(schema.SECTION_ID, text):
            self.problem(
                node, f'"{text}" can\'t be an id', "letters, digits and . _ / -, at most 100 of them"
            )
        return text

    def place(self, fields: Mapping[str, Node]) -> Place | None:
        given = [name for name in LOCATIONS if name in fields]
        if not given:
            return None
        for name in given[1:]:
            expected = "one of them; a zone beside a place goes into it: place: {name: …, zone: …}"
            self.problem(fields[name], f"both `{given[0]}` and `{name}` are given", expected)
        at = fields[given[0]]
        name = file = zone = override = monthly = None
        if given[0] == "zone":
            zone = self.zone(at)
        elif given[0] == "monthly":
            monthly, override = self.monthly(at)
        else:
            key = SECTION[given[0]]
            (main, *_) = key.required
            if at.kind == "map":
                inner = self.map(at, key.keys, f"`{given[0]}`", key.required)
                text, override = self.text(inner.get(main), f"`{main}`"), self.zone(inner.get("zone"))
            else:
                text = self.text(at, f"`{given[0]}`")
            name, file = (text, None) if given[0] == "place" else (None, text)
        return Place(name, zone, file, monthly, at.mark, override)

    def zone(self, node: Node | None) -> str | None:
        return self.choice(node, schema.ZONES, "climate zone")

    def zones(self, node: Node | None) -> tuple[str, ...]:
        if node is None:
            return ()
        items = [node] if node.kind == "scalar" else self.list(node, "`zones`")
        return tuple(z for z in map(self.zone, items) if z is not None)

    def monthly(self, node: Node) -> tuple[dict[str, tuple[float, ...]], str | None]:
        key = SECTION["monthly"]
        fields = self.map(node, key.keys, "`monthly`", key.required)
        if node.kind == "map" and ("vapor pressure" in fields) == ("humidity" in fields):
            self.problem(
                node, "the moisture of the outdoor air is not given once", "either vapor pressure or humidity"
            )
        months: dict[str, tuple[float, ...]] = {}
        for name, value in fields.items():
            if key.keys[name].form == "twelve":
                read = self.months(value, key.keys[name].dimension, f"`{name}`", (12,))
                if read is not None:
                    months[name] = (
                        tuple(round(v * 1000, 9) for v in read) if name == "precipitation" else read
                    )
        return months, self.zone(fields.get("zone"))

    def months(
        self, node: Node | None, dimension: str, what: str, counts: tuple[int, ...]
    ) -> tuple[float, ...] | None:
        """Twelve values from January on, as a list or as numbers with one unit; or one value."""
        if node is None:
            return None
        if node.kind == "scalar":
            m = _TWELVE.fullmatch(node.text.strip())
            if m:
                texts = [f"{n} {m['unit']}" for n in re.split(r"[,\s]+", m["numbers"])]
                spans = [self.quantity_in(t, dimension, node) for t in texts]
            elif 1 in counts:
                spans = [self.quantity(node, dimension, what)]
            else:
                self.problem(
                    node, f"{what} is not twelve values", "twelve numbers and their unit, January first"
                )
                return None
        else:
            items = self.list(node, what)
            if node.kind == "list" and len(items) not in counts:
                self.problem(node, f"{what} has {len(items)} values", "twelve, January first")
                return None
            spans = [self.quantity(item, dimension, what) for item in items]
        if any(span is not None and not span.exact for span in spans):
            self.problem(node, f"{what} is a range", "a single value")
        values = tuple(span.low for span in spans if span is not None and span.exact)
        return values if len(values) == len(spans) and values else None

    def indoor(self, node: Node | None, key: Key) -> Indoor | None:
        if node is None:
            return None
        if node.kind != "map":
            name = self.text(node, "the indoor condition", 100)
            return Indoor(name and " ".join(name.casefold().split()), None, None, node.mark)
        fields = self.map(node, key.keys, "`indoor`")
        if not fields and not node.fields:
            self.problem(node, "the indoor condition is empty", "a name, or temperature and humidity")
        name = self.text(fields.get("condition"), "`condition`", 100)
        temperature, humidity = (
            self.months(fields.get(n), key.keys[n].dimension, f"the indoor {n}", (1, 12))
            for n in ("temperature", "humidity")
        )
        if temperature and not all(-40 <= t <= 60 for t in temperature):
            self.problem(fields["temperature"], "an indoor temperature out of range", "-40 to 60 °C")
        return Indoor(name and " ".join(name.casefold().split()), temperature, humidity, node.mark)

    def slope(self, node: Node | None) -> float | None:
        """Rise over run, of `4:12`, `1/4 in per ft`, `2 %`, `18 deg` or `flat`."""
        text = self.text(node, "the slope")
        if text is None:
            return None
        import math

        value = None
        lowered = text.casefold()
        try:
            if lowered == "flat":
                value = 0.0
            elif m := _SLOPE.fullmatch(lowered):
                value = number(m["rise"]) / number(m["run"])
            elif m := _PER_FOOT.fullmatch(lowered):
                value = number(m["rise"]) / 12
            elif m := _ANGLE.fullmatch(lowered):
                n = number(m["n"])
                value = (
                    n / 100 if m["unit"] == "%" else math.tan(math.radians(n)) if n < 85 else _STEEPEST + 1
                )
        except (ValueError, ZeroDivisionError):
            value = None
        if value is None or value > _STEEPEST:
            self.problem(
                node, f'"{text}" is not a slope', '"4:12", "1/4 in per ft", "2 %", "18 deg" or "flat"'
            )
            return None
        return value

    def one_value(self, node: Node | None, dimension: str) -> float | None:
        span = self.quantity(node, dimension)
        if span is None:
            return None
        if not span.exact:
            self.problem(node, "a range can't stand here", "a single value")
            return None
        return span.low

    def orientation(self, node: Node) -> str | None:
        text = self.text(node, "the direction")
        if text is None:
            return None
        words = re.sub(r"[\s-]+", "", text.casefold())
        for name in ORIENTATIONS:
            initials = "".join(w[0] for w in name.split("-"))
            if words in (name.replace("-", ""), initials):
                return name
        near = nearest(text, ORIENTATIONS)
        self.problem(node, f'"{text}" is not a direction', one_of(ORIENTATIONS), near)
        return None

    def code(self, node: Node) -> str | None:
        text = self.text(node, "the code")
        if text is None:
            return None
        written = " ".join(text.upper().split())
        written = "none" if written == "NONE" else written
        if not re.match(schema.CODE, written):
            self.problem(
                node,
                f'"{text}" is not a code and its edition',
                '"IRC 2021", "IBC 2018", "NBC 2020" or "none"',
            )
            return None
        return written

    def air_changes(self, node: Node) -> float | None:
        text = self.text(node, "the airtightness")
        if text is None:
            return None
        m = _AIR_CHANGES.fullmatch(text)
        if not m or not 0 < float(m["n"]) <= 100:
            self.problem(node, f'"{text}" is not air changes at 50 Pa', '"3 ACH50"')
            return None
        return float(m["n"])

    def waivers(self, node: Node | None) -> tuple[Waiver, ...]:
        key = SECTION["waivers"]
        read: list[Waiver] = []
        for item in self.list(node, "`waivers`"):
            fields = self.map(item, key.keys, "a waiver", key.required)
            texts = {name: self.text(fields.get(name), f"`{name}`") for name in key.keys}
            rule, until = texts["rule"], texts["until"]
            if rule is not None and not re.match(schema.RULE_ID, rule):
                self.problem(fields["rule"], f'"{rule}" is not the id of a rule', "pack/name-of-the-rule")
            if rule is not None and any(w.rule == rule for w in read):
                self.problem(fields["rule"], f"a second waiver of {rule}", "one waiver for a rule")
            if until is not None and not _is_date(until):
                self.problem(
                    fields["until"], f'"{until}" is not a date', "year-month-day, such as 2027-06-30"
                )
            if item.kind == "map":
                read.append(Waiver(**{name: text or "" for name, text in texts.items()}, mark=item.mark))
        return tuple(read)

    # -- layers ----------------------------------------------------------------------------------

    def layers(self, node: Node | None) -> tuple[list[Layer], tuple[str, ...]]:
        """All layers, and what the text says isn't there."""
        if node is None:
            return [], ()
        if node.kind == "scalar" and not node.empty:
            items = _split(node)
        else:
            items = self.list(node, "`layers`")
            if node.kind == "list" and not items:
                self.problem(node, "no layers", "at least one layer, from the room outwards")
        if len(items) > MAX_LAYERS:
            self.problem(items[MAX_LAYERS], f"{len(items)} layers", f"at most {MAX_LAYERS}")
            return [], ()
        layers: list[Layer] = []
        absent: list[str] = []
        for item in items:
            read, missing = self.layer(item, len(layers))
            layers += read
            if missing:
                absent.append(missing)
        if len(layers) > MAX_LAYERS:
            self.problem(items[-1], f"{len(layers)} layers", f"at most {MAX_LAYERS}")
        if items and not layers and not self.problems:
            self.problem(node, "no layers", "at least one layer, from the room outwards")
        return layers, tuple(absent)

    def layer(self, node: Node, index: int) -> tuple[list[Layer], str]:
        """The layers that one item stands for, most often one, numbered from `index` on."""
        if node.kind == "map":
            return self.layer_of_map(node, index), ""
        if node.kind == "list" or node.empty:
            self.problem(
                node,
                f"a layer is {'a list' if node.kind == 'list' else 'empty'}",
                "a layer in words, or a map",
            )
            return [], ""
        head = node
        extra: _Fields = {}
        cut = node.text.find(";")
        if cut >= 0:
            head = node.part(0, cut)
            extra = self.tail(node, cut)
        words = self.words(head)
        layers = [
            self.build(fields, extra, node, node.text, index + k) for k, fields in enumerate(words.layers)
        ]
        return layers, words.absent

    def tail(self, node: Node, start: int) -> _Fields:
        """Keys behind the words of a layer: `…; density = 40 pcf; joints = sealed`."""
        fields: dict[str, Node] = {}
        text = node.text
        while start < len(text):
            m = _TAIL.match(text, start)
            if not m:
                self.problem(
                    node.at(start, len(text) - start),
                    'what follows ";" is not a key with its value',
                    '"; joints = sealed"',
                )
                return {}
            name = m["key"].strip()
            at = node.at(m.start("key"), len(m["key"]))
            if name in ("material", "space") or name not in LAYER:
                known = [k for k in LAYER if k not in ("material", "space")]
                self.problem(at, f'"{name}" is not a key of a layer', one_of(known), nearest(name, known))
            elif name in fields:
                self.problem(at, f'"{name}" is given twice', "each key once")
            elif not m["value"].strip():
                self.problem(at, f'"{name}" has no value', "a value, or no such key")
            else:
                part = node.part(m.start("value"), len(m["value"]))
                # A doubled semicolon is a semicolon in a note.
                part.value = part.text.replace(";;", ";")
                fields[name] = part
            start = m.end()
        return self.properties(fields)

    def words(self, node: Node) -> Words:
        words = read_words(node.text, self.lexicon)
        for flaw in words.flaws:
            self.problem(node.at(flaw.start, flaw.end - flaw.start), flaw.message, flaw.expected, flaw.near)
        return words

    def layer_of_map(self, node: Node, index: int) -> list[Layer]:
        fields = self.map(node, LAYER, "a layer")
        extra = self.properties({k: v for k, v in fields.items() if k not in ("material", "space")})
        given = [k for k in ("material", "space") if k in fields]
        if len(given) != 1:
            if not ({"material", "space"} & set(node.fields)) or given:
                what = "both `material` and `space`" if given else "neither `material` nor `space`"
                self.problem(
                    node,
                    f"a layer has {what}",
                    'one of them, such as "material: gypsum board" or "space: air"',
                )
            return []
        main = fields[given[0]]
        if main.kind != "scalar":
            self.problem(main, f"the {given[0]} is a {main.kind}", "a few words")
            return []
        words = self.words(main)
        if words.flaws:
            return []
        if len(words.layers) != 1:
            self.problem(main, "this is not one layer", "each layer as an item of the list")
            return []
        (base,) = words.layers
        if ("space" in base) != (given[0] == "space"):
            right = "space" if "space" in base else "material"
            self.problem(
                node.key_mark(given[0]),
                f"{base['name']} is a {right}, not a {given[0]}",
                f'"{right}: {main.text}"',
            )
            return []
        return [self.build(base, extra, node, _as_written(main, fields), index)]

    def properties(self, fields: Mapping[str, Node]) -> _Fields:
        """What the keys of a layer say, besides what it is."""
        read: _Fields = {}
        for name, node in fields.items():
            key = LAYER[name]
            special = _FORMS.get(key.form)
            if special is not None:
                read |= special(self, node)
            else:
                value = self.value(node, key, name)
                if value is not None:
                    read[name] = " ".join(value.split()) if key.form == "text" else value
        return read

    def thickness(self, node: Node) -> _Fields:
        if node.kind == "scalar" and node.text.strip().casefold() in ("unknown", "?"):
            return {"thickness_unknown": True}
        span = self.quantity(node, "length", "the thickness")
        if span is None:
            return {}
        if not (span.low > 0 and span.high <= 10):
            self.problem(
                node, f'"{node.text.strip()}" is not a possible thickness', "more than zero, at most 10 m"
            )
            return {}
        return {"thickness": span}

    def framing(self, node: Node) -> _Fields:
        if node.kind == "scalar" and not node.empty:
            words = read_words(node.text, self.lexicon, member=True)
            for flaw in words.flaws:
                self.problem(
                    node.at(flaw.start, flaw.end - flaw.start), flaw.message, flaw.expected, flaw.near
                )
            return dict(words.layers[0]) if words.layers and not words.flaws else {}
        fields = self.map(node, schema.FRAMING, "`framing`", ("material", "width", "spacing"))
        material = self.member_material(fields.get("material"))
        simple = {k: self.value(v, schema.FRAMING[k], k) for k, v in fields.items() if k != "material"}
        width, spacing, fraction = (simple.get(k) for k in ("width", "spacing", "fraction"))
        if width is None or spacing is None or material is None:
            return {}
        if not 0 < width < spacing:
            message = f"members {show(width, 'length', 'ip')} wide at {show(spacing, 'length', 'ip')} on center leave no room"
            self.problem(fields["width"], message, "a spacing wider than the members")
        if spacing > 3:
            self.problem(
                fields["spacing"],
                f"members {show(spacing, 'length', 'ip')} on center",
                "at most 10 ft on center",
            )
        if fraction is not None and not 0 < fraction < 1:
            self.problem(fields["fraction"], "a framing share of nothing or everything", '"25 %"')
        depth = simple.get("depth")
        if depth is not None and not 0 < depth <= 10:
            self.problem(fields["depth"], "not a possible depth", "more than zero, at most 10 m")
        return {
            "framing": Framing(
                material,
                width,
                spacing,
                depth,
                simple.get("pattern") or "single",
                fraction,
            )
        }

    def member_material(self, node: Node | None) -> Material | None:
        text = self.text(node, "the material of the framing", 100)
        if text is None:
            return None
        lexicon = self.lexicon or library_lexicon()
        id_ = lexicon.find_member(normalize(text))
        if id_ is not None and lexicon.material(id_).flags & {"membrane", "coating"}:
            self.problem(node, f"framing of {id_}", "a material, such as spruce or steel stud")
            return None
        if id_ is None:
            near = lexicon.near(text)
            self.problem(
                node,
                f'unknown material "{text}"',
                "a material, such as spruce or steel stud",
                near[0] if near else "",
            )
            return None
        return lexicon.material(id_)

    def roles(self, node: Node) -> _Fields:
        items = _split(node, ",") if node.kind == "scalar" and not node.empty else self.list(node, "`roles`")
        given: dict[bool, set[str]] = {True: set(), False: set()}
        for item in items:
            text = self.text(item, "a role")
            if text is None:
                continue
            word = " ".join(text.casefold().split())
            role = word.removeprefix("not ")
            if role not in ROLES:
                self.problem(item, f'"{text}" is not a role', one_of(ROLES), nearest(role, ROLES))
                continue
            given[word == role].add(role)
            if role in given[True] and role in given[False]:
                self.problem(item, f'"{role}" is both given and taken away', "one of the two")
                given[False].discard(role)
        read = {"roles": frozenset(given[True]), "not_roles": frozenset(given[False])}
        return {name: roles for name, roles in read.items() if roles}

    def permeance(self, node: Node) -> _Fields:
        if node.kind == "map":
            fields = self.map(node, schema.PERMEANCE, "`permeance`")
            spans = {
                f"permeance_{s}": self.quantity(fields.get(s), "permeance", f"`{s}`")
                for s in schema.PERMEANCE
            }
            return {k: v for k, v in spans.items() if v is not None}
        parts = _split(node, ",") if node.kind == "scalar" and not node.empty else [node]
        read: _Fields = {}
        for part in parts:
            m = _PAIRED.fullmatch(part.text) if part.kind == "scalar" else None
            if m is None:
                span = self.quantity(part, "permeance", "the permeance")
                names = ("permeance_dry", "permeance_wet")
            else:
                span = self.quantity(part.part(0, m.end("first")), "permeance")
                names = (f"permeance_{m['state'].lower()}",)
            if any(name in read for name in names):
                self.problem(part, "a permeance is given twice", '"0.5 perm dry, 5 perm wet"')
            if span is not None:
                read |= dict.fromkeys(names, span)
        return read

    def build(self, base: Mapping[str, Any], extra: _Fields, node: Node, text: str, index: int) -> Layer:
        """A layer from what its words say and what its keys say."""
        fields: _Fields = dict(base)
        for name, value in extra.items():
            if name in ("roles", "assumed"):
                fields[name] = type(value)((*fields.get(name, ()), *value))
            elif name in fields:
                self.problem(node, f"the {name.replace('_', ' ')} of this layer is given twice", "it once")
            else:
                fields[name] = value
        complete(fields, self.lexicon)
        self.check_layer(fields, node)
        given = ("r_value", "conductivity", "permeance_dry", "permeance_wet", "density")
        return Layer(
            index=index,
            text=" ".join(text.split()),
            name=fields.get("name", ""),
            material=fields.get("material"),
            space=fields.get("space"),
            thickness=fields.get("thickness"),
            vents=fields.get("vents"),
            framing=fields.get("framing"),
            joints=fields.get("joints"),
            roles=fields.get("roles", frozenset()),
            not_roles=fields.get("not_roles", frozenset()),
            condition=fields.get("condition"),
            unknown=fields.get("unknown", False),
            position=fields.get("position"),
            r_value=fields.get("r_value"),
            conductivity=fields.get("conductivity"),
            permeance_dry=fields.get("permeance_dry"),
            permeance_wet=fields.get("permeance_wet"),
            density=fields.get("density"),
            fasteners=fields.get("fasteners"),
            mark=node.mark,
            overrides=frozenset(name for name in given if name in fields),
            coats=fields.get("coats"),
            note=fields.get("note", ""),
            thickness_unknown=fields.get("thickness_unknown", False),
            assumed=fields.get("assumed", ()),
        )

    def check_layer(self, fields: _Fields, node: Node) -> None:
        """What can't be true of a layer, whoever said it."""
        space = fields.get("space")
        if "vents" in fields and space != "air":
            self.problem(node, "only an air space has vents", "the vented space as a layer of its own")
        if space is not None and space != "air":
            allowed = {"space", "name", "note", "condition"}
            for name in sorted(set(fields) - allowed):
                self.problem(
                    node,
                    f"{space} is the surroundings and has no {name.replace('_', ' ')}",
                    f'"{space}" alone',
                )
                break
        elif space == "air":
            for name in ("joints", "conductivity", "density", "coats", "permeance_dry", "permeance_wet"):
                if name in fields:
                    self.problem(
                        node, f"an air space has no {name.replace('_', ' ')}", "its thickness and vents"
                    )
                    break
        both = fields.get("roles", frozenset()) & fields.get("not_roles", frozenset())
        if both:
            self.problem(node, f'"{min(both)}" is both given and taken away', "one of the two")
        if "thickness" in fields and "thickness_unknown" in fields:
            self.problem(node, "the thickness is given and said to be unknown", "one of the two")
        r, conductivity = fields.get("r_value"), fields.get("conductivity")
        if r is not None and conductivity is not None and "thickness" in fields:
            self.problem(node, "thickness, conductivity and resistance are all given", "two of the three")
        for name in ("r_value", "conductivity"):
            span: Span | None = fields.get(name)
            if span is not None and span.low <= 0:
                self.problem(node, f"a {SHOWN[name]} of zero", "a value above zero")

    def check_order(self, layers: list[Layer]) -> None:
        for layer in layers[:-1]:
            if layer.space not in (None, "air"):
                after = layers[layer.index + 1]
                message = f"a layer after {layer.space}, where the section ends"
                self.problem(after.mark, message, f"{layer.space} as the last layer, farthest from the room")
                return
        if len(layers) == 1 and layers[0].space not in (None, "air"):
            self.problem(
                layers[0].mark, f"nothing but {layers[0].space}", "the layers, from the room outwards"
            )


SHOWN: Final = {"r_value": "thermal resistance", "conductivity": "thermal conductivity"}

_FORMS: Final[Mapping[str, Callable[[_SectionReader, Node], _Fields]]] = {
    "thickness": _SectionReader.thickness,
    "framing": _SectionReader.framing,
    "roles": _SectionReader.roles,
    "permeance": _SectionReader.permeance,
}


def _split(node: Node, by: str = "|") -> list[Node]:
    parts: list[Node] = []
    offset = 0
    for text in node.text.split(by):
        parts.append(node.part(offset, len(text)))
        offset += len(text) + len(by)
    return parts


def _as_written(main: Node, fields: Mapping[str, Node]) -> str:
    """A layer given as a map, in its one-string form: `1/2 in gypsum board; joints = taped`."""
    thickness = fields.get("thickness")
    known = thickness is not None and any(c.isdigit() for c in _flat(thickness))
    words = [f"{_flat(thickness)} {main.text}" if thickness is not None and known else main.text]
    words += [
        f"{name} = {_flat(node).replace(';', ';;')}"
        for name, node in fields.items()
        if name not in ("material", "space") and not (name == "thickness" and known)
    ]
    return "; ".join(words)


def _flat(node: Node) -> str:
    if node.kind == "list":
        return ", ".join(_flat(item) for item in node.items)
    if node.kind == "scalar":
        return node.text
    parts = {name: _flat(value) for name, value in node.fields.items()}
    if "material" not in parts:
        return ", ".join(f"{value} {name}" for name, value in parts.items())
    size = f"x {parts['depth']}" if "depth" in parts else "wide"
    written = f"{parts['material']} {parts.get('width', '')} {size} @ {parts.get('spacing', '')}"
    return ", ".join([written, *(parts[name] for name in ("pattern", "fraction") if name in parts)])


def _is_date(text: str) -> bool:
    if not _DATE.fullmatch(text):
        return False
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True
