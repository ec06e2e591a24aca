"""A text to the questions in it, each as understood: the entry to this half of the package."""

from __future__ import annotations

import re
from dataclasses import replace

from reviewer.answers import conversions
from reviewer.answers.about import (
    asked_about,
    of_what_was_seen,
    one_place,
    pick_among,
    point_back,
    points_at_nothing,
    proposal_of,
    settle_choice,
)
from reviewer.answers.absent import deny, of_somebody_else
from reviewer.answers.accounts import unaccounted
from reviewer.answers.context import carried, follow, leans
from reviewer.answers.evidence import feared, weighed
from reviewer.answers.general import general
from reviewer.answers.intents import Asked, asked
from reviewer.answers.kinds import of_the_section, settled
from reviewer.answers.lexicon import lexicon
from reviewer.answers.maker import Maker, makes_whole
from reviewer.answers.reading import Reading
from reviewer.answers.refuse import not_english, refusal_for
from reviewer.answers.scan import Lexeme, scan
from reviewer.answers.scene import Mention, Scene, gather, merged
from reviewer.answers.together import read_together
from reviewer.answers.unit import WALLS, Unit, told_kind
from reviewer.answers.units import (
    SHORT,
    asked_in_statement,
    correct_units,
    cut,
    plans_apart,
    resolve_pronouns,
    self_answered,
    separate_questions,
    stated_order,
    whole_text,
)
from reviewer.library.materials import load_materials
from reviewer.library.names import PROVINCES
from reviewer.reply import Intent, WordReading

LONGEST = 6000
"""Characters in a text."""


def read(text: str, *, before: Reading | None = None) -> list[Reading]:
    """Every question of a text as understood; at least one reading.

    `before` is the last reading of a dialogue: what the text does not say is taken from there ("and in Chicago?").

    >>> r, = read("2x6 wall with fiberglass and plywood in Duluth, no foam outside. Can I skip the poly?")
    >>> r.intent, r.base.kind, r.base.place.name, r.subject.name
    ('leave out', 'wall', 'Duluth, MN', 'polyethylene sheet')
    """
    if len(text) > LONGEST:
        text = text[:LONGEST]
    lexemes = scan(text)
    read_together(text, lexemes)
    refusal = not_english(text)
    if refusal is not None:
        return [Reading(text, "safe here", (), (), None, refusal=refusal)]
    units = cut(text, lexemes)
    self_answered(units)
    for unit in units:
        unit.scene = gather(unit.lexemes)
    kind = told_kind(units)
    for unit in units:
        deny(unit.lexemes, unit.scene.mentions)
        unit.scene.as_said = stated_order(text[unit.start : unit.end], unit.scene, kind)
    for unit in units:
        others = [x for u in units if u is not unit for x in u.lexemes]
        theirs = of_somebody_else(unit.lexemes, others) if unit.asked is None else -1
        if theirs >= 0:
            unit.scene.mentions = [m for m in unit.scene.mentions if m.lexeme.start < theirs]
    symptoms = [(u, x) for u in units for x in u.scene.findings]
    seen = not symptoms or any(not feared(u.lexemes, x) for u, x in symptoms)
    for unit in units:
        if unit.asked is None:
            unit.scene.findings = [x for x in unit.scene.findings if not feared(unit.lexemes, x)]
        if unit.asked is not None and (before is None or unit.asked.pattern):
            told = [m for u in units if u is not unit for m in u.scene.mentions]
            unit.asked = weighed(unit.asked, unit.lexemes, unit.scene.mentions, told, seen=seen)
            if before is None:
                rest = [x for u in units if u is not unit for x in u.lexemes]
                unit.asked = general(unit.asked, unit.lexemes, [u.scene for u in units], rest)
    if before is None:
        asked_in_statement(units)
    plans_apart(units)
    correct_units(units)
    resolve_pronouns(units, text)
    asking = separate_questions(units)
    if not asking:
        for u in reversed(units):
            found = asked(u.lexemes)
            short = u is units[-1] and len(u.lexemes) <= SHORT and not u.scene.mentions
            if found is not None and (found.intent != "safe here" or short):
                told = [m for o in units if o is not u for m in o.scene.mentions]
                u.asked = weighed(found, u.lexemes, u.scene.mentions, told, seen=seen)
                asking = [u]
                break
    if not asking:
        asking = [whole_text(units, text)] if units else [Unit([], 0, len(text), None)]
        units = asking
    for unit in asking:
        if unit.asked is not None and conversions.asked(text, unit.start, unit.end) is not None:
            unit.asked = Asked("what is", -1, 0, "converted", "r-value")
    readings = []
    prior: Mention | None = None
    for unit in asking:
        context = _context(unit, units, asking)
        subject, reading = _reading(text, unit, context, before, units, asking, prior)
        prior = subject or prior
        whole = text if before is None else f"{before.whole} {text}"
        readings.append(replace(_accounted(reading, unit, units, asking), whole=whole))
    return readings


def _context(unit: Unit, units: list[Unit], asking: list[Unit]) -> Scene:
    """What the rest of a text says of the section that a question is about."""
    context = Scene()
    n, k = asking.index(unit), units.index(unit)
    told = unit.part(True).told
    for at, other in enumerate(units):
        if other is unit:
            continue
        early = at < k
        last = n == len(asking) - 1 or at > units.index(asking[-1])
        mine, theirs = unit.scene.setting.kind, other.scene.setting.kind
        another = bool(mine and theirs and mine != theirs)
        if another and unit.scene.mentions and other.asked is not None:
            # A question about another part of the building keeps where it stands, and no layers.
            context = merged(context, _place_of(other.scene))
        elif other.asked is not None and early:
            context = merged(context, _kept(other))
        elif other.asked is not None and not another and not told and not _layered(context):
            # `Does it need a ground cover? The batts under the plywood are falling, would …?`
            context = merged(context, _kept(other))
        elsewhere = another or (unit.scene.setting.place and other.scene.setting.place)
        if other.asked is None and another and told and len(asking) > 1 and {mine, theirs} != WALLS:
            context = merged(context, _place_of(other.scene))
        elif other.asked is None and (early or last or not elsewhere):
            context = merged(context, other.scene)
    return context


def _layered(scene: Scene) -> bool:
    """Whether it tells a layer other than the ground."""
    return any(
        m.material and not m.negated and load_materials()[m.material].family != "soil" for m in scene.mentions
    )


def _accounted(reading: Reading, unit: Unit, units: list[Unit], asking: list[Unit]) -> Reading:
    """A reading with every word for a layer shown that ended nowhere in it."""
    others = [u for u in asking if u is not unit]
    own = [u for u in units if u not in others] or [unit]
    mentions = [m for u in own for m in u.scene.mentions]
    lost = unaccounted((x for u in own for x in u.lexemes), mentions, reading)
    return replace(reading, unused=tuple(dict.fromkeys((*reading.unused, *lost)))) if lost else reading


def _place_of(scene: Scene) -> Scene:
    """Where a section stands and what the rooms are like, without the section."""
    setting = replace(scene.setting, kind="", form="")
    return Scene(
        setting,
        choices=scene.choices,
        place_lexeme=scene.place_lexeme,
        climate=scene.climate,
        existing=scene.existing,
    )


def _kept(unit: Unit) -> Scene:
    """What an earlier question sets out for the later ones: all but what it asks about."""
    subject, options = asked_about(unit, unit.scene.mentions)
    gone = {id(m) for m in [subject, *options] if m is not None}
    return replace(
        unit.scene,
        mentions=[m for m in unit.scene.mentions if id(m) not in gone],
        findings=[],
        quality=None,
        unread=[],
    )


_METRIC = re.compile(r"\d\s?mm\b|\brsi\b|\b(?:38|89|64)x\d{2,3}\b", re.I)


_INCHES = re.compile(r"\d\s?(?:\"|in\b|inch)|\b2x\d", re.I)


def _told_in_metric(text: str, scene: Scene) -> Scene:
    """Of places that a name may be, the Canadian one where everything is told in millimeters."""
    if not scene.choices or scene.setting.place or not _METRIC.search(text) or _INCHES.search(text):
        return scene
    own = [where for _, where in scene.choices if where.rpartition(", ")[2] in PROVINCES]
    if len(own) != 1:
        return scene
    note = (own[0], "sizes are told in millimeters, as in Canada")
    return replace(
        scene, setting=replace(scene.setting, place=own[0]), choices=(), notes=[*scene.notes, note]
    )


def _reading(
    text: str,
    unit: Unit,
    context: Scene,
    before: Reading | None,
    units: list[Unit],
    asking: list[Unit],
    prior: Mention | None,
) -> tuple[Mention | None, Reading]:
    assert unit.asked is not None or not unit.lexemes
    around = [u for u in units if u is unit or u not in asking]
    parts = [u.part(u is unit) for u in around]
    scene = of_the_section(settled(merged(context, unit.scene), parts), parts)
    point_back(scene.mentions)
    one_place(scene.mentions)
    scene = _told_in_metric(text, scene)
    question = unit.lexemes
    unit.asked = proposal_of(unit, units, scene)
    unit.asked = of_what_was_seen(
        unit, scene, next((u for u in reversed(units) if u.end <= unit.start), None)
    )
    pick_among(unit, units, scene)
    settle_choice(unit, scene)
    intent: Intent = unit.asked.intent if unit.asked else "safe here"
    subject, options = asked_about(unit, scene.mentions, prior)
    if intent == "need" and subject is None and before is None and points_at_nothing(unit):
        # `Do I have to fix it?`: what is told is judged.
        intent = "safe here"
    adds = any(x.value in ("add", "adding", "addition") for x in unit.lexemes)
    adds |= unit.asked is not None and unit.asked.pattern.startswith("doing ")
    if (
        intent == "add"
        and not adds
        and subject is not None
        and before is None
        and makes_whole(subject, scene)
    ):
        # "Is it a mistake to put batts in": a section is described with them, and judged.
        intent, subject = "safe here", None
        unit.asked = replace(unit.asked, intent=intent, subject=-1) if unit.asked else None
    words, unused, confidence = _words(text, unit, units, asking)
    refusal = refusal_for(unit.lexemes, scene, unit.asked, before is not None, question)
    if before is not None and refusal is None:
        said = text if len(asking) == 1 else text[unit.start : unit.end]
        followed = follow(text[unit.start : unit.end], said, unit.lexemes, unit.asked, scene, before)
        if followed is not None:
            used = {x.text for x in scene.unread if x.sort == "length"}
            left = tuple(u for u in unused if u not in used)
            if used:
                confidence = 1.0
            followed = replace(followed, words=words, unused=left, confidence=confidence)
            return subject, followed
        if leans(said, scene, before):
            scene = carried(scene, before)
    maker = Maker(text, unit, scene, intent, subject, options, around)
    result = maker.result()
    unused = tuple(dict.fromkeys((*unused, *maker.unplaced)))
    confidence = min(confidence, result.confidence)
    if result.subject is not None and result.subject.sort == "quantity":
        # Its figure and its unit are what was read.
        unused, confidence = (), 1.0
    result = replace(result, words=words, unused=unused, confidence=confidence, refusal=refusal)
    return subject, result


def _words(
    text: str, unit: Unit, units: list[Unit], asking: list[Unit]
) -> tuple[tuple[WordReading, ...], tuple[str, ...], float]:
    """Every word that was read, what was not used, and how sure the least sure is."""
    words: list[WordReading] = []
    unused: list[str] = []
    confidence = 1.0
    own = [u for u in units if u is unit or u.asked is None or units.index(u) < units.index(unit)]
    for u in own:
        unread = {id(x) for x in u.scene.unread}
        for x in u.lexemes:
            if (
                id(x) in unread
                or x.sort == "unknown"
                or (x.sort == "number" and not x.read and id(x) in unread)
            ):
                unused.append(x.text)
                if u is unit or u.asked is None:
                    confidence = min(confidence, 0.7 if _of_a_layer(u.lexemes, x) else 0.8)
                continue
            if x.start == x.end or x.sort in (
                "word",
                "break",
                "part",
                "number",
                "share",
                "age",
                "coats",
                "gauge",
            ):
                if x.sort == "part":
                    unused.append(x.text)
                continue
            words.append(
                WordReading(
                    start=x.start,
                    end=x.end,
                    text=x.text,
                    sort=x.sort,
                    reads=x.reads or x.value,
                    confidence=x.confidence,
                )
            )
            if x.sort in ("material", "loose", "space", "role", "kind", "size", "R"):
                confidence = min(confidence, x.confidence)
            if x.sort == "place" and x.confidence > 0.75:
                confidence = min(confidence, x.confidence)
    listed = sum(x.sort in ("material", "loose", "space") for u in own for x in u.lexemes)
    if listed >= 3 and any(_strange(u.lexemes) for u in own):
        confidence = min(confidence, 0.7)
    return tuple(sorted(words, key=lambda w: w.start)), tuple(dict.fromkeys(unused)), confidence


_BESIDE = 3
"""Words from a quantity to the layer that it may be the size of."""


def _of_a_layer(lexemes: list[Lexeme], x: Lexeme) -> bool:
    """Whether a quantity that was not used may belong to a layer: one stands beside it in the same clause."""
    if x.sort not in ("number", "R", "length", "permeance"):
        return False
    at = next(k for k, y in enumerate(lexemes) if y is x)
    for step in (-1, 1):
        for k in range(at + step, at + step * (_BESIDE + 1), step):
            if not 0 <= k < len(lexemes) or lexemes[k].sort in ("break", *((x.sort,) if step > 0 else ())):
                break
            if lexemes[k].sort in ("material", "loose"):
                return True
    return False


def _unknown_only(item: list[Lexeme]) -> bool:
    """Whether an item of a list is a word or two that nobody knows."""
    return 0 < len(item) <= 2 and all(x.sort == "unknown" for x in item)


def _strange(lexemes: list[Lexeme]) -> bool:
    """Whether a list of layers has an item of a word or two of which nothing was understood."""
    items: list[list[Lexeme]] = [[]]
    for x in lexemes:
        if x.sort == "break":
            # What stands before a colon is what the list is of.
            items = [[]] if ":" in x.text else [*items, []]
        else:
            items[-1].append(x)
    told = [k for k, item in enumerate(items) if any(x.sort in ("material", "loose", "space") for x in item)]
    if len(told) < 3:
        return False
    first = told[0]
    while first > 0 and _unknown_only(items[first - 1]):
        first -= 1
    for item in items[first : told[-1] + 1]:
        words = [x for x in item if x.sort != "word"]
        if words and len(item) <= 3 and all(x.sort in ("unknown", "part") for x in words):
            return True
    return False


__all__ = ["lexicon", "read"]
