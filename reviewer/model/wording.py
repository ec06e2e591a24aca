"""What the words of a layer mean: the tables and patterns that `shorthand` reads by.

Patterns are applied to a text in lower case in which what was read already is masked.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from reviewer.library.materials import normalize
from reviewer.units import DIMENSIONS

MAX_LENGTH: Final = 500
"""Characters in one layer."""

ASSUMED_LUMBER: Final = "framing lumber is spruce (species not stated)"
ASSUMED_SPACING: Final = "framing is 16 in on center (spacing not stated)"
ASSUMED_TRUSS_SPACING: Final = "trusses are 24 in on center (spacing not stated)"
ASSUMED_WIDTH: Final = "framing members are 1-1/2 in wide (width not stated)"
ASSUMED_STEEL_WIDTH: Final = "steel members are 1-5/8 in wide (flange width not stated)"
ASSUMED_I_JOIST: Final = "I-joists count as solid wood, 1-1/2 in wide (flanges and web not stated)"
ASSUMED_PAINT: Final = "the paint is latex paint (kind not stated)"
ASSUMED_FURRING_WIDTH: Final = "furring is 2-1/2 in wide (width not stated)"

INCH: Final = 0.0254
DRESSED_THICKNESS: Final = {1: 0.75, 2: 1.5, 3: 2.5, 4: 3.5, 6: 5.5, 8: 7.25}
DRESSED_WIDTH: Final = {2: 1.5, 3: 2.5, 4: 3.5, 5: 4.5, 6: 5.5, 8: 7.25, 10: 9.25, 12: 11.25, 14: 13.25}
"""Dressed dry sizes of nominal lumber in inches (American Softwood Lumber Standard PS 20, from memory)."""

LUMBER: Final[Mapping[tuple[int, int], tuple[float, float]]] = {
    (a, b): (t * INCH, w * INCH)
    for a, t in DRESSED_THICKNESS.items()
    for b, w in DRESSED_WIDTH.items()
    if a <= b
}
"""Nominal size to dressed thickness and width, m."""

ONE_FOR_ONE = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "×": "x", "–": "-", "—": "-", "‑": "-", "−": "-"}
    | dict.fromkeys("\t\n\xa0\u2009\u202f", " ")
)  # fmt: skip
MASK = "\x01"
"""Put over what has been read; no input has it."""

FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}  # fmt: skip
SPOKEN = {"three quarter": "3/4", "three-quarter": "3/4", "half": "1/2", "quarter": "1/4", "one": "1"}
COUNTS = {"one": 1, "single": 1, "two": 2, "double": 2, "three": 3, "triple": 3, "four": 4}

N = (
    r"(?:\d+(?:[ -]\d+/\d+)|\d+/\d+|\d*\.\d+|\d+|(?:\d+ ?)?[½¼¾⅛⅜⅝⅞⅓⅔]|"
    r"\b(?:three[ -]quarters?|half|quarter)(?=(?: an?)?[ -]inch))"
)


def _units(*dimensions: str) -> dict[str, str]:
    """Spelling to dimension, longest spelling first."""
    pairs = {s: d for d in dimensions for s in DIMENSIONS[d].spellings}
    return {s: pairs[s] for s in sorted(pairs, key=lambda s: (-len(s), s))}


UNITS = _units("thermal resistance", "thermal conductivity", "permeability", "permeance", "density", "length")
FIELDS = {
    "thermal resistance": "r_value",
    "thermal conductivity": "conductivity",
    "density": "density",
    "length": "thickness",
}


def _alternatives(units: Mapping[str, str]) -> str:
    return "|".join(
        re.escape(u).replace(r"\ ", r"\s+") + ("(?![a-z0-9])" if u[-1].isalnum() else "") for u in units
    )


LENGTH_UNIT = f"(?:{_alternatives(_units('length'))})"
OC = r"(?:o\.\s?c\.?|oc\b|on[ -]cent(?:er|re)s?\b|cent(?:er|re)s\b|c/c\b)"
START = r"(?<![\w./])"

NOTE = re.compile(r"(?<=\s)\(([^()]*(?:\([^()]*\)[^()]*)*)\)")
PARENTHESES = re.compile(r"(?<=\s)\(|\)")
NO_THICKNESS = re.compile(
    r"\b(?:of )?(?:unknown|uncertain) (?:thickness|depth)\b|\b(?:thickness|depth) (?:is )?(?:unknown|not known)\b"
)
UNKNOWN = re.compile(r"^\s*\?|(?<=\s)\?(?=\s*[a-z])|\b(?:unknown|not known|unidentified)\b")
ABSENT = re.compile(r"\s*(?:no|without)\s+(?P<what>[a-z -]{2,40}?)\s*")
COPIES = re.compile(r"\b(?P<n>two|double|three|triple|[1-4])[ -](?:layers?|sheets?|plies)\b(?: of\b)?")
COATS = re.compile(r"\b(?P<n>one|single|two|double|three|four|\d+)[ -]coats?\b(?: of\b)?")
PER_INCH = re.compile(rf"\br[ -]*(?P<n>{N})\s*(?:/|per)\s*in(?:ch)?\b\.?")
R = re.compile(
    rf"\b(?P<kind>rsi|r)[ -]*(?P<n>{N})(?:\s*(?:to|-)\s*(?:(?:rsi|r)-?)?(?P<high>{N}))?(?:\s?ci\b)?(?![\w/]|\.\d)"
)
SD = re.compile(rf"\bs_?d[ =]*(?P<n>{N})\s*m\b(?:\s+(?P<state>dry|wet)(?: cup)?\b)?")
FRACTION = re.compile(
    rf"(?P<n>{N})\s*%(?:\s+(?:framing|framed|wood|members)\b(?: fraction\b)?)?"
    rf"|\bframing (?:fraction|factor)(?: of)? (?P<m>{N})\s*%"
)
FASTENERS = re.compile(
    r"\b(?:(?:on|with|over|by|through) )?(?P<what>(?:(?:continuous|vertical|horizontal|thermally broken|intermittent|long) )*"
    r"(?:metal|steel|stainless steel|stainless|aluminum|aluminium|galvanized|galvanized steel|glass fiber|fiberglass|plastic|brick|masonry) "
    r"(?:z-)?(?:girts?|clips?|screws?|ties?|hat channels?|rails?|brackets?|fasteners?|anchors?)(?: and (?:girts?|clips?|screws?|ties?|rails?))?)\b"
)
GAUGE = re.compile(r"\b\d{2}[ -]?(?:ga|gauge|gage)\b\.?")
PLIES = re.compile(r"\b[3-9][ -]ply\b(?! plywood)")
SPACING = re.compile(
    rf"(?:@|\bat\b|\bspaced(?: at)?\b|\bevery\b)\s*(?P<n1>{N})(?:\s*(?P<u1>{LENGTH_UNIT}))?(?:\s*{OC})?"
    rf"|{START}(?P<n2>{N})\s*(?P<u2>{LENGTH_UNIT})?\s*{OC}"
)
LUMBER_SIZE = re.compile(r"(?<![\w./-])(?P<a>\d{1,3})\s?x\s?(?P<b>\d{1,3})(?:\s?(?P<mm>mm)\b|s\b)?(?![\w/.])")
CROSS = re.compile(
    rf"{START}(?P<n1>{N})\s*(?P<u1>{LENGTH_UNIT})?\s*x\s*(?P<n2>{N})\s*(?P<u2>{LENGTH_UNIT})"
    rf"|{START}(?P<n3>{N})[ -]?(?P<u3>{LENGTH_UNIT})\s+wide\b"
)
PATTERN = re.compile(
    r"\b(?P<what>double|staggered)[ -](?:stud(?:s|ded)?\b(?: (?:wall|framing))?|(?=\d+ ?x ?\d+))|\b(?P<truss>truss(?:es)?)\b"
)
STEEL_STUD = re.compile(
    rf"{START}(?P<n1>{N})(?:\s*(?P<u1>{LENGTH_UNIT}))?\s+(?:steel|metal)\s+(?:studs?|framing|joists?)\b"
    rf"|\b(?:steel|metal)\s+(?:studs?|framing|joists?)\s*,?\s+(?P<n2>{N})\s*(?P<u2>{LENGTH_UNIT})"
)
I_JOIST = re.compile(rf"(?:{START}(?P<n>{N})(?:\s*(?P<u>{LENGTH_UNIT}))?\s+)?\bi[ -]joists?\b(?: cavity)?")
QUANTITY = re.compile(
    rf"{START}(?P<low>{N})(?:(?P<u1>[ -]?{LENGTH_UNIT})?\s*(?P<to>\bto\b|-|\.\.)\s*(?P<high>{N}))?"
    rf"(?: an?)?[\s-]*(?P<unit>{_alternatives(UNITS)})(?P<state>\s+(?:dry|wet)(?: cup)?\b)?"
)
BARE_FRACTION = re.compile(rf"{START}(?:\d+[ -])?\d+/\d+(?![\w/.%])|{START}(?:\d+ ?)?[½¼¾⅛⅜⅝⅞⅓⅔]")
TOKEN = re.compile(r"[^\W_]+(?:[&'.][^\W_]+)*|#\d+|[^\s\x01]")
SIGN = re.compile(r"[^\w&#%]+")
SILENT_MARKS = frozenset(",-/.+:'\"")

SPACES: Final = {
    "air": ("air", "air space", "air gap", "airspace", "gap", "cavity", "air cavity", "stud cavity", "air layer",
            "drainage gap", "drainage space", "drainage cavity", "rainscreen", "rain screen", "rainscreen gap",
            "rainscreen cavity", "rain screen gap", "rain screen cavity", "furring space", "furred space", "plenum"),
    "vented air": ("vent space", "vent channel", "vent gap", "ventilation space", "ventilation gap",
                   "ventilation channel", "vent chute", "vent baffle"),
    "outdoor air": ("outdoor air", "outside air", "outdoor", "outside", "exterior", "exterior", "exterior air", "ambient air", "open air"),
    "soil": ("soil", "earth", "ground", "backfill", "dirt", "native soil", "undisturbed soil", "subgrade"),
    "crawl space": ("crawl space", "crawlspace"),
    "attic": ("attic", "attic space"),
    "unheated space": ("unheated space", "unconditioned space", "unheated room", "unheated basement",
                       "unconditioned basement"),
    "garage": ("garage", "attached garage", "parking garage", "unheated garage"),
}  # fmt: skip

WEAK_SPACES: Final = frozenset({"air", "outdoor", "outside", "exterior"})
"""Words for a space only where nothing else in the text is a name: `exterior plywood`."""

VENTED = "vented"
PHRASES: Final = {
    ("joints", "sealed"): ("sealed", "caulked", "gasketed"),
    ("joints", "taped"): ("taped",),
    ("joints", "lapped"): ("lapped", "overlapped"),
    ("joints", "stapled"): ("stapled",),
    ("joints", "unsealed"): ("unsealed", "untaped", "not sealed", "not taped"),
    ("vents", VENTED): ("vented", "ventilated", "back vented", "back ventilated", "open top and bottom",
                         "vented top and bottom", "open at top and bottom", "top and bottom",
                         "vented at top and bottom", "ventilated top and bottom"),
    ("vents", "none"): ("unvented", "unventilated", "non vented", "not vented", "not ventilated", "dead", "still",
                        "closed", "enclosed", "conditioned", "encapsulated"),
    ("vents", "bottom only"): ("bottom only", "open at bottom", "open at the bottom", "vented at bottom",
                               "open at bottom only", "vented bottom only", "drained", "vented at the bottom"),
    ("vents", "top only"): ("top only", "open at top", "open at the top", "vented at top", "vented top only"),
    ("vents", "weep holes"): ("weep hole", "weep", "weep vent", "weep at base", "weep at the base", "weep hole at base"),
    ("condition", "new"): ("new", "fresh", "newly placed"),
    ("condition", "existing"): ("existing", "old"),
    ("condition", "dry"): ("dry",),
    ("condition", "damp"): ("damp", "moist"),
    ("condition", "wet"): ("wet", "soaked", "saturated"),
    ("condition", "damaged"): ("damaged", "rotten", "rotted", "cracked", "rusted", "torn"),
    ("condition", "moldy"): ("moldy", "mouldy"),
    ("position", "between framing"): ("between framing", "between stud", "between joist", "between rafter",
                                      "between the stud", "between the joist", "between the rafter", "in stud cavity"),
    ("position", "outside framing"): ("outside framing", "outside of framing", "outside the framing",
                                      "outside of the framing"),
    ("position", "against masonry"): ("against masonry", "against concrete", "against block", "against brick",
                                      "against the masonry", "against the concrete", "against the block",
                                      "against the brick"),
    ("role", "vapor control"): ("vapor control", "vapor barrier", "vapor retarder", "vapor diffusion retarder",
                                "vapor control layer"),
    ("role", "air barrier"): ("air barrier", "air control", "air control layer", "airtight layer"),
    ("role", "air barrier, vapor control"): ("air and vapor barrier", "air vapor barrier", "vapor and air barrier",
                                             "air and vapor control", "air and vapor retarder"),
    ("role", "water control"): ("water control", "water barrier", "weather barrier", "water resistive barrier",
                                "wrb", "weather resistive barrier", "water control layer", "drainage plane"),
    ("role", "sheathing"): ("sheathing",),
    ("role", "structure"): ("deck", "decking", "subfloor", "roof deck", "structural deck"),
    ("role", "cladding"): ("cladding", "siding"),
    ("role", "roof covering"): ("roofing", "roof covering"),
    ("role", "flooring"): ("flooring", "finish floor", "floor finish"),
    ("role", "interior finish"): ("interior finish", "ceiling finish", "wall finish"),
    ("role", "capillary break"): ("capillary break",),
    ("role", "dampproofing"): ("dampproofing", "damp proofing"),
    ("empty", "yes"): ("empty", "uninsulated", "no insulation"),
    ("filler", ""): ("behind", "over", "under", "plus", "of", "a", "an", "the", "with", "w", "in", "and", "on", "for", "is", "as", "to", "thick", "deep",
                     "wall", "seam", "joint", "edge", "lap", "layer", "insulation", "board", "sheet", "panel",
                     "cavity", "filled", "fill", "full", "continuous", "ci", "nominal", "between", "framing cavity",
                     "stud cavity", "stud bay", "interior", "exterior", "inside", "face", "above", "below", "staggered", "tapered"),
}  # fmt: skip

STOP_WORDS: Final = frozenset(
    {"of", "a", "an", "the", "with", "w", "in", "and", "on", "for", "is", "as", "to", "at"}
)
GENERIC: Final = frozenset({"insulation", "board", "sheet", "panel"})
STRONGER_JOINTS: Final = ("stapled", "lapped", "taped", "sealed")
WORSE_CONDITION: Final = ("existing", "new", "dry", "damp", "wet", "damaged", "moldy")
CONTRADICTIONS: Final = ({"new", "existing"}, {"dry", "wet"}, {"dry", "damp"})
FLAT: Final = frozenset({"furring", "strapping", "batten", "strip", "purlin", "sleeper"})
STEEL_WORDS: Final = frozenset({"steel", "metal"})
WOOD_WORDS: Final = frozenset({"wood", "lumber", "timber", "softwood", "dimension"})
MEMBER_WORDS: Final = frozenset({"member", "lumber", "wall"})


def _normal_table(table: Mapping[Any, tuple[str, ...]]) -> dict[str, Any]:
    return {normalize(phrase): key for key, phrases in table.items() for phrase in phrases}


SPACE_OF = _normal_table(SPACES)
PHRASE_OF = _normal_table(PHRASES)
LONGEST_PHRASE = max(len(p.split()) for p in (*PHRASE_OF, *SPACE_OF))
EXAMPLE = '"1/2 in gypsum board" or "? sheathing"'
