"""What is not a question about enclosures, is in another language, is about a thing that nobody here knows, or is one
that another profession answers."""

from __future__ import annotations

import re
from itertools import pairwise

from reviewer.answers.intents import Asked, concepts_in
from reviewer.answers.lexicon import lexicon, normal
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Scene
from reviewer.reply import Refusal

CAN = (
    "Is a 2x6 wall with R-21 fiberglass, OSB and vinyl siding safe in Duluth, MN?",
    "How much exterior foam does a 2x4 wall need in zone 6?",
    "What is a perm?",
)
"""What can be asked instead."""

_COATS = frozenset(("paint", "coating", "coat", "tape", "primer", "finish", "sealant", "caulk", "sealer"))
"""What is put on a layer or its joints."""
_GENERIC = frozenset(
    ("membrane", "board", "panel", "sheet", "wrap", "insulation", "paint", "foam", "film", "barrier", "product", "system",
     "batt", "sheathing", "siding", "material", "coating", "stuff", "retarder", "layer")
)  # fmt: skip


def not_english(text: str) -> Refusal | None:
    """The refusal of a text in another language; else None."""
    words = lexicon()
    said = text.casefold().replace("'", " ").replace("-", " ").split()
    plain = [w.strip('.,;:?!¿¡"()') for w in said]
    foreign = sum(w in words.foreign for w in plain)
    if foreign >= 2 and foreign >= 0.2 * len(plain):
        return Refusal(
            status="not understood",
            why="It is not in English, the language that is understood here.",
            can=list(CAN),
        )
    return None


def refusal_for(
    lexemes: list[Lexeme], scene: Scene, asked: Asked | None, dialogue: bool, question: list[Lexeme]
) -> Refusal | None:
    """The refusal that one question gets, or None. `lexemes` are the question's own and those of the proposal that it is
    about, `question` the question's alone."""
    words = lexicon()
    if (referred := _referred(lexemes, scene)) is not None:
        return referred
    if asked is not None and asked.intent == "why not always":
        from reviewer.answers.whynot import named

        if named(" ".join(x.text for x in lexemes)):
            return None
    if (unknown := _unknown(lexemes, asked)) is not None:
        return unknown
    said = " " + " ".join(normal(x.text) for x in lexemes) + " "
    if any(f" {w} " in said for w in words.never_ours):
        return _nothing()
    elsewhere = [
        x
        for x, after in pairwise([*question, *question[-1:]])
        if normal(x.text) in lexicon().elsewhere and after.value != "aside"
    ]
    own = [x for x in lexemes if x.sort in ("material", "role", "space", "size", "R", "property")]
    own += lexemes[: 2 * bool(concepts_in(lexemes))]
    if asked is not None and asked.intent == "cheapest":
        elsewhere = []
    if len(elsewhere) >= 2 or (elsewhere and len(own) <= 1 and not dialogue):
        return _nothing()
    substance = (
        scene.mentions or scene.setting.kind or scene.framed or concepts_in(lexemes) or scene.quality or scene.findings
        or scene.cavity_r or scene.outside_r or (asked is not None and asked.concept)
        or (asked is not None and asked.intent == "how much" and any(x.sort in ("side", "property", "R") or x.value == "r" for x in lexemes))
    )  # fmt: skip
    return None if substance or dialogue else _nothing()


def _nothing() -> Refusal:
    why = "Nothing in it is about how a wall, roof, foundation, floor or slab is built and stays dry."
    return Refusal(status="not understood", why=why, can=list(CAN))


_MEMBERS = re.compile(
    r"\b(?:what|which) size (?:of )?(?:an? )?(?:lvl|beam|header|girder|joists?|rafters?|posts?|columns?|footings?)\b"
    r"|\bhow (?:far|long)\b.*\b(?:span|spans)\b"
)


def _referred(lexemes: list[Lexeme], scene: Scene) -> Refusal | None:
    words = lexicon()
    text = " ".join(x.text.lower() for x in lexemes)
    if _MEMBERS.search(text):
        why = "This is a question of structure, not of moisture in the enclosure."
        return Refusal(status="referred", why=why, to="a licensed structural engineer", can=list(CAN))
    explained = {k for i, j, _ in concepts_in(lexemes) for k in range(i, j)}
    own = [x for k, x in enumerate(lexemes) if x.sort == "referred" and k not in explained]
    for x in own:
        profession = words.professions[int(x.value)]
        if normal(x.text) in profession.strong or not (scene.mentions or scene.framed or scene.findings):
            why = f"This is a question of {profession.about}, not of moisture in the enclosure."
            return Refusal(status="referred", why=why, to=profession.to, can=list(CAN))
    return None


def _unknown(lexemes: list[Lexeme], asked: Asked | None) -> Refusal | None:
    """A question about a thing by a name that nobody here knows."""
    strange = [x for x in lexemes if x.sort == "unknown"]
    if len(strange) >= 3 and 2 * len(strange) >= sum(x.sort != "break" for x in lexemes):
        return _nothing()
    for k, (x, after) in enumerate(pairwise(lexemes)):
        if (
            x.sort == "unknown"
            and normal(after.text) in _GENERIC
            and after.sort in ("part", "word", "material", "loose")
            and not _accessory(lexemes, k, asked)
        ):
            return _not_known(x)
    for before, x in pairwise(lexemes):
        if x.sort == "unknown" and before.value in ("of", "called", "named") and x.text[:1].islower():
            return _not_known(x)
    if asked is None or not 0 <= asked.subject < len(lexemes):
        return None
    x = lexemes[asked.subject]
    if x.sort != "unknown":
        return None
    after = lexemes[asked.subject + 1] if asked.subject + 1 < len(lexemes) else None
    if (
        after is not None
        and after.sort in ("material", "loose", "role")
        and normal(after.text) not in _GENERIC
    ):
        return None
    return _not_known(x)


def _accessory(lexemes: list[Lexeme], k: int, asked: Asked | None) -> bool:
    """Whether an unknown coat or tape is named beside what is asked about: `foam on the stone, with zorbex paint`. It is told as
    not used."""
    if normal(lexemes[k + 1].text) not in _COATS or (asked is not None and asked.subject in (k, k + 1)):
        return False
    joined = any(y.text.lower() in ("with", "and", "plus", "under", "w/") for y in lexemes[max(k - 2, 0) : k])
    return joined and any(y.sort == "material" for y in lexemes[:k])


def _not_known(x: Lexeme) -> Refusal:
    why = f'"{x.text}" is not a material or a term that is known here, and nothing is made up about it.'
    return Refusal(status="not understood", why=why, can=list(CAN))
