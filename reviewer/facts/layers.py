"""Facts of single layers, and of pairs of them: what each is, and what lies inboard and outboard of it."""

from __future__ import annotations

from functools import lru_cache

from reviewer.facts import anatomy as anatomies
from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book, Origin, Record
from reviewer.facts.resolve import Properties, below_attic, open_question
from reviewer.facts.sums import finite, insulation, total
from reviewer.facts.vocabulary import KINDS
from reviewer.library.types import FLAGS, ROLES
from reviewer.physics.vapor import retarder_class

_ROLE_NAMES = tuple((role.replace(" ", "_"), role) for role in ROLES)
_FLAG_NAMES = tuple(
    (name, flag) for flag in FLAGS if (name := flag.replace(" ", "_")) in KINDS["layer"].fields
)


@lru_cache(maxsize=2048)
def _yes_or_no(roles: frozenset[str], flags: frozenset[str]) -> dict[str, str]:
    """What every role and flag that rules may ask for is in a layer that has these."""
    said = {name: "yes" if role in roles else "no" for name, role in _ROLE_NAMES}
    return said | {name: "yes" if flag in flags else "no" for name, flag in _FLAG_NAMES}


def _foam_kind(p: Properties) -> str | None:
    if not p.has("foam plastic") or p.material is None:
        return None
    name = p.material.id
    for word in ("closed-cell", "open-cell"):
        if word in name or word.replace("-", " ") in name:
            return word
    if p.has("polystyrene"):
        return "extruded polystyrene" if "extruded" in name else "expanded polystyrene"
    if p.has("polyiso"):
        return "polyisocyanurate"
    return "phenolic" if "phenolic" in name else "other"


_FASTENINGS = (
    (("girt", "z-bar", "z bar", "hat channel", "furring channel"), "metal girts"),
    (
        ("thermally broken", "thermal break", "thermal clip", "fiberglass clip", "glass fiber clip"),
        "thermally broken clips",
    ),
    (("clip", "bracket"), "metal clips"),
    (("screw", "nail"), "screws"),
    (("tie", "anchor"), "ties"),
)
"""Words on fasteners to their kind; girts that stand on clips count as what reaches through: the clips."""


def _fastening(words: str) -> str:
    """
    >>> _fastening("steel Z-girts"), _fastening("girts on thermally broken clips"), _fastening("glue")
    ('metal girts', 'thermally broken clips', 'other')
    """
    said = words.lower()
    found = [kind for stems, kind in _FASTENINGS if any(s in said for s in stems)]
    reaching = [k for k in found if k.endswith("clips")] or found
    return reaching[0] if reaching else "other"


def _shares_members(foam: Properties, p: Properties) -> bool:
    """Whether sprayed foam lies between the same members as its neighbor: it names none, or the same and does not
    fill them."""
    own = foam.layer.framing
    if own is None:
        return True
    beside = p.layer.framing
    return own == beside and own.depth is not None and (foam.thickness or 0.0) < own.depth


def layer_record(p: Properties, layers: list[Properties], a: Anatomy, book: Book) -> Record:
    layer, i = p.layer, p.layer.index
    r = book.record("layer", str(i), p.label())
    given = Origin("given", "as written")
    r.put("index", i)
    if i + 1 < len(layers):
        r.put("outer_neighbor", i + 1)
    r.put("name", p.name)
    r.put("text", layer.text)
    r.put("unknown", layer.unknown)
    r.put("is_space", p.is_space)
    r.put("is_surroundings", p.is_surroundings)
    r.put("ventilated", p.ventilated)
    r.put("vents", layer.vents or ("none" if p.is_space else None))
    r.put("is_insulation", p.is_insulation)
    r.put("foam", _foam_kind(p))
    r.put("in_framing", layer.framing is not None)
    r.put(
        "framing",
        "none" if layer.framing is None else "steel" if "metal" in layer.framing.material.flags else "wood",
    )
    if layer.framing is not None and layer.framing.depth is not None:
        r.put("framing_depth", layer.framing.depth)
        if p.thickness is not None:
            beside = sum(
                q.thickness or 0.0
                for q in layers[max(i - 1, 0) : i + 2]
                if q is not p and q.has("spray foam") and _shares_members(q, p)
            )
            r.put("underfilled", max(0.0, layer.framing.depth - p.thickness - beside))
            open_above = below_attic(layers[i + 1].layer if i + 1 < len(layers) else None)
            if layer.framing.pattern == "single" and not open_above:
                r.put("overfilled", max(0.0, p.thickness - layer.framing.depth))
    if not p.is_space and not p.is_surroundings:
        r.put("joints", layer.joints or "not stated")
        r.put("seamless", p.seamless)
    r.put("condition", layer.condition, given)
    r.put("coats", layer.coats)
    r.put("fasteners", layer.fasteners)
    if layer.fasteners:
        r.put("fastening", _fastening(layer.fasteners))
    if p.is_space:
        r.put("vents_stated", layer.vents is not None)
    if a.main is not None:
        r.put("side", "inboard" if i < a.main else "insulation" if i == a.main else "outboard")
    r.put("beyond_vent", a.vent is not None and i > a.vent)
    if i > 0 and layers[i - 1].is_space:
        r.put("gap_inboard", layers[i - 1].thickness, why=layers[i - 1].why.get("thickness", ""))
        r.put("gap_inboard_vented", layers[i - 1].ventilated)
    if p.is_surroundings:
        return r
    if p.material is not None:
        r.put("family", p.material.family, Origin("looked up", p.material.id))
    for name, value in (
        ("thickness", p.thickness),
        ("conductivity", p.conductivity),
        ("r_value", p.r),
        ("density", p.density),
        ("permeance_dry", p.permeance_dry),
        ("permeance_wet", p.permeance_wet),
    ):
        r.put(name, value, p.origins.get(name), p.why.get(name, ""))
    if p.permeance_dry is not None and p.permeance_wet is not None:
        r.put("class", retarder_class(p.permeance_dry))
        r.put("class_wet", retarder_class(p.permeance_wet))
        if p.permeance_dry > 0:
            r.put("opening", p.permeance_wet / p.permeance_dry)
    else:
        for name in ("class", "class_wet", "opening"):
            r.put(name, None, why=p.why.get("permeance_dry", ""))
    if p.material is None and layer.unknown:
        why = p.unknown_reason
        for name, role in _ROLE_NAMES:
            r.put(name, True if role in p.roles else None, why=why)
        for name, _ in _FLAG_NAMES:
            r.put(name, None, why=why)
    else:
        r.fields.update(_yes_or_no(p.roles, p.flags))
        for role in layer.roles:
            r.origins[role.replace(" ", "_")] = given
    _series_facts(r, i, layers, a)
    return r


def _series_facts(r: Record, i: int, layers: list[Properties], a: Anatomy) -> None:
    if i >= a.end:
        return
    outer, inner = range(i + 1, a.end), range(i)
    values = {
        "permeance_outboard": finite(anatomies.series(layers, outer, True)),
        "permeance_inboard": finite(anatomies.series(layers, inner, False)),
        "drying_inward": finite(anatomies.series(layers, inner, True)),
        "insulation_inboard": insulation(layers, inner),
        "insulation_outboard": insulation(layers, outer),
    }
    why = open_question(layers, "a layer in between is not known") if None in values.values() else ""
    for name, value in values.items():
        r.put(name, value, why=why)


def pair_facts(layers: list[Properties], a: Anatomy, book: Book) -> None:
    """Pairs that touch, and pairs of layers that both resist vapor."""
    solid = [p for p in layers if not p.is_surroundings]
    for x, inner in enumerate(solid):
        for y in range(x + 1, len(solid)):
            outer = solid[y]
            resist = all(
                p.permeance_wet is not None and p.permeance_wet < anatomies.OPEN for p in (inner, outer)
            )
            if y != x + 1 and not resist:
                continue
            r = book.record("pair", f"{x}-{y}", f"{inner.name} and {outer.name}")
            r.put("inner", x)
            r.put("outer", y)
            r.put("adjacent", y == x + 1)
            r.put("vent_between", any(p.ventilated for p in solid[x + 1 : y]))
            if inner.permeance_wet and outer.permeance_wet is not None:
                r.put("permeance_ratio", outer.permeance_wet / inner.permeance_wet)
            if inner.permeance_dry and outer.permeance_wet is not None:
                r.put("permeance_ratio_dry", outer.permeance_wet / inner.permeance_dry)
            between = total(p.r for p in solid[x + 1 : y])
            known = between is not None
            why = "" if known else open_question(solid[x + 1 : y], "a layer in between is not known")
            r.put("r_between", between, why=why)
