"""Which layers do what: the main insulation, what lies on either side of it, the condensing plane.

The main insulation is the insulation between framing members; without any, the layer of most
resistance. What the trade calls the interior and exterior side are the layers inboard and outboard
of it. A ventilated space ends the section for heat and vapor: beyond it there is outdoor air.
"""

from __future__ import annotations

from dataclasses import dataclass

from reviewer.facts.resolve import Properties
from reviewer.physics.vapor import retarder_class
from reviewer.units import PERM

OPEN = 10.0 * PERM
"""More open than this a layer does not resist vapor to speak of (upper bound of Class III)."""


@dataclass(frozen=True, slots=True)
class Anatomy:
    main: int | None
    """Index of the main insulation layer."""
    vent: int | None
    """Index of the first ventilated space outboard of the main insulation."""
    end: int
    """Layers from the room that conduct and diffuse: up to the ventilated space or the surroundings."""
    condensing: int | None
    """Layer whose inner face is the plane most likely to condense; None when there is none."""
    surroundings: str
    interior: tuple[int, ...]
    exterior: tuple[int, ...]
    """Layers outboard of the main insulation, up to the end."""


_IN_THE_GROUND = ("slab", "foundation wall")


def dissect(layers: list[Properties], kind: str) -> Anatomy:
    """`kind`: of the section; below a slab and behind a foundation wall earth goes on where the last layer is earth."""
    told = next((p.layer.space for p in layers if p.is_surroundings), None)
    last = layers[-1].material if layers else None
    earth = kind in _IN_THE_GROUND and last is not None and last.family == "soil"
    surroundings = told or ("soil" if earth else "outdoor air")
    solid = len(layers) - (1 if layers and layers[-1].is_surroundings else 0)
    while earth and solid and _goes_on(layers[solid - 1]):
        solid -= 1
    main = _main_insulation(layers[:solid])
    vent = next(
        (i for i, p in enumerate(layers[:solid]) if p.ventilated and (main is None or i > main)),
        None,
    )
    end = solid if vent is None else vent
    interior = tuple(range(main)) if main is not None else ()
    exterior = tuple(range(main + 1, end)) if main is not None else ()
    return Anatomy(main, vent, end, _condensing(layers, main, end), surroundings, interior, exterior)


def _goes_on(p: Properties) -> bool:
    """Whether a layer is the earth itself: of no thickness that is told, it has no outer face."""
    return p.material is not None and p.material.family == "soil" and p.thickness is None


def _main_insulation(layers: list[Properties]) -> int | None:
    insulation = [i for i, p in enumerate(layers) if p.is_insulation]
    if not insulation:
        return None
    framed = [i for i in insulation if layers[i].layer.framing is not None]
    pool = framed or insulation
    return max(pool, key=lambda i: ((layers[i].r or 0.0), -i))


def _condensing(layers: list[Properties], main: int | None, end: int) -> int | None:
    """Outwards from the innermost air-permeable insulation, the first layer that stops vapor or air."""
    if main is None:
        return None
    permeable = [i for i in range(end) if layers[i].is_insulation and layers[i].has("air permeable")]
    start = permeable[0] if permeable else main
    for i in range(start + 1, end):
        p = layers[i]
        if (p.is_insulation and p.has("air permeable")) or p.is_space:
            continue
        tight = p.permeance_dry is not None and p.permeance_dry < OPEN
        if tight or p.layer.unknown or p.roles & {"sheathing", "structure"} or p.has("foam plastic"):
            return i
    return None


def series(layers: list[Properties], indices: range | tuple[int, ...], wet: bool) -> float | None:
    """Permeance of layers in series, dry or wet cup; None when one of them is unknown; infinite
    when there is no layer."""
    z = 0.0
    for i in indices:
        w = layers[i].permeance_wet if wet else layers[i].permeance_dry
        if w is None:
            return None
        if w <= 0.0:
            return 0.0
        z += 1.0 / w
    return 1.0 / z if z else float("inf")


def _leaky_boards(p: Properties) -> bool:
    return p.has("air permeable") and p.has("wood based")


def tightest_class(layers: list[Properties], indices: tuple[int, ...]) -> str | None:
    """The class of the tightest layer, dry cup; `none` without a layer; None when one is unknown.

    Boards that let air through at every joint are no vapor retarder, however little passes the wood itself.
    """
    known = [layers[i].permeance_dry for i in indices if not _leaky_boards(layers[i])]
    tightest = min((w for w in known if w is not None), default=None)
    if any(w is None for w in known) and (tightest is None or retarder_class(tightest) != "I"):
        return None
    return "none" if tightest is None else retarder_class(tightest)
