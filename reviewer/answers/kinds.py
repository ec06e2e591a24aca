"""Where a text speaks for two kinds of section: then which it is gets asked, and is not taken from one word of it."""

from __future__ import annotations

import re

from reviewer.answers.scene import Scene
from reviewer.library.materials import load_materials

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
