"""What is not a question about enclosures, or one that another profession answers."""

from __future__ import annotations

from typing import Any

from reviewer.answers.lexicon import lexicon
from reviewer.answers.scene import Mention, Scene
from reviewer.reply import Refusal

CAN = [
    "Is a 2x6 wall with R-21 fiberglass, OSB and vinyl siding safe in Duluth, MN?",
    "How much exterior foam does a 2x4 wall need in zone 6?",
    "What is a perm?",
]
"""What can be asked instead."""


def refusal_for(
    text: str, unit: Any, scene: Scene, subject: Mention | None, dialogue: bool
) -> Refusal | None:
    """The refusal that a question gets, or None."""
    substance = (
        scene.mentions
        or scene.setting.kind
        or scene.framed
        or scene.concept
        or scene.quality
        or scene.finding
    )
    if scene.referred and not (scene.mentions or scene.framed):
        profession = lexicon().professions[int(scene.referred[0].value)]
        return Refusal(
            status="referred",
            why=f"This is a question of {profession.about}, not of moisture.",
            to=profession.to,
            can=CAN,
        )
    if substance or dialogue:
        return None
    return Refusal(
        status="not understood",
        why="Nothing in it is about a wall, roof, foundation, floor or slab.",
        can=CAN,
    )
