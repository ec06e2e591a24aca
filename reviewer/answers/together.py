"""What words of one sentence say only together, read before the sentence is taken for layers: a channel that opens at the eave
and the ridge is a vented space, what is poured by the inch is concrete, and what sills and beams are made of is no layer.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from reviewer.answers.layers import VENT_SPACE
from reviewer.answers.lexicon import normal
from reviewer.answers.scan import Lexeme, sentences
from reviewer.library.materials import load_materials

_LOW = frozenset(("eave", "soffit"))
_HIGH = frozenset(("ridge", "peak"))
_GAPS = frozenset(
    ("channel", "gap", "space", "slot", "passage", "air space", "airspace", "cavity", "air gap")
)
"""Words for a space that says nothing of what it is by itself."""
_NEAR = 10
"""Words between the ends of a roof and what opens there."""
_JOINED = 3
"""Words between the two ends where they are told as a pair: `ridge + soffit`."""
_AIRED = frozenset(("vented", "ventilated", "vent"))
_POURS = frozenset(("pour", "pouring", "poured"))
_BEARERS = frozenset(
    ("sill", "sill plate", "mudsill", "beam", "girder", "post", "column", "lintel", "header", "stair", "step", "railing", "porch", "patio", "driveway",
     "sidewalk", "chimney", "fireplace", "trim", "gutter", "door", "window", "shutter", "fence", "cabinet", "counter")
)  # fmt: skip
"""Parts of a building beside the section."""
_ARE = frozenset(("is", "are", "was", "were"))
_ASKS = frozenset(("what", "how", "why", "where", "who", "on"))
_IDLE = frozenset(("earth",))
_PAPERS = frozenset(("felt", "tar", "grade", "building", "siding", "clapboard", "stucco", "shingle"))
"""Words beside which a paper lies outside the sheathing."""
_MASONRY = frozenset(("stone", "fieldstone", "rubble", "brick", "block", "masonry", "field"))
_FLOOR = frozenset(("batt", "joist", "vent", "floor", "subfloor"))
"""Words that tell of the floor over a crawl space."""
_PLACING = frozenset(("in", "on", "of", "from"))
_DOERS = frozenset(("i", "we", "to", "just", "they", "you", "and", "or", "dont", "not", "should", "by"))
_OF_A_WALL = frozenset(("overhang", "overhangs", "soffit", "line", "rake"))
_STOPS = frozenset(("block", "blocking", "seal", "plug"))
_STOPPED = frozenset(
    ("the", "my", "our", "off", "up", "all", "those", "these", "them", "every", "soffit", "attic")
)
_THE = frozenset(("the", "my", "our", "that", "its"))
_LAYERS = ("material", "loose", "space", "size", "role")
_RUN = 6
"""Words that a part of the building is told by."""


def read_together(text: str, lexemes: Sequence[Lexeme]) -> None:
    """Read anew what the words of a sentence say only together.

    >>> from reviewer.answers.scan import scan
    >>> text = "a 2 in channel under the deck, open at eave and ridge"
    >>> found = scan(text); read_together(text, found); [x.reads for x in found if x.sort == "space"]
    ['1-1/2 in air space vented']
    """
    _planks(lexemes)
    _facing(text, lexemes)
    _vinyl_facing(lexemes)
    _attic_floor(lexemes)
    _attic_fill(lexemes)
    _crawl_walls(text, lexemes)
    _mortar(lexemes)
    for run in _sentences(text, lexemes):
        _idioms(run)
        _blocking(run)
        _edges_of_roofs(run)
        _vents(run)
        _vented_gap(run)
        _pours(run)
        _beside(run)


def _vents(run: list[Lexeme]) -> None:
    """What opens at both ends of a roof is a vented space, and so are the two ends where nothing is named between."""
    low, high = _first(run, _LOW), _first(run, _HIGH)
    if low < 0 or high < 0 or any(_vented(x) for x in run):
        return
    first, last = sorted((low, high))
    near = run[max(first - _NEAR, 0) : last + _NEAR]
    gap = next(
        (x for x in near if normal(x.text) in _GAPS and x.sort in ("word", "part", "other", "space")), None
    )
    if gap is None and last - first <= _JOINED and all(x.sort == "word" for x in run[first + 1 : last]):
        gap = run[first]
    if gap is None:
        return
    gap.sort, gap.value, gap.reads, gap.confidence = "space", VENT_SPACE, VENT_SPACE, 1.0
    for x in (run[low], run[high]):
        if x is not gap:
            x.sort = "word"


def _vented_gap(run: list[Lexeme]) -> None:
    """`Vented with a 1 in gap`: a vented space, told in two words."""
    for k, x in enumerate(run):
        if normal(x.text) not in _AIRED:
            continue
        gap = next(
            (
                y
                for y in run[k + 1 : k + _RUN]
                if normal(y.text) in _GAPS and y.sort in ("word", "part", "space")
            ),
            None,
        )
        if gap is not None and not any(y.sort in ("material", "break") for y in run[k + 1 : run.index(gap)]):
            gap.sort, gap.value, gap.reads, gap.confidence = "space", VENT_SPACE, VENT_SPACE, 1.0


def _pours(run: list[Lexeme]) -> None:
    """`Pouring 4 inches over sand`: concrete, which nobody names."""
    for k, x in enumerate(run[:-1]):
        after = run[k + 1]
        beyond = run[k + 2] if k + 2 < len(run) else None
        poured = x.sort in ("word", "other", "part") and x.text.lower() in _POURS and after.sort == "length"
        if poured and (beyond is None or beyond.sort not in ("material", "loose", "kind", "part")):
            x.sort, x.value, x.reads, x.confidence = "material", "concrete", "concrete", 0.9


def _idioms(run: list[Lexeme]) -> None:
    """`What on earth happened`: no soil."""
    for k, x in enumerate(run):
        asked = any(y.text.lower() in _ASKS for y in run[max(k - 2, 0) : k])
        if asked and x.sort in ("material", "side") and normal(x.text).split()[-1] in _IDLE:
            x.sort = "word"


def _blocking(run: list[Lexeme]) -> None:
    """`Can I block the soffit vents`: what one does, and no masonry."""
    for before, x, after in zip(run, run[1:], run[2:], strict=False):
        does = before.sort in ("word", "negation") and before.value in _DOERS
        if does and x.text.lower() in _STOPS and (after.sort == "space" or after.text.lower() in _STOPPED):
            x.sort, x.value = "word", "block"


def _edges_of_roofs(run: list[Lexeme]) -> None:
    """`No roof overhang`: told of a wall."""
    for x, after in pairwise(run):
        if x.sort == "kind" and normal(x.text) == "roof" and normal(after.text) in _OF_A_WALL:
            x.sort, x.value = "word", "roof"


def _facing(text: str, lexemes: Sequence[Lexeme]) -> None:
    """`The paper`, told of batts with a facing: no building paper, where it is not what is asked about."""
    faced = any(x.value == "kraft-faced glass fiber batt" for x in lexemes)
    faced |= any(
        x.value == "glass fiber batt" and any(y.text.lower() == "paper" for y in lexemes[k + 1 : k + 4])
        for k, x in enumerate(lexemes)
    )
    if not faced or any(_PAPERS & set(normal(x.text).split()) for x in lexemes):
        return
    told = False
    for start, end, mark in sentences(text):
        for x in lexemes:
            if start <= x.start < end and x.sort == "loose" and normal(x.text) == "paper":
                if told and mark != "?":
                    x.sort = "word"
                told = True


def _planks(lexemes: Sequence[Lexeme]) -> None:
    """`The plank` of a roof of concrete planks is no board."""
    if any(x.value == "precast concrete" for x in lexemes):
        for x in lexemes:
            if x.sort == "material" and normal(x.text) == "plank":
                x.sort = "word"


def _vinyl_facing(lexemes: Sequence[Lexeme]) -> None:
    """`Where they cut the facing`: that of the blanket, told before."""
    told = False
    for x in lexemes:
        if told and normal(x.text) in ("facing", "face"):
            x.sort = "word"
        told |= x.value == "vinyl insulation facing"


def _mortar(lexemes: Sequence[Lexeme]) -> None:
    """What stones and bricks are laid in is no layer of its own."""
    laid = any(x.sort in ("material", "loose") and _MASONRY & set(normal(x.text).split()) for x in lexemes)
    for k, x in enumerate(lexemes):
        thick = k and lexemes[k - 1].sort == "length"
        if (
            laid
            and x.value == "mortar"
            and "mortar" in x.text.lower()
            and not thick
            and "bed" not in x.text.lower()
        ):
            x.sort = "word"


def _crawl_walls(text: str, lexemes: Sequence[Lexeme]) -> None:
    """`The walls` beside a crawl space are its foundation, or where something is put when the floor is what is asked about."""
    crawl = any(
        (x.sort == "kind" and x.value == "floor/crawl") or x.value == "crawl space conditioned"
        for x in lexemes
    )
    framed = any(x.sort == "material" and "cladding" in load_materials()[x.value].roles for x in lexemes)
    if not crawl or framed:
        return
    for run in _sentences(text, lexemes):
        of_floor = any(_FLOOR & set(normal(y.text).split()) for y in run)
        for k, x in enumerate(run):
            laid = any(y.text.lower() in ("on", "to", "against") for y in run[max(k - 2, 0) : k])
            named = k > 0 and run[k - 1].value == "crawl space conditioned"
            told = k + 1 < len(run) and run[k + 1].value in _ARE
            if x.sort == "kind" and normal(x.text) == "wall" and not (laid or named or told):
                x.sort, x.value = ("word", "wall") if of_floor else ("kind", "foundation wall")
                x.reads = x.value


def _attic_floor(lexemes: Sequence[Lexeme]) -> None:
    """`The attic is cold, R-19 in the floor`: the floor of the attic, where no other is told of."""
    kinds = {x.value for x in lexemes if x.sort == "kind"}
    flooring = any(x.sort == "material" and "flooring" in load_materials()[x.value].roles for x in lexemes)
    if "roof/attic" not in kinds or flooring or any(k.startswith(("floor/", "slab")) for k in kinds):
        return
    for k, x in enumerate(lexemes):
        before = [y.text.lower() for y in lexemes[max(k - 2, 0) : k]]
        placed = len(before) == 2 and before[0] in _PLACING and before[1] in _THE
        if (
            x.sort == "kind"
            and x.value == "floor"
            and (placed or any(map(_insulation, lexemes[k + 1 : k + 2])))
        ):
            x.value = x.reads = "roof/attic"


def _attic_fill(lexemes: Sequence[Lexeme]) -> None:
    """Cellulose of which only an attic is told lies loose there."""
    kinds = {x.value for x in lexemes if x.sort == "kind"}
    if "roof/attic" not in kinds or not kinds <= {"roof/attic", "roof/ceiling", "roof"}:
        return
    for x in lexemes:
        packed = any(word in x.text.lower() for word in ("dense", "pack"))
        if x.sort == "material" and x.value == "dense-packed cellulose" and not packed:
            x.value = x.reads = "loose-fill cellulose"


def _insulation(x: Lexeme) -> bool:
    return x.text.lower().startswith(("insul", "foam", "rigid"))


def _beside(run: list[Lexeme]) -> None:
    """`The sills are 8x8 oak`: what such a part is made of is no layer."""
    for before, x in pairwise(run):
        if (
            normal(before.text) in ("edge", "perimeter")
            and x.sort in ("material", "loose")
            and _insulation(x)
        ):
            # What lies at the edge of a slab is not below it.
            x.sort, x.others = "word", ()
    for x, after in pairwise(run):
        if x.sort in ("material", "loose") and normal(after.text) in _BEARERS and after.sort != "material":
            # `steel beams`, `vinyl windows`
            x.sort, x.others = "word", ()
    for k, x in enumerate(run[:-1]):
        if normal(x.text) not in _BEARERS or x.sort not in ("part", "word", "other", "referred", "unknown"):
            continue
        if run[k + 1].value not in _ARE:
            continue
        for y in run[k + 2 : k + 2 + _RUN]:
            if y.sort == "break":
                break
            if y.sort in _LAYERS:
                y.sort, y.others = "part", ()


def _sentences(text: str, lexemes: Sequence[Lexeme]) -> Iterator[list[Lexeme]]:
    for start, end, _ in sentences(text):
        yield [x for x in lexemes if start <= x.start < end]


def _first(run: list[Lexeme], words: frozenset[str]) -> int:
    return next((k for k, x in enumerate(run) if normal(x.text).removesuffix("s") in words), -1)


def _vented(x: Lexeme) -> bool:
    """Whether it is a vented space already; battens are, and a vent is."""
    return x.sort == "space" and x.value.endswith("vented")
