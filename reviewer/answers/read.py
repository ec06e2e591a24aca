"""A text to the questions in it, each as understood: the entry to this half of the package."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from reviewer.answers.absent import deny, of_somebody_else
from reviewer.answers.accounts import unaccounted
from reviewer.answers.assemble import DEEP, Assembly, Open, assemble, kind_of, role_text
from reviewer.answers.context import follow
from reviewer.answers.evidence import feared, weighed
from reviewer.answers.general import general
from reviewer.answers.intents import LAYERS, PRONOUNS, PUT, Asked, asked, concepts_in, line_of
from reviewer.answers.kinds import Part, doubtful, of_the_section, settled
from reviewer.answers.layers import order_of, part_of
from reviewer.answers.lexicon import lexicon, normal
from reviewer.answers.proposals import asks, explains, objectless, proposed, taken_up
from reviewer.answers.reading import Gap, Option, Reading, Subject, Taken
from reviewer.answers.refuse import not_english, refusal_for
from reviewer.answers.scan import Lexeme, scan, sentences
from reviewer.answers.scene import Mention, Scene, gather, merged
from reviewer.library.materials import load_materials
from reviewer.library.names import PROVINCES
from reviewer.model.section import Section
from reviewer.reply import Intent, WordReading

LONGEST = 6000
"""Characters in a text."""
_SHORT = 5
"""Words up to which a last sentence that judges is the question: `good or bad`."""
_CLIMATES = {"cold": ("zone 6A", "zone 7"), "hot humid": ("zone 2A", "zone 1A"), "mixed": ("zone 4A",), "marine": ("zone 4C",),
             "dry": ("zone 3B", "zone 5B")}  # fmt: skip
_EXAMPLES = ("zone 2A", "zone 4A", "zone 6A")
_TELL = r"(?:, |\b(?:please|pls|you|and|so|just|but|someone|somebody) )tell me\b"
_ASKING = re.compile(
    r"\A(?:(?:so|ok|and|also|but|hi|hey|hello|well|then|now|quick|question|please|pls|again|thanks|second|next|first|other|third|finally|plus|or|M|N|,|all|two|three|couple|few|thing|of|just|to|know|i|would|like|1|2|3) )*"
    r"(?:what|whats|wat|how|hows|why|which|when|where|who|is|are|was|can|could|should|do|does|did|will|would|may|am|any|ok|shall|has|have you|explain|describe|define|tell me|recommend|compare|suggest|wondering|curious|cheapest|thoughts?|need|safe|skip|best|difference|verify|review|check|evaluate|critique|advice|must|if)\b"
    r"|\b(?:wondering|want to know|wanna know|need to know|like to know|let me know|please advise|any thought|not sure|unsure|question is|curious|asking|advise|can i|should i|do i|can we|should we|do we|would it|will it|is it|is this|does this|will this|would this|what should|how much|how thick|what is|whats the|what the)\b"
    rf"|{_TELL}"
)
_FIRM = re.compile(
    r"\A(?:(?:so|ok|and|also|but|hi|hey|hello|well|then|now|N|,|first|second|third|next|finally|please|pls|if|not|yes) )*"
    r"(?:what|whats|how|hows|why|which|is|are|can|could|should|do|does|will|would you|explain|tell me)\b"
    r"|\b(?:wondering|want to know|wants to know|let me know|explain|please advise|(?:ask|asks|asking|asked|wonder|wonders) (?:if|whether))\b"
    r"|, (?:does|doe|do|is|are|can|could|should|must) (?:it|i|we|this|that|they|there) (?:need|have|want|require|ok|okay|safe|add|put|leave|skip)\b"
    r"|, (?:what|why|how) (?:is|are|did|does|doe|was|caused|could|would|should|do)\b"
    rf"|{_TELL}"
)
_INDIRECT = re.compile(r"\b(?:ask|asks|asking|asked|wonder|wonders) (?:if|whether)\b")
_CONTINUES = re.compile(
    r"\b(?:and|also|but|then|plus|,) (?:also |then |if so |if not |if yes |so |, )*(?:what|how|why|which|is|are|can|could|should|do|does|did|will|would|may)\b"
)
_NEEDS_PLACE: frozenset[Intent] = frozenset(
    ("safe here", "need", "leave out", "add", "which", "how much", "cheapest", "what to use")
)


@dataclass(slots=True)
class _Unit:
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
    refusal = not_english(text)
    if refusal is not None:
        return [Reading(text, "safe here", (), (), None, refusal=refusal)]
    units = _units(text, lexemes)
    _self_answered(units)
    for unit in units:
        unit.scene = gather(unit.lexemes)
    kind = _told_kind(units)
    for unit in units:
        deny(unit.lexemes, unit.scene.mentions)
        unit.scene.as_said = _stated_order(text[unit.start : unit.end], unit.scene, kind)
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
        _told_of(units)
    _planned(units)
    _correct(units)
    _resolve(units, text)
    asking = _separate(units)
    if not asking:
        for u in reversed(units):
            found = asked(u.lexemes)
            short = u is units[-1] and len(u.lexemes) <= _SHORT and not u.scene.mentions
            if found is not None and (found.intent != "safe here" or short):
                u.asked = found
                asking = [u]
                break
    if not asking:
        asking = [_whole(units, text)] if units else [_Unit([], 0, len(text), None)]
        units = asking
    readings = []
    prior: Mention | None = None
    for unit in asking:
        context = _context(unit, units, asking)
        subject, reading = _reading(text, unit, context, before, units, asking, prior)
        prior = subject or prior
        readings.append(_accounted(reading, unit, units, asking))
    return readings


def _context(unit: _Unit, units: list[_Unit], asking: list[_Unit]) -> Scene:
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
        if other.asked is None and another and told and len(asking) > 1 and {mine, theirs} != _WALLS:
            context = merged(context, _place_of(other.scene))
        elif other.asked is None and (early or last or not elsewhere):
            context = merged(context, other.scene)
    return context


_WALLS = {"wall", "foundation wall"}


def _layered(scene: Scene) -> bool:
    """Whether it tells a layer other than the ground."""
    return any(
        m.material and not m.negated and load_materials()[m.material].family != "soil" for m in scene.mentions
    )


def _told_kind(units: Sequence[_Unit]) -> str:
    """The kind of section that a text is about, as far as its nouns and layers tell."""
    whole = Scene()
    for u in units:
        whole = merged(whole, u.scene)
    scene = settled(whole, [u.part(u.asked is not None) for u in units])
    return scene.setting.kind or kind_of(scene, scene.mentions)[0]


def _accounted(reading: Reading, unit: _Unit, units: list[_Unit], asking: list[_Unit]) -> Reading:
    """A reading with every word for a layer shown that ended nowhere in it."""
    others = [u for u in asking if u is not unit]
    own = [u for u in units if u not in others] or [unit]
    mentions = [m for u in own for m in u.scene.mentions]
    lost = unaccounted((x for u in own for x in u.lexemes), mentions, reading)
    return replace(reading, unused=tuple(dict.fromkeys((*reading.unused, *lost)))) if lost else reading


def _units(text: str, lexemes: list[Lexeme]) -> list[_Unit]:
    units: list[_Unit] = []
    # A doubt in brackets, `powder (salt?)`, ends no sentence.
    spans = sentences(text.replace("?)", " )"))
    questions = any(mark == "?" for _, _, mark in spans)
    for start, end, mark in spans:
        own = [x for x in lexemes if start <= x.start < end]
        if not own:
            continue
        line, starts = line_of(own)
        cuts = [0]
        for m in _CONTINUES.finditer(line):
            at = next((i for i, s in enumerate(starts) if s >= m.start()), 0)
            before = own[cuts[-1] : at]
            first = asked(before)
            few = (
                first is not None
                and first.intent == "safe here"
                and sum(x.sort != "break" for x in before) < 3
            )
            if at and not few and first and _asks_somewhere(before) and asked(own[at:]):
                cuts.append(at)
        cuts = sorted({*cuts, *_items(own)})
        for a, b in zip(cuts, [*cuts[1:], len(own)], strict=True):
            part = own[a:b]
            asks = mark == "?" or bool(_ASKING.search(line_of(part)[0]))
            if questions and mark != "?":
                line = line_of(part)[0]
                asks = bool(_FIRM.search(line))
            found = asked(part) if asks else None
            if asks and found is None and (mark == "?" or _INDIRECT.search(line_of(part)[0])):
                found = Asked("safe here", -1, 0, "")
            units.append(_Unit(part, part[0].start, part[-1].end, found))
    return units


def _asks_somewhere(lexemes: list[Lexeme]) -> bool:
    """Whether a part of a sentence begins as a question does: `basement in Erie: is foam alright`."""
    starts = [0, *(k + 1 for k, x in enumerate(lexemes[:-1]) if x.sort == "break")]
    return any(_ASKING.search(line_of(lexemes[k:])[0]) for k in starts)


_ITEM = re.compile(r"\(?[1-9a-d][).]\Z")


def _items(lexemes: list[Lexeme]) -> list[int]:
    """Where the second and later of several numbered questions begin: `a) is it ok b) can I add foam`."""
    starts = [k for k, x in enumerate(lexemes) if x.sort == "break" and _ITEM.match(x.text)]
    parts = [lexemes[a:b] for a, b in pairwise([*starts, len(lexemes)])]
    return starts[1:] if len(parts) > 1 and all(asked(p[1:]) for p in parts) else []


def _self_answered(units: list[_Unit]) -> None:
    """`kraft? no, unfaced`: a question that the asker answers is a statement."""
    for u, after in pairwise(units):
        first = next((x for x in after.lexemes if x.sort != "break"), None)
        said = [x for x in u.lexemes if x.sort != "break"]
        if (
            u.asked is None
            or first is None
            or (len(said) > 3 and u.asked.pattern)
            or first.text.lower() not in ("no", "nope", "none", "yes", "yep", "yeah")
        ):
            continue
        u.asked = None
        if first.sort == "negation" or first.text.lower() == "nope":
            if first.sort == "negation":
                after.lexemes.remove(first)
            at = max((k + 1 for k, x in enumerate(u.lexemes[:-1]) if x.sort == "break"), default=0)
            where = u.lexemes[at].start
            u.lexemes.insert(at, Lexeme(where, where, "", "negation", "no", "no"))


_QUOTES = frozenset("\"'“‘«")
_PLANS = frozenset(
    ("plan", "option", "alternative", "choice", "scheme", "version", "variant", "bid", "proposal")
)


def _planned(units: list[_Unit]) -> None:
    """`Plan A is …. Plan B is …. Which?`: the things by which the plans differ are set side by side."""
    found: list[Mention] = []
    for u in units:
        for k, (x, mark) in enumerate(pairwise(u.lexemes)):
            if x.value in _PLANS and re.fullmatch(r"[a-cA-C]|[1-3]", mark.text) and k + 2 < len(u.lexemes):
                after = [
                    m
                    for m in u.scene.mentions
                    if m.lexeme.start >= mark.end and (m.material or m.role or m.space)
                ]
                new = (m for m in after if not m.negated and not m.referred_to and m not in found)
                found += [m for m in [next(new, None)] if m is not None]
    asking = next((u for u in reversed(units) if u.asked is not None), None)
    if len(found) < 2 or asking is None or asking.asked is None:
        return
    for a, b in pairwise(found):
        b.alternative_to = a
    if asking.asked.intent in ("what to use", "safe here", "which") and not asking.asked.concept:
        asking.asked = Asked("which", -1, 0, "which plan")


_CORRECTIONS = (
    ("scratch", "that"),
    ("i", "mean"),
    ("i", "meant"),
    ("make", "that"),
    ("no", "wait"),
    ("sorry",),
    ("correction",),
    ("oops",),
)
"""Words after which what was said last is said anew."""


def _correct(units: list[_Unit]) -> None:
    """`fiberboard... sorry, perlite board`: what is said after a correction takes the place of what it corrects."""
    lexemes = [x for u in units for x in u.lexemes]
    said = [normal(x.text) for x in lexemes]
    for k in range(len(lexemes)):
        words = next((c for c in _CORRECTIONS if tuple(said[k : k + len(c)]) == c), None)
        if words is None:
            continue
        at, end = lexemes[k].start, lexemes[k + len(words) - 1].end
        everything = [(u, m) for u in units for m in u.scene.mentions if m.material and not m.negated]
        before = next(((u, m) for u, m in reversed(everything) if m.lexeme.end <= at), None)
        after = next((m for _, m in everything if m.lexeme.start >= end), None)
        if before is not None and after is not None and _rivals(before[1], after, before[0].scene):
            before[0].scene.mentions.remove(before[1])


_SAFETY = frozenset(
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


def _empty(unit: _Unit) -> bool:
    """Whether a question says nothing by itself, not even that it asks whether something is safe."""
    s = unit.scene
    if unit.asked is None or unit.asked.intent != "safe here":
        return False
    said = {w for x in unit.lexemes for w in normal(x.text).split()}
    return not (s.mentions or s.findings or s.quality or s.setting.place or said & _SAFETY)


def _resolve(units: list[_Unit], text: str) -> None:
    """Questions about `it` where that is a layer named before: `My husband insists on poly. Should we put it in?`"""
    before: list[Mention] = []
    for u in units:
        own = [m for m in u.scene.mentions if m.material or m.role or m.space]
        vague = (
            u.asked is not None
            and u.asked.intent == "safe here"
            and not own
            and not any(x.value in _SAFETY for x in u.lexemes)
        )
        if (
            vague
            and any(x.sort == "word" and x.value in PRONOUNS for x in u.lexemes)
            and any(_addable(m) for m in before)
        ):
            found = asked(u.lexemes, pronouns=True)
            if found is not None and found.intent in ("need", "add", "leave out", "why not always"):
                u.asked = replace(found, subject=-1)
            elif found is not None and "@put" in found.pattern and any(_addable(m) for m in before[-3:]):
                u.asked = replace(found, intent="add", subject=-1)
        before += u.scene.mentions
    for n, u in enumerate(units):
        if u.asked is None or u.asked.intent not in ("safe here", "what is") or u.asked.concept:
            continue
        said = _term(units[: n + 1], text)
        if said and explains(u.lexemes) and not (u.scene.mentions or u.scene.findings):
            u.asked = Asked("what is", -1, 0, "mean", said)


def _term(units: list[_Unit], text: str) -> str:
    """The concept that was last spoken of: one in quotes before any other, and no layer but in quotes."""
    plain = quoted = ""
    for u in units:
        damage = {id(x) for x in u.scene.findings}
        for i, j, id_ in concepts_in(u.lexemes):
            before = text[: u.lexemes[i].start].rstrip()[-1:]
            if before and before in _QUOTES and text[u.lexemes[j - 1].end :][:1] in (*_QUOTES, ",", "."):
                quoted = id_
            elif not any(
                x.sort in LAYERS or (x.sort == "kind" and u is not units[-1]) for x in u.lexemes[i:j]
            ) and not all(id(x) in damage for x in u.lexemes[i:j]):
                plain = id_
    return quoted or plain


def _addable(m: Mention) -> bool:
    return not m.negated and bool(m.role or (m.material and _may_be_added(m.material)))


def _told_of(units: list[_Unit]) -> None:
    """`A client asked me what wind washing is, and I gave a poor answer. Yours?`: the question stands in the statement."""
    asking = [u for u in units if u.asked is not None]
    if any(u.scene.mentions or concepts_in(u.lexemes) for u in asking):
        return
    for u in units:
        if u.asked is None and concepts_in(u.lexemes):
            found = general(Asked("safe here", -1, 0, ""), u.lexemes, [x.scene for x in units])
            if found.intent == "what is":
                u.asked = found
                for other in asking:
                    other.asked = None
                return


def _separate(units: list[_Unit]) -> list[_Unit]:
    """The units that ask something of their own; one that only puts the question before it in other words is a
    statement of its context."""
    out: list[_Unit] = []
    for u in units:
        if u.asked is None:
            continue
        theirs = next(
            (o.scene.setting.kind for o in reversed(units[: units.index(u)]) if o.scene.setting.kind), ""
        )
        mine = u.scene.setting.kind
        another = mine and theirs and mine != theirs and {mine, theirs} != _WALLS and u.part(True).told
        told = [m for v in units if v.end <= u.start for m in v.scene.mentions if m.material]
        if out and _bare(out[-1]) and u.asked.intent != "safe here" and not told:
            # `Sales talk?` before the real question.
            out[-1].asked = None
            out[-1] = u
            continue
        if out and _fragment(out[-1]) and u.asked.intent != "safe here" and u.asked.pattern:
            # `Hickory planks nailed to plywood? … what is the cause`
            out[-1].asked = None
            out[-1] = u
            continue
        if out and _bare(out[-1], symptom=True) and u.asked.intent == "what went wrong":
            # `Frost, but only near the outlets?? … how come`
            out[-1].asked = None
            out[-1] = u
            continue
        if out and not another and not _own_question(out[-1], u, told):
            if out[-1].asked is not None and out[-1].asked.pattern == "" and u.asked.pattern:
                # A plain "ok?" before the real question.
                out[-1].asked = None
                out[-1] = u
                continue
            u.asked = None
            continue
        out.append(u)
    return out


def _fragment(u: _Unit) -> bool:
    """Whether it is a description with a question mark, and asks nothing."""
    several = len([m for m in u.scene.mentions if m.material]) > 1
    return (
        u.asked is not None and not u.asked.pattern and several and not _ASKING.search(line_of(u.lexemes)[0])
    )


def _bare(u: _Unit, symptom: bool = False) -> bool:
    """Whether a question says nothing by itself, or nothing but a symptom."""
    s = u.scene
    named = s.mentions or s.findings or s.setting.kind or s.setting.place or s.quality
    if symptom:
        named = not any(not feared(u.lexemes, x) for x in s.findings)
    return u.asked is not None and not u.asked.pattern and not named


def _own_question(before: _Unit, u: _Unit, told: list[Mention]) -> bool:
    assert before.asked is not None and u.asked is not None
    own = [m for m in u.scene.mentions if m.material or m.role]
    if u.asked.intent in ("need", "add", "leave out"):
        own += [m for m in u.scene.mentions if m.space]
    it = any(x.sort == "word" and x.value in ("it", "that", "this", "they") for x in u.lexemes)
    if before.asked.intent in ("what is", "why not always") and u.start - before.end < 3 and (it or not own):
        return False
    if len([m for m in own if not m.negated]) > 1 < len(told) and before.asked.intent == "safe here":
        # It sets out a section of its own.
        return True
    new = bool(own or u.scene.setting.place or u.scene.setting.zone or u.asked.concept)
    if u.asked.intent == before.asked.intent:
        joined = any(
            x.sort == "word" and x.value in ("it", "that", "this", "they", "two", "which", "one")
            for x in u.lexemes
        )
        return new and not (joined and u.asked.intent in ("what is", "why not always", "safe here", "which"))
    if before.asked.intent in ("what is", "why not always") and not new:
        return False
    if not new and (u.asked.intent == "safe here" or u.asked.pattern.startswith("^ .. need|needs")):
        return False
    first = next((x for x in u.lexemes if x.sort != "break"), None)
    return not (first is not None and first.sort == "alternative")


def _whole(units: list[_Unit], text: str) -> _Unit:
    """No question in the text: one about all of it."""
    lexemes = [x for u in units for x in u.lexemes]
    unit = _Unit(lexemes, 0, len(text), asked(lexemes) or Asked("safe here", -1, 0, ""))
    unit.scene = gather([x for u in units for x in (*u.lexemes, Lexeme(u.end, u.end, "", "break", "", ""))])
    told = [x for x in unit.scene.findings if not feared(lexemes, x)]
    if unit.asked is not None:
        unit.asked = weighed(unit.asked, lexemes, unit.scene.mentions, (), seen=bool(told))
        unit.asked = general(unit.asked, lexemes, [unit.scene])
    if told and unit.asked is not None and unit.asked.intent == "safe here":
        unit.asked = Asked("what went wrong", -1, 0, "seen")
    unit.scene.as_said = _stated_order(text, unit.scene, _told_kind([unit]))
    return unit


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


def _kept(unit: _Unit) -> Scene:
    """What an earlier question sets out for the later ones: all but what it asks about."""
    subject, options = _about(unit, unit.scene.mentions)
    gone = {id(m) for m in [subject, *options] if m is not None}
    return replace(
        unit.scene,
        mentions=[m for m in unit.scene.mentions if id(m) not in gone],
        findings=[],
        quality=None,
        unread=[],
    )


_FROM = r"(?:from|going|working|starting|start|read|reading|listed)?\s*(?:at |from |on )?(?:the )?"
_IN_TO_OUT = re.compile(
    rf"\b{_FROM}(?:inside|interior|in)\s*(?:to|->|→|-)\s*(?:the )?(?:outside|exterior|out)\b|\binside[- ]out\b(?! (?:of|for))"
    r"|\bfrom the inside\b|(?:\A|[.:;-] )(?:\w+ ){{0,3}}?from inside\b|\bfrom the room\b|\A\W*room(?: side)?: |[.;,] room(?: side)?: |\|"
)
_OUT_TO_IN = re.compile(
    rf"\b{_FROM}(?:outside|exterior|out)\s*(?:to|->|→|-)\s*(?:the )?(?:inside|interior|in)\b|\boutside-in\b|\boutside in(?=[:,])"
    r"|\bfrom the outside(?: in)?[,:]|\bfrom outside[,:]|\bfrom the weather\b|\bfrom the street\b"
)
_TOP_DOWN = re.compile(
    r"\btop to bottom\b|\btop[- ]down\b|\b(?:from|down from|starting at|starting from|start at) the (?:very )?top\b(?! (?:of|plate))|\bfrom above\b"
)
_BOTTOM_UP = re.compile(
    r"\bbottom to top\b|\bbottom[- ]up\b|\b(?:from|starting at|start at) the (?:very )?bottom(?: up)?\b(?! (?:of|plate))|\bfrom below\b|\b(?:from|at) the (?:garage|crawl|ceiling|deck|gravel|ground|dirt)(?: up\b|:)"
)
_MANY_TOLD = 3


def _stated_order(text: str, scene: Scene, kind: str) -> bool:
    """Whether a text lists its layers in order, from the room, from outdoors, from the top or from below."""
    low = text.lower()
    if len([m for m in scene.mentions if not m.negated]) < _MANY_TOLD:
        return False
    under_foot = kind in ("floor", "slab")
    inward = bool(_OUT_TO_IN.search(low)) or bool((_BOTTOM_UP if under_foot else _TOP_DOWN).search(low))
    if not inward:
        return bool(_IN_TO_OUT.search(low)) or bool((_TOP_DOWN if under_foot else _BOTTOM_UP).search(low))
    if not _runs_inward(scene, kind):
        return False
    scene.mentions = scene.mentions[::-1]
    return True


def _runs_inward(scene: Scene, kind: str) -> bool:
    """Whether the layers that are told lie from outdoors to the room, as far as their usual places tell."""
    parts = order_of(kind or "wall", scene.setting.form)
    told = [
        parts.index(p)
        for m in scene.mentions
        if m.material and not m.negated
        and (p := part_of(m.material, kind or "wall", scene.setting.form, m.side, True)) in parts
    ]  # fmt: skip
    return not told or told[0] >= told[-1]


def _before_or(last: Mention, mentions: list[Mention], unit: _Unit) -> list[Mention]:
    """What stands before the last two of `XPS, EPS or polyiso`."""
    found: list[Mention] = []
    k = next((n for n, m in enumerate(mentions) if m is last), -1)
    scene = unit.scene
    while k > 0:
        earlier, later = mentions[k - 1], mentions[k]
        between = [x for x in unit.lexemes if earlier.lexeme.end <= x.start < later.lexeme.start]
        if (
            earlier.lexeme not in unit.lexemes
            or not between
            or any(x.sort not in ("break", "length", "R", "side") for x in between)
            or not _rivals(earlier, later, scene)
        ):
            break
        found.insert(0, earlier)
        k -= 1
    return found


def _set_side_by_side(unit: _Unit, mentions: list[Mention]) -> list[Mention]:
    """The two things that a comparison without `or` names: `is cellulose better than fiberglass`."""
    assert unit.asked is not None
    first = unit.lexemes[max(unit.asked.subject, unit.asked.start)].start
    own = [
        m for m in mentions if m.lexeme in unit.lexemes and m.lexeme.start >= first and (m.material or m.role)
    ]
    return own[:2] if len(own) > 1 else []


_ADDED = frozenset(
    (
        "board",
        "inner board",
        "vapor",
        "sheet",
        "deck sheet",
        "space",
        "flooring",
        "damp",
        "drain",
        "coating",
        "inner sheet",
    )
)


_HARMED = ("wet", "damp", "damaged", "moldy")


def _seen(unit: _Unit, scene: Scene, last: _Unit | None) -> Asked | None:
    """`What did them in?` after rot was told asks for the cause; `what NFVA` asks how much."""
    found = unit.asked
    if found is None:
        return None
    first = next(
        (x.value for x in unit.lexemes if x.sort == "word" and x.value not in ("so", "and", "ok")), ""
    )
    clause = max((k for k, x in enumerate(unit.lexemes[:-1]) if x.sort == "break"), default=-1)
    asks = {first, unit.lexemes[clause + 1].value} & {
        "what",
        "whats",
        "why",
        "how",
        "where",
        "who",
        "explain",
        "reason",
        "cause",
    }
    told = [x for x in scene.findings if x not in unit.lexemes or not feared(unit.lexemes, x)]
    if (
        (
            found.intent in ("safe here", "what to use")
            or (found.intent == "what is" and not (found.concept or concepts_in(unit.lexemes)))
        )
        and (asks or (_empty(unit) and last is not None and last.asked is None and last.scene.findings))
        and (told or any(m.condition in _HARMED for m in scene.mentions))
        and not unit.scene.mentions
        and found.pattern.count(" ") < 40
    ):
        plain = found.intent == "safe here" or not any(
            x.value in ("use", "do", "fix", "put", "install") for x in unit.lexemes
        )
        if plain:
            return replace(found, intent="what went wrong", subject=-1)
    area = next(
        (
            k
            for k, x in enumerate(unit.lexemes)
            if any(m.lexeme is x and m.role and m.role.role == "vent area" for m in unit.scene.mentions)
        ),
        -1,
    )
    if (
        area >= 0
        and found.intent in ("what to use", "safe here", "need")
        and any(x.value in ("what", "how") for x in unit.lexemes)
    ):
        return replace(found, intent="how much", subject=area)
    return found


def _handled(lexemes: list[Lexeme]) -> int | None:
    """Where `it` stands that something is done with: `can I roll that on`."""
    said = [x.value for x in lexemes]
    verbs = (k for k in range(len(said) - 1) if lexemes[k].sort in ("word", "part") and said[k] in PUT)
    return next((k + 1 for k in verbs if said[k + 1] in ("it", "that", "this", "them", "those")), None)


def _possessed(m: Mention, unit: _Unit) -> bool:
    """Whether a layer is told as one that is there: `do my clapboards fall off`."""
    at = unit.lexemes.index(m.lexeme) if m.lexeme in unit.lexemes else 0
    return any(x.value in ("my", "our") for x in unit.lexemes[max(at - 2, 0) : at])


def _pronoun_only(unit: _Unit) -> bool:
    """Whether the clause that asks is about `that`, whatever else is said after it: `Is that OK, I read that …`."""
    end = next((k for k, x in enumerate(unit.lexemes) if x.sort == "break"), 0)
    clause = unit.lexemes[:end]
    asks = any(x.value in ("that", "it", "this", "he", "him") for x in clause) and asked(clause) is not None
    return (
        asks
        and not any(x.sort in LAYERS or x.sort in ("kind", "size", "R") for x in clause)
        and _said_more(unit, end)
    )


def _said_more(unit: _Unit, end: int) -> bool:
    """Whether what follows the clause is a sentence and no list of layers."""
    return any(
        x.sort == "word" and x.value in ("i", "we", "he", "she", "they", "or", "because", "since")
        for x in unit.lexemes[end:]
    )


def _put(unit: _Unit, own: list[Mention]) -> Mention | None:
    """The layer of the same sentence that `it` is: `he left a roll of poly, can I put it over the studs`."""
    at = _handled(unit.lexemes)
    if at is None or unit.asked is None or unit.asked.intent not in ("safe here", "leave out", "add"):
        return None
    first = next(
        (k for k, x in enumerate(unit.lexemes) if x.value in ("can", "could", "may", "should", "ok")), at
    )
    return (
        next((m for m in reversed(own) if m.lexeme.end <= unit.lexemes[first].start), None)
        if first < at
        else None
    )


def _proposal(unit: _Unit, units: list[_Unit], scene: Scene) -> Asked | None:
    """A bare "OK?" after a proposal asks about the proposal; "can I put X in" is adding it where the section is
    told without it."""
    asked_ = unit.asked
    if asked_ is None or asked_.intent not in ("safe here", "need", "add", "leave out"):
        return asked_
    own = [m for m in unit.scene.mentions if m.material or m.role or m.space]
    ours = asked_.intent == "safe here" and all(_possessed(m, unit) for m in own)
    if ours or _pronoun_only(unit) or objectless(unit.lexemes):
        own = []
    thing = _put(unit, own)
    if thing is not None:
        return replace(asked_, intent="add", subject=unit.lexemes.index(thing.lexeme), pattern="doing it")
    if (not own or _handled(unit.lexemes) is not None) and not explains(unit.lexemes):
        before = [u for u in reversed(units) if u.asked is None and u.start < unit.start]
        statements = [u.lexemes for u in before if any(x.sort in LAYERS for x in u.lexemes)]
        taken = taken_up(asked_, unit.lexemes, statements, _empty(unit) and not scene.findings)
        if taken is not None and (taken[0].subject >= 0 or _pointed_back(scene.mentions, unit)):
            asked_, unit.lexemes = taken
            return asked_
    permission = any(x.value in ("can", "could", "may", "should", "shall") for x in unit.lexemes)
    if permission and _handled(unit.lexemes) is not None and asked_.intent == "safe here":
        thing = _pointed_back(scene.mentions, unit)
        if thing is not None and asks(asked_, unit.lexemes) == "doing":
            asked_ = replace(asked_, intent="add", subject=-1, pattern="doing it")
            unit.meant = thing
            return asked_
    if asked_.intent != "safe here":
        return asked_
    found = proposed(unit.lexemes)
    if found is not None:
        return found
    fills = [
        m
        for m in own
        if m.material
        and part_of(m.material, scene.setting.kind or "wall", scene.setting.form, m.side, True) == "cavity"
    ]
    if (
        len(fills) == 1
        and (scene.existing or scene.empty)
        and len(scene.mentions) >= 3
        and any(
            x.value in ("dense", "blow", "pack", "fill")
            or "dense" in x.text.lower()
            or "blow" in x.text.lower()
            for x in unit.lexemes
        )
    ):
        return replace(
            asked_,
            intent="add",
            subject=unit.lexemes.index(fills[0].lexeme) if fills[0].lexeme in unit.lexemes else -1,
        )
    done = any(
        x.value in ("ok", "okay", "alright", "bad") and after.value == "that"
        for x, after in pairwise(unit.lexemes)
    )
    if asked_.subject >= 0 and "@put" in asked_.pattern and not done:
        m = next((m for m in own if m.lexeme is unit.lexemes[asked_.subject]), None)
        rest = [o for o in scene.mentions if o is not m and o.material and not o.negated]
        told_of = len(rest) >= 2 or (rest and scene.framed) or scene.kind_sure >= 2
        uses = any(x.value in ("use", "using") for x in unit.lexemes[asked_.start : asked_.subject])
        if m is not None and told_of and (m.material or m.space) and not m.referred_to:
            kind = scene.setting.kind or "wall"
            part = part_of(m.material, kind, scene.setting.form, m.side, True) if m.material else "space"
            told = [
                o
                for o in rest
                if o.material and part_of(o.material, kind, scene.setting.form, o.side, True) == part
            ]
            fill = part in ("cavity", "cavity foam") and not told and (scene.existing or scene.empty)
            fill = fill or (part == "cavity foam" and _masonry(rest))
            if uses and part in ("coating", "cavity", "cavity foam", "sheet"):
                return asked_
            if part in _ADDED or fill or (told and part not in ("cavity", "cavity foam")):
                return replace(asked_, intent="add")
    return asked_


_PICK = re.compile(
    r"\bwhich\b(?! (?:side|way|climate|zone|class))|\b(?:your|the better|a better) (?:pick|choice|one)\b|\b(?:like|prefer|go with|choose|pick)\b.*\b(?:best|better|most)?\b"
)
_MOST_PICKS = 4


def _picked(unit: _Unit, units: list[_Unit], scene: Scene) -> None:
    """`I can get XPS and polyiso for the same price. Which?`: a pick among what one sentence names side by side."""
    if unit.asked is None or unit.asked.intent not in ("what to use", "safe here", "which"):
        return
    if not _PICK.search(" ".join(x.text.lower() for x in unit.lexemes)):
        return
    k = next(i for i, u in enumerate(units) if u is unit)
    for u in (unit, *units[max(k - 1, 0) : k]):
        named = [m for m in u.scene.mentions if m.material and not m.negated]
        rivals = all(_rivals(named[0], m, scene) for m in named[1:])
        if not 1 < len(named) <= _MOST_PICKS or not rivals or any(m.alternative_to for m in named):
            if u is unit and named:
                return
            continue
        if len({m.material for m in named}) < len(named):
            return
        for m in named[1:]:
            m.alternative_to, m.direct = named[0], True
        unit.asked = replace(unit.asked, intent="which", pattern="which")
        return


def _settled(unit: _Unit, scene: Scene) -> None:
    """A choice between two things needs two things: where only one is named, the next fitting intent is meant."""
    if unit.asked is not None and unit.asked.intent in ("need", "add", "safe here", "what to use"):
        pair = next(
            (
                m
                for m in unit.scene.mentions
                if m.alternative_to is not None
                and m.direct
                and not m.negated
                and not m.replaces
                and not _clause_after_or(m, unit)
            ),
            None,
        )
        if pair is not None and pair.alternative_to is not None and _rivals(pair, pair.alternative_to, scene):
            unit.asked = replace(unit.asked, intent="which", pattern="S or S")
    if (
        unit.asked is not None
        and (unit.asked.intent == "what to use" or _empty(unit))
        and not any(m.lexeme in unit.lexemes for m in scene.mentions)
        and any(
            m.alternative_to is not None
            and m.direct
            and not (m.negated or m.replaces)
            and _rivals(m, m.alternative_to, scene)
            for m in scene.mentions
        )
    ):
        # `Poly or a smart retarder? What would you go with?`
        unit.asked = replace(unit.asked, intent="which", pattern="which")
    if unit.asked is None or unit.asked.intent != "which":
        return
    own = [m for m in scene.mentions if m.lexeme in unit.lexemes]
    told = any(m.alternative_to is not None and not m.negated for m in scene.mentions)
    if told and unit.asked.pattern.startswith(("which", "either")):
        return
    if not any(m.alternative_to is not None for m in own) and (
        len({m.label for m in own if not m.negated}) < 2
        or not re.search(
            r"than|compar|between|instead|rather|place|replace|better|weighed", unit.asked.pattern
        )
    ):
        unit.asked = asked(unit.lexemes, frozenset(("which",))) or Asked("what to use", -1, 0, "which")


def _clause_after_or(m: Mention, unit: _Unit) -> bool:
    """`do I need poly or is paint enough`: what follows the `or` is asked for itself, and no choice."""
    before = [x for x in unit.lexemes if x.end <= m.lexeme.start]
    at = max((k for k, x in enumerate(before) if x.sort == "alternative"), default=-1)
    return at >= 0 and any(
        x.value in ("is", "are", "can", "could", "will", "would", "does", "do") for x in before[at:]
    )


def _rivals(a: Mention, b: Mention, scene: Scene) -> bool:
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


_PRONOUNS = frozenset(
    ("sheet", "barrier", "membrane", "retarder", "one", "it", "that", "them", "those", "this", "either")
)


def _about(
    unit: _Unit, mentions: list[Mention], prior: Mention | None = None
) -> tuple[Mention | None, list[Mention]]:
    """What a question is about, and what it sets side by side; `prior` is what the question before was about."""
    if unit.asked is None:
        return None, []
    intent = unit.asked.intent
    options: list[Mention] = []
    for m in mentions:
        if m.alternative_to is not None and m.direct and m.lexeme in unit.lexemes:
            options += [o for o in _before_or(m.alternative_to, mentions, unit) if o not in options]
        if m.alternative_to is not None and m.lexeme in unit.lexemes:
            for one in (m.alternative_to, m):
                if one not in options:
                    options.append(one)
    if intent == "which" and len(options) < 2:
        pairs = [m for m in mentions if m.alternative_to is not None and not m.negated and not m.replaces]
        options = [x for m in pairs[-1:] for x in (m.alternative_to, m) if x is not None]
    if intent == "which" and len(options) < 2:
        options = _set_side_by_side(unit, mentions)
    subject = None
    if "exposed|bare" in unit.asked.pattern:
        x = unit.lexemes[unit.asked.start]
        board = Lexeme(x.start, x.start, "", "material", "gypsum board", "gypsum board")
        return Mention(board, material="gypsum board"), []
    if unit.asked.subject >= 0:
        x = unit.lexemes[unit.asked.subject]
        subject = next((m for m in mentions if m.lexeme is x), None)
    subject = subject or unit.meant
    if subject is None and intent in ("need", "why not always"):
        subject = _pronoun(unit, mentions)
    if subject is None and intent in ("need", "leave out", "add", "why not always"):
        after = [m for m in mentions if m.lexeme.start >= unit.lexemes[unit.asked.start].start]
        subject = next((m for m in after if not m.referred_to or intent == "leave out"), None)
        if subject is None and intent == "why not always":
            subject = next((m for m in mentions if m.lexeme in unit.lexemes), None)
        named = any(m.lexeme in unit.lexemes for m in mentions)
        says = any(x.sort in ("word", "part") and x.value in _PRONOUNS for x in unit.lexemes)
        if subject is None and (says or (intent in ("need", "leave out") and not named)):
            subject = _pointed_back(mentions, unit)
        if (
            subject is None
            and prior is not None
            and any(x.value in _PRONOUNS for x in unit.lexemes if x.sort in ("word", "number"))
        ):
            subject = prior
    if subject is not None and intent in ("need", "leave out", "add"):
        subject = _pointed(subject, mentions, unit)
    if subject is None and intent in ("how much", "what to use", "cheapest"):
        subject = next(
            (m for m in mentions if m.lexeme in unit.lexemes and (m.role or (m.loose and m.loose.takes))),
            None,
        )
    return subject, options


def _pronoun(unit: _Unit, mentions: list[Mention]) -> Mention | None:
    """What `one` or `it` is that is asked about itself: `is one really required`, `why isn't it in every wall`."""
    assert unit.asked is not None
    first = unit.lexemes[unit.asked.start : unit.asked.start + 3]
    if not any(x.sort == "word" and x.value in ("it", "one") for x in first):
        return None
    before = [m for m in mentions if m.lexeme.end <= first[0].start and not m.negated]
    own = [m for m in before if m.lexeme in unit.lexemes]
    return own[0] if own else next((m for m in reversed(before) if m.role is not None), None)


def _pointed_back(mentions: list[Mention], unit: _Unit) -> Mention | None:
    """What `it` stands for: the last retarder, foam or sheet that somebody wants or talks of before the question; of
    `them` the last thing told in the plural."""
    before = [m for m in mentions if m.lexeme.end <= unit.start and not m.negated]
    if any(x.sort == "word" and x.value in ("them", "those") for x in unit.lexemes):
        many = [m for m in before if re.search(r"[^s]s$", m.lexeme.text) and m.material]
        if many:
            return many[-1]
    added = [m for m in before if _addable(m) and not m.referred_to]
    if not added and unit.asked is not None and unit.asked.intent == "need":
        added = [m for m in before if m.role is not None] or [m for m in before if m.space]
    if not added and unit.asked is not None and unit.asked.intent == "leave out":
        # `The yard is out of house wrap. Can I go without?`
        added = sorted((m for m in before if not m.referred_to), key=lambda m: m.lexeme.start)
    return added[-1] if added else None


_DONE_TO = frozenset(
    ("leave", "scrap", "skip", "drop", "omit", "delete", "lose", "add", "put", "need", "include", "use", "want", "keep", "remove", "ditch",
     "eliminate", "install", "toss", "forgo")
)  # fmt: skip


def _pointed(subject: Mention, mentions: list[Mention], unit: _Unit) -> Mention:
    """`can I scrap it if the gyp gets painted`: what `it` stands for, not the next thing that is named."""
    assert unit.asked is not None
    own = unit.lexemes
    for k in range(1, len(own) - 1):
        x, before, after = own[k], own[k - 1], own[k + 1]
        if x.start >= subject.lexeme.start or x.sort != "word" or x.value not in ("it", "them"):
            continue
        if normal(before.text) in _DONE_TO and (
            after.sort in ("word", "break", "alternative", "relation", "side")
        ):
            named = [m for m in mentions if m.lexeme.end <= x.start and not m.negated]
            return max(named, key=lambda m: m.lexeme.start, default=subject)
    return subject


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


def _point_back(mentions: list[Mention]) -> None:
    """`the foam`, `the membrane` after one was named is that one, and no further layer."""
    cedar = any(m.material == "cedar shingle" and not m.negated for m in mentions)
    for m in mentions:
        short = m.lexeme.text.lower()
        if short == "foil" or (short == "vinyl" and m.referred_to):
            # `behind the vinyl` after a vinyl wall covering was named.
            whole = [
                o
                for o in mentions
                if o.lexeme.start < m.lexeme.start and short in o.material and o.material != m.material
            ]
            if whole and not m.negated:
                m.material = max(whole, key=lambda o: o.lexeme.start).material
        if cedar and m.loose is not None and "shingle" in m.lexeme.text.lower():
            # `a shingled cottage … cedar shingles`
            m.material, m.loose = "cedar shingle", None
        if m.loose is None or not m.loose.open or not m.referred_to or m.thickness or m.r or m.negated:
            continue
        before = [
            o for o in mentions if o.lexeme.start < m.lexeme.start and o.loose is None and not o.negated
        ]
        named = [o for o in before if o.material and _foam(o.material)]
        if named and _foam(m.loose.takes):
            m.material, m.loose = max(named, key=lambda o: o.lexeme.start).material, None


def _foam(id_: str) -> bool:
    return bool(load_materials()[id_].flags & {"foam plastic", "spray foam"})


def _may_be_added(id_: str) -> bool:
    m = load_materials()[id_]
    return (
        "vapor control" in m.roles
        or "spray foam" in m.flags
        or "foam plastic" in m.flags
        or "cellulose" in m.flags
    )


def _reading(
    text: str,
    unit: _Unit,
    context: Scene,
    before: Reading | None,
    units: list[_Unit],
    asking: list[_Unit],
    prior: Mention | None,
) -> tuple[Mention | None, Reading]:
    assert unit.asked is not None or not unit.lexemes
    around = [u for u in units if u is unit or u not in asking]
    scene = settled(merged(context, unit.scene), [u.part(u is unit) for u in around])
    scene = of_the_section(scene)
    _point_back(scene.mentions)
    scene = _told_in_metric(text, scene)
    question = unit.lexemes
    unit.asked = _proposal(unit, units, scene)
    unit.asked = _seen(unit, scene, next((u for u in reversed(units) if u.end <= unit.start), None))
    _picked(unit, units, scene)
    _settled(unit, scene)
    intent: Intent = unit.asked.intent if unit.asked else "safe here"
    subject, options = _about(unit, scene.mentions, prior)
    adds = any(x.value in ("add", "adding", "addition") for x in unit.lexemes)
    adds |= unit.asked is not None and unit.asked.pattern.startswith("doing ")
    if (
        intent == "add"
        and not adds
        and subject is not None
        and before is None
        and _makes_whole(subject, scene)
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
    maker = _Read(text, unit, scene, intent, subject, options, around)
    result = maker.result()
    unused = tuple(dict.fromkeys((*unused, *maker.unplaced)))
    confidence = min(confidence, result.confidence)
    result = replace(result, words=words, unused=unused, confidence=confidence, refusal=refusal)
    return subject, result


def _words(
    text: str, unit: _Unit, units: list[_Unit], asking: list[_Unit]
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
                    confidence = min(
                        confidence, 0.7 if x.sort in ("number", "R", "length", "permeance") else 0.8
                    )
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


def _unknown_only(item: list[Lexeme]) -> bool:
    """Whether an item of a list is a word or two that nobody knows."""
    return 0 < len(item) <= 2 and all(x.sort == "unknown" for x in item)


def _strange(lexemes: list[Lexeme]) -> bool:
    """Whether a list of layers has an item of a word or two of which nothing was understood."""
    items: list[list[Lexeme]] = [[]]
    for x in lexemes:
        if x.sort == "break":
            items.append([])
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


_VENT_SPACE = "1-1/2 in air space vented"
_VENTED, _CLOSED = (
    r"(?:vent(?:ed|ing|ilated|s)?)",
    r"(?:un-?vented|non-?vented|not vented|unventilated|hot roof|no vents?|(?:fill|pack|stuff)(?:ed|ing)? (?:it|them|the)\b|fully? filled)",
)
_VENTED_OR_NOT = re.compile(
    rf"\b{_VENTED}\b(?:\W+\w+){{0,6}}?\W+(?:or|vs\.?|versus|than)\b(?:\W+\w+){{0,5}}?\W+{_CLOSED}"
    rf"|\b{_CLOSED}\b(?:\W+\w+){{0,6}}?\W+(?:or|vs\.?|versus|than)\b(?:\W+\w+){{0,5}}?\W+{_VENTED}\b"
)
"""`vented or unvented`, `vent it or fill it up`: a choice between a space and none."""


_CLOSE = r"(?:close|closing|closed|seal|sealing|sealed|encapsulat\w*|shut|condition(?:ed)?)"
_VENT_OR_CLOSE = re.compile(
    rf"\b(?:vent|vents|vented|venting|open|ventilated?)\b[^.?;]{{0,40}}\b(?:or|vs|versus|than)\b[^.?;]{{0,30}}\b{_CLOSE}\b"
    rf"|\b{_CLOSE}\b[^.?;]{{0,60}}\b(?:or|vs|versus|than)\b[^.?;]{{0,40}}\b(?:vent|vents|vented|open|ventilated?)\b"
)
_IN, _OUT = r"(?:inside|interior|in)", r"(?:outside|exterior|out)"
_INSIDE_OR_OUT = re.compile(rf"\b{_IN} or (?:the |on the )?{_OUT}\b|\b{_OUT} or (?:the |on the )?{_IN}\b")
_BOARD = "extruded polystyrene board"


def _is_foam(m: Mention) -> bool:
    return "foam plastic" in load_materials()[m.material].flags


class _Read:
    """Puts one reading together."""

    def __init__(
        self,
        text: str,
        unit: _Unit,
        scene: Scene,
        intent: Intent,
        subject: Mention | None,
        options: list[Mention],
        around: list[_Unit],
    ):
        self.text = text[unit.start : unit.end]
        about = [m for m in (subject, *options) if m is not None]
        if intent == "safe here":
            about = [m for m in scene.mentions if m.lexeme in unit.lexemes and not m.negated]
        about_deck = any(_of_the_deck(m) for m in about)
        self.scene = replace(scene, deck=True) if about_deck else scene
        self.intent: Intent = intent
        self.subject, self.compared = subject, options
        self.unit = unit
        low = self.text.lower()
        self.vents = scene.setting.kind == "roof" and _VENTED_OR_NOT.search(low) is not None
        self.crawl = scene.setting.kind == "floor" and _VENT_OR_CLOSE.search(low) is not None
        self.sides = (
            scene.setting.kind in ("wall", "foundation wall") and _INSIDE_OR_OUT.search(low) is not None
        )
        if self.vents or self.crawl:
            self.intent, self.subject = "which", None
        self.around = around
        self.gaps: list[Gap] = []
        self.taken: list[Taken] = []
        self.confidence = 1.0
        self.unplaced: list[str] = []
        self.asks_thickness = intent == "safe here"

    def result(self) -> Reading:
        intent: Intent = self.intent
        self.intent = intent
        subject = self.named()
        base: Section | None = None
        options: tuple[Option, ...] = ()
        if intent == "what is" or (intent == "why not always" and not self.describes()):
            return Reading(self.text, intent, (), (), None, (), subject, tuple(dict.fromkeys(self.taken)))
        if self.vents:
            options = self.vented_or_not()
            base = options[0].section if options else None
        elif self.crawl:
            options = self.crawl_vented_or_closed()
            base = options[0].section if options else None
        elif self.sides and (sided := self.inside_or_outside()):
            options, base = sided, sided[0].section
            self.intent = intent = "which"
        elif sizes := self.two_sizes():
            options, base = sizes, sizes[0].section
            self.intent = intent = "which"
        elif intent == "which":
            options, base = self.side_by_side()
            self.choice_gap(options)
        elif intent in ("need", "add", "leave out") and self.subject is not None:
            options = self.without_and_with()
            base = options[0].section if options else None
        else:
            foam = self.subject is not None and "spray foam" in self.subject.material
            left_out = (
                [self.subject]
                if not foam and intent in ("how much", "why not always") and self.subject is not None
                else []
            )
            sought = intent == "what to use" or (
                intent == "cheapest" and subject is not None and subject.sort == "role"
            )
            if sought and subject is not None:
                left_out = [m for m in self.scene.mentions if self.sought(m, subject)]
            base = self.assembled([m for m in self.scene.mentions if m not in left_out])
        if base is None and intent != "why not always":
            self.no_section()
        self.denials([s for s in (base, *(o.section for o in options)) if s is not None])
        self.kind_gap(base)
        self.place_gap(base)
        self.layers_gap()
        self.notes()
        return Reading(
            self.text,
            intent,
            (),
            (),
            base,
            options,
            subject,
            tuple(dict.fromkeys(self.taken)),
            tuple(self.gaps[:3]),
            None,
            self.confidence,
        )

    def denials(self, sections: list[Section]) -> None:
        """What is denied stands in no section but the one that has it; else it is asked about."""
        if not sections:
            return
        asserted = {
            m.material for m in self.scene.mentions if m.material and not m.negated and not m.replaces
        }
        about = {m.material for m in (self.subject, *self.compared) if m is not None}
        for m in self.scene.mentions:
            if not m.material or m.material in about or m.predicate or not (m.negated or m.replaces):
                continue
            if m.removed and self.intent == "what went wrong":
                continue
            if m.material in {x.name for x in sections[0].layers} - asserted:
                self.contradicted(m, sections[0])

    def contradicted(self, m: Mention, section: Section) -> None:
        """A layer that the text denies and that stands in the section all the same: which holds is asked."""
        layers = tuple(x for x in section.layers if x.name != m.material)
        without = replace(section, layers=tuple(replace(x, index=n) for n, x in enumerate(layers)))
        replies = ((f"with {m.material}", section), (f"without {m.material}", without))
        self.gaps.append(
            Gap(
                f"whether there is {m.material}",
                f'"{m.lexeme.text}" can be read as there and as not there.',
                replies if layers else (),
            )
        )

    def describes(self) -> bool:
        """Whether the text sets out a section, or at least where one stands."""
        return bool(
            self.scene.framed
            or self.scene.setting.kind
            or len([m for m in self.scene.mentions if m is not self.subject]) > 0
        )

    # -- subject ---------------------------------------------------------------------------------

    def named(self) -> Subject | None:
        scene, m = self.scene, self.subject
        if self.intent == "what went wrong" and scene.findings:
            plain = [x for x in scene.findings if x.value not in ("condensation", "leak")]
            return Subject("finding", (plain or scene.findings)[0].value)
        if self.intent == "what to use":
            return self.job(m)
        if self.intent in ("what is", "why not always") and (id_ := self.explained()):
            return Subject("concept", id_)
        if self.intent == "what is":
            if scene.quality is not None and m is not None and m.material:
                return Subject("property", f"{scene.quality.value} of {m.material}")
            if scene.quality is not None and m is None:
                return Subject("property", scene.quality.value)
            if m is None and scene.findings:
                return Subject("finding", scene.findings[0].value)
        if self.intent == "how much" and (found := self.amount_of(m)) is not None:
            m = self.subject = found
        if m is None and self.intent in ("how much", "what to use", "cheapest"):
            m = next(
                (
                    x
                    for x in scene.mentions
                    if x.lexeme in self.unit.lexemes and (x.role or (x.loose and x.loose.takes))
                ),
                None,
            )
        if m is None:
            return None
        if m.role is not None:
            return Subject("role", m.role.role, m.side)
        if m.space:
            return Subject("role", "air space", m.side)
        if m.loose is not None and m.loose.decides:
            return Subject("material", m.lexeme.text.lower(), m.side)
        if (
            m.loose is not None
            and m.loose.takes
            and "thermal control" in load_materials()[m.loose.takes].roles
        ):
            return Subject(
                "role", "insulation", m.side or ("outside" if "foam" in m.lexeme.text.lower() else "")
            )
        return Subject("material", m.material, m.side) if m.material else None

    def amount_of(self, m: Mention | None) -> Mention | None:
        """The insulation that an amount is asked of where the question names it by a wide word, or not at all: the
        last one told that is no fill, before the question or else after it; one that bears the same words."""
        insulating = {id_ for id_, x in load_materials().items() if "thermal control" in x.roles}
        kind, form = self.scene.setting.kind or "wall", self.scene.setting.form
        told = [
            x for x in self.scene.mentions if x.material in insulating and x.loose is None and not x.negated
        ]
        if m is not None and m.material and m.loose is None:
            words = m.lexeme.text.lower()
            like = [
                x for x in told if x is not m and x.material != m.material and words in x.lexeme.text.lower()
            ]
            return like[-1] if like and m.referred_to else None
        if m is not None and (m.loose is None or m.loose.takes not in insulating):
            return None
        asks = any(x.value in _MEASURED or x.sort in ("property", "loose") for x in self.unit.lexemes)
        boards = [x for x in told if part_of(x.material, kind, form, x.side, True) != "cavity"]
        if m is not None and m.side:
            boards = [x for x in boards if x.side in (m.side, "")]
        own = [x for x in boards if x.lexeme in self.unit.lexemes]
        before = [x for x in boards if x.lexeme.end <= self.unit.start]
        after = [x for x in boards if x.lexeme.start >= self.unit.end]
        return next((xs[k] for xs, k in ((own, 0), (before, -1), (after, 0)) if xs and asks), None)

    def explained(self) -> str:
        """Id of the explanation that is asked for; empty where the question is about a material."""
        words, asked_ = lexicon(), self.unit.asked
        m = self.subject
        if asked_ is None:
            return ""
        found = [id_ for _, _, id_ in concepts_in(self.unit.lexemes)]
        own = [x for x in self.scene.mentions if x.lexeme in self.unit.lexemes]
        pair = words.pairs.get(frozenset(found)) or words.pairs.get(
            frozenset(x.material for x in own if x.material)
        )
        if self.intent == "why not always":
            if m is not None and m.space:
                m = None
            broad = [c for c in found if c in ("why-not-all-open", "double-barrier", "drying-both-ways")]
            return broad[0] if broad else "" if m is not None else found[0] if found else ""
        means = any(x.value in ("mean", "means", "meaning") for x in self.unit.lexemes)
        if means and self.scene.quality is not None and found:
            return found[0]
        if m is not None and m.material and (self.scene.quality is not None or "V" in asked_.pattern.split()):
            return ""
        if pair:
            return pair
        if asked_.concept:
            return asked_.concept
        if found:
            return max(found, key=lambda c: (c != "perm", len(c)))
        if m is not None:
            name = m.material or (m.role.role if m.role else "air space")
            if (
                name in ("air space",)
                or m.role is not None
                or "vapor control" in load_materials()[name].roles
                or name in words.explained_by
            ):
                return words.explained_by.get(name, "")
        return ""

    def job(self, m: Mention | None) -> Subject | None:
        """What something is sought for: a function, not a layer that is there already."""
        own = [x for x in self.scene.mentions if x.lexeme in self.unit.lexemes]
        side = next((x.side for x in own if x.side), "")
        role = next((x for x in own if x.role is not None), None)
        if role is not None and role.role is not None:
            return Subject("role", role.role.role, role.side)
        said = " ".join(x.text.lower() for x in self.unit.lexemes)
        loose = next((x for x in own if x.loose is not None), None)
        for word, name in _JOBS:
            own_word = f"what {word}" in said or f"which {word}" in said
            loose_only = word in ("siding", "sheathing", "flooring", "floor") and loose is None
            if word in said and (own_word or not loose_only):
                return Subject("role", name, side)
        if m is not None and m.space:
            return Subject("role", "drainage", side)
        told = [
            x
            for x in self.scene.mentions
            if x.material and "thermal control" in load_materials()[x.material].roles
        ]
        if "crawl" in said and any(word in said for word in ("dirt", "ground", "plastic")):
            return Subject("role", "ground cover", side)
        if "outside" in said:
            return Subject("role", "insulation", "outside")
        return None if told else Subject("role", "insulation", side)

    # -- sections --------------------------------------------------------------------------------

    def assembled(self, mentions: list[Mention]) -> Section | None:
        # What another takes the place of is not there.
        kept = [replace(m, negated=True) if m.replaces else m for m in mentions]
        if self.intent == "what went wrong":
            kept = [replace(m, negated=False) if m.removed else m for m in kept]
        if self.intent == "how much" and self.subject is not None and "spray foam" in self.subject.material:
            kept = [m for m in kept if not self.same(m, self.subject) or m is self.subject]
        made = assemble(self.scene, kept, self.scene.mentions)
        self.unplaced += [m.lexeme.text for m in made.unplaced]
        self.taken += [t for t in made.taken if t not in self.taken]
        section = made.section(thickness=None if self.asks_thickness else self.usual(made))
        for o in made.open:
            self.open_gap(made, o)
        if self.intent == "safe here":
            for m in kept:
                if (
                    m.loose is not None
                    and m.loose.open
                    and any(p.material == m.material and p.name == "generic" for p in made.pieces)
                ):
                    self.open_gap(
                        made,
                        Open(
                            f"which {m.lexeme.text.lower()}",
                            f"it may be one of several: {m.loose.why}",
                            m.material,
                            m.loose.open,
                        ),
                    )
        return section

    def usual(self, made: Assembly) -> dict[str, str]:
        """A usual thickness for each board that has none, taken where it is not what decides."""
        found: dict[str, str] = {}
        for o in made.open:
            if o.what.startswith("how thick"):
                deep = made.setting.kind == "roof" and made.setting.form == "low slope"
                found[o.material] = "4 in" if deep else "2 in"
                taken = Taken(
                    f"{found[o.material]} {o.material}",
                    "no thickness is told, and a usual one shows which way it goes",
                )
                if taken not in self.taken:
                    self.taken.append(taken)
        return found

    def open_gap(self, made: Assembly, o: Open) -> None:
        if any(g.what == o.what for g in self.gaps) or (
            o.what.startswith("how thick") and not self.asks_thickness
        ):
            return
        replies: list[tuple[str, Section]] = []
        for choice in o.choices:
            thick = o.what.startswith("how thick")
            section = (
                made.section(thickness={o.material: choice})
                if thick
                else made.section(instead={o.material: choice})
            )
            if section is not None:
                replies.append((choice, section))
        self.gaps.append(Gap(o.what, o.why[:1].upper() + o.why[1:] + ".", tuple(replies)))

    def without_and_with(self) -> tuple[Option, ...]:
        subject = self.subject
        assert subject is not None
        others = [
            replace(m, negated=True) if m.replaces else m
            for m in self.scene.mentions
            if m is not subject and not self.same(m, subject)
        ]
        told = [
            m for m in self.scene.mentions if m is not subject and self.same(m, subject) and not m.negated
        ]
        for m in told:
            subject = _fuller(subject, m)
        gone = replace(subject, negated=True, loose=None)
        before = self.scene
        if self.fills(subject, others):
            before = replace(self.scene, empty=True)
            blown = subject.material.startswith(("dense", "blown", "loose", "injected"))
            if (
                blown or self.scene.existing or self.scene.empty
            ) and "work" not in self.scene.setting.building:
                self.scene.setting.building["work"] = "retrofit"
                self.taken.append(Taken("a retrofit", "the cavities of a wall that stands are filled"))
        without = assemble(before, [*others, gone], self.scene.mentions)
        asked_for = _asserted(subject)
        if subject.loose is not None and subject.loose.decides:
            asked_for.material = ""
        added = assemble(self.scene, [*others, asked_for], self.scene.mentions)
        label = subject.label or subject.lexeme.text.lower()
        if subject.role is not None and subject.role.text:
            text, id_ = role_text(subject, added.setting.kind, added.setting.form)
            label = id_
            self.taken.append(Taken(f"{text} for the {subject.lexeme.text.lower()}", subject.role.why))
            covered = _of_role(subject)
            without = assemble(
                self.scene, [*(m for m in others if m.material not in covered), gone], self.scene.mentions
            )
            present = [m for m in others if m.material in covered and not m.negated]
            if present:
                label = present[0].material
                added = assemble(self.scene, others, self.scene.mentions)
        self.taken += [t for t in (*without.taken, *added.taken) if t not in self.taken]
        for o in added.open:
            self.open_gap(added, o)
        if subject.loose is not None and subject.loose.open:
            self.open_gap(
                added,
                Open(
                    f"which {subject.lexeme.text.lower()}",
                    f"it may be one of several, {subject.loose.why}",
                    subject.material,
                    subject.loose.open,
                ),
            )
        a = self.plain(without, subject)
        b = added.section(thickness=None if self.asks_thickness else self.usual(added))
        if a is None or b is None:
            return ()
        return (Option(f"without {label}", a), Option(f"with {label}", b))

    def sought(self, m: Mention, subject: Subject) -> bool:
        """Whether a word of the question only names what is sought: `what insulation`, `which sheathing`."""
        if m.loose is None or m.lexeme not in self.unit.lexemes or m.r or m.thickness:
            return False
        job = "thermal control" if "insulation" in subject.name else subject.name
        takes = [i for i in (m.loose.takes, *m.loose.decides) if i]
        return any(job in load_materials()[i].roles for i in takes)

    def fills(self, subject: Mention, others: list[Mention]) -> bool:
        """Whether what is put in fills a cavity of which nothing is told: an empty one then, not a filled one."""
        kind, form = self.scene.setting.kind or "wall", self.scene.setting.form

        def in_cavity(m: Mention) -> bool:
            part = part_of(m.material, kind, form, m.side, True) if m.material else ""
            return part in ("cavity", "cavity foam")

        told = self.scene.cavity_r or any(in_cavity(m) and not m.negated for m in others)
        return self.intent == "add" and in_cavity(subject) and not told

    def plain(self, without: Assembly, subject: Mention) -> Section | None:
        """The section without the subject: where it is what goes without saying, that goes too."""
        if subject.material:
            gone = [p for p in without.pieces if p.material == subject.material and not p.said]
            for p in gone:
                without.pieces.remove(p)
        return without.section(thickness=None if self.asks_thickness else self.usual(without))

    @staticmethod
    def same(a: Mention, b: Mention) -> bool:
        if a.space.startswith("3/4 in air space") and b.space.startswith("3/4 in air space"):
            # `the gap`, `a rain screen`: one space behind one cladding.
            return not (a.thickness and b.thickness and a.thickness != b.thickness)
        return bool(
            a.material
            and a.material == b.material
            and not (a.thickness and b.thickness and a.thickness != b.thickness)
        )

    def crawl_vented_or_closed(self) -> tuple[Option, ...]:
        """A floor over a crawl space that is vented, and over one that is closed."""
        out = []
        for label, form in (("vented crawl space", "crawl"), ("unvented crawl space", "conditioned")):
            setting = replace(self.scene.setting, form=form)
            layers = [m for m in self.scene.mentions if not m.space]
            made = assemble(replace(self.scene, setting=setting), layers, self.scene.mentions)
            section = made.section(thickness=self.usual(made))
            if section is not None:
                out.append(Option(label, section))
        self.taken += [t for t in made.taken if t not in self.taken] if out else []
        return tuple(out) if len(out) == 2 else ()

    def inside_or_outside(self) -> tuple[Option, ...]:
        """`Insulate the foundation inside or outside?`: the insulation that is named, or the usual board, on either side."""
        scene = self.scene
        foam = [m for m in scene.mentions if m.material and not m.negated and _is_foam(m)]
        if len(foam) > 1:
            return ()
        board = foam[0] if foam else Mention(
            Lexeme(self.unit.start, self.unit.start, "", "material", _BOARD, _BOARD), material=_BOARD, thickness="2 in"
        )  # fmt: skip
        if not foam:
            self.taken.append(
                Taken(f"2 in {_BOARD}", "no insulation is named; a usual board shows what the side does")
            )
        others = [m for m in scene.mentions if m is not board]
        out = []
        for side in ("inside", "outside"):
            one = replace(
                board, side=side, relation="", target=None, joints=board.joints or "taped", loose=None
            )
            made = assemble(scene, [*others, one], scene.mentions)
            self.taken += [t for t in made.taken if t not in self.taken]
            section = made.section(thickness=self.usual(made))
            if section is not None:
                out.append(Option(f"{board.material} {side}", section))
        return tuple(out) if len(out) == 2 else ()

    def two_sizes(self) -> tuple[Option, ...]:
        """`1 or 2 inches of XPS`: one layer in two thicknesses."""
        if self.intent not in ("which", "what to use", "safe here", "how much", "need", "add"):
            return ()
        for x in self.unit.lexemes:
            m = next((m for m in self.scene.mentions if x.sort == "length" and m.thickness == x.value), None)
            if m is None or not m.material or not re.search(r"\bor\b", x.text.lower()):
                continue
            low, _, rest = x.value.partition(" to ")
            high, _, unit = rest.partition(" ")
            out = []
            for size in (f"{low} {unit}", f"{high} {unit}"):
                mentions = [replace(o, thickness=size) if o is m else o for o in self.scene.mentions]
                made = assemble(self.scene, mentions, self.scene.mentions)
                self.taken += [t for t in made.taken if t not in self.taken]
                section = made.section(thickness=self.usual(made))
                if section is not None:
                    out.append(Option(f"{size} {m.material}", section))
            return tuple(out) if len(out) == 2 else ()
        return ()

    def vented_or_not(self) -> tuple[Option, ...]:
        """A roof with a vented space over its insulation, and the same filled up to its deck."""
        form = self.scene.setting.form
        setting = replace(self.scene.setting, form="cathedral" if form == "unvented" else form)
        scene = replace(self.scene, setting=setting)
        others = [m for m in scene.mentions if not m.space]
        lexeme = Lexeme(self.unit.start, self.unit.start, "", "space", _VENT_SPACE, _VENT_SPACE)
        out = []
        for label, more in (("vented air space", [Mention(lexeme, space=_VENT_SPACE)]), ("unvented", [])):
            made = assemble(scene, [*others, *more], self.scene.mentions)
            self.taken += [t for t in made.taken if t not in self.taken]
            section = made.section(thickness=self.usual(made))
            if section is not None:
                out.append(Option(label, section))
        return tuple(out) if len(out) == 2 else ()

    def side_by_side(self) -> tuple[tuple[Option, ...], Section | None]:
        out: list[Option] = []
        chosen = [
            m
            for m in self.compared
            if m.material or m.role is not None or m.space or (m.loose and m.loose.decides)
        ]
        roles = {r for m in chosen if m.material for r in load_materials()[m.material].roles}
        roles |= (
            {"vapor control"}
            if any(m.material in ("latex paint", "kraft-faced glass fiber batt") for m in chosen)
            else set()
        )
        others = [
            m
            for m in self.scene.mentions
            if m not in self.compared and not (m.role is not None and m.role.role in roles)
        ]
        for m in chosen:
            one = _asserted(m)
            one.replaces = False
            part_mates = [o for o in others if not self.same(o, m)]
            made = assemble(self.scene, [*part_mates, one], self.scene.mentions)
            self.taken += [t for t in made.taken if t not in self.taken]
            for o in made.open:
                self.open_gap(made, o)
            section = made.section(thickness=self.usual(made))
            if section is not None:
                out.append(Option(one.label or m.lexeme.text.lower(), section))
        return tuple(out), out[0].section if out else None

    # -- gaps ------------------------------------------------------------------------------------

    def no_section(self) -> None:
        if any(g.what == "kind" for g in self.gaps):
            return
        made = assemble(
            self.scene, [m for m in self.scene.mentions if m is not self.subject], self.scene.mentions
        )
        if not made.setting.kind:
            replies = []
            lying = self.scene.noun == "joist" or self.scene.size in DEEP
            for kind in ("roof", "floor", "wall") if lying else ("wall", "roof", "foundation wall"):
                scene = replace(self.scene, setting=replace(self.scene.setting, kind=kind), kind_sure=2)
                section = assemble(scene, [m for m in scene.mentions if m is not self.subject]).section()
                if section is not None:
                    replies.append((f"a {kind}", section))
            self.gaps.append(
                Gap("kind", "Walls, roofs and foundations get wet and dry in different ways.", tuple(replies))
            )
        else:
            self.gaps.append(Gap("layers", "Without its layers there is nothing to calculate."))

    def layers_gap(self) -> None:
        """A verdict on a section of which no layer is told would be one on what was assumed."""
        s = self.scene
        told = [m for m in s.mentions if m.material and not m.negated]
        described = told or s.cavity_r or s.outside_r or s.empty or any(g.what == "layers" for g in self.gaps)
        if self.intent in ("safe here", "what went wrong", "cheapest") and not described:
            self.gaps.insert(
                0,
                Gap(
                    "layers",
                    "No layer is named: the insulation, the sheathing and what lies on the room side decide.",
                ),
            )

    def choice_gap(self, options: tuple[Option, ...]) -> None:
        """A choice needs two things that would lie in one place."""
        if len(options) == 1:
            self.gaps.append(
                Gap("the other one", f"Of what is to be chosen from only {options[0].label} was read.")
            )
        elif len(options) == 2 and len(self.compared) == 2:
            a, b = self.compared
            if b.replaces and not _rivals(a, b, self.scene):
                self.gaps.append(
                    Gap(
                        f"what stands instead of {b.label}",
                        f"{a.label} lies elsewhere and can't take its place.",
                    )
                )

    def kind_gap(self, base: Section | None) -> None:
        """Where what is told speaks for another kind of section than the one that was taken."""
        if base is None or any(g.what == "kind" for g in self.gaps):
            return
        kinds = doubtful(self.scene, self.said(), base.kind)
        if not kinds:
            return
        replies = []
        for kind in (base.kind, *kinds):
            scene = replace(self.scene, setting=replace(self.scene.setting, kind=kind, form=""), kind_sure=3)
            section = assemble(scene, [m for m in scene.mentions if m is not self.subject]).section()
            if section is not None:
                replies.append((f"a {kind}", section))
        self.gaps.insert(
            0,
            Gap("kind", f"It may be a {' or a '.join((base.kind, *kinds))}, and those get wet and dry in different ways.",
                tuple(replies)),
        )  # fmt: skip

    def said(self) -> str:
        """The words that describe the section, lower case."""
        return " ".join(x.text.lower() for u in self.around for x in u.lexemes)

    def place_gap(self, base: Section | None) -> None:
        scene = self.scene
        if (
            scene.setting.place
            or scene.setting.zone
            or self.intent not in (*_NEEDS_PLACE, "what went wrong", "why not always")
        ):
            return
        if self.intent == "why not always" or (self.intent == "what went wrong" and base is None):
            return
        choices = scene.choices or tuple((z, z) for z in _CLIMATES.get(scene.climate, _EXAMPLES))
        replies: list[tuple[str, Section]] = []
        for name, where in choices[:4]:
            if base is not None and (section := _placed(base, where)) is not None:
                replies.append((name, section))
        why = "The climate decides how cold the layers get and which way vapor goes."
        if scene.place_lexeme is not None:
            why = f'"{scene.place_lexeme.text}" is {scene.place_lexeme.reads}; ' + why[0].lower() + why[1:]
        self.gaps.insert(0, Gap("place", why, tuple(replies)))

    def notes(self) -> None:
        self.taken += [
            Taken(what, why) for what, why in self.scene.notes if Taken(what, why) not in self.taken
        ]


_MEASURED = frozenset(
    (
        "thick",
        "thickness",
        "much",
        "many",
        "inch",
        "mm",
        "cm",
        "r",
        "rsi",
        "deep",
        "thin",
        "little",
        "minimum",
        "amount",
    )
)
_JOBS = (
    ("retarder", "vapor control"), ("vapor", "vapor control"), ("vapour", "vapor control"), ("insulat", "insulation"), ("foam", "insulation"),
    ("sheathing", "sheathing"), ("siding", "cladding"), ("cladding", "cladding"), ("flooring", "flooring"), ("wrap", "water control"),
    ("wrb", "water control"), ("underlayment", "water control"), ("air barrier", "air barrier"), ("air seal", "air barrier"), ("under a slab", "vapor control"), ("under the slab", "vapor control"),
    ("batt", "insulation"), ("r-value", "insulation"), ("warm side", "vapor control"), ("rim joist", "insulation"), ("bays", "insulation"),
)  # fmt: skip
"""Words in a search for something, and the function that is sought."""


def _placed(section: Section, where: str) -> Section | None:
    from reviewer.answers.context import at_place

    return at_place(section, where)


def _of_role(m: Mention) -> set[str]:
    assert m.role is not None
    return (
        {id_ for id_ in load_materials() if id_ in _RETARDERS}
        if m.role.role == "vapor control"
        else {m.role.takes}
    )


def _of_the_deck(m: Mention) -> bool:
    """Whether it lies on a roof deck, so that a question about it is one about the deck above an attic."""
    if m.role is not None or not m.material or m.side == "inside":
        return False
    return part_of(m.material, "roof", "cathedral", m.side, True) in (
        "deck sheet",
        "sheet",
        "sheathing",
        "cover",
        "roofing",
    )


_WHOLE = frozenset(("flooring", "cladding", "roofing"))
"""Parts without which a section is none."""


def _masonry(mentions: list[Mention]) -> bool:
    """Whether a wall is told that stands by itself, before anything is put on it."""
    return any(
        m.material
        and not m.negated
        and load_materials()[m.material].family in ("masonry", "concrete", "stone")
        for m in mentions
    )


def _makes_whole(subject: Mention, scene: Scene) -> bool:
    """Whether what is put in is what such a section has anyhow, and nothing else was told in its place."""
    if not subject.material or subject.negated:
        return False
    kind, form = scene.setting.kind or "wall", scene.setting.form
    part = part_of(subject.material, kind, form, subject.side, True)
    blown = subject.material.startswith(("dense", "blown", "loose", "injected"))
    fills = part in ("cavity", "cavity foam") and not (scene.existing or scene.empty or blown)
    sprayed = "spray foam" in subject.material
    fills = fills and not (sprayed and (kind in ("roof", "floor") or _masonry(scene.mentions)))
    told = [
        m
        for m in scene.mentions
        if m is not subject and m.material and not m.negated
        and part_of(m.material, kind, form, m.side, True) in (part, *(("cavity", "cavity foam") if fills else ()))
    ]  # fmt: skip
    return (part in _WHOLE or fills) and not told and not (fills and scene.cavity_r)


_RETARDERS = frozenset(("polyethylene sheet", "polyethylene sheet 4 mil", "polyethylene sheet 2 mil", "kraft paper", "aluminum foil",
                        "variable-permeance retarder", "vapor retarder paint", "polyethylene sheet 10 mil", "slab vapor retarder",
                        "slab vapor retarder 15 mil", "cross-laminated polyethylene", "self-adhered roof vapor retarder",
                        "variable-permeance retarder with fabric", "polyethylene sheet 8 mil"))  # fmt: skip


def _fuller(m: Mention, other: Mention) -> Mention:
    """A mention with what another one of the same thing says beyond it."""
    return replace(
        m,
        r=m.r or other.r,
        thickness=m.thickness or other.thickness,
        joints=m.joints or other.joints,
        condition=m.condition or other.condition,
        side=m.side or other.side,
    )


def _asserted(m: Mention) -> Mention:
    return replace(m, negated=False, alternative_to=None, relation=m.relation, target=m.target)


__all__ = ["lexicon", "read"]
