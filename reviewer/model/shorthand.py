"""Layers as people write them, in whatever order: `2x6 @ 16 in with R-21 glass fiber batt`.

Every word must be accounted for: as a quantity, a material, a space, framing, a word on joints,
vents or condition, or one of the few words that say nothing (`of`, `the`). Whatever is left over is
an error that points at the word. What has to be assumed (the spacing of studs that is not written)
is listed in `assumed`.

Bare numbers are errors, with two conventions of the trade: a bare fraction is inches (`7/16 OSB`),
and so is the spacing of members (`2x6 @ 16`); spacings of 200 and more are millimeters.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from reviewer.errors import nearest
from reviewer.library.types import Material
from reviewer.model import wording
from reviewer.model.lexicon import FRAMING_NOUNS, Lexicon, library_lexicon, normalize
from reviewer.model.section import CONDITIONS, JOINTS, Framing
from reviewer.units import Span, UnitError, show
from reviewer.units import number as read_number
from reviewer.units import parse as read_quantity


@dataclass(frozen=True, slots=True)
class Flaw:
    """Something wrong with a text, at characters `start` to `end`."""

    start: int
    end: int
    message: str
    expected: str = ""
    near: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """What a text says: for each layer the fields of `Layer` that were given, and what is wrong."""

    layers: tuple[Mapping[str, Any], ...]
    flaws: tuple[Flaw, ...] = ()
    absent: str = ""
    """What the text says isn't there: `no cladding`."""


def read_words(text: str, lexicon: Lexicon | None = None, member: bool = False) -> Words:
    """Read one layer as a person writes it. With `member`, the text describes framing members alone.

    >>> words = read_words("polyethylene 6 mil taped")
    >>> words.layers[0]["name"], words.layers[0]["joints"], round(words.layers[0]["thickness"].low, 7)
    ('polyethylene sheet', 'taped', 0.0001524)
    >>> read_words("1/2 in gypsun board").flaws[0].near
    'gypsum board'

    Lengths come in m, resistances in m²·K/W, permeances in kg/(s·m²·Pa). Never raises: what is wrong
    is in `flaws`, with the characters it is about.
    """
    if len(text) > wording.MAX_LENGTH:
        flaw = Flaw(
            0, len(text), f"a layer of more than {wording.MAX_LENGTH} characters", "one layer in a few words"
        )
        return Words((), (flaw,))
    return _read(text, lexicon or library_lexicon(), member)


@lru_cache(maxsize=8192)
def _read(text: str, lexicon: Lexicon, member: bool) -> Words:
    single, places = _single_spaced(text)
    words = _read_once(single, lexicon, member)
    if words.flaws and not member and " over " in single.lower():
        words = _one_over_another(single, lexicon) or words
    if len(single) == len(text) or not words.flaws:
        return words
    moved = (
        replace(f, start=places[f.start], end=places[f.end - 1] + 1 if f.end <= len(single) else len(text))
        for f in words.flaws
    )
    return replace(words, flaws=tuple(moved))


def _read_once(text: str, lexicon: Lexicon, member: bool) -> Words:
    """Words in parentheses are words like others when they make sense, and a note when they don't."""
    words = Words(())
    for tried in (wording.PARENTHESES.sub(" ", text), text) if wording.NOTE.search(text) else (text,):
        reading = _Reading(tried, lexicon)
        words = reading.member() if member else reading.words()
        if not words.flaws:
            break
    return words


def _one_over_another(text: str, lexicon: Lexicon) -> Words | None:
    """`asphalt shingles over felt over plywood`: each lies outward of the next, or the other way around
    when the first is a finish of the room. None where it is neither."""
    parts = [
        _Reading(part.strip(), lexicon).words() for part in re.split(r"\s+over\s+", text, flags=re.IGNORECASE)
    ]
    if any(part.flaws or not part.layers for part in parts):
        return None
    first: Material | None = parts[0].layers[0].get("material")
    roles = first.roles if first is not None else frozenset()
    outside, inside = roles & {"cladding", "roof covering"}, roles & {"interior finish", "flooring"}
    if bool(outside) == bool(inside):
        return None
    ordered = parts[::-1] if outside else parts
    return Words(tuple(layer for part in ordered for layer in part.layers))


def _single_spaced(text: str) -> tuple[str, list[int]]:
    """The text with one space for each run of white space, and where its characters stood."""
    kept = [k for k, c in enumerate(text) if not (c.isspace() and k and text[k - 1].isspace())]
    return "".join(" " if text[k].isspace() else text[k] for k in kept), kept


@dataclass(slots=True)
class _Token:
    text: str
    start: int
    end: int
    read: bool = False


class _Reading:
    """One pass over a text. What is understood is masked; what stays is an error."""

    def __init__(self, text: str, lexicon: Lexicon):
        self.text = text
        self.lexicon = lexicon
        lowered = text.lower()
        if len(lowered) != len(text):
            lowered = "".join(c.lower() if len(c.lower()) == 1 else c for c in text)
        self.work = lowered.translate(wording.ONE_FOR_ONE)
        self.flaws: list[Flaw] = []
        self.fields: dict[str, Any] = {}
        self.roles: set[str] = set()
        self.vents: tuple[str, int, int] | None = None
        self.assumed: list[str] = []
        self.material: Material | None = None
        self.name_words: list[str] = []
        self.space = ""
        self.copies = 1
        self.copies_at = (0, 0)
        self.painted = False
        self.empty = False
        # Framing, as far as it is read.
        self.size: tuple[float, float] | None = None
        self.size_at = (0, 0)
        self.size_is_nominal = False
        self.width: float | None = None
        self.depth: float | None = None
        self.spacing: float | None = None
        self.spacing_at = (0, 0)
        self.pattern = ""
        self.fraction: float | None = None
        self.fraction_at = (0, 0)
        self.noun = ""
        self.framing_material: Material | None = None
        self.steel = False

    # -- results ---------------------------------------------------------------------------------

    def words(self) -> Words:
        if not self.work.strip():
            return Words(
                (),
                (
                    Flaw(
                        0,
                        max(len(self.text), 1),
                        "a layer without words",
                        f"a layer, such as {wording.EXAMPLE}",
                    ),
                ),
            )
        absent = wording.ABSENT.fullmatch(self.work)
        if absent:
            return Words((), (), absent["what"])
        if self.work.strip() in ("none", "nothing"):
            return Words((), (Flaw(0, len(self.text), "what is not there is not said", '"no cladding"'),))
        self.notes_and_counts()
        unknown = wording.UNKNOWN.search(self.work)
        if unknown:
            self.mask(unknown)
        self.numbers_in_names()
        self.framing_words()
        self.quantities()
        tokens = self.tokens()
        if unknown:
            return self.unknown(tokens)
        self.name_and_rest(tokens)
        return self.finish()

    def member(self) -> Words:
        """Framing on its own: `2x6 @ 16 in`, `spruce 1.5 in x 5.5 in @ 16 in, 25 %`."""
        self.numbers_in_names()
        self.framing_words()
        for m in wording.QUANTITY.finditer(self.work):
            self.flaw(
                *m.span(), "this length of the framing has no meaning", '"1.5 in x 5.5 in" or "1.5 in wide"'
            )
            self.mask(m)
        tokens = self.tokens()
        self.name_and_rest(tokens)
        if self.painted or (self.material is not None and self.material.flags & {"membrane", "coating"}):
            self.flaw(0, len(self.text), "framing of paint or sheets", '"spruce 2x6 @ 16 in"')
        if self.material is not None and self.framing_material is None:
            self.framing_material = self.material
        elif not (self.flaws or self.framing_material or self.noun or self.size) and tokens:
            self.flaw(0, len(self.text), f'"{self.text.strip()}" is not framing', '"2x6 @ 16 in"')
        if self.fields or self.roles or self.vents or self.space or self.empty:
            self.flaw(0, len(self.text), "only members are described here", '"2x6 @ 16 in"')
        framing = self.framing(default_noun=True)
        return Words(
            (MappingProxyType({"framing": framing, "assumed": tuple(self.assumed)}),) if framing else (),
            self.sorted_flaws(),
        )

    def sorted_flaws(self) -> tuple[Flaw, ...]:
        return tuple(sorted(self.flaws, key=lambda f: (f.start, f.end)))

    def flaw(self, start: int, end: int, message: str, expected: str = "", near: str = "") -> None:
        self.flaws.append(Flaw(start, max(end, start + 1), message, expected, near))

    def mask(self, m: re.Match[str]) -> None:
        self.cover(*m.span())

    def cover(self, start: int, end: int) -> None:
        self.work = self.work[:start] + wording.MASK * (end - start) + self.work[end:]

    # -- numbers ---------------------------------------------------------------------------------

    def notes_and_counts(self) -> None:
        notes = []
        for m in wording.NOTE.finditer(self.work):
            notes.append(self.text[m.start(1) : m.end(1)].strip())
            self.mask(m)
        for m in (*wording.GAUGE.finditer(self.work), *wording.PLIES.finditer(self.work)):
            notes.append(self.text[m.start() : m.end()].strip())
            self.mask(m)
        if any(notes):
            self.fields["note"] = ", ".join(n for n in notes if n)
        m = wording.NO_THICKNESS.search(self.work)
        if m:
            self.fields["thickness_unknown"] = True
            self.mask(m)
        m = wording.COATS.search(self.work)
        if m:
            coats = wording.COUNTS.get(m["n"]) or int(m["n"])
            if 1 <= coats <= 20:
                self.fields["coats"] = coats
            else:
                self.flaw(*m.span(), f"{coats} coats", "1 to 20 coats")
            self.mask(m)
        m = wording.COPIES.search(self.work)
        if m and not any(
            name in normalize(self.work.replace(wording.MASK, " ")) for name in self.lexicon.counted
        ):
            self.copies = wording.COUNTS.get(m["n"]) or int(m["n"])
            self.copies_at = m.span()
            self.mask(m)

    def numbers_in_names(self) -> None:
        """Names with figures in them: `15 lb felt`, `1x6 sheathing`."""
        if not any(c.isdigit() for c in self.work):
            return
        normal = normalize(self.work.replace(wording.MASK, " "))
        padded = f" {normal} "
        for name in self.lexicon.with_digits:
            if f" {name} " not in padded:
                continue
            span = self.find_run(name)
            if span:
                self.material = self.lexicon.material(self.lexicon.names[name])
                self.cover(*span)
                return

    def find_run(self, name: str) -> tuple[int, int] | None:
        tokens = list(wording.TOKEN.finditer(self.work))
        count = len(name.split())
        for i in range(len(tokens)):
            for j in range(i, min(len(tokens), i + count + 3)):
                start, end = tokens[i].start(), tokens[j].end()
                if wording.MASK not in self.work[start:end] and normalize(self.work[start:end]) == name:
                    return start, end
        return None

    def length(self, number: str, unit: str | None, start: int, end: int) -> float | None:
        """A length of framing in m; a bare number is inches, from 200 on millimeters."""
        text = _figures(number)
        if unit is None:
            try:
                value = read_number(text)
            except ValueError:
                self.flaw(start, end, f'"{text}" is not a number', '"16 in"')
                return None
            unit = "mm" if value >= 200 else "in"
        span = self.quantity(f"{text} {unit}", "length", start, end)
        return None if span is None else span.low

    def quantity(self, text: str, dimension: str, start: int, end: int) -> Span | None:
        try:
            return read_quantity(text, dimension)
        except UnitError as error:
            self.flaw(start, end, error.message, error.expected, error.nearest)
            return None

    def give(self, field: str, value: Any, start: int, end: int) -> None:
        """Set a field that may be given once."""
        if value is None:
            return
        if field in self.fields:
            what = field.replace("_", " ")
            self.flaw(start, end, f"a second {what} in one layer", f"one {what}, and every layer for itself")
        else:
            self.fields[field] = value

    def quantities(self) -> None:
        for m in wording.PER_INCH.finditer(self.work):
            span = self.quantity(f"R-{_figures(m['n'])}", "thermal resistance", *m.span())
            if span and span.low > 0:
                lam = wording.INCH / span.low
                self.give("conductivity", Span(lam, lam), *m.span())
            elif span:
                self.flaw(*m.span(), "a resistance of zero", '"R-5 per inch"')
            self.mask(m)
        for m in wording.R.finditer(self.work):
            kind = "RSI" if m["kind"] == "rsi" else "R"
            low = self.quantity(f"{kind}-{_figures(m['n'])}", "thermal resistance", *m.span())
            high = (
                self.quantity(f"{kind}-{_figures(m['high'])}", "thermal resistance", *m.span())
                if m["high"]
                else low
            )
            if low and high:
                if low.low > high.high:
                    self.flaw(
                        *m.span(),
                        f'the range "{self.text[m.start() : m.end()]}" runs downwards',
                        "the smaller value first",
                    )
                self.give("r_value", Span(low.low, high.high), *m.span())
            self.mask(m)
        for m in wording.SD.finditer(self.work):
            self.permeance(self.quantity(f"sd {_figures(m['n'])} m", "permeance", *m.span()), m["state"], m)
            self.mask(m)
        for m in wording.QUANTITY.finditer(self.work):
            unit = " ".join(m["unit"].split())
            dimension = wording.UNITS[unit]
            span = self.span_of(m, unit, dimension)
            if dimension == "permeance":
                self.permeance(span, (m["state"] or "").split()[:1], m)
                self.mask(m)
                continue
            end = m.end("unit")
            if dimension == "length" and self.copies > 1 and m.start() < self.copies_at[0]:
                expected = f'"{self.copies} layers of …" with the thickness of one'
                self.flaw(*self.copies_at, "is the thickness that of one layer, or of all?", expected)
            if dimension == "permeability":
                self.flaw(
                    m.start(),
                    end,
                    "a permeability does not say what this layer lets through",
                    'a permeance, such as "0.5 perm"',
                )
            else:
                self.give(wording.FIELDS[dimension], span, m.start(), end)
            self.cover(m.start(), end)
        for m in wording.BARE_FRACTION.finditer(self.work):
            if "thickness" in self.fields:
                continue
            self.give("thickness", self.quantity(f"{_figures(m[0])} in", "length", *m.span()), *m.span())
            self.mask(m)

    def check_thickness(self) -> None:
        t: Span | None = self.fields.get("thickness")
        if t is not None and not (t.low > 0 and t.high <= 10):
            what = (
                f"a layer {show(t.low, 'length', 'ip')} thick" if t.low > 0 else "a layer without thickness"
            )
            self.flaw(0, len(self.text), what, "a thickness above zero and up to 10 m")

    def span_of(self, m: re.Match[str], unit: str, dimension: str) -> Span | None:
        if m["high"] is None:
            return self.quantity(f"{_figures(m['low'])} {unit}", dimension, m.start(), m.end("unit"))
        first = (m["u1"] or "").strip(" -") or unit
        text = f"{_figures(m['low'])} {first} to {_figures(m['high'])} {unit}"
        return self.quantity(text, dimension, m.start(), m.end("unit"))

    def permeance(self, span: Span | None, state: Any, m: re.Match[str]) -> None:
        word = state[0] if isinstance(state, list) and state else state
        if word in ("dry", "wet"):
            self.give(f"permeance_{word}", span, *m.span())
        else:
            self.give("permeance_dry", span, *m.span())
            self.fields.setdefault("permeance_wet", span)

    # -- framing ---------------------------------------------------------------------------------

    def framing_words(self) -> None:
        fasteners = []
        for m in wording.FASTENERS.finditer(self.work):
            end = m.end()
            spacing = wording.SPACING.match(self.work, end + 1)
            if spacing:
                end = spacing.end()
            fasteners.append(" ".join(self.text[m.start("what") : end].split()))
            self.cover(m.start(), end)
        if fasteners:
            self.fields["fasteners"] = ", ".join(fasteners)
        m = wording.SPACING.search(self.work)
        if m:
            g = "1" if m["n1"] else "2"
            self.spacing = self.length(m["n" + g], m["u" + g], *m.span())
            self.spacing_at = m.span()
            self.mask(m)
        for m in wording.PATTERN.finditer(self.work):
            self.pattern = "truss" if m["truss"] else f"{m['what']} stud"
            self.noun = self.noun or ("truss" if m["truss"] else "stud")
            self.mask(m)
        self.sizes()
        m = wording.STEEL_STUD.search(self.work)
        if m:
            g = "1" if m["n1"] else "2"
            self.depth = self.length(m["n" + g], m["u" + g], *m.span())
            self.framing_material = self.named("steel stud") or self.named("steel")
            self.steel = True
            self.noun = "stud"
            self.mask(m)
        m = wording.I_JOIST.search(self.work)
        if m:
            self.depth = self.length(m["n"], m["u"], *m.span()) if m["n"] else None
            self.noun = "i joist"
            self.mask(m)
        m = wording.FRACTION.search(self.work)
        if m:
            span = self.quantity(f"{_figures(m['n'] or m['m'])} %", "fraction", *m.span())
            self.fraction = None if span is None else span.low
            self.fraction_at = m.span()
            if span is not None and not 0 < span.low < 1:
                self.flaw(*m.span(), "a framing share of nothing or everything", '"25 %"')
                self.fraction = None
            self.mask(m)

    def sizes(self) -> None:
        m = wording.LUMBER_SIZE.search(self.work)
        if m:
            a, b = int(m["a"]), int(m["b"])
            if m["mm"] or min(a, b) >= 19:
                self.size = (a / 1000, b / 1000)
            elif (a, b) in wording.LUMBER:
                self.size = wording.LUMBER[a, b]
                self.size_is_nominal = True
            else:
                self.flaw(
                    *m.span(), f'"{m[0].strip()}" is not a size of lumber', '"2x4", "2x6" or "38x140 mm"'
                )
                self.size = (1.5 * wording.INCH, 3.5 * wording.INCH)
            self.size_at = m.span()
            self.mask(m)
            return
        m = wording.CROSS.search(self.work)
        if m and m["n3"]:
            self.width = self.length(m["n3"], m["u3"], *m.span())
            self.size_at = m.span()
            self.mask(m)
        elif m:
            width = self.length(m["n1"], m["u1"] or m["u2"], *m.span())
            depth = self.length(m["n2"], m["u2"], *m.span())
            self.size = None if width is None or depth is None else (width, depth)
            self.size_at = m.span()
            self.mask(m)

    def named(self, word: str) -> Material | None:
        id_ = self.lexicon.find_member(word)
        return None if id_ is None else self.lexicon.material(id_)

    def framing(self, default_noun: bool = False) -> Framing | None:
        """The framing, from whatever was read of it; what was not is assumed and listed."""
        said = self.size is not None or self.width is not None or self.pattern or self.noun
        if not (said or default_noun):
            if self.spacing is not None:
                self.flaw(*self.spacing_at, "a spacing without framing", '"2x6 @ 16 in"')
            if self.fraction is not None:
                self.flaw(*self.fraction_at, "a share without framing", '"2x6 @ 16 in, 25 %"')
            return None
        steel = self.steel or (self.framing_material is not None and self.framing_material.family == "metal")
        material = self.framing_material
        if material is None and not steel:
            material = self.named("spruce")
            self.assumed.append(wording.ASSUMED_I_JOIST if self.noun == "i joist" else wording.ASSUMED_LUMBER)
        if material is None:
            self.flaw(*self.size_at, "framing of a material that is not known", '"spruce 2x6 @ 16 in"')
            return None
        width, depth = self.width, self.depth
        if self.size is not None:
            flat = self.noun in wording.FLAT and self.size_is_nominal
            width, depth = (max(self.size), min(self.size)) if flat else self.size
        if steel and (width is None or self.size_is_nominal):
            width = 1.625 * wording.INCH
            material = self.named("steel stud") or material
            self.assumed.append(wording.ASSUMED_STEEL_WIDTH)
        elif width is None:
            flat = self.noun in wording.FLAT
            width = 2.5 * wording.INCH if flat else 1.5 * wording.INCH
            if wording.ASSUMED_I_JOIST not in self.assumed:
                self.assumed.append(wording.ASSUMED_FURRING_WIDTH if flat else wording.ASSUMED_WIDTH)
        spacing = self.spacing
        if spacing is None:
            truss = self.pattern == "truss"
            spacing = 24 * wording.INCH if truss else 16 * wording.INCH
            self.assumed.append(wording.ASSUMED_TRUSS_SPACING if truss else wording.ASSUMED_SPACING)
        if not width < spacing:
            self.flaw(*(self.spacing_at if self.spacing is not None else self.size_at),
                      f"members {show(width, 'length', 'ip')} wide at {show(spacing, 'length', 'ip')} on center leave no room",
                      "a spacing wider than the members")  # fmt: skip
        elif spacing > 3:
            self.flaw(
                *self.spacing_at,
                f"members {show(spacing, 'length', 'ip')} on center",
                "at most 10 ft on center",
            )
        if width <= 0 or (depth is not None and not 0 < depth <= 10):
            self.flaw(*self.size_at, "members without width or depth", '"1.5 in x 5.5 in"')
        return Framing(material, width, spacing, depth, self.pattern or "single", self.fraction)

    # -- words -----------------------------------------------------------------------------------

    def tokens(self) -> list[_Token]:
        return [
            _Token(m[0], m.start(), m.end())
            for m in wording.TOKEN.finditer(self.work)
            if m[0] not in wording.SILENT_MARKS
        ]

    def run(self, tokens: list[_Token], i: int, j: int) -> str:
        """The words from `i` to `j` in normal form; nothing when a sign or a foreign letter is among them,
        which the normal form would drop."""
        if any(not t.text.isascii() or wording.SIGN.fullmatch(t.text) for t in tokens[i:j]):
            return ""
        return normalize(" ".join(t.text for t in tokens[i:j]))

    def longest_name(self, tokens: list[_Token]) -> tuple[int, int, str, str] | None:
        """The longest run of tokens that names a space or a material: (from, to, kind, what)."""
        n = len(tokens)
        for size in range(min(n, self.lexicon.longest + 2), 0, -1):
            weak = None
            for i in range(n - size + 1):
                words = self.run(tokens, i, i + size)
                if not words:
                    continue
                if words in wording.SPACE_OF:
                    if words not in wording.WEAK_SPACES:
                        return i, i + size, "space", wording.SPACE_OF[words]
                    role = i + 1 < n and self.run(tokens, i, i + 2) in wording.PHRASE_OF
                    if weak is None and not role:
                        weak = i, i + size, "space", wording.SPACE_OF[words]
                    continue
                id_ = self.lexicon.find(words)
                if id_ is not None:
                    return i, i + size, "material", id_
            if weak is not None:
                return weak
        return None

    def framing_nouns(self, tokens: list[_Token]) -> list[_Token]:
        """Take `wood studs` and the like out of the tokens; names that hold such words stay whole."""
        name = self.longest_name(tokens)
        kept_whole = range(name[0], name[1]) if name and name[1] - name[0] > 1 else range(0)
        out: list[_Token] = []
        for k, token in enumerate(tokens):
            word = normalize(token.text)
            if k in kept_whole or not (
                word in FRAMING_NOUNS or (self.size_is_nominal and word in wording.MEMBER_WORDS)
            ):
                out.append(token)
                continue
            self.noun = word if word not in ("framing", "framed") or not self.noun else self.noun
            while out and out[-1].end <= token.start:
                before = normalize(out[-1].text)
                if before in wording.STEEL_WORDS:
                    self.framing_material = self.named("steel stud") or self.named("steel")
                    self.steel = True
                elif before not in wording.WOOD_WORDS:
                    id_ = self.lexicon.find(before)
                    material = None if id_ is None else self.lexicon.material(id_)
                    if material is None or material.family != "wood" or not self.touching(out[-1], token):
                        break
                    self.framing_material = material
                out.pop()
        return out

    def touching(self, a: _Token, b: _Token) -> bool:
        return not self.work[a.end : b.start].replace(wording.MASK, "").strip(" -")

    def name_and_rest(self, tokens: list[_Token]) -> None:
        painted = [t for t in tokens if t.text == "painted"]
        if len(painted) == 1 and len(tokens) > 1:
            self.painted = True
            tokens.remove(painted[0])
        tokens = self.framing_nouns(tokens)
        if self.material is None:
            name = self.longest_name(tokens)
            words = self.run(tokens, 0, len(tokens))
            whole = self.lexicon.find(words)
            if whole is not None and words not in wording.SPACE_OF:
                name = (0, len(tokens), "material", whole)
            if name is not None:
                i, j, kind, what = name
                if kind == "space":
                    self.space = what
                else:
                    self.material = self.lexicon.material(what)
                    self.name_words = self.run(tokens, i, j).split()
                    self.condition_in_name(tokens[i].start, tokens[j - 1].end)
                    if self.name_words in (["paint"], ["painted"]):
                        self.assumed.append(wording.ASSUMED_PAINT)
                rest = [*tokens[:i], *tokens[j:]]
                second = self.longest_name(rest) if kind == "space" or self.has_space(rest) else None
                if second is not None:
                    rest = self.space_beside(rest, second)
                tokens = rest
        self.phrases(tokens)

    def condition_in_name(self, start: int, end: int) -> None:
        """`new concrete` is a name of concrete, and says that it is new."""
        assert self.material is not None
        for word in self.name_words:
            kind, condition = wording.PHRASE_OF.get(word, ("", ""))
            if kind == "condition" and word not in normalize(self.material.id).split():
                self.phrase(kind, condition, start, end)

    def has_space(self, tokens: list[_Token]) -> bool:
        name = self.longest_name(tokens)
        return name is not None and name[2] == "space"

    def space_beside(self, rest: list[_Token], second: tuple[int, int, str, str]) -> list[_Token]:
        """An air space and a material in one text: `brick veneer with 1 in air space`."""
        i, j, kind, what = second
        if kind == "material" and self.material is None and self.space in ("air", "vented air"):
            self.material = self.lexicon.material(what)
            return [*rest[:i], *rest[j:]]
        if kind == "space" and self.material is not None and what in ("air", "vented air"):
            if self.run(rest, i, j) in ("cavity", "stud cavity", "gap"):
                return rest
            self.space = what
            return [*rest[:i], *rest[j:]]
        return rest

    def phrases(self, tokens: list[_Token]) -> None:
        """Read what stands beside the name; what nobody knows is a flaw."""
        left: list[_Token] = []
        i = 0
        while i < len(tokens):
            for size in range(min(wording.LONGEST_PHRASE + 1, len(tokens) - i), 0, -1):
                words = self.run(tokens, i, i + size)
                if words in wording.PHRASE_OF:
                    kind, word = wording.PHRASE_OF[words]
                    self.phrase(kind, word, tokens[i].start, tokens[i + size - 1].end)
                    i += size
                    break
            else:
                left.append(tokens[i])
                i += 1
        if left:
            self.left_over(left, tokens)

    def phrase(self, kind: str, word: str, start: int, end: int) -> None:
        if kind == "filler":
            return
        if kind == "role":
            self.roles.update(word.split(", "))
        elif kind == "empty":
            self.empty = True
        elif kind == "vents":
            if self.vents is not None and self.vents[0] not in (word, wording.VENTED):
                self.flaw(start, end, "two words on vents that disagree", "one of them")
            self.vents = (word, start, end)
        elif kind == "joints":
            self.fields["joints"] = self.stronger("joints", word, wording.STRONGER_JOINTS, start, end)
        elif kind == "condition":
            self.fields["condition"] = self.stronger("condition", word, wording.WORSE_CONDITION, start, end)
        else:
            self.give(kind, word, start, end)

    def stronger(self, field: str, word: str, order: tuple[str, ...], start: int, end: int) -> str:
        """Of two words on one thing the one that says more: `lapped and taped` is taped."""
        other = self.fields.get(field)
        if other is None or other == word:
            return word
        if word not in order or other not in order or {word, other} in wording.CONTRADICTIONS:
            self.flaw(start, end, f'"{word}" contradicts "{other}"', "one of the two")
            return other
        return max(word, other, key=order.index)

    def left_over(self, left: list[_Token], tokens: list[_Token]) -> None:
        """Words that nobody knows: say so about each, or about the whole name when there is none."""
        named = []
        for token in left:
            shown = self.text[token.start : token.end]
            if re.fullmatch(wording.N, shown):
                self.flaw(token.start, token.end, f'the number "{shown}" has no unit', '"1/2 in" or "12 mm"')
            elif wording.LUMBER_SIZE.fullmatch(token.text):
                self.flaw(
                    token.start, token.end, f'a second size of framing, "{shown}"', "one size in a layer"
                )
            else:
                named.append(token)
        if not named:
            return
        if self.material is None:
            self.unknown_material(left, tokens)
            return
        other = self.longest_name(named)
        if other is not None and other[1] - other[0] == len(named):
            what = self.material.id, wording.SPACE_OF.get(self.run(named, 0, len(named)), other[3])
            message = f'two layers in one: "{what[0]}" and "{what[1]}"'
            self.flaw(
                named[0].start, named[-1].end, message, "every layer for itself, from the room outwards"
            )
            return
        expected = f"joints ({', '.join(JOINTS)}), a condition ({', '.join(CONDITIONS)}), framing, a quantity"
        if len(named) > 3:
            start, end = named[0].start, named[-1].end
            message = f"{len(named)} words say nothing about {self.material.id} that is understood"
            self.flaw(start, end, message, expected)
            return
        for token in named:
            shown = self.text[token.start : token.end]
            message = f'"{shown}" says nothing about {self.material.id} that is understood'
            self.flaw(token.start, token.end, message, expected, nearest(shown, self.sayable(), 0.75))

    def sayable(self) -> list[str]:
        """Words that make sense beside the material: phrases, and words of its longer names."""
        beside = {
            word
            for name in self.lexicon.names
            if set(self.name_words) < set(name.split())
            for word in name.split()
        }
        return sorted({p for p in wording.PHRASE_OF if p} | beside - set(self.name_words))

    def unknown_material(self, left: list[_Token], tokens: list[_Token]) -> None:
        kept = [
            t
            for t in tokens
            if t in left
            or wording.PHRASE_OF.get(normalize(t.text), ("",))[0] == "role"
            or normalize(t.text) in wording.GENERIC
        ]
        start, end = kept[0].start, kept[-1].end
        text = " ".join(t.text for t in kept)
        near = self.lexicon.near(text)
        shown = " ".join(self.text[start:end].split())
        beside = " beside a space" if self.space else ""
        expected = 'a material, or "? …" for what is not known'
        self.flaw(start, end, f'unknown material "{shown}"{beside}', expected, near[0] if near else "")

    # -- the layer -------------------------------------------------------------------------------

    def unknown(self, tokens: list[_Token]) -> Words:
        """`? sheathing`: a layer of which only a word or two is known."""
        kept: list[_Token] = []
        for token in tokens:
            words = normalize(token.text)
            kind, word = wording.PHRASE_OF.get(words, ("", ""))
            if kind in ("joints", "condition"):
                self.phrase(kind, word, token.start, token.end)
            elif token.text in wording.STOP_WORDS:
                continue
            elif token.text in ("thickness", "depth") or not re.fullmatch(r"[^\W\d_][\w'&]*", token.text):
                self.flaw(
                    token.start,
                    token.end,
                    f'"{token.text}" does not say what it is',
                    'words, such as "? sheathing"',
                )
            else:
                kept.append(token)
        self.check_thickness()
        what = " ".join(t.text for t in kept) or "layer"
        self.fields |= {"name": f"unknown {what}", "unknown": True}
        framing = self.framing()
        if framing is not None:
            self.fields["framing"] = framing
        return self.layers(self.fields)

    def finish(self) -> Words:
        if self.space not in ("", "air", "vented air"):
            return self.surroundings()
        board = (
            self.size is not None and self.material is not None and self.material.family == "wood"
            and not self.noun and self.spacing is None and not self.pattern
        )  # fmt: skip
        if board and self.size is not None:
            thin = min(self.size)
            self.give("thickness", Span(thin, thin), *self.size_at)
            framing = None
        else:
            framing = self.framing()
        self.check_thickness()
        if framing is not None:
            self.fields["framing"] = framing
        if self.material is not None and self.space:
            return self.material_and_space(framing)
        if self.material is None and not self.space:
            if self.empty or (framing is not None and self.noun in wording.FLAT):
                self.space = "air"
            elif framing is not None:
                self.flaw(0, len(self.text), "what lies between the members is not said",
                          '"2x4 @ 16 in with glass fiber batt" or "empty 2x4 @ 16 in"')  # fmt: skip
            elif not self.flaws and self.roles:
                shown = " ".join(self.text.split())
                message = f'"{shown}" says what it is for, not what it is'
                self.flaw(0, len(self.text), message, f'a material, or "unknown {shown}"')
            elif not self.flaws:
                self.flaw(0, len(self.text), f'"{" ".join(self.text.split())}" does not say what it is',
                          f"a material or a space, such as {wording.EXAMPLE}")  # fmt: skip
        if self.space:
            self.fields |= {"space": "air", "name": "air space"}
            self.take_vents(self.fields)
            if self.material is None and "joints" in self.fields:
                if self.fields.pop("joints") != "sealed":
                    self.flaw(0, len(self.text), "an air space has no joints", "words on its vents")
                self.fields.setdefault("vents", "none")
        elif self.material is not None:
            self.fields |= {"material": self.material, "name": self.material.id}
            if self.empty:
                self.flaw(0, len(self.text), f"empty, and filled with {self.material.id}", "one of the two")
            if self.vents is not None:
                self.not_a_space()
            if self.painted:
                return self.paint_and(self.material)
        return self.layers(self.fields)

    def paint_and(self, material: Material) -> Words:
        """`painted gypsum board` is two layers: paint towards the room on finishes, outside on claddings."""
        paint = self.named("paint")
        inside = "interior finish" in material.roles
        whole = self.lexicon.find(" ".join(["painted", *self.name_words]))
        if whole is not None and inside == ("cladding" in material.roles):
            self.fields |= {"material": self.lexicon.material(whole), "name": whole}
            return self.layers(self.fields)
        if paint is None or inside == ("cladding" in material.roles):
            self.flaw(
                0,
                len(self.text),
                f"which side of the {material.id} is painted?",
                "the paint as a layer of its own",
            )
            return Words((), self.sorted_flaws())
        coat: dict[str, Any] = {"material": paint, "name": paint.id, "assumed": (wording.ASSUMED_PAINT,)}
        if "coats" in self.fields:
            coat["coats"] = self.fields.pop("coats")
        both = MappingProxyType(coat), self.proxy(self.fields)
        return Words(both if inside else both[::-1], self.sorted_flaws())

    def not_a_space(self) -> None:
        assert self.vents is not None
        self.flaw(self.vents[1], self.vents[2], "only an air space is vented",
                  'the vented space as a layer of its own, such as "vented air space 3/4 in"')  # fmt: skip

    def take_vents(self, fields: dict[str, Any]) -> None:
        if self.vents is not None:
            fields["vents"] = "top and bottom" if self.vents[0] == wording.VENTED else self.vents[0]
        elif self.space == "vented air":
            fields["vents"] = "top and bottom"

    def material_and_space(self, framing: Framing | None) -> Words:
        """A cladding and the air space behind it are two layers; the space lies nearer the room."""
        assert self.material is not None
        outer = self.material.roles & {"cladding", "roof covering"}
        if not outer or framing is not None:
            self.flaw(0, len(self.text), f"{self.material.id} and an air space are two layers",
                      "every layer for itself, from the room outwards")  # fmt: skip
            return Words((), self.sorted_flaws())
        space: dict[str, Any] = {"space": "air", "name": "air space"}
        if "thickness" in self.fields:
            space["thickness"] = self.fields.pop("thickness")
        self.take_vents(space)
        cladding = {**self.fields, "material": self.material, "name": self.material.id}
        return Words((MappingProxyType(space), self.proxy(cladding)), self.sorted_flaws())

    def surroundings(self) -> Words:
        place = self.space
        if place in ("crawl space", "attic"):
            if self.vents is None:
                self.flaw(
                    0,
                    len(self.text),
                    f"vented or unvented {place}?",
                    f'"vented {place}" or "unvented {place}"',
                )
            else:
                place = f"{'unvented' if self.vents[0] == 'none' else 'vented'} {place}"
        elif self.vents is not None:
            self.not_a_space()
        extra = [k.replace("_", " ") for k in self.fields if k not in ("note", "condition")]
        if extra or self.material is not None or self.size is not None or self.noun:
            what = extra[0] if extra else "material"
            self.flaw(0, len(self.text), f"{place} is the surroundings and has no {what}", f'"{place}" alone')
        self.fields |= {"space": place, "name": place}
        return Words((self.proxy(self.fields),), self.sorted_flaws())

    def proxy(self, fields: dict[str, Any]) -> Mapping[str, Any]:
        if self.roles:
            fields = {**fields, "roles": frozenset(self.roles)}
        if self.assumed:
            fields = {**fields, "assumed": tuple(self.assumed)}
        return MappingProxyType(fields)

    def layers(self, fields: dict[str, Any]) -> Words:
        return Words((self.proxy(fields),) * self.copies, self.sorted_flaws())


def _figures(number: str) -> str:
    """A number as `reviewer.units` reads it."""
    number = number.strip()
    for spoken, figure in wording.SPOKEN.items():
        number = number.replace(spoken + "s", figure).replace(spoken, figure)
    for sign, figure in wording.FRACTIONS.items():
        number = number.replace(sign, f" {figure}")
    return " ".join(number.split())


def complete(fields: dict[str, Any], lexicon: Lexicon | None = None) -> None:
    """What follows from the fields of a layer together, once all are there: a layer between members of a
    known depth, without a thickness of its own, is as deep as they are; some sheets are named by thickness."""
    framing: Framing | None = fields.get("framing")
    if (
        framing is not None
        and framing.depth is not None
        and framing.pattern == "single"
        and "thickness" not in fields
        and "thickness_unknown" not in fields
    ):
        fields["thickness"] = Span(framing.depth, framing.depth)
    thickness: Span | None = fields.get("thickness")
    material: Material | None = fields.get("material")
    if thickness is not None and material is not None and thickness.exact:
        material = (lexicon or library_lexicon()).of_thickness(material, thickness.low)
        fields |= {"material": material, "name": material.id}
