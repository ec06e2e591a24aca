"""One layer and two places for it: `over the foam or under it?`, `does the paper go up or down?`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Mention
from reviewer.library.materials import load_materials

_OVER = r"(?:over|above|on top|atop|top side|top|up|upward|upwards)"
_UNDER = r"(?:under|underneath|beneath|below|bottom side|bottom|down|downward|downwards)"
_GAP = r"[^?!;]"
_EITHER = re.compile(
    rf"\b(?P<a>{_OVER})\b{_GAP}{{0,90}}?(?P<or>\bor\b){_GAP}{{0,40}}?\b(?P<b>{_UNDER})\b"
    rf"|\b(?P<c>{_UNDER})\b{_GAP}{{0,90}}?(?P<or2>\bor\b){_GAP}{{0,40}}?\b(?P<d>{_OVER})\b"
)
_BOTH = re.compile(
    rf"\b(?P<a>{_OVER})\b{_GAP}{{0,140}}?\b(?P<b>{_UNDER})\b|\b(?P<c>{_UNDER})\b{_GAP}{{0,140}}?\b(?P<d>{_OVER})\b"
)
"""Of two people who each want the one: `… wants it under the foam, the engineer on top of it. Which?`"""
_WHICH_SIDE = re.compile(r"\b(?:which|what) (?:way|side|face|direction)\b(?! up\b)")
"""`Which side does it go on?`: toward the room, or away from it."""
_RELATIONS = ("over", "above", "on top", "atop", "under", "underneath", "beneath", "below")
"""Words that stand before what the layer lies over or under; the others say only which way it looks."""
_ANY_INSULATION = frozenset(
    ("insulation", "foam", "rigid foam", "rigid", "rigid insulation", "board", "foam board")
)
_ONE_SIDE = re.compile(
    rf"\b(?P<way>{_UNDER}|{_OVER})\b{_GAP}{{1,40}}?\bor\b(?: (?:right|directly|straight|just))?(?: (?P<again>{_UNDER}|{_OVER}))\b"
)
"""`Under the gravel or directly under the concrete`: beside one layer or beside another."""
_FACED = "kraft-faced glass fiber batt"
_FACING = re.compile(r"\b(?:paper|kraft|facing|faced|foil|vapor side)\b")
_SHEETS = ("vapor control", "air barrier", "water control", "ground cover")
_BATT = "glass fiber batt"
_SENTENCE = re.compile(r"[?!;\n]|\.\s")
_NEAR = 48
"""Characters from a word of position to the layer that it is said of."""


@dataclass(frozen=True, slots=True)
class TwoPlaces:
    """A layer, what it is placed beside, and each place with the asker's word for it."""

    mover: Mention
    others: tuple[Mention, ...]
    """The rest of the section."""
    places: tuple[tuple[str, Mention], ...]
    """Each with the layer as it lies there: its label ends with the asker's word."""


def two_places(
    text: str, start: int, end: int, mentions: Sequence[Mention], kind: str, undecided: bool
) -> TwoPlaces | None:
    """The two places that the question from `start` to `end` weighs for one layer; None where it weighs none.

    `undecided`: a bare `which?`, so that what is weighed was told before it.
    """
    low = text.lower()
    if kind not in ("slab", "floor", "roof", "wall"):
        return None
    side = _WHICH_SIDE.search(low, start, end)
    if side is not None and _EITHER.search(low, start, end) is None:
        return _either_side(mentions, [start, end], kind)
    weighed = [m for m in (_EITHER.search(low, start, end),) if m is not None]
    if undecided and not weighed:
        weighed = [m for k in range(end) if (m := _BOTH.match(low, k, end)) is not None]
    found = (_placed(low, m, [start, end], mentions, kind) for m in weighed)
    return next((x for x in found if x is not None), None) or _beside_either(
        low, [start, end], mentions, kind
    )


def _beside_either(
    low: str, asking: Sequence[int], mentions: Sequence[Mention], kind: str
) -> TwoPlaces | None:
    """The layer under the one or under the other of two that are named."""
    m = _ONE_SIDE.search(low, *asking)
    if m is None or (re.fullmatch(_OVER, m["way"]) is None) != (re.fullmatch(_OVER, m["again"]) is None):
        return None
    mover = _mover(mentions, m.start(), low)
    first, second = (
        None if mover is None else _beside(mentions, mover, at, low) for at in (m.end("way"), m.end())
    )
    if mover is None or first is None or second is None or first.material == second.material:
        return None
    places = (
        _set_apart(mover, anchor, mentions, asking, (word,), kind)
        for anchor, word in ((first, m["way"]), (second, m["again"]))
    )
    one, other = places
    return None if one is None or other is None else replace(one, places=one.places + other.places)


def _placed(
    low: str, m: re.Match[str], asking: Sequence[int], mentions: Sequence[Mention], kind: str
) -> TwoPlaces | None:
    first, second = (m["a"], m["b"]) if m["a"] else (m["c"], m["d"])
    at_first, at_second = m.start(), m.end() - len(second)
    mover = _mover(mentions, at_first, low)
    if mover is None:
        return None
    turns = next((m.start(g) for g in ("or", "or2") if g in m.re.groupindex and m[g]), at_second)
    if any(turns < x.lexeme.start < at_second and x.material != mover.material for x in mentions):
        # `over the foam, or plywood under it`: two layers, and no two places of one.
        return None
    related = first in _RELATIONS
    anchor = _beside(mentions, mover, m.end(), low) or _beside(mentions, mover, at_first + len(first), low)
    if not related or anchor is None:
        anchor = _insulation(mentions, mover)
    if kind == "wall" and not related:
        return None
    return _set_apart(mover, anchor, mentions, asking, (first, second), kind)


def _set_apart(
    mover: Mention,
    anchor: Mention | None,
    mentions: Sequence[Mention],
    asking: Sequence[int],
    words: tuple[str, ...],
    kind: str,
) -> TwoPlaces | None:
    """The layer in the place of each word beside the anchor; the facing of batts beside bare ones."""
    faced = _FACING.search(mover.lexeme.text.lower()) is not None
    if anchor is None and not faced:
        return None
    rest = [
        x for x in mentions if x is not mover and not _alike(x, mover) and not _again(x, mentions, asking)
    ]
    if faced and (anchor is None or anchor.material == _FACED):
        # Batts with a facing, told as what they are: the one and the other.
        bare = replace(anchor or mover, material=_BATT, loose=None)
        rest = [bare if x is anchor else x for x in rest] + ([bare] if anchor is None else [])
        anchor, mover = bare, replace(mover, material="kraft paper", lexeme=_just_after(mover.lexeme))
    assert anchor is not None
    places = tuple(
        (
            f"{mover.label} {_said(word, anchor)}",
            replace(
                mover,
                relation=_way(word, kind),
                target=anchor,
                side="",
                loose=None,
                negated=False,
                replaces=False,
            ),
        )
        for word in words
    )
    return TwoPlaces(mover, tuple(rest), places)


def _again(x: Mention, mentions: Sequence[Mention], asking: Sequence[int]) -> bool:
    """Whether the question only says a layer again that was told before it: `under the ply`."""
    start, end = asking
    return start <= x.lexeme.start < end and any(
        o.material == x.material and o.lexeme.start < x.lexeme.start for o in mentions
    )


def _just_after(x: Lexeme) -> Lexeme:
    """The same word, told apart from another piece that stands at it."""
    return replace(x, start=x.end)


def _either_side(mentions: Sequence[Mention], asking: Sequence[int], kind: str) -> TwoPlaces | None:
    """The sheet or facing that the question names, on the room side of the insulation and on its outer side."""
    start, end = asking
    named = [x for x in mentions if start <= x.lexeme.start < end and _is_sheet(x)]
    if len({x.material or x.label for x in named}) != 1:
        return None
    return _set_apart(
        named[0],
        _insulation(mentions, named[0]),
        mentions,
        asking,
        ("on the room side", "on the outer side"),
        kind,
    )


def _is_sheet(x: Mention) -> bool:
    faced = _FACING.search(x.lexeme.text.lower()) is not None
    return faced or bool(x.material and load_materials()[x.material].roles & set(_SHEETS))


def _mover(mentions: Sequence[Mention], before: int, text: str) -> Mention | None:
    """The sheet, the facing or the board that is to be placed: the last that is named before the first place."""
    named = [x for x in mentions if x.lexeme.end <= before and (x.material or x.role is not None)]
    if not named:
        return None
    last = max(named, key=lambda x: x.lexeme.start)
    if _SENTENCE.search(text[last.lexeme.end : before].replace("in.", "")):
        return None
    roles = load_materials()[last.material].roles if last.material else {last.role.role if last.role else ""}
    return last if roles & {*_SHEETS, "thermal control"} else None


def _beside(mentions: Sequence[Mention], mover: Mention, after: int, text: str) -> Mention | None:
    """The layer named right after a word of position; by the more exact name where it has one."""
    ends = _SENTENCE.search(text, after)
    until = min(after + _NEAR, ends.start() if ends is not None else len(text))
    near = [
        x
        for x in mentions
        if after <= x.lexeme.start <= until and x.material and x is not mover and not _alike(x, mover)
    ]
    if not near:
        return None
    first = min(near, key=lambda x: x.lexeme.start)
    if first.lexeme.text.lower().removeprefix("the ") in _ANY_INSULATION:
        named = [x for x in mentions if x is not first and x.lexeme.text.lower() not in _ANY_INSULATION]
        first = _insulation(named, mover) or first
    exact = [x for x in mentions if x.material == first.material and (x.thickness or x.r or x.loose is None)]
    return exact[0] if exact else first


def _insulation(mentions: Sequence[Mention], mover: Mention) -> Mention | None:
    """The insulation that a layer lies above or below of."""
    return next(
        (
            x
            for x in mentions
            if x is not mover
            and x.material
            and not x.negated
            and "thermal control" in load_materials()[x.material].roles
        ),
        None,
    )


def _alike(x: Mention, mover: Mention) -> bool:
    return bool(x.material) and x.material == mover.material


def _said(word: str, anchor: Mention) -> str:
    if word.startswith("on the "):
        return word
    if word in _RELATIONS:
        return f"{'on top of' if word == 'on top' else word} the {anchor.label}"
    return f"facing {word}" if word.startswith(("up", "down")) else f"at the {word.removesuffix(' side')}"


def _way(word: str, kind: str) -> str:
    """Which way from the anchor, in sections that are drawn from the room outwards."""
    if word.startswith("on the "):
        return f"next {'inside' if word.endswith('room side') else 'outside'} of"
    over = re.fullmatch(_OVER, word) is not None
    return f"next {'inside' if over == (kind in ('slab', 'floor')) else 'outside'} of"
