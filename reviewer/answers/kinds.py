"""What kind of section a text tells of: nouns and layers are weighed against each other, and where two kinds weigh alike it is
asked, and not taken from one word.

A layer that only one kind has counts more than a noun, a noun of the question or beside layers more than one in passing
(`dry basement, fans work` in the description of a wall).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from reviewer.answers.lexicon import normal
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import SAYS_WHAT, Mention, Scene
from reviewer.library.materials import Material, load_materials

_WALL = re.compile(r"\bwalls?\b|\bstuds?\b|\bframing\b|\bframed\b|\bframe\b")
_FLOOR = re.compile(r"\bfloors?\b|\bsubfloors?\b|\bjoists?\b")
_ABOVE = re.compile(r"\bwalk ?-?outs?\b|\bdaylight\b|\babove[ -]grade\b|\babove ground\b")
_BELOW = re.compile(
    r"\brec room\b|\bbelow[ -]grade\b|\bunderground\b|\bdig(?:ging)?\b|\bsump\b|\bfootings?\b|\bbackfill(?:ed)?\b|\bbasements?\b|\bcellars?\b"
)
_UPRIGHT = re.compile(
    r"\b(?:exterior|outside|outer|house|garage|parapet|first|second|upper) walls?\b|\bhouses?\b|\bbuildings?\b"
)
_CEILING = re.compile(r"\bceilings?\b")
_POURED = re.compile(r"\bpoured\b|\bfoundation\b|\bfooting\b|\bstud wall\b")
_GROUND = re.compile(r"\bdown ?stairs\b|\brec room\b|\bfootings?\b|\bbackfill\w*|\bbelow[ -]grade\b|\bsump\b")


@dataclass(frozen=True, slots=True)
class Part:
    """A sentence of a text."""

    lexemes: Sequence[Lexeme]
    told: int
    """Layers that it names."""
    asks: bool


BARE = "bare"
"""Form of a roof that is its metal roofing alone."""
_SHUT = re.compile(
    r"\b(?:am|m|are|re|is|s|was|were|been|being|got|have|had|now|it)\s+(?:\w+ )?encapsulat(?:ed|ing)\b"
    r"|\bi'?m encapsulating\b|\bvents? (?:are |were |all |now )*(?:closed|sealed|shut|blocked)\b"
    r"|\bno vents\b|\b(?:closed|sealed|conditioned|encapsulated) crawl"
)
_GARAGE = re.compile(r"\bgarage\b|\bcars\b")
_OPEN_AIR = re.compile(
    r"\b(?:over|above)\b[^.?]*\b(?:porch|carport|driveway|breezeway|patio|open air|entry|walkway)\b"
)
_BEAMS = re.compile(r"\b(?:beams?|timbers?|timber frame|glulams?)\b")
_TRUSSES = re.compile(r"(?<!scissor )\btruss(?:es)?\b")
_PURLINS = re.compile(r"\bpurlins?\b|\bpole (?:barn|building|shed)\b")
_NOTHING = re.compile(r"\bbare\b|\bnothing\b|\buninsulated\b|\bno (?:insulation|sheathing|felt|deck)\b")
_ONTO = frozenset(("on", "to", "against", "onto"))
_BELOW_GRADE = frozenset(("concrete block", "concrete", "stone rubble"))
_PLACING = frozenset(("in", "on", "of", "under", "into", "against"))
_SAYING = frozenset(("said", "say", "says", "saying", "blamed", "blames", "blame", "think", "thinks"))
_UPRIGHT_PARTS = frozenset(("rim", "band", "knee", "kneewall", "gable"))
_BURIED = frozenset(("basement", "foundation", "cellar"))
_PLAIN = frozenset(("wall", "roof", "floor", "deck"))
_LESS = {"floor": 1, "floor joist": 2, "basement": 2, "cellar": 2}
"""Nouns that tell where a thing is as often as what it is."""
_NOT_ROOFING = frozenset(("roof ballast", "concrete paver", "green roof growing medium", "thatch"))
_WALLS_ONLY = frozenset(("straw bale", "light clay straw", "hempcrete", "adobe", "rammed earth", "log wall"))
_EITHER_COVER = frozenset(("cedar shingle", "unpainted wood siding"))
"""Claddings that roofs and ceilings have now and then."""
_UNDER = frozenset(("gravel bed", "sand and gravel", "slab vapor retarder", "slab vapor retarder 15 mil"))
_MASSES = frozenset(("clay brick", "old soft brick", "stone rubble", "calcium silicate brick"))
_PANELS = frozenset(("plywood", "oriented strand board", "board sheathing"))
_UNDERFOOT = frozenset(("ceramic tile", "quarry tile", "terrazzo", "cement screed"))
"""Finishes that walls have, too."""
_LININGS = frozenset(("gypsum board", "paperless gypsum board", "moisture-resistant gypsum board"))
_OF_ROOF = re.compile(r"^roof (?:sheathing|deck|board|plank)|\broofing$|\broof$")
"""Words for layers that say what they are part of."""
_WALLS = {"wall", "foundation wall"}
_OWN = 2
"""Layers that a section has of its own where others are told of other parts."""
_ALONE = 4
"""Evidence that tells a kind that nobody named."""
_ENOUGH = 2
"""By how much the evidence for another kind must outweigh that for the one taken."""


def settled(scene: Scene, parts: Sequence[Part]) -> Scene:
    """The scene with the kind that the evidence speaks for, and its form where words and layers tell that together."""
    return _formed(_weighed(scene, parts), parts)


def _formed(scene: Scene, parts: Sequence[Part]) -> Scene:
    """A crawl space that is told closed, and a metal roof on purlins with nothing below it."""
    setting = scene.setting
    told = " ".join(x.text.lower() for p in parts if not p.asks for x in p.lexemes)
    everything = " ".join(x.text.lower() for p in parts for x in p.lexemes)
    if setting.kind == "floor" and setting.form in ("", "crawl") and _SHUT.search(told):
        return replace(scene, setting=replace(setting, form="conditioned"))
    if setting.kind == "floor" and not setting.form:
        form = "garage" if _GARAGE.search(everything) else "outdoors" if _OPEN_AIR.search(everything) else ""
        return replace(scene, setting=replace(setting, form=form)) if form else scene
    if (
        setting.kind == "roof"
        and scene.noun in ("", "stud")
        and not scene.size
        and _BEAMS.search(told)
        and _boarded_above(scene)
    ):
        # Beams carry a deck with all of its insulation above: it is seen from below.
        return replace(scene, exposed=True)
    if setting.kind == "roof" and setting.form == "" and _TRUSSES.search(everything):
        low = any("membrane" in load_materials()[m.material].flags for m in scene.mentions if m.material)
        return scene if low else replace(scene, setting=replace(setting, form="attic"))
    if setting.kind in ("roof", "") and _bare_metal(scene, told):
        return replace(scene, setting=replace(setting, kind="roof", form=BARE), kind_sure=3, empty=True)
    return scene


def _boarded_above(scene: Scene) -> bool:
    """Whether board insulation is told and nothing that lies between members or lines them."""
    told = [load_materials()[m.material] for m in scene.mentions if m.material and not m.negated]
    boards = any("thermal control" in m.roles and m.family == "foam insulation" for m in told)
    other = any(
        (m.family == "gypsum" and "interior finish" in m.roles)
        or (m.family == "fibrous insulation" and "board" not in m.id)
        for m in told
    )
    return boards and not other


def _bare_metal(scene: Scene, told: str) -> bool:
    """Whether metal roofing lies on purlins with nothing below it."""
    materials = [load_materials()[m.material] for m in scene.mentions if m.material and not m.negated]
    metal = any("metal" in m.flags and "roof covering" in m.roles for m in materials)
    below = any(
        m.roles & {"sheathing", "interior finish", "thermal control"} and "spray foam" not in m.flags
        for m in materials
    )
    blanket = any(m.id == "vinyl insulation facing" for m in materials)
    sheathed = any(m.roles & {"sheathing", "interior finish"} and "facing" not in m.id for m in materials)
    if metal and blanket and not sheathed and _PURLINS.search(told):
        # The blanket of a metal building lies on its purlins.
        return True
    sprayed = any(
        "spray foam" in m.material
        and m.target is not None
        and load_materials()[m.target.material].family == "roofing"
        for m in scene.mentions
        if m.material and m.target is not None and m.target.material
    )
    return metal and not below and bool(_PURLINS.search(told) and (sprayed or _NOTHING.search(told)))


def _weighed(scene: Scene, parts: Sequence[Part]) -> Scene:
    """The scene with the kind that the evidence speaks for, where it clearly outweighs that for the kind read so far."""
    nouns, layers = _by_nouns(parts), _by_layers(scene, parts)
    if (
        scene.setting.form in ("crawl", "conditioned")
        and "wall" in nouns
        and _masonry_only(scene)
        and "floor" not in layers
    ):
        # What is asked of the walls of a crawl space is asked of its foundation.
        layers["foundation wall"] = max(layers.get("foundation wall", 0), 3)
    fixed = any(m.side == "against masonry" for m in scene.mentions if m.material and not m.negated)
    if (
        scene.setting.form == "crawl"
        and fixed
        and _masonry_only(scene)
        and "floor" not in layers
        and not scene.noun
    ):
        # Batts on the block of a crawl space.
        layers["foundation wall"] = max(layers.get("foundation wall", 0), 7)
    if "wall" in nouns and ("foundation wall" in nouns or layers.get("foundation wall")):
        # A wall of a basement is called a wall, too.
        nouns["foundation wall"] = nouns.get("foundation wall", 0) + nouns["wall"]
    weights = {k: nouns.get(k, 0) + layers.get(k, 0) for k in sorted({*nouns, *layers})}
    now = scene.setting.kind
    best = max(weights, key=lambda k: (weights[k], k == now), default="")
    if not best or best == now or not layers.get(best) or weights[best] < weights.get(now, 0) + _ENOUGH:
        return scene
    if not now and best != "foundation wall" and weights[best] < _ALONE:
        # What nobody named is told by its layers when they are put together.
        return scene
    told = [x.value.partition("/") for p in parts for x in p.lexemes if x.sort == "kind"]
    form = next((f for k, _, f in told if k == best and f), "")
    setting = replace(scene.setting, kind=best, form=form)
    note = (f"the section is a {best}", "its layers speak for one, whatever else is named beside")
    return replace(scene, setting=setting, kind_sure=3, notes=[*scene.notes, note])


def of_the_section(scene: Scene, parts: Sequence[Part]) -> Scene:
    """The scene without what is said of other parts of the building: `the walls are brick, the roof is slate`, `foam on the
    crawl walls`."""
    kind = scene.setting.kind
    kinds = _WALLS if kind in _WALLS else {kind}
    lies = {k: v for p in parts for k, v in _lies_on(p.lexemes).items()}
    own = [m for m in scene.mentions if {m.of, lies.get(id(m.lexeme), "")} <= {"", *kinds}]
    told = [m for m in own if m.material and not m.negated]
    if not kind or len(own) == len(scene.mentions) or len(told) < _OWN:
        return scene
    return replace(scene, mentions=own)


def _lies_on(lexemes: Sequence[Lexeme]) -> dict[int, str]:
    """The kind of section that each layer is said to lie on, by id of its lexeme."""
    return {id(lexemes[k]): lexemes[i].value.partition("/")[0] for i, k in _laid(lexemes).items()}


def _laid(lexemes: Sequence[Lexeme]) -> dict[int, int]:
    """Nouns that a layer is said to lie on, by their place among the lexemes, and the place of that layer."""
    found = {}
    for i, x in enumerate(lexemes):
        run = [y.text.lower() for y in lexemes[max(i - 3, 0) : i]]
        if x.sort == "kind" and not x.value.startswith("roof") and run[-2:] and set(run[-2:]) & _ONTO:
            k = i - 1 - run[::-1].index(next(w for w in reversed(run) if w in _ONTO))
            if k > 0 and lexemes[k - 1].sort in ("material", "loose"):
                found[i] = k - 1
    return found


def _masonry_only(scene: Scene) -> bool:
    """Whether masonry or concrete is told, and nothing that lies on joists."""
    materials = [load_materials()[m.material] for m in scene.mentions if m.material and not m.negated]
    return any(m.family in ("masonry", "concrete", "stone") for m in materials) and not any(
        ("flooring" in m.roles and "structure" not in m.roles) or m.id in _PANELS for m in materials
    )


def _by_nouns(parts: Iterable[Part]) -> dict[str, int]:
    """How much the nouns for kinds weigh, by where they stand."""
    weights: dict[str, int] = {}
    again: set[str] = set()
    for n, part in enumerate(parts):
        base = 3 if part.asks or part.told >= 2 else 2 if part.told or not n else 1
        for i, x in enumerate(part.lexemes):
            words = normal(x.text)
            entry = x.value if x.sort == "kind" else next((e.value for e in x.others if e.sort == "kind"), "")
            if not entry and x.sort == "material" and words.split()[-1] in _BURIED:
                entry = "foundation wall"
            if not entry and x.sort in ("material", "loose") and _OF_ROOF.search(words):
                entry = "roof"
            after = part.lexemes[i + 1] if i + 1 < len(part.lexemes) else None
            if after is not None and after.text.lower() in ("plate", "plates"):
                continue
            told_off = i and part.lexemes[i - 1].value in _SAYING and (after is None or after.sort == "break")
            if not entry or told_off:
                continue
            kind, _, form = entry.partition("/")
            weight = 1 if form == "ceiling" else base + (words not in _PLAIN) - _LESS.get(words, 0)
            if kind == "wall" and _UPRIGHT_PARTS & set(words.split()):
                weight += 2
            aside = after is not None and after.value in SAYS_WHAT and not part.asks
            if aside and len({x.value.partition("/")[0] for x in part.lexemes if x.sort == "kind"}) > 1:
                # `the walls are brick, the roof is slate`
                weight = 1
            if part.asks and _said_of(part.lexemes, i):
                weight += 3
            if kind == "foundation wall" and "crawl" in words and not part.asks and i in _laid(part.lexemes):
                # `foam on the crawl walls`: where something is, beside the floor above.
                weight = 1
            if kind in weights:
                again.add(kind)
            weights[kind] = max(weights.get(kind, 0), weight)
    return {k: w + (k in again) for k, w in weights.items()}


def _said_of(lexemes: Sequence[Lexeme], i: int) -> bool:
    """Whether a noun tells where the layer before it is: `keep the batts in the floor`."""
    before = lexemes[max(i - 3, 0) : i]
    placed = any(y.text.lower() in _PLACING for y in before[1:])
    return placed and any(y.sort in ("material", "loose", "role") for y in before)


def _by_layers(scene: Scene, parts: Sequence[Part]) -> dict[str, int]:
    """How much the layers weigh that one kind has and the others hardly ever."""
    told = [(m, load_materials()[m.material]) for m in scene.mentions if m.material and not m.negated]
    ids = {m.id for _, m in told}
    said = " ".join(x.text.lower() for p in parts for x in p.lexemes)
    weights: dict[str, int] = {}
    for mention, m in told:
        for kind, weight in _speaks_for(mention, m, ids, scene):
            if mention.of and mention.of != kind and {mention.of, kind} != _WALLS:
                continue
            weights[kind] = max(weights.get(kind, 0), weight)
    if scene.noun in ("rafter", "truss"):
        weights["roof"] = max(weights.get("roof", 0), 3)
    if scene.noun == "joist" and ids & _PANELS and not weights.keys() & {"roof", "wall"} and ids & _UNDERFOOT:
        weights["floor"] = 4
    if scene.inverted:
        weights["roof"] = weights.get("roof", 0) + 3
    if ids & _MASSES and not weights.keys() & {"roof", "slab"} and not _BURIED & set(said.split()):
        weights["wall"] = max(weights.get("wall", 0), 3)
    if re.search(r"\bsub-?floor\b", said) and not weights.keys() & {"roof", "wall"}:
        weights["floor"] = max(weights.get("floor", 0), 3)
    asked = " ".join(x.text.lower() for p in parts if p.asks for x in p.lexemes)
    on_concrete = ids & {"concrete", "old concrete"} and scene.noun != "stud" and not _WALL.search(said)
    if on_concrete and re.search(r"\bflooring\b|\bfloor finish\b", asked):
        weights["slab"] = max(weights.get("slab", 0), 4)
    powdered = any(x.value == "efflorescence" for x in scene.findings) and not insulated_or_clad(told)
    if (
        powdered
        and ids & _BELOW_GRADE
        and not weights.keys() & {"slab", "floor", "roof"}
        and not _UPRIGHT.search(said)
    ):
        # Salts on the inner face of a bare wall: water comes through from the ground.
        weights["foundation wall"] = 4
        weights.pop("wall", None)
    framed_below = ids & {"concrete block"} and _GROUND.search(said) and not insulated_or_clad(told)
    if framed_below and not weights.keys() & {"slab", "floor", "roof"} and not _UPRIGHT.search(said):
        weights["foundation wall"] = max(weights.get("foundation wall", 0), 4)
    bare = ids & {"concrete"} and not weights.keys() & {"wall", "slab", "floor", "roof"}
    insulated = any("thermal control" in m.roles for _, m in told) and any(
        "interior finish" in m.roles for _, m in told
    )
    signs = _POURED.search(said) or _GROUND.search(said) or insulated
    if bare and signs and not _UPRIGHT.search(said):
        # A poured wall with studs before it and nothing said of its outer face.
        weights["foundation wall"] = 4 if _POURED.search(said) else 3
    before_concrete = ids & {"concrete", "concrete block"} and scene.noun == "stud" and ids & _LININGS
    if before_concrete and _BURIED & set(said.split()) and "wall" not in weights:
        weights["foundation wall"] = 5
    return weights


def insulated_or_clad(told: Sequence[tuple[Mention, Material]]) -> bool:
    """Whether insulation, a lining or a cladding is told."""
    return any(
        m.roles & {"thermal control", "cladding", "interior finish"}
        and m.family not in ("coating", "masonry")
        for _, m in told
    )


def _speaks_for(mention: Mention, m: Material, ids: set[str], scene: Scene) -> list[tuple[str, int]]:
    """The kinds that a layer speaks for, and how loudly."""
    if mention.lexeme.text.lower().startswith(("face brick", "facing brick")):
        return [("wall", 4)]
    if m.id in _WALLS_ONLY:
        return [("wall", 7)]
    if mention.loose is not None and "shingle" in mention.lexeme.text.lower() and "cedar shingle" in ids:
        return []
    if "roof covering" in m.roles:
        return [] if m.id in _NOT_ROOFING else [("roof", 4)]
    if m.id == "rubber flooring" or (m.id == "brick veneer" and ids & _MASSES):
        return []
    if m.id == "dimple sheet" and ids & _PANELS and ids & {"concrete", "old concrete"}:
        return [("slab", 4)]
    if "cladding" in m.roles and "structure" not in m.roles and _elsewhere(mention, m):
        return []
    if "cladding" in m.roles and not m.roles & {"structure", "interior finish"}:
        vague = mention.loose is not None and not re.search(
            "siding|clad|panel|brick|stone", mention.lexeme.text.lower()
        )
        return [] if vague and "metal" in m.id else [("wall", 3 if m.id in _EITHER_COVER else 4)]
    if m.id == "house wrap":
        return [("wall", 2)]
    if m.id in _UNDER and mention.target is not None and _soil(mention.target.material):
        # A sheet on the ground of a crawl space.
        return []
    if m.id in _UNDER:
        return [("slab", 4 if ids & {"concrete", "old concrete"} or "gravel" not in m.id else 2)]
    if m.id == "steel deck":
        return [("roof", 3)]
    if "dampproofing" in m.roles and m.id != "dimple sheet":
        return [("foundation wall", 3)]
    if "flooring" in m.roles and not m.roles & {"structure", "interior finish"}:
        panels = ids & _PANELS
        on_concrete = bool(ids & {"concrete", "old concrete"}) and not scene.framed
        if on_concrete or (panels and scene.setting.kind == "slab" and scene.noun != "joist"):
            return [("slab", 4)]
        return (
            [("floor", 4)]
            if panels or (scene.framed and scene.noun != "stud")
            else [("floor", 2), ("slab", 2)]
        )
    return []


def _soil(id_: str) -> bool:
    return bool(id_) and load_materials()[id_].family == "soil" and id_ not in _UNDER


def _elsewhere(mention: Mention, m: Material) -> bool:
    """Whether a word for a cladding names something else: a soffit, a wood floor."""
    text = mention.lexeme.text.lower()
    return "soffit" in text or (m.id == "engineered wood siding" and not re.search("siding|lap|clad", text))


def doubtful(scene: Scene, said: str, kind: str) -> tuple[str, ...]:
    """Other kinds that what is `said` speaks for as much as for the one taken; empty where that is plain."""
    materials = [load_materials()[m.material] for m in scene.mentions if m.material and not m.negated]
    under_foot = any("flooring" in m.roles and not m.roles & {"structure", "cladding"} for m in materials)
    siding = any("cladding" in m.roles and m.family == "cladding" for m in materials)
    wall = _WALL.search(said)
    if kind == "foundation wall":
        if not wall and _CEILING.search(said):
            return ("floor",)
        if not wall and (under_foot or (_FLOOR.search(said) and not _concrete(materials))):
            return ("slab",) if under_foot and not _FLOOR.search(said) else ("floor", "slab")
        if _ABOVE.search(said) or siding:
            return ("wall",)
    if kind == "wall" and scene.kind_sure < 2 and not siding:
        bare = any(m.id in ("concrete", "concrete block") for m in materials)
        faced = any(
            "cladding" in m.roles or m.family == "coating" for m in materials if m.id != "latex paint"
        )
        if (_BELOW.search(said) and (bare or not scene.framed)) or (
            bare and not faced and not _UPRIGHT.search(said)
        ):
            return ("foundation wall",)
    if kind == "roof" and under_foot and not any("roof covering" in m.roles for m in materials):
        return ("floor",)
    return ()


def _concrete(materials: list) -> bool:
    return any(m.id in ("concrete", "concrete block", "stone rubble", "clay brick") for m in materials)
