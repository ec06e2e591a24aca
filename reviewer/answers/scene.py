"""What a run of words sets out: where, what kind of section, which layers, and what is not there.

A grammar for order and position: adjectives of side before a material, places after it, `over` and `behind` between two,
negation up to the next comma or `but`, `or` between two of a kind.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from reviewer.answers.layers import VENT_SPACE, Setting
from reviewer.answers.lexicon import Loose, Role, lexicon, normal
from reviewer.answers.scan import Lexeme
from reviewer.errors import InputError
from reviewer.library.materials import load_materials
from reviewer.library.places import find_place
from reviewer.library.zones import zone_for

_QUANTITIES = ("R", "R ci", "R per inch", "length", "permeance", "layers")
_THROUGH = frozenset(
    ("need", "needs", "needed", "have", "has", "had", "having", "use", "used", "using", "put", "putting", "install", "installed", "installing",
     "want", "wanted", "real", "other", "additional", "separate", "added", "extra", "bother", "bothering", "for", "to", "there", "been", "it",
     "i", "we", "they", "you", "get", "got", "do", "does", "did", "visible", "dedicated", "proper", "whatsoever", "see", "seen", "include",
     "included", "show", "shown", "such", "specific", "actual", "plain", "this", "that", "kind", "type", "sort", "form", "new", "old")
)  # fmt: skip
_PREFERRING = frozenset(("pick", "choose", "prefer", "better", "best"))
_STUDS = {"3-1/2 in": "2x4", "4 in": "2x4", "5-1/2 in": "2x6", "6 in": "2x6", "8 in": "2x8"}
"""Studs told by one length."""
_CHOOSING = frozenset(
    ("choosing", "choose", "deciding", "decide", "torn", "debating", "compare", "comparing")
)
_IN_OUT = {"in": "inside", "out": "outside"}
_TAKES_IN_OUT = frozenset(
    ("leave", "left", "leaving", "take", "took", "taken", "taking", "pull", "pulled", "rip", "ripped", "tear", "tore", "put", "putting", "cut",
     "blow", "blew", "spray", "sprayed", "go", "goes", "going", "went", "let", "keep", "get", "got", "came", "come", "is", "was")
)  # fmt: skip
"""Verbs that `in` and `out` belong to."""
_TURNED = frozenset(("up", "down", "facing", "faces", "toward", "towards", "inside", "outside"))
_CAVITIES = frozenset(("floor", "between framing", "glass fiber batt", "joist", "stud", "batts"))
_PEOPLE = frozenset(
    (
        "everybody",
        "everyone",
        "anybody",
        "nobody",
        "house",
        "houses",
        "neighbors",
        "people",
        "others",
        "folks",
    )
)
"""Who lives `on the block`."""
_FROM_THE = (["off", "the"], ["from", "the"], ["above", "the"], ["to", "the"])
_BLANKET = frozenset(("glass", "fiber", "batt", "batts", "blanket"))
SAYS_WHAT = frozenset(
    (
        "is",
        "are",
        "was",
        "were",
        "has",
        "have",
        "get",
        "gets",
        "got",
        "sprayed",
        "insulated",
        "lined",
        "foamed",
        "covered",
    )
)
_STRIPS = frozenset(("sleeper", "sleepers", "purlin", "purlins", "batten", "battens", "strapping", "furring"))
_SHORT_FIBERS = {"glass": "glass fiber batt", "wool": "mineral wool batt"}
"""Words for batts behind an R-value."""
_MEMBERS = frozenset(("stud", "studs", "framing", "rafter", "rafters", "joist", "joists"))
_ABOVE = frozenset(("rim", "band", "knee", "kneewall", "gable"))
"""Words for walls that keep their kind whatever they are part of."""
_BATTS = frozenset(("glass fiber batt", "kraft-faced glass fiber batt"))
_COPULAS = frozenset(
    (
        "is",
        "thats",
        "as",
        "its",
        "are",
        "call",
        "called",
        "being",
        "be",
        "s",
        "become",
        "becomes",
        "was",
        "act",
        "acts",
    )
)
_LAYERS = frozenset(("material", "loose", "space", "role", "kind", "size", "unknown", "R"))
_SILENT = frozenset(
    (
        "w",
        "totalling",
        "totaling",
        "of", "the", "a", "an", "thick", "worth", "my", "our", "some", "any", "more", "full", "and", "is", "are",
                     "be", "with", "on", "in", "at", "that", "layer", "to", "actual", "nominal", "only", "just", "about", "continuous",
                     "straight", "right", "directly", "up"))  # fmt: skip
_DESCRIBING = frozenset(
    ("cast", "poured", "solid", "rigid", "stiff", "heavy", "light", "soft", "thin", "wide", "good", "big", "cheap", "plain", "ordinary",
     "regular", "normal", "standard", "clean", "washed", "compacted", "leftover", "factory", "recycled", "rough", "smooth", "square",
     "nice", "proper", "decent", "beautiful", "ugly", "lousy", "crummy", "genuine", "real", "spun", "woven", "cut", "sawn", "pressed")
)  # fmt: skip
"""Adjectives that say nothing of which material it is: `200 mm cast concrete`."""
_FASTENED = frozenset(
    ("laid", "glued", "placed", "screwed", "nailed", "set", "stuck", "stapled", "installed", "adhered", "fastened", "bonded", "sitting", "lying",
     "resting", "sprayed")
)  # fmt: skip
_JOINING = _SILENT | {"as", "use", "using", "go", "get", "with", "try", "put"}
_TRADES = frozenset(
    ("guy", "guys", "man", "men", "crew", "crews", "contractor", "contractors", "company", "outfit", "installer", "installers",
     "salesman", "rep", "fellow", "fella", "lady", "sub", "subs", "people", "folk", "folks", "supplier", "dealer", "estimator",
     "money", "budget", "quote", "bill")
)  # fmt: skip
_DECKING = {"2x": "1-1/2 in", "3x": "2-1/2 in", "4x": "3-1/2 in"}
_TONGUES = re.compile(r"\bt ?& ?g\b|\btongue\b")
_DOUBLED = frozenset(("double", "two", "dual", "trap", "sandwich", "sandwiches"))
_HARMLESS = frozenset(
    ("yr", "yrs", "question", "year", "bedroom", "bath", "month", "day", "kid", "people", "side", "way", "time", "option", "quote",
     "contractor", "inspector", "sq", "sf", "square", "dollar", "buck", "k", "hour", "week", "winter", "summer",
     "season", "minute", "guy", "thing", "reason", "room", "unit", "floor", "person", "window", "choice",
     "house", "home", "different", "or", "of", "percent", "people", "more", "am", "pm", "th", "st", "nd", "rd")
)  # fmt: skip


@dataclass(slots=True)
class Mention:
    """A layer, or a function, that the text names."""

    lexeme: Lexeme
    material: str = ""
    space: str = ""
    loose: Loose | None = None
    role: Role | None = None
    r: str = ""
    thickness: str = ""
    permeance: str = ""
    layers: str = ""
    size: str = ""
    """Members that it lies between."""
    copies: bool = False
    """The thickness is that of each of `layers`."""
    joints: str = ""
    condition: str = ""
    side: str = ""
    negated: bool = False
    alternative_to: Mention | None = None
    direct: bool = False
    """Nothing but sizes and sides between the `or` and it."""
    replaces: bool = False
    """Said after `instead of`: what another takes the place of."""
    removed: bool = False
    """Denied since it was taken away: it was there when something went wrong."""
    relation: str = ""
    """`over`, `under`, `outside of`, `inside of`, to `target`."""
    target: Mention | None = None
    frame: str = ""
    """`over` or `under` the joists or rafters."""
    predicate: bool = False
    """What something is said to be (`that is the vapor barrier`), not a layer of its own."""
    of: str = ""
    """The kind of section that its clause says it of: `the roof is slate`."""
    referred_to: bool = False
    """With `the`: a layer that is there already."""

    @property
    def label(self) -> str:
        """What it is called in an answer."""
        return self.material or (self.role.role if self.role else self.space)


@dataclass(slots=True)
class Scene:
    """Everything that one or several sentences set out."""

    setting: Setting = field(default_factory=Setting)
    kind_sure: int = 0
    choices: tuple[tuple[str, str], ...] = ()
    """Places that it may be."""
    place_lexeme: Lexeme | None = None
    climate: str = ""
    size: str = ""
    spacing: str = ""
    steel: str = ""
    members: str = ""
    """I-joists, as the parser reads them."""
    noun: str = ""
    double: str = ""
    """Thickness of a double stud wall, or `yes`."""
    cavity_r: str = ""
    outside_r: str = ""
    empty: bool = False
    exposed: bool = False
    """No lining on the room side."""
    existing: bool = False
    inverted: bool = False
    """A roof with its insulation over the membrane."""
    deck: bool = False
    """Whether a question about an attic is one about the roof deck above it."""
    mentions: list[Mention] = field(default_factory=list)
    findings: list[Lexeme] = field(default_factory=list)
    quality: Lexeme | None = None
    referred: list[Lexeme] = field(default_factory=list)
    unread: list[Lexeme] = field(default_factory=list)
    lengths: list[Lexeme] = field(default_factory=list)
    """Lengths beside no layer."""
    as_said: bool = False
    notes: list[tuple[str, str]] = field(default_factory=list)
    """What was taken while reading: what and why."""

    @property
    def framed(self) -> bool:
        return bool(self.size or self.steel or self.members or self.noun or self.spacing)


class _Gatherer:
    def __init__(self, lexemes: list[Lexeme]):
        self.lexemes = lexemes
        self.scene = Scene()
        self.pending: list[Lexeme] = []
        self.side = ""
        self.joints = ""
        self.condition = ""
        self.negated = self.denied = False
        self.alternative: Lexeme | None = None
        self.turned = False
        """Whether a relation is to what was named before: `on top of that`."""
        self.either: Mention | None = None
        self.after_either = False
        self.choosing = False
        """After `choosing between`: then `and` stands between alternatives."""
        self.relation = ""
        self.head = ""
        """The kind that the clause speaks of."""
        self.size = ""
        """Members that wait for what lies between them."""
        self.last: Mention | None = None
        self.since_break = True
        """Whether nothing but a break stands between the last mention and here."""

    def gather(self) -> Scene:
        for i, x in enumerate(self.lexemes):
            if x.sort in ("material", "loose") and self.names_somebody(i):
                # `the insulation guy`, `foam man`, `spray foam money`: who does it or what it costs, and no layer.
                x.sort, x.value, x.reads = "word", normal(x.text), ""
                continue
            method = getattr(self, "on_" + x.sort.replace(" ", "_"), None)
            if method is not None:
                method(i, x)
        self.flush()
        return self.scene

    def names_somebody(self, i: int) -> bool:
        """Whether a word for a layer only tells the trade of somebody."""
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        return after is not None and after.sort in ("word", "other", "part") and after.value in _TRADES

    # -- looking around --------------------------------------------------------------------------

    def next_of(self, i: int, skip_sides: bool = True) -> Lexeme | None:
        """The next lexeme that says something, within the same phrase."""
        for k, y in enumerate(self.lexemes[i + 1 : i + 6], i + 1):
            if (y.sort == "word" and y.value in _SILENT) or y.sort in ("coats", "gauge"):
                continue
            if (
                y.sort in ("word", "part")
                and y.value in _DESCRIBING
                and self.sort_at(k + 1) in ("material", "loose")
            ):
                continue
            if skip_sides and y.sort in ("side", "condition", "joints"):
                continue
            return y
        return None

    def sort_at(self, i: int) -> str:
        return self.lexemes[i].sort if i < len(self.lexemes) else ""

    def material_follows(self, i: int) -> Lexeme | None:
        y = self.next_of(i)
        k = i
        while y is not None and y.sort in (*_QUANTITIES, "size", "spacing"):
            k = self.lexemes.index(y)
            y = self.next_of(k)
        return y if y is not None and y.sort in ("material", "loose", "space", "role") else None

    # -- settings --------------------------------------------------------------------------------

    def on_place(self, i: int, x: Lexeme) -> None:
        spot = x.spot
        assert spot is not None
        x.read = True
        self.relation = ""
        s = self.scene
        earlier = self.lexemes[:i]
        before = next((y for y in reversed(earlier) if y.sort == "place" and y.spot is not None), None)
        if before is not None and before.spot is not None and (spot.place or spot.zone):
            between = [y for y in earlier if y.start >= before.end]
            if s.setting.place and spot.zone and _in_zone(s.setting.place, spot.zone):
                # `Duluth MN, zone 7`: the place says more.
                return
            joined = [y.value for y in between if y.sort in ("word", "alternative")]
            other = before.spot.place or (f"zone {before.spot.zone}" if before.spot.zone else "")
            here = spot.place or f"zone {spot.zone}"
            beside = spot.zone and before.spot.place and not joined
            if (
                other
                and other != here
                and (beside or (len(joined) == len(between) == 1 and joined[0] in ("and", "or")))
            ):
                # `in Miami and Duluth`: one answer for each.
                s.setting.place = s.setting.zone = ""
                s.choices, s.place_lexeme = ((other, other), (here, here)), x
                return
        if spot.place or spot.zone:
            s.setting.place, s.setting.zone, s.choices = spot.place, "" if spot.place else spot.zone, ()
            if spot.note:
                s.notes.append((spot.reads, spot.note))
            s.place_lexeme = x
        elif not (s.setting.place or s.setting.zone):
            s.choices, s.place_lexeme = spot.choices, x

    def on_kind(self, i: int, x: Lexeme) -> None:
        x.read = True
        kind, _, form = x.value.partition("/")
        if x.value == "floor" and [y.value for y in self.lexemes[max(i - 2, 0) : i]] in _FROM_THE:
            # `two feet off the floor`
            x.sort = "word"
            return
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if after is not None and after.value in SAYS_WHAT:
            self.head = kind
        before = self.lexemes[i - 1].text.lower() if i else ""
        if x.value == "floor" and before in (
            "second",
            "first",
            "third",
            "2nd",
            "1st",
            "3rd",
            "main",
            "ground",
            "upper",
            "top",
            "lower",
            "fourth",
        ):
            return
        plain = x.value == "wall" or x.value == "roof" or x.value == "floor"
        plain = plain and "rafter" not in x.text.lower()
        sure = 1 if plain else 3 if "crawl" in x.text.lower() and kind == "foundation wall" else 2
        if x.value == "wall" and _ABOVE & set(normal(x.text).split()):
            # A rim joist or a knee wall is one, in a basement or below a roof too.
            sure = 3
        s = self.scene
        if form == "ceiling":
            if not s.setting.kind:
                s.setting.kind, s.setting.form, s.kind_sure = "roof", "ceiling", 1
            return
        if s.setting.kind == "foundation wall" and kind == "slab" and x.text.lower() in ("slab",):
            return
        if sure > s.kind_sure:
            if sure == 2 and s.kind_sure == 1 and not form and kind == s.setting.kind:
                return
            s.setting.kind, s.setting.form, s.kind_sure = kind, form, sure
        elif kind == s.setting.kind and form and not s.setting.form:
            s.setting.form = form
        if "double" in x.text.lower():
            s.double = s.double or "yes"
            for q in [*self.pending, *s.unread[-1:]]:
                if q.sort == "length" and q.end <= x.start and q.end > x.start - 4:
                    s.double, q.read = q.value, True
                    self.pending = [p for p in self.pending if p is not q]
                    s.unread = [p for p in s.unread if p is not q]
        if normal(x.text).startswith(("stud", "framed", "frame")) or "stud" in x.text.lower():
            s.noun = s.noun or "stud"
        if "rafter" in x.text.lower():
            s.noun = s.noun or "rafter"
        if "joist" in x.text.lower():
            s.noun = s.noun or "joist"

    def hint(self, kind: str, form: str = "") -> None:
        s = self.scene
        if not s.kind_sure and not s.setting.kind:
            s.setting.kind, s.setting.form = kind, form

    def on_climate(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.climate = x.value

    def on_indoor(self, i: int, x: Lexeme) -> None:
        x.read = True
        s = self.scene.setting
        if x.value != "home" or not s.indoor:
            s.indoor = x.value if not (x.value == "home" and s.indoor) else s.indoor

    def on_building(self, i: int, x: Lexeme) -> None:
        x.read = True
        s = self.scene.setting
        match x.value:
            case "cooled":
                s.cooling = not self.negated
                self.negated = False
            case "not cooled":
                s.cooling = False
            case "retrofit" | "addition" | "new":
                s.building.setdefault("work", x.value)
                self.scene.existing = self.scene.existing or x.value == "retrofit"
            case "exposed":
                self.scene.exposed = True
            case "insulated above":
                self.scene.empty = True
            case "crawl space conditioned" if self.wall_follows(i):
                # `sealed crawl space walls`
                wall = self.lexemes[i + 1]
                wall.value = wall.reads = "foundation wall"
            case "inverted":
                self.scene.inverted = True
                self.hint("roof", "low slope")
            case "ground cover none":
                s.known["ground cover"] = "none"
            case "vent area 1/150" | "vent area 1/300":
                s.known["vent area"] = x.value.removeprefix("vent area ")
            case "floor heating":
                s.known["floor heating"] = "yes"
            case "heated":
                y = self.next_of(i)
                if y is not None and y.text.lower() in ("slab", "slabs", "concrete", "floor"):
                    s.known["floor heating"], x.reads = "yes", "floor heating"
                else:
                    x.sort, x.read = "word", False
            case "crawl space conditioned":
                if self.scene.kind_sure < 2:
                    s.kind, s.form, self.scene.kind_sure = "floor", "conditioned", 2
            case "rain low" | "rain high":
                s.rain = x.value.removeprefix("rain ")
            case _:
                s.faces = x.text.lower().replace("-", " ").split()[0]

    def wall_follows(self, i: int) -> bool:
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        return after is not None and after.sort == "kind" and after.value == "wall"

    def on_year(self, i: int, x: Lexeme) -> None:
        year = int(x.value)
        self.scene.setting.building["year"] = x.value
        x.read = True
        if year < 2000:
            self.scene.existing = True

    def on_age(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.existing = True

    def on_code(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.setting.building["code"] = x.value

    def on_stories(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.setting.building["stories"] = x.value

    def on_air(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.setting.building["airtightness"] = x.value.split("ach")[0].strip()

    def on_humidity(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.setting.humidity = x.value

    def on_temperature(self, i: int, x: Lexeme) -> None:
        value = int(x.value.split()[0])
        if 40 <= value <= 95:
            x.read = True
            self.scene.setting.temperature = x.value
        else:
            self.scene.unread.append(x)

    # -- framing ---------------------------------------------------------------------------------

    def on_size(self, i: int, x: Lexeme) -> None:
        x.read = True
        if x.value.startswith(("1x", "19x")):
            y = self.next_of(i)
            sheathing = y is not None and (
                (y.sort == "loose" and "heath" in y.text) or y.value == "gypsum roof board"
            )
            if y is not None and sheathing:
                y.sort, y.value, y.reads = "material", "board sheathing", "board sheathing"
            elif y is None or y.sort not in ("space", "material") or x.value.startswith("19x"):
                x.sort, x.value, x.reads = "space", "3/4 in air space vented", "3/4 in air space vented"
                self.on_space(i, x)
            return
        after = self.next_of(i)
        if after is not None and after.text.lower() in _STRIPS:
            # `2x4 sleepers as vent`
            x.sort, x.value, x.reads = "space", VENT_SPACE, VENT_SPACE
            self.on_space(i, x)
            return
        if after is not None and x.value[:2] in _DECKING and _TONGUES.search(after.text.lower()):
            # `2x6 T&G decking` tells how thick the deck is.
            x.sort, x.value = "length", _DECKING[x.value[:2]]
            x.reads = x.value
            self.pending.append(x)
            return
        if after is not None and after.sort == "material" and after.value == "log wall":
            # `6x8 logs` tells how thick they are.
            x.sort, x.value = "length", f"{x.value.split('x')[0]} in"
            x.reads = x.value
            self.pending.append(x)
            return
        self.scene.size = self.scene.size or x.value
        last = self.last
        if (
            last is not None
            and self.since_break
            and self.previous(i) is last.lexeme
            and _insulates(last.lexeme)
            and not last.size
        ):
            last.size = x.value
        else:
            self.size = x.value

    def on_spacing(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.spacing = self.scene.spacing or x.value

    def on_steel(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.steel = x.value

    def on_i_joist(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.members = x.value

    def on_word(self, i: int, x: Lexeme) -> None:
        if x.value in ("vented", "ventilated") and self.before_cladding(i):
            # `vented metal panels`: what is vented is the space behind them.
            x.sort, x.value, x.reads = "space", "3/4 in air space vented", "3/4 in air space vented"
            self.on_space(i, x)
            return
        if (
            x.value in _IN_OUT
            and self.faces(x.value, i)
            and self.ends_phrase(i)
            and self.last is not None
            and self.previous(i) is self.last.lexeme
        ):
            # `lime plaster in and stucco out`
            self.last.side = self.last.side or _IN_OUT[x.value]
            return
        if x.value == "on" and self.last is not None and (self.since_break or self.fastened(i)):
            self.on_top(i)
        if self.relation in ("inside of", "outside of") and x.value in ("stud", "framing", "rafter", "joist"):
            if self.last is not None:
                self.last.side = self.last.side or self.relation.removesuffix(" of")
            self.relation = ""
        if x.value in ("stud", "rafter", "joist", "truss", "framing", "framed", "framer") and not (
            x.value.startswith("framed") and not self.scene.framed
        ):
            self.scene.noun = self.scene.noun or x.value
        if x.value == "framed" and not self.scene.noun:
            self.scene.noun = "stud"
        if x.value in ("either", "between", "choose"):
            self.after_either, self.either = True, None
        self.on_other(i, x)
        if x.value == "and" and self.choosing and self.last is not None and self.since_break:
            self.alternative = x
        if x.value == "nothing" or (
            x.value in ("stud", "joist", "rafter")
            and any(y.text.lower() == "nothing" for y in self.lexemes[max(i - 4, 0) : i])
        ):
            after = {y.value for y in self.lexemes[i : i + 5]}
            if after & {"joist", "stud", "rafter", "between framing"}:
                self.scene.empty = True
        if x.value in ("uninsulated", "empty"):
            self.scene.empty = True
            x.read = True
        if self.denied and x.value == "and":
            self.negated = self.denied = False
        if (
            self.negated
            and x.value not in (*_SILENT, "or", "nor")
            and (self.denied or x.value not in _THROUGH)
        ):
            # "no poly because …" is over with the poly; "no need for poly" goes on to it.
            self.negated = self.denied = False
        if x.value not in _SILENT:
            self.since_break = self.since_break and x.value in _MEMBERS and bool(self.relation)
            if x.value not in ("or", "and"):
                self.relation = "" if self.relation and x.value not in ("stud", "framing") else self.relation

    def faces(self, word: str, i: int) -> bool:
        """Whether the last layer is one that faces the room or the weather, and no verb takes the word: `leave it out`."""
        last = self.last
        if (
            last is None
            or not last.material
            or any(y.value in _TAKES_IN_OUT for y in self.lexemes[max(i - 5, 0) : i])
        ):
            return False
        m = load_materials()[last.material]
        plaster = "plaster" in last.material or m.family == "gypsum"
        return plaster or bool(m.roles & ({"interior finish"} if word == "in" else {"cladding"}))

    def ends_phrase(self, i: int) -> bool:
        """Whether the words after a lexeme go on to something else."""
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        return after is None or after.sort == "break" or after.value in ("and", "with", "then")

    def before_cladding(self, i: int) -> bool:
        """Whether a cladding of a wall is named next that is not vented by itself."""
        y = self.next_of(i)
        if y is None or self.scene.setting.kind == "roof" or y.sort not in ("material", "loose"):
            return False
        loose = lexicon().loose[int(y.value)] if y.sort == "loose" else None
        id_ = y.value if loose is None else loose.takes
        return (
            id_ in load_materials()
            and "cladding" in load_materials()[id_].roles
            and id_ not in ("vinyl siding", "aluminum siding")
        )

    def on_other(self, i: int, x: Lexeme) -> None:
        self.choosing = self.choosing or x.value in _CHOOSING

    def fastened(self, i: int) -> bool:
        """Whether the last layer is said to be laid, glued, nailed … on what follows."""
        assert self.last is not None
        return self.lexemes[i - 1].text.lower() in _FASTENED and self.previous(i - 1) is self.last.lexeme

    def on_top(self, i: int) -> None:
        """`on` between two materials: the first lies over the second."""
        y = self.next_of(i)
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if (
            after is not None
            and after.value in ("it", "them")
            and self.last is not None
            and len(self.scene.mentions) > 1
        ):
            # `drywall, cedar on it`
            self.last.relation, self.last.target = "over", self.scene.mentions[-2]
            return
        if y is None or y.sort not in ("material", "loose", "kind", "space") or self.last is None:
            return
        if y.sort == "kind":
            if y.value.partition("/")[0] == "slab":
                self.last.side = self.last.side or "inside"
            return
        self.relation, self.turned = "over", False

    # -- quantities ------------------------------------------------------------------------------

    def on_R_plus(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.cavity_r, self.scene.outside_r = x.value.split("|")

    def on_R_ci(self, i: int, x: Lexeme) -> None:
        x.read = True
        y = self.material_follows(i)
        if y is not None and _insulates(y):
            self.pending.append(x)
            self.side = "outside"
        elif self.last is not None and self.since_break and _insulates(self.last.lexeme) and not self.last.r:
            self.last.r, self.last.side = x.value, self.last.side or "outside"
        else:
            self.scene.outside_r = x.value

    def on_R(self, i: int, x: Lexeme) -> None:
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if after is not None and (id_ := _SHORT_FIBERS.get(after.text.lower())):
            after.sort, after.value, after.reads, after.others = "material", id_, id_, ()
        self.attach(i, x)

    def on_length(self, i: int, x: Lexeme) -> None:
        self.attach(i, x)

    def on_permeance(self, i: int, x: Lexeme) -> None:
        self.attach(i, x)

    def on_layers(self, i: int, x: Lexeme) -> None:
        self.attach(i, x)

    def attach(self, i: int, x: Lexeme) -> None:
        following = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        ends = (
            following is not None
            and following.sort == "word"
            and following.value in ("and", "is", "are", "if", "then", "so", "on", "at")
        )
        if x.sort == "length" and following is not None and following.value == "stud" and self.deep(x):
            return
        y = None if ends else self.material_follows(i)
        named = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if x.sort != "R" and named is not None and named.sort == "unknown" and y is None:
            self.scene.unread.append(x)
            return
        takes = y is not None and (x.sort != "R" or _insulates(y))
        if (
            takes
            and y is not None
            and y.sort == "material"
            and x.value.endswith(" mil")
            and not _is_sheet(y.value)
        ):
            # `10 mil + 2 in XPS`: a sheet of its own.
            takes = False
        after = self.next_of(i)
        if x.sort == "R" and not takes and after is not None and after.sort == "size":
            self.loose_r(i, x)
            return
        if (
            takes
            and x.sort == "length"
            and self.last is not None
            and self.since_break
            and y is not None
            and (self.thick_for(x, y) or self.closes(i))
        ):
            takes = False
        if (
            x.sort == "length"
            and after is not None
            and after.sort == "kind"
            and after.value == "wall"
            and not takes
        ):
            mass = next((m for m in reversed(self.scene.mentions) if _masses(m)), None)
            if mass is not None and not mass.thickness:
                mass.thickness, x.read = x.value, True
                return
        beside = i > 0 and self.lexemes[i - 1].value in ("and", "plus", "then") and x.sort == "R"
        beyond = i > 0 and self.lexemes[i - 1].value == "with" and x.sort == "R" and self.last is not None
        if takes:
            self.pending.append(x)
        elif (
            beyond
            and self.last is not None
            and self.last.thickness
            and self.previous(i - 1) is not self.last.lexeme
        ):
            # `3 in EPS on a deck with R-38 below`: of what lies below.
            self.loose_r(i, x)
        elif beside and self.last is not None and self.last.thickness and "spray" in self.last.material:
            # `3 in closed cell and R-19 under it`: batts.
            self.loose_r(i, x)
        elif x.sort == "R" and self.size and not self.scene.cavity_r:
            # `XPS, 2x4 wall with R-13`: of what lies between the members told last.
            self.loose_r(i, x)
        elif self.last is not None and self.since_break and self.give(self.last, x):
            pass
        elif x.sort == "R":
            self.loose_r(i, x)
        elif x.sort == "length" and x.value.endswith(" mil"):
            self.sheet_by_gauge(i, x)
        elif x.sort == "length" and self.stands_alone(i) and self.fills_last(x):
            pass
        elif x.sort == "length" and (
            x.value.endswith(" ft") or not any(z.sort in _LAYERS for z in self.lexemes[max(i - 2, 0) : i + 3])
        ):
            self.scene.lengths.append(x)
        else:
            self.scene.unread.append(x)

    def deep(self, x: Lexeme) -> bool:
        """`6 inch studs`: how deep the framing is, of steel where that was said."""
        if self.scene.steel:
            self.scene.steel = f"{x.value} steel studs"
        elif (size := _STUDS.get(x.value)) is not None:
            self.scene.size = self.scene.size or size
        else:
            return False
        x.read = True
        return True

    def closes(self, i: int) -> bool:
        """`foam roof 2 in. with a coat on it`: whether a thickness is that of what stands before it."""
        last, after = self.last, self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if last is None or last.thickness or not last.material or after is None or after.value != "with":
            return False
        return (
            self.lexemes[i - 1] is last.lexeme
            and last.material in load_materials()
            and _insulates(last.lexeme)
        )

    def thick_for(self, x: Lexeme, y: Lexeme) -> bool:
        """Whether a thickness is too much for the cladding that follows, and missing for what stands before."""
        assert self.last is not None
        if y.sort != "material" or self.last.thickness or not _masses(self.last):
            return False
        number = x.value.split()[0].split("-")[0].split("/")[0]
        thick = y.value in load_materials() and bool(
            load_materials()[y.value].roles & {"cladding", "interior finish"}
        )
        return thick and x.value.endswith(" in") and _float(number) > 2.5

    def stands_alone(self, i: int) -> bool:
        """Whether nothing but breaks lies beside a lexeme."""
        before = self.lexemes[i - 1] if i else None
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        return (before is None or before.sort == "break") and (after is None or after.sort == "break")

    def fills_last(self, x: Lexeme) -> bool:
        """`open cell under the deck. 10 inches`: of the last insulation that has no thickness."""
        for m in reversed(self.scene.mentions):
            if _insulates(m.lexeme) and not m.negated and not m.thickness and not m.r:
                m.thickness, x.read = x.value, True
                return True
        return False

    def sheet_by_gauge(self, i: int, x: Lexeme) -> None:
        """`10 mil under the slab`: a sheet told by its thickness alone."""
        thick = float(x.value.split()[0].replace("-", ".").split("/")[0])
        name = (
            "slab vapor retarder 15 mil"
            if thick >= 15
            else "slab vapor retarder"
            if thick >= 10
            else "polyethylene sheet"
        )
        x.sort, x.value, x.reads, x.confidence, x.read = "material", name, f"{x.value} {name}", 0.9, True
        self.add(i, x, Mention(x, material=name))

    def give(self, mention: Mention, x: Lexeme) -> bool:
        """Give a quantity to a mention; whether it had none of the kind and makes sense there."""
        if x.sort in ("R", "R ci"):
            if mention.r or not _insulates(mention.lexeme):
                return False
            mention.r = x.value
        elif x.sort == "length":
            gap = mention.role is not None and mention.role.role in ("capillary break", "drainage")
            if x.value.endswith(" mil") and mention.material and not _is_sheet(mention.material):
                return False
            if mention.thickness or (mention.role is not None and not gap and not x.value.endswith("mil")):
                return False
            mention.thickness = x.value
        elif x.sort == "permeance":
            if mention.permeance:
                return False
            mention.permeance = x.value
        elif x.sort == "layers":
            mention.layers, mention.copies = x.value, not mention.thickness
        else:
            return False
        x.read = True
        return True

    def loose_r(self, i: int, x: Lexeme) -> None:
        """An R-value without a material: of the cavity, or of what is outside where it says so."""
        x.read = True
        after = self.next_of(i, skip_sides=False)
        beside = after is not None and (
            (after.sort == "side" and after.value == "outside")
            or (after.sort == "relation" and after.value == "outside of")
        )
        if beside or self.side == "outside":
            self.scene.outside_r = self.scene.outside_r or x.value
            self.side = ""
        elif not self.scene.cavity_r:
            # What lies between the members is told with it: they wait for nothing more.
            self.scene.cavity_r, self.size = x.value, ""
        else:
            x.read = False
            self.scene.unread.append(x)

    def on_number(self, i: int, x: Lexeme) -> None:
        y = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if (
            y is not None
            and _insulates(y)
            and x.value in ("11", "13", "15", "19", "20", "21", "23", "30", "38", "49", "60")
        ):
            x.sort, x.value, x.reads, x.confidence = "R", f"R-{x.value}", f"R-{x.value}", 0.85
            self.pending.append(x)
            return
        if y is not None and (_is_board(y) or _bears(y)) and x.value.isdigit() and 20 <= int(x.value) <= 400:
            # `150 concrete, 100 XPS`: millimeters, as Canadian drawings leave them out.
            x.sort, x.value, x.reads, x.confidence = "length", f"{x.value} mm", f"{x.value} mm", 0.85
            self.pending.append(x)
            return
        if y is not None and (_is_board(y) and 0 < _float(x.value) <= 12):
            x.sort, x.value, x.reads, x.confidence = "length", f"{x.value} in", f"{x.value} in", 0.85
            self.pending.append(x)
            return
        before = self.lexemes[i - 1] if i else None
        if before is not None and before.value in ("at", "to") and 60 <= _int(x.value) <= 80:
            x.sort, x.value, x.reads, x.read = "temperature", f"{x.value} F", f"{x.value} °F", True
            self.scene.setting.temperature = x.value
            return
        near = [*self.lexemes[max(i - 1, 0) : i], *self.lexemes[i + 1 : i + 2]]
        if not any(z.sort in ("material", "loose", "role", "kind", "size", "R", "space") for z in near):
            return
        follows = self.next_of(i)
        if follows is None or follows.sort != "word" or follows.value not in _HARMLESS:
            self.scene.unread.append(x)

    def on_share(self, i: int, x: Lexeme) -> None:
        if any(y.value in ("framing", "slope") for y in self.lexemes[i + 1 : i + 3]):
            x.read = True

    on_R_per_inch = on_permeance

    # -- words around materials ------------------------------------------------------------------

    def on_break(self, i: int, x: Lexeme) -> None:
        if (
            self.alternative is not None
            and self.alternative.value == "instead"
            and self.previous(i) is not self.alternative
        ):
            # `rather than two rows at the eaves - …` is over.
            self.alternative = None
        y = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if not (y is not None and y.sort in ("alternative", "negation")):
            self.negated = False
        self.flush()
        self.side = self.joints = self.condition = self.relation = ""

    def flush(self) -> None:
        """Quantities that wait for a material go back to the last one, or stay unread."""
        for x in self.pending:
            if not (self.last is not None and self.give(self.last, x)):
                if x.sort == "R" and not self.scene.cavity_r:
                    self.scene.cavity_r, x.read = x.value, True
                else:
                    self.scene.unread.append(x)
        self.pending = []

    def on_negation(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.negated, self.denied = True, False
        near = self.lexemes[i + 1 : i + 5]
        if x.text.lower() == "nothing" and any(
            y.value in ("joist", "stud", "rafter", "between framing") for y in near
        ):
            self.scene.empty = True

    def on_alternative(self, i: int, x: Lexeme) -> None:
        around = self.lexemes[i - 1 : i] + self.lexemes[i + 1 : i + 2]
        if len(around) == 2 and all(y.sort in ("side", "relation") for y in around):
            x.read = True
            return
        self.alternative = x
        if x.value == "instead":
            self.negated = False

    def on_joints(self, i: int, x: Lexeme) -> None:
        y = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if self.last is not None and self.last.lexeme is self.previous(i) and not self.last.joints:
            self.last.joints, x.read = x.value, True
        elif y is not None and y.sort in ("material", "loose"):
            self.joints, x.read = x.value, True
        elif self.last is not None and not self.last.joints:
            self.last.joints, x.read = x.value, True

    def previous(self, i: int) -> Lexeme | None:
        for y in reversed(self.lexemes[:i]):
            if (
                y.sort in ("break", "side")
                or (y.sort == "word" and y.value in _SILENT)
                or y.sort in _QUANTITIES
            ):
                continue
            return y
        return None

    def on_condition(self, i: int, x: Lexeme) -> None:
        # `the old 6 inches of batts`
        y = self.material_follows(i) or self.next_of(i)
        if y is not None and y.sort in ("material", "loose"):
            self.condition = x.value
            x.read = True
        elif y is not None and y.sort in ("kind", "indoor", "building"):
            x.read = True
        seen = next((e for e in x.others if e.sort == "finding"), None)
        if seen is not None and not (
            y is not None and y.sort in ("material", "loose") and self.lexemes.index(y) <= i + 2
        ):
            x.sort, x.value, x.reads = "finding", seen.value, seen.value
            self.condition = ""
            self.on_finding(i, x)
        if x.value == "existing":
            self.scene.existing = True
            x.read = True
        elif x.value == "new" and y is not None and y.sort in ("kind", "indoor"):
            self.scene.setting.building.setdefault("work", "new")

    def on_side(self, i: int, x: Lexeme) -> None:
        x.read = True
        if normal(x.text) == "cavity" and i and self.lexemes[i - 1].sort == "length":
            # `2 in cavity, brick`
            x.sort, x.value, x.reads = "space", "3/4 in air space", "air space"
            self.on_space(i, x)
            return
        if x.value == "against masonry":
            if i == 0 or self.lexemes[i - 1].value not in _PEOPLE:
                self.against(i, x)
            return
        if (
            x.value == "both"
            and self.last is not None
            and self.last.material == "foil-faced polyisocyanurate board"
        ):
            return
        if x.value == "both" and self.last is not None and self.last.material == "aluminum foil":
            # `polyiso, foil both faces`
            self.scene.mentions.remove(self.last)
            self.last = next((m for m in reversed(self.scene.mentions) if m.material), None)
            if self.last is not None and self.last.material == "polyisocyanurate board":
                self.last.material = "foil-faced polyisocyanurate board"
            return
        if x.value == "both":
            if self.last is not None and self.last.material:
                inner = replace(self.last, side="inside", relation="", target=None)
                self.last.side = "outside"
                self.scene.mentions.insert(self.scene.mentions.index(self.last), inner)
            return
        if x.value == "between framing" and not self.scene.noun:
            text = x.text.lower()
            self.scene.noun = "rafter" if "rafter" in text else "joist" if "joist" in text else "stud"
        before = self.lexemes[i - 1] if i else None
        if x.value == "between framing" and before is not None and before.text.lower() == "nothing":
            return
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if after is not None and after.value == "of" and "face" in x.text.lower():
            # `water on the outside face of the poly`: where something is seen.
            return
        material_before = (
            self.last is not None
            and before is not None
            and (
                before is self.last.lexeme
                or before.sort in (*_QUANTITIES, "joints")
                or (before.sort == "word" and before.value in _SILENT)
            )
            and self.since_break
        )
        follows = self.material_follows(i)
        short = normal(x.text) in (
            "exterior",
            "interior",
            "ext",
            "int",
            "outside",
            "inside",
            "continuous",
            "outboard",
            "inboard",
            "cavity",
            "stud cavity",
        )
        if (
            material_before
            and self.last is not None
            and not (short and follows is not None and before is not self.last.lexeme)
        ):
            self.last.side = self.last.side or x.value
        elif follows is not None:
            self.side = x.value
        elif (
            self.last is not None
            and self.last.lexeme.end <= x.start
            and (self.since_break or self.meant_for(i))
        ):
            self.last.side = self.last.side or x.value
        else:
            self.side = x.value

    def meant_for(self, i: int) -> bool:
        """`OSB for the inside`: nothing but `for` or `as` stands between the last layer and a side."""
        assert self.last is not None
        between = [y for y in self.lexemes[:i] if y.start >= self.last.lexeme.end]
        return bool(between) and all(y.value in ("for", "as", "the", "an", "a", "my", "our") for y in between)

    def against(self, i: int, x: Lexeme) -> None:
        """`against the block`: where the last thing lies, and what is there."""
        if self.last is not None and self.since_break:
            self.last.side = self.last.side or x.value
        word = next((w for w in normal(x.text).split() if w in ("block", "concrete", "brick", "stone")), "")
        entries = lexicon().phrases.get(word, [])
        entry = next((e for e in entries if e.sort in ("material", "loose")), None)
        if entry is not None:
            last, since = self.last, self.since_break
            stone = Lexeme(x.start, x.end, word, entry.sort, entry.value, x.reads, x.confidence, read=True)
            (self.on_material if entry.sort == "material" else self.on_loose)(i, stone)
            if last is not None:
                self.last, self.since_break = last, since

    def on_relation(self, i: int, x: Lexeme) -> None:
        if self.denied:
            self.negated = self.denied = False
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        self.turned = (
            after is not None
            and after.sort == "word"
            and after.value in ("that", "it", "this", "which", "them")
        )
        side = next((e.value for e in x.others if e.sort == "side"), "")
        y = self.next_of(i)
        if (
            x.value in ("over", "under")
            and y is not None
            and y.text.lower() in ("joist", "joists", "rafter", "rafters")
            and self.last is not None
            and self.since_break
        ):
            x.read = True
            self.last.frame = x.value
            return
        if (
            after is not None
            and after.value == "with"
            and x.value == "over"
            and not side
            and self.last is not None
        ):
            # `OSB above with carpet`
            x.read = True
            self.bare_relation(x)
            return
        if x.value == "between" and any(w.value in _PREFERRING for w in self.lexemes):
            self.choosing = self.choosing or (y is not None and y.sort in ("material", "loose", "role"))
        if (
            y is not None
            and y.sort in ("material", "loose", "space", "kind", "size", "length", "R")
            and not (side and y.sort in ("kind",))
        ):
            x.read = True
            self.relation = x.value
            if (
                any(
                    w.sort == "word" and w.value in ("and", "or", "with") for w in self.lexemes[i + 1 : i + 3]
                )
                and side
            ):
                self.relation = ""
                x.sort, x.value, x.reads = "side", side, side
                self.on_side(i, x)
                return
            if side and (self.last is None or not self.since_break) and y.sort != "kind":
                self.side, self.relation = side, ""
            elif y.sort == "kind" and self.last is not None and self.since_break:
                self.beside_kind(x, y)
        elif side:
            x.sort, x.value, x.reads = "side", side, side
            self.on_side(i, x)
        else:
            x.read = True
            self.relation = x.value
            after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
            if (
                self.last is not None
                and self.since_break
                and (after is None or after.sort == "break" or after.value in ("and", "or", "then"))
            ):
                self.bare_relation(x)

    def bare_relation(self, x: Lexeme) -> None:
        """`4 in of polyiso on top`: a relation to the section itself."""
        assert self.last is not None
        k = self.lexemes.index(x)
        if self.previous(k) is not self.last.lexeme:
            self.relation = ""
            return
        lower = self.scene.setting.kind in ("slab", "floor")
        if x.value in ("over", "under") and self.scene.setting.kind in ("slab", "floor", "roof"):
            outside = (x.value == "under") == lower
            self.last.side = self.last.side or ("outside" if outside else "inside")
        elif (
            x.text.lower() == "over"
            and self.scene.setting.kind in ("", "wall", "foundation wall")
            and not self.last.relation
        ):
            # `glued XPS to the block and screwed OSB over`
            before = next(
                (
                    m
                    for m in reversed(self.scene.mentions[:-1])
                    if m.material and not m.negated and not _masses(m)
                ),
                None,
            )
            if before is not None:
                self.last.relation, self.last.target = "over", before
        self.relation = ""

    def beside_kind(self, x: Lexeme, y: Lexeme) -> None:
        """`under the slab`, `over the roof`: which side of the section."""
        assert self.last is not None
        kind = y.value.partition("/")[0]
        if kind in ("slab", "floor"):
            self.last.side = self.last.side or ("outside" if x.value in ("under", "outside of") else "inside")
        elif kind in ("roof", "wall"):
            self.last.side = self.last.side or ("inside" if x.value in ("under", "inside of") else "outside")
        self.relation = ""

    # -- materials -------------------------------------------------------------------------------

    def on_material(self, i: int, x: Lexeme) -> None:
        kinds = [e for e in x.others if e.sort == "kind"]
        text = normal(x.text)
        faced = any(m.material == "vinyl insulation facing" for m in self.scene.mentions)
        if text in ("facing", "face") and faced:
            x.sort = "word"
            return
        if x.value == "steel" and self.is_cladding(i):
            x.sort, x.value = "loose", next(e.value for e in lexicon().phrases["metal"] if e.sort == "loose")
            self.on_loose(i, x)
            return
        if text in ("face brick", "facing brick"):
            x.sort, x.value = "loose", next(e.value for e in lexicon().phrases["brick"] if e.sort == "loose")
            self.on_loose(i, x)
            return
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if (
            text == "paint"
            and after is not None
            and after.value in ("my", "the", "it", "over", "our", "them", "is", "peel", "was", "keep", "come")
        ):
            x.sort = "word"
            return
        earlier = self.lexemes[i - 1].value if i else ""
        if text in ("wrap", "wrapped") and (
            earlier in ("to", "we", "i", "can", "could", "should", "will", "ll", "they", "wants")
            or (after is not None and after.value in ("our", "the", "it", "my", "around", "with", "this", "your", "in", "whole"))
        ):  # fmt: skip
            x.sort = "word"
            return
        if (
            text == "block"
            and earlier in ("my", "our")
            and (after is None or after.sort in ("word", "break"))
        ):
            # Where somebody lives.
            x.sort = "part"
            return
        if text == "board" or (
            text == "plank"
            and self.scene.setting.kind == "roof"
            and any(m.material == "precast concrete" for m in self.scene.mentions)
        ):
            x.sort = "part"
            if text == "board" and x.text.lower() == "boards":
                x.sort = "material"
                self.add(i, x, Mention(x, material="board sheathing"))
            return
        if kinds:
            kind, _, form = kinds[0].value.partition("/")
            if kind == "slab" and self.scene.kind_sure == 2 and self.scene.setting.kind not in ("slab",):
                pass
            else:
                self.hint(kind, form)
                if kind in ("slab", "foundation wall") and self.scene.kind_sure < 2:
                    self.scene.setting.kind, self.scene.setting.form, self.scene.kind_sure = kind, form, 2
        if any(w in text.split() for w in ("basement", "foundation", "cellar")):
            if self.scene.kind_sure < 2:
                self.scene.setting.kind, self.scene.kind_sure = "foundation wall", 2
        elif text.endswith(" wall"):
            self.hint("wall")
        elif text.endswith((" roof", " deck", "roofing")) or text.startswith("roof "):
            self.hint("roof")
        if x.value == "spruce":
            self.scene.noun = self.scene.noun or {"joist": "joist", "rafter": "rafter"}.get(
                text.split()[-1], "stud"
            )
            x.read = True
            if self.relation == "between" or text in (
                "wood",
                "lumber",
                "stud",
                "wood stud",
                "joist",
                "rafter",
                "wood framing",
                "timber",
                "timber frame",
                "timber framing",
                "heavy timber",
            ):
                self.relation = ""
                return
        if x.value == "vinyl insulation facing" and _BLANKET & set(text.split()):
            # `vinyl-faced fiberglass`: the batts and their facing.
            batts = replace_value(x, "glass fiber batt")
            self.add(i, x, Mention(x, material=x.value))
            self.add(i, batts, Mention(batts, material="glass fiber batt"))
            return
        if x.value == "steel stud":
            size = next((q for q in self.pending if q.sort == "length"), None)
            if size is not None and not self.scene.steel:
                self.scene.steel, size.read = f"{size.value} steel studs", True
                self.pending.remove(size)
            self.scene.steel = self.scene.steel or "steel studs"
            x.read = True
            return
        self.add(i, x, Mention(x, material=x.value))

    def on_loose(self, i: int, x: Lexeme) -> None:
        loose = lexicon().loose[int(x.value)]
        last = (
            self.last
            if self.last is not None and self.last.lexeme in self.lexemes[max(i - 3, 0) : i]
            else None
        )
        told = {y.value for y in self.lexemes}
        if (
            normal(x.text) == "paper"
            and told & _TURNED
            and told & _CAVITIES
            and not told & {"tar", "felt", "siding"}
        ):
            # `which side does the paper go, between the joists`: a facing.
            x.sort, x.value, x.reads = (
                "material",
                "kraft-faced glass fiber batt",
                "kraft-faced glass fiber batt",
            )
            self.add(i, x, Mention(x, material=x.value))
            return
        if normal(x.text) == "paper" and not self.negated and last is not None and last.material in _BATTS:
            # `batts, paper to the room`: their facing.
            last.material = "kraft-faced glass fiber batt"
            x.sort, x.value, x.reads, x.read = "material", last.material, last.material, True
            return
        if loose.decides and (" or " in x.text.lower() or " vs " in x.text.lower()):
            # "open or closed cell": two of a kind, side by side.
            first, second = (Mention(replace_value(x, id_), material=id_) for id_ in loose.decides[:2])
            self.add(i, x, first)
            second.alternative_to, second.direct = first, True
            self.scene.mentions.append(second)
            self.last = second
            return
        self.add(i, x, Mention(x, material=loose.takes, loose=loose, side=loose.side))

    def is_cladding(self, i: int) -> bool:
        """`steel on purlins`: a metal that is named as what covers."""
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        return (
            after is None
            or after.sort in ("break", "relation", "side")
            or after.value in ("on", "and", "skin")
        )

    def on_space(self, i: int, x: Lexeme) -> None:
        after = self.next_of(i)
        beside = after is not None and after.sort in ("size", "steel")
        framed = any(y.sort in ("size", "steel") for y in self.lexemes[i + 1 : i + 10])
        words = normal(x.text)
        out = words.endswith("out") or (i + 1 < len(self.lexemes) and self.lexemes[i + 1].value == "out")
        if words.partition(" ")[0] in ("furred", "furring", "strapped") and (beside or (out and framed)):
            x.sort, x.read = "word", True
            return
        if "vented" in x.value and x.value.startswith("1-1/2") and not words.startswith("vent"):
            self.hint("roof", "cathedral")
        self.add(i, x, Mention(x, space=x.value))

    def on_role(self, i: int, x: Lexeme) -> None:
        said = [
            "is" if y.text.lower().endswith(("'s", "’s")) else y.value
            for y in self.lexemes[max(i - 4, 0) : i]
            if y.sort == "word" and y.value not in ("air", "and", "our", "my", "only", "sole", "main")
        ]
        predicate = bool(said) and (
            said[-1] in _COPULAS
            or (
                said[-1] in ("the", "a", "an", "my", "our", "your") and len(said) > 1 and said[-2] in _COPULAS
            )
        )
        beside = {y.text.lower() for y in self.lexemes[max(i - 1, 0) : i + 2] if y is not x}
        if beside & _DOUBLED:
            # `the double vapor barrier trap`: a name for what goes wrong, and no layer.
            x.read = True
            return
        self.add(
            i,
            x,
            Mention(x, role=lexicon().roles[int(x.value)], predicate=predicate and self.last is not None),
        )

    def add(self, i: int, x: Lexeme, mention: Mention) -> None:
        x.read = True
        for q in self.pending:
            if not self.give(mention, q):
                if q.sort == "R" and not self.scene.cavity_r:
                    self.scene.cavity_r, q.read = q.value, True
                else:
                    self.scene.unread.append(q)
        self.pending = []
        mention.of = self.head
        if _insulates(x):
            mention.size, self.size = self.size, ""
        mention.side = mention.side or self.side
        if mention.loose is not None and self.side and not lexicon().loose[int(x.value)].side:
            mention.side = self.side
        mention.joints, mention.condition = self.joints, self.condition
        if self.denied and self.alternative is None and self.last is not None and self.last.negated:
            # "no poly painted drywall": what is denied ends with the first of a run that nothing joins.
            self.negated = self.denied = False
        mention.negated = self.negated
        before = self.lexemes[i - 1] if i else None
        mention.referred_to = (
            before is not None
            and before.sort == "word"
            and before.value in ("the", "my", "our", "that", "your")
        )
        if self.after_either:
            self.either, self.after_either = mention, False
        if self.alternative is not None and self.last is not None:
            mention.alternative_to = self.either or self.last
            between = self.lexemes[self.lexemes.index(self.alternative) + 1 : i]
            mention.direct = not any(
                y.sort == "word" and y.value not in _JOINING for y in between
            ) and normal(self.alternative.text) in ("or", "vs", "versus", "v", "/", "and")
            self.either = None
            self.alternative.read = True
            if self.alternative.value == "instead":
                mention.replaces = True
            if normal(self.alternative.text) == "or" and self.last.negated:
                mention.negated, mention.alternative_to = True, None
        elif self.alternative is not None and self.alternative.value == "instead":
            mention.replaces = True
            self.alternative.read = True
        if self.relation and self.last is not None and self.relation != "between":
            if self.turned:
                mention.relation, mention.target = self.relation, self.last
            else:
                self.last.relation, self.last.target = self.relation, mention
            mention.referred_to = mention.referred_to or mention.loose is not None
        if self.negated:
            self.denied = True
        self.side = self.joints = self.condition = self.relation = ""
        self.alternative = None
        self.last = mention
        self.since_break = True
        self.scene.mentions.append(mention)

    # -- the rest --------------------------------------------------------------------------------

    def on_finding(self, i: int, x: Lexeme) -> None:
        x.read = True
        after = self.lexemes[i + 1] if i + 1 < len(self.lexemes) else None
        if (
            normal(x.text) in ("black", "green")
            and after is not None
            and after.sort in ("material", "loose", "role")
        ):
            # The color of a thing: `black poly`.
            x.sort = "word"
            return
        if self.negated:
            self.negated = False
            return
        self.scene.findings.append(x)

    def on_property(self, i: int, x: Lexeme) -> None:
        x.read = True
        self.scene.quality = self.scene.quality or x

    def on_referred(self, i: int, x: Lexeme) -> None:
        x.read = True
        if normal(x.text).startswith("knob") and not self.negated:
            self.scene.setting.building["wiring"] = "knob and tube"
        self.scene.referred.append(x)

    def on_unknown(self, i: int, x: Lexeme) -> None:
        self.since_break = False


def _in_zone(place: str, zone: str) -> bool:
    """Whether a place lies in a code zone, as far as both are known."""
    try:
        found = find_place(place)
        return bool(found.county) and zone_for(found.region, found.county, 2021)[:1] == zone[:1]
    except InputError:
        return False


def _masses(m: Mention) -> bool:
    """Whether a mention is of what carries a wall."""
    return (
        bool(m.material)
        and "structure" in load_materials()[m.material].roles
        and load_materials()[m.material].family not in ("wood", "wood panel")
    )


def replace_value(x: Lexeme, id_: str) -> Lexeme:
    """A lexeme that stands for a material of its own."""
    return replace(x, sort="material", value=id_, reads=id_, others=())


def _is_sheet(id_: str) -> bool:
    """Whether mils tell how thick a material is."""
    m = load_materials()[id_]
    return bool(m.flags & {"membrane", "coating"}) or m.family in ("coating", "metal", "membrane")


def _float(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return 0.0


def _is_board(x: Lexeme) -> bool:
    """Whether a lexeme is insulation that is told by its thickness."""
    id_ = (
        x.value if x.sort == "material" else lexicon().loose[int(x.value)].takes if x.sort == "loose" else ""
    )
    return id_ in load_materials() and load_materials()[id_].family == "foam insulation"


def _bears(x: Lexeme) -> bool:
    """Whether a lexeme is concrete or block."""
    loose = x.sort == "loose"
    id_ = lexicon().loose[int(x.value)].takes if loose else x.value if x.sort == "material" else ""
    return id_ in ("concrete", "concrete block", "reinforced concrete", "precast concrete")


def _int(text: str) -> int:
    return int(text) if text.isdigit() else 0


def _insulates(x: Lexeme) -> bool:
    if x.sort == "loose":
        loose = lexicon().loose[int(x.value)]
        names = (loose.takes, *loose.decides)
        return any(n and "thermal control" in load_materials()[n].roles for n in names)
    if x.sort == "role":
        return False
    return (
        x.sort == "material"
        and x.value in load_materials()
        and "thermal control" in load_materials()[x.value].roles
    )


def gather(lexemes: list[Lexeme]) -> Scene:
    """What a run of lexemes sets out."""
    return _Gatherer(lexemes).gather()


def merged(a: Scene, b: Scene) -> Scene:
    """Two scenes of one text: what the later says stands over what the earlier said."""
    for x in list(b.unread):
        if x.sort == "length" and not x.read and x.value.endswith((" in", " mm")) and x.value[:1].isdigit():
            m = next((m for m in reversed(a.mentions) if _insulates(m.lexeme) and not m.negated), None)
            if m is not None and not m.thickness and not m.r:
                m.thickness, x.read = x.value, True
                b.unread.remove(x)
    s = Setting(
        kind=b.setting.kind if b.setting.kind and (b.kind_sure >= a.kind_sure or not a.setting.kind) else a.setting.kind or b.setting.kind,
        form="",
        place=b.setting.place or ("" if b.setting.zone else a.setting.place),
        zone=b.setting.zone or ("" if b.setting.place else a.setting.zone),
        indoor=b.setting.indoor if b.setting.indoor not in ("", "home") else a.setting.indoor or b.setting.indoor,
        humidity=b.setting.humidity or a.setting.humidity,
        temperature=b.setting.temperature or a.setting.temperature,
        cooling=b.setting.cooling if b.setting.cooling is not None else a.setting.cooling,
        rain=b.setting.rain or a.setting.rain,
        faces=b.setting.faces or a.setting.faces,
        building=a.setting.building | b.setting.building,
        known=a.setting.known | b.setting.known,
    )  # fmt: skip
    told = (*a.mentions, *b.mentions)
    if any(m.material and "cladding" in load_materials()[m.material].roles for m in told):
        for m in told:
            # The capillary break behind a cladding is an air space, as Canadian builders say it.
            if m.role is not None and m.role.role == "capillary break":
                m.role, m.space = None, f"{m.thickness or '3/8 in'} air space vented"
    form_from_b = (
        b.setting.form and s.kind == b.setting.kind and (b.kind_sure >= a.kind_sure or not a.setting.form)
    )
    s.form = b.setting.form if form_from_b else a.setting.form if s.kind == a.setting.kind else ""
    if s.place and s.zone:
        s.zone = ""
    located = bool(b.setting.place or b.setting.zone)
    return Scene(
        setting=s,
        kind_sure=max(a.kind_sure, b.kind_sure),
        choices=() if located else b.choices or (() if a.setting.place or a.setting.zone else a.choices),
        place_lexeme=b.place_lexeme or a.place_lexeme,
        climate=b.climate or a.climate,
        size=b.size or a.size,
        spacing=b.spacing or a.spacing,
        steel=b.steel or a.steel,
        members=b.members or a.members,
        noun=b.noun or a.noun,
        double=b.double or a.double,
        cavity_r=b.cavity_r or a.cavity_r,
        outside_r=b.outside_r or a.outside_r,
        empty=a.empty or b.empty,
        exposed=a.exposed or b.exposed,
        existing=a.existing or b.existing,
        inverted=a.inverted or b.inverted,
        mentions=[*a.mentions, *b.mentions],
        findings=[*a.findings, *b.findings],
        quality=b.quality or a.quality,
        referred=[*a.referred, *b.referred],
        unread=[*a.unread, *b.unread],
        lengths=[*a.lengths, *b.lengths],
        as_said=a.as_said or b.as_said,
        notes=[*a.notes, *b.notes],
    )
