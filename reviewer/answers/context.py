"""Dialogues: a question that leans on the one before it, by what it changes."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from reviewer.answers.assemble import AS_BOARD, role_text
from reviewer.answers.intents import Asked
from reviewer.answers.layers import Piece, Setting, arranged, build, part_of, usual_thickness
from reviewer.answers.reading import Gap, Option, Reading, Subject, Taken
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Mention, Scene
from reviewer.errors import InputError
from reviewer.library.materials import load_materials
from reviewer.model.parse import section_from_line
from reviewer.model.section import Section

_LEANS = re.compile(
    r"\A\W*(?:(?:ok|okay|so|well|thanks?|great|hm+|alright|cool|got it)\W+)*"
    r"(?:and|but|or|what about|how about|what if|whatif|same|instead|in|with|without|if|then|also|now|no|at|for|would that|does that|"
    r"is that|would it|does it|is it|will it|it|that|this|make|change|swap|replace|use|could i|can i|should i|do i|what's|whats|why)\b"
    r"|\b(?:instead|that wall|that roof|this wall|that one|there too|as before|the above|as you said|you were right|you said)\b",
    re.I,
)
_SAME = re.compile(r"\b(?:same|identical|exactly like|copy of)\b", re.I)
_OTHERWISE = frozenset(("how much", "what went wrong", "which", "what to use", "cheapest"))
_VERDICT = re.compile(
    r"\b(?:good|ok|okay|safe|fine|sound|alright|all right|work)(?: now| then| there)?\W*\Z", re.I
)
_OWN = 3
"""Layers from which on a description stands for itself."""


def at_place(section: Section, where: str) -> Section | None:
    """A section moved to a place, or to a zone (`zone 6A`)."""
    zone = where.removeprefix("zone ").partition(",")[0] if where.startswith("zone ") else None
    try:
        moved = section_from_line("air space", kind="wall", place=None if zone else where, zone=zone)
    except InputError:
        return None
    return replace(section, place=moved.place)


@dataclass(frozen=True, slots=True)
class _Change:
    """What a follow-up changes: applied to each section of the reading before."""

    scene: Scene
    subject: str
    """The material that was talked about, for a bare thickness."""

    def __call__(self, section: Section) -> Section | None:
        scene = self.scene
        setting, pieces = _taken_apart(section)
        _moved(setting, scene)
        if scene.empty:
            _emptied(pieces)
        for m in scene.mentions:
            if m.negated or m.replaces:
                _without(pieces, m, setting)
        for m in scene.mentions:
            if not (m.negated or m.predicate or m.replaces or _there(pieces, m)):
                _with(pieces, m, setting)
        for x in (*scene.unread, *scene.lengths):
            if x.sort == "length":
                _resized(pieces, self.subject, x.value)
        if scene.cavity_r or scene.size or scene.spacing:
            _reframed(pieces, scene)
        if scene.outside_r:
            for p in pieces:
                if p.part == "board":
                    p.text = f"{scene.outside_r} {p.material}"
        ordered = arranged(pieces, setting.kind, setting.form, as_said=True)
        return build([p.text for p in ordered], setting)


def leans(text: str, scene: Scene, before: Reading) -> bool:
    """Whether a text goes on from the question before it: it says so, or tells too little to stand for itself."""
    own = [m for m in scene.mentions if m.material and not m.negated]
    same = _SAME.search(text) is not None
    if len(own) >= _OWN and scene.setting.kind and not same and not _of_its_kind(scene, before):
        return False
    if same or _LEANS.search(text) or not (scene.setting.kind or own):
        return True
    if scene.setting.place or scene.setting.zone:
        return False
    return not (scene.setting.kind and scene.kind_sure) or (len(own) <= _OWN and _of_its_kind(scene, before))


def _of_its_kind(scene: Scene, before: Reading) -> bool:
    """Whether a text without a place speaks of the section before: a wall of a basement is called a wall, too."""
    if before.base is None or scene.setting.place or scene.setting.zone:
        return False
    return scene.setting.kind in (before.base.kind, "wall" if before.base.kind == "foundation wall" else "")


def follow(
    text: str, said: str, lexemes: list[Lexeme], asked: Asked | None, scene: Scene, before: Reading
) -> Reading | None:
    """The reading of a question that goes on from the one before; None where it stands for itself. `said` is the question
    with what is told around it."""
    if before.base is None and not before.options:
        return None
    other = scene.kind_sure and scene.setting.kind and before.base and scene.setting.kind != before.base.kind
    if not leans(said, scene, before) or (other and not (_SAME.search(said) or _of_its_kind(scene, before))):
        return None
    if _other_roof(scene, before):
        return None
    if (
        asked is not None
        and asked.intent == "what is"
        and not asked.concept
        and scene.mentions
        and _MATTERS.search(said)
    ):
        # `Does it matter if it's poured concrete?`
        asked = None
    if asked is not None and asked.intent in ("what is", "why not always"):
        return None
    subject = before.subject.name if before.subject is not None else ""
    named = _own_subject(asked, lexemes, scene)
    if named is not None:
        return _asked_anew(text, asked, scene, before, named)
    amount = next((m for m in scene.mentions if m.material and not m.negated and not m.replaces), None)
    if asked is not None and asked.intent == "how much" and amount is not None:
        return _how_much_of(text, asked, scene, before, amount)
    change = _Change(scene, subject)
    base = change(before.base) if before.base is not None else None
    options = _moved_options(before, change)
    if before.base is not None and base is None:
        return None
    gaps: tuple[Gap, ...] = tuple(g for g in before.gaps if not _settles(g, scene))
    if base is not None and base.place is None and not any(g.what == "place" for g in gaps):
        gaps = (Gap("place", "The climate decides how cold the layers get and which way vapor goes."), *gaps)
    intent = before.intent
    subject_now = before.subject
    if (
        asked is not None
        and asked.pattern
        and asked.intent not in (before.intent, "safe here", "add")
        and not scene.mentions
    ):
        intent, options, subject_now = asked.intent, (), None
    if (
        asked is not None
        and asked.intent == "safe here"
        and before.intent in _OTHERWISE
        and _VERDICT.search(said)
        and scene.mentions
    ):
        # After an amount or a cause: a plan, and whether it is sound.
        intent, options, subject_now = "safe here", (), None
    taken = (Taken("the section of the question before", "this one goes on from it"), *before.taken)
    return replace(
        before, text=text, intent=intent, base=base, options=options, subject=subject_now, gaps=gaps,
        taken=tuple(dict.fromkeys(taken)), refusal=None, confidence=1.0,
    )  # fmt: skip


_MATTERS = re.compile(r"\b(?:matters?|difference|changes?)\b", re.IGNORECASE)


def _other_roof(scene: Scene, before: Reading) -> bool:
    """Whether a follow-up about an attic speaks of rafters, or the other way round: another section, in the same place."""
    form = scene.setting.form
    if before.base is None or before.base.kind != "roof" or scene.setting.kind != "roof" or not form:
        return False
    attic = before.base.layers[-1].space == "vented attic"
    return attic != (form == "attic") and form in ("attic", "cathedral", "unvented", "low slope")


_FORMS = {
    "vented crawl space": "crawl",
    "unvented crawl space": "conditioned",
    "garage": "garage",
    "outdoor air": "outdoors",
    "vented attic": "attic",
}
"""What a section ends in, and its form."""


def carried(scene: Scene, before: Reading) -> Scene:
    """What a follow-up that tells of another section takes from the one before: where it stands, and what it is part of."""
    base = before.base if before.base is not None else before.options[0].section if before.options else None
    if base is None:
        return scene
    setting = replace(scene.setting)
    if not (setting.place or setting.zone or scene.choices) and base.place is not None:
        setting.place = base.place.name or ""
        setting.zone = "" if setting.place else base.place.zone or ""
    ends = base.layers[-1].space or ""
    masonry = any(
        m.material
        and not m.negated
        and load_materials()[m.material].family in ("masonry", "concrete", "stone")
        for m in scene.mentions
    )
    sure = scene.kind_sure
    if not setting.kind:
        setting.kind, setting.form = base.kind, _FORMS.get(ends, "")
    elif setting.kind == "wall" and ends.endswith("crawl space") and masonry:
        setting.kind, setting.form, sure = "foundation wall", "", 3
    return replace(scene, setting=setting, kind_sure=sure)


def _own_subject(asked: Asked | None, lexemes: list[Lexeme], scene: Scene) -> Mention | None:
    """What a follow-up asks about by itself: `do I need poly there?`"""
    if (
        asked is None
        or asked.subject < 0
        or not (
            asked.intent in ("need", "leave out")
            or (
                asked.intent == "add"
                and (
                    asked.pattern.startswith("add")
                    or any(x.value in ("add", "adding", "help", "hurt", "harm") for x in lexemes)
                )
            )
            or (asked.intent in ("add", "safe here") and "@put" in asked.pattern)
        )
    ):
        return None
    x = lexemes[asked.subject]
    return next((m for m in scene.mentions if m.lexeme is x), None)


def _asked_anew(text: str, asked: Asked | None, scene: Scene, before: Reading, m: Mention) -> Reading | None:
    assert asked is not None
    base = before.base if before.base is not None else before.options[0].section
    rest = replace(scene, mentions=[o for o in scene.mentions if o is not m])
    without = _Change(replace(rest, mentions=[*rest.mentions, replace(m, negated=True)]), "")(base)
    added = _Change(replace(rest, mentions=[*rest.mentions, replace(m, negated=False)]), "")(base)
    if without is None or added is None:
        return None
    label = m.label
    subject = Subject("role", m.role.role, m.side) if m.role else Subject("material", m.material, m.side)
    intent = "add" if asked.intent == "safe here" else asked.intent
    options = (Option(f"without {label}", without), Option(f"with {label}", added))
    taken = (Taken("the section of the question before", "this one goes on from it"), *before.taken)
    gaps = tuple(g for g in before.gaps if not _settles(g, scene))
    return replace(
        before, text=text, intent=intent, base=without, options=options, subject=subject, gaps=gaps,
        taken=tuple(dict.fromkeys(taken)), refusal=None, confidence=1.0,
    )  # fmt: skip


def _how_much_of(text: str, asked: Asked, scene: Scene, before: Reading, m: Mention) -> Reading | None:
    """`what thickness would it be with polyiso`: an amount of something else in the section before."""
    rest = replace(scene, mentions=[o for o in scene.mentions if o is not m])
    base = before.base and _Change(replace(rest, mentions=[*rest.mentions, replace(m, negated=True)]), "")(
        before.base
    )
    if base is None:
        return None
    taken = (Taken("the section of the question before", "this one goes on from it"), *before.taken)
    gaps = tuple(g for g in before.gaps if not _settles(g, scene))
    return replace(
        before, text=text, intent=asked.intent, base=base, options=(), subject=Subject("material", m.material, m.side), gaps=gaps,
        taken=tuple(dict.fromkeys(taken)), refusal=None, confidence=1.0,
    )  # fmt: skip


def _moved_options(before: Reading, change: Callable[[Section], Section | None]) -> tuple[Option, ...]:
    out = []
    for n, o in enumerate(before.options):
        section = change(o.section)
        if section is None:
            return ()
        # A change of what the question is about concerns the option that has it.
        if isinstance(change, _Change) and n == 0 and before.intent in ("need", "add", "leave out"):
            own = {m.material for m in change.scene.mentions}
            if before.subject is not None and before.subject.name in own:
                section = _Change(replace(change.scene, mentions=[], unread=[]), "")(o.section) or o.section
        out.append(Option(o.label, section))
    return tuple(out)


def _settles(gap: Gap, scene: Scene) -> bool:
    if gap.what == "place":
        return bool(scene.setting.place or scene.setting.zone)
    return gap.what.startswith(("which", "how thick", "layers")) and bool(
        scene.mentions or scene.unread or scene.lengths
    )


# -- a section taken apart and changed ---------------------------------------------------------------


def _taken_apart(section: Section) -> tuple[Setting, list[Piece]]:
    texts = " ".join(x.text for x in section.layers)
    form = ""
    if section.kind == "roof":
        if section.layers[-1].space == "vented attic":
            form = "attic"
        elif any(
            x.material is not None
            and {"membrane"} <= x.material.flags
            and "roof covering" in x.material.roles
            for x in section.layers
        ):
            form = "low slope"
        else:
            form = "cathedral"
    setting = Setting(kind=section.kind, form=form)
    if section.place is not None:
        setting.place, setting.zone = section.place.name or "", section.place.zone or ""
    if section.indoor is not None:
        setting.indoor = section.indoor.name or ""
        if section.indoor.humidity:
            setting.humidity = f"{round(100 * section.indoor.humidity[0])} %"
        if section.indoor.temperature:
            setting.temperature = f"{section.indoor.temperature[0]:g} C"
    setting.cooling, setting.rain, setting.faces = section.cooling, section.rain or "", section.faces or ""
    made = section.building
    for name in ("year", "stories", "work", "use", "code", "wiring", "airtightness"):
        value = getattr(made, name)
        if value is not None:
            setting.building[name] = str(value)
    setting.known = dict(section.known)
    framed = "@" in texts
    pieces: list[Piece] = []
    for n, x in enumerate(section.layers):
        if x.material is None:
            part = (
                "surroundings"
                if x.space not in (None, "air")
                else "cavity"
                if x.framing is not None
                else "space"
            )
            if x.space == "soil":
                part = "soil"
        else:
            part = part_of(x.material.id, section.kind, form, "", framed)
            if x.framing is not None and part not in ("cavity", "cavity foam"):
                part = "cavity"
        pieces.append(Piece(x.material.id if x.material else "", part, x.text, True, n))
    _sides(pieces)
    return setting, pieces


def _sides(pieces: list[Piece]) -> None:
    """Sheets and boards that lie inboard of the framing or the structure."""
    core = next((i for i, p in enumerate(pieces) if p.part in ("cavity", "structure")), None)
    for i, p in enumerate(pieces):
        if core is not None and i < core:
            p.part = {"board": "inner board", "sheet": "vapor"}.get(p.part, p.part)


def _moved(setting: Setting, scene: Scene) -> None:
    s = scene.setting
    if s.place or s.zone:
        setting.place, setting.zone = s.place, s.zone
    setting.indoor = s.indoor if s.indoor not in ("", "home") else setting.indoor
    setting.humidity = s.humidity or setting.humidity
    setting.temperature = s.temperature or setting.temperature
    setting.cooling = s.cooling if s.cooling is not None else setting.cooling
    setting.rain, setting.faces = s.rain or setting.rain, s.faces or setting.faces
    setting.building |= s.building
    setting.known |= s.known


def _part(m: Mention, setting: Setting, pieces: list[Piece]) -> tuple[str, str, str]:
    """Material, part and words of a mention."""
    if m.space:
        return "", "space", m.space
    if m.role is not None:
        text, id_ = role_text(m, setting.kind, setting.form)
        return id_, part_of(id_, setting.kind, setting.form, m.side, True), text
    material = AS_BOARD.get(m.material, m.material) if m.side == "outside" else m.material
    id_ = material or (m.loose.decides[0] if m.loose is not None and m.loose.decides else "")
    framed = any("@" in p.text for p in pieces)
    part = part_of(id_, setting.kind, setting.form, m.side, framed)
    if part == "cavity foam" and setting.kind == "foundation wall" and _on_mass(m):
        part = "inner board"
    amount = m.r or m.thickness
    if not amount:
        amount = usual_thickness(id_, setting.kind)
    return id_, part, f"{amount} {id_}".strip() + (f", {m.joints}" if m.joints else "")


def _on_mass(m: Mention) -> bool:
    """Whether a foam is sprayed on what carries the wall."""
    t = m.target
    on = m.relation == "over" and t is not None and t.material
    return m.side == "against masonry" or bool(
        on and t and load_materials()[t.material].family in ("masonry", "concrete")
    )


def _without(pieces: list[Piece], m: Mention, setting: Setting) -> None:
    id_, part, _ = _part(m, setting, pieces)
    alike = [p for p in pieces if id_ and p.material == id_] or [
        p for p in pieces if id_ and _is_a(p.material, id_)
    ]
    gone = [
        p
        for p in pieces
        if p in alike or (m.role is not None and p.part == part) or (not id_ and p.part == part)
    ]
    for p in gone:
        if (
            m.material == "kraft-faced glass fiber batt"
            and "batt" not in m.lexeme.text.lower()
            and "@" in p.text
        ):
            # `drop the kraft` leaves the batts.
            p.text, p.material = p.text.replace(m.material, "glass fiber batt"), "glass fiber batt"
        elif p.part == "cavity" and "@" in p.text:
            p.text, p.material = f"empty {_framing(p.text)}", ""
        else:
            pieces.remove(p)
            if p.part == "finish":
                pieces[:] = [q for q in pieces if q.part != "coating"]


def _is_a(material: str, id_: str) -> bool:
    """`foil-faced polyisocyanurate board` is a `polyisocyanurate board`."""
    return material.endswith(f" {id_}") or material.startswith(f"{id_} ")


_SORTS = (
    "glass fiber",
    "mineral wool",
    "cellulose",
    "polyisocyanurate",
    "polystyrene",
    "spray foam",
    "gypsum",
)


def _there(pieces: list[Piece], m: Mention) -> bool:
    """Whether `the fiberglass` is what the section has, of whichever form."""
    if not m.referred_to or m.thickness or m.r:
        return False
    return any(sort in p.material and sort in m.material for sort in _SORTS for p in pieces)


def _with(pieces: list[Piece], m: Mention, setting: Setting) -> None:
    id_, part, text = _part(m, setting, pieces)
    if not id_ and not m.space:
        return
    old = next((p for p in pieces if p.material == id_ and id_), None) or next(
        (p for p in pieces if _same_place(p.part, part)), None
    )
    if (
        old is not None
        and old.material != id_
        and part == "cavity"
        and m.relation == "over"
        and m.target is not None
    ):
        # `loose cellulose on top of the fiberglass`
        pieces.insert(pieces.index(old) + 1, Piece(id_, part, text, False, 10**6))
        return
    if m.loose is not None and old is not None and not m.loose.decides:
        # `the sheathing`, `the insulation`: what is there already.
        if m.thickness or m.r:
            old.text = f"{m.r or m.thickness} {old.material}"
        return
    if old is not None and "@" in old.text:
        old.text = (
            f"{_framing(old.text)} with {text}" if not text[:1].isdigit() else f"{text}, {_framing(old.text)}"
        )
        old.material = id_
    elif old is not None:
        amount = re.match(r"(?:R-[\d.]+|[\d/ -]+ (?:in|mm))(?= )", old.text)
        keeps = (
            amount is not None and text == id_ and part in ("board", "inner board", "sheathing", "structure")
        )
        old.text = f"{amount[0]} {text}" if keeps and amount is not None else text
        old.material = id_
    else:
        if part in ("board", "inner board") and text == id_ and load_materials()[id_].thickness is None:
            text = f"2 in {id_}"
        after, anchor = "", -1
        order = [p for p in pieces if p.part == "cladding" or p.part == "roofing"]
        if part in ("sheet", "board", "space") and order:
            after, anchor = "inside of", order[0].at
        pieces.append(Piece(id_, part, text, False, 10**6, after=after, anchor=anchor))


def _emptied(pieces: list[Piece]) -> None:
    """`nothing in the studs`: what was between them goes, unless it stands elsewhere now."""
    for p in pieces:
        if p.part == "cavity" and "@" in p.text:
            p.text, p.material = f"empty {_framing(p.text)}", ""


def _same_place(a: str, b: str) -> bool:
    cavity = ("cavity", "cavity foam")
    return a == b or (a in cavity and b in cavity)


def _framing(text: str) -> str:
    """The members in the words of a layer."""
    m = re.search(
        r"(?:[\d/-]+ in (?:steel studs|I-joists)|\d+x\d+(?: mm)?(?: double stud)?) @ [\d.]+ \w+", text
    )
    return m[0] if m else "2x6 @ 16 in"


def _resized(pieces: list[Piece], subject: str, size: str) -> None:
    """`what if it's 3 inches instead?`: of what was talked about."""
    own = next(
        (
            p
            for p in pieces
            if p.material == subject and subject and "membrane" not in load_materials()[subject].flags
        ),
        None,
    )
    p = own or next((p for p in pieces if p.part in ("board", "inner board")), None)
    if p is not None and p.material and "@" not in p.text:
        p.text = re.sub(
            r"^(?:R-[\d.]+ |[\d/.-]+ (?:in|mm) )?" + re.escape(p.material), f"{size} {p.material}", p.text
        )
        if not p.text.startswith(size):
            p.text = f"{size} {p.material}"


def _reframed(pieces: list[Piece], scene: Scene) -> None:
    for p in pieces:
        if "@" not in p.text:
            continue
        old = _framing(p.text)
        size, _, spacing = old.partition(" @ ")
        new = f"{scene.size or size} @ {scene.spacing or spacing}"
        p.text = p.text.replace(old, new)
        if scene.cavity_r and p.material:
            bare = re.sub(r"R-[\d.]+ ", "", p.text)
            p.text = bare.replace(p.material, f"{scene.cavity_r} {p.material}")
        elif scene.size and scene.size != size:
            p.text = re.sub(r"R-[\d.]+ ", "", p.text)
