"""One sentence of a text, or the part of one that asks one thing; and what tells of two layers whether they stand for each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from reviewer.answers.assemble import kind_of
from reviewer.answers.intents import Asked
from reviewer.answers.kinds import Part, settled
from reviewer.answers.layers import part_of
from reviewer.answers.lexicon import normal
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Mention, Scene, merged
from reviewer.library.materials import load_materials


@dataclass(slots=True)
class Unit:
    """A sentence, or the part of one that asks one thing."""

    lexemes: list[Lexeme]
    start: int
    end: int
    asked: Asked | None
    scene: Scene = field(default_factory=Scene)
    meant: Mention | None = None
    """What `it` in it stands for, where something is done with that."""

    def part(self, asks: bool) -> Part:
        """What it says of the kind of section."""
        return Part(self.lexemes, sum(bool(m.material) for m in self.scene.mentions), asks)


WALLS = {"wall", "foundation wall"}


def told_kind(units: Sequence[Unit]) -> str:
    """The kind of section that a text is about, as far as its nouns and layers tell."""
    whole = Scene()
    for u in units:
        whole = merged(whole, u.scene)
    scene = settled(whole, [u.part(u.asked is not None) for u in units])
    return scene.setting.kind or kind_of(scene, scene.mentions)[0]


SAFETY = frozenset(
    (
        "safe",
        "ok",
        "okay",
        "fine",
        "worried",
        "worry",
        "problem",
        "concern",
        "concerned",
        "issue",
        "good",
        "bad",
        "work",
        "pass",
        "alright",
        "risk",
        "trouble",
        "wrong",
        "right",
        *(
            "hold",
            "last",
            "stand",
            "survive",
            "rot",
            "mold",
            "dry",
            "verdict",
            "mistake",
            "sound",
            "code",
            "comply",
            "meet",
        ),
        *(
            "legal",
            "trust",
            "regret",
            "dumb",
            "crazy",
            "risky",
            "durable",
            "build",
            "sign",
            "concerned",
            "nervous",
        ),
        "acceptable",
    )
)


def says_nothing(unit: Unit) -> bool:
    """Whether a question says nothing by itself, not even that it asks whether something is safe."""
    s = unit.scene
    if unit.asked is None or unit.asked.intent != "safe here":
        return False
    said = {w for x in unit.lexemes for w in normal(x.text).split()}
    return not (s.mentions or s.findings or s.quality or s.setting.place or said & SAFETY)


def addable(m: Mention) -> bool:
    return not m.negated and bool(m.role or (m.material and may_be_added(m.material)))


def are_rivals(a: Mention, b: Mention, scene: Scene) -> bool:
    """Whether two layers would lie in the same place."""
    kind = scene.setting.kind or "wall"

    def part(m: Mention) -> str:
        if m.role is not None:
            return "vapor" if m.role.role == "vapor control" else m.role.role
        return part_of(m.material, kind, scene.setting.form, m.side, True) if m.material else "space"

    places = {part(a), part(b)}
    return (
        len(places) == 1
        or places <= {"vapor", "coating", "cavity"}
        or places <= {"board", "cavity foam", "inner board", "cavity"}
    )


def may_be_added(id_: str) -> bool:
    m = load_materials()[id_]
    return (
        "vapor control" in m.roles
        or "spray foam" in m.flags
        or "foam plastic" in m.flags
        or "cellulose" in m.flags
    )


def has_masonry(mentions: list[Mention]) -> bool:
    """Whether a wall is told that stands by itself, before anything is put on it."""
    return any(
        m.material
        and not m.negated
        and load_materials()[m.material].family in ("masonry", "concrete", "stone")
        for m in mentions
    )


__all__ = [
    "SAFETY",
    "WALLS",
    "Unit",
    "addable",
    "are_rivals",
    "has_masonry",
    "may_be_added",
    "says_nothing",
    "told_kind",
]
