"""A text cut into units, and which of them ask: what is a question of its own, a statement, a correction or a fragment."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

from reviewer.answers.evidence import feared, weighed
from reviewer.answers.general import general
from reviewer.answers.intents import LAYERS, PRONOUNS, PUT, Asked, asked, concepts_in, line_of
from reviewer.answers.layers import order_of, part_of
from reviewer.answers.lexicon import normal
from reviewer.answers.proposals import explains
from reviewer.answers.scan import Lexeme, sentences
from reviewer.answers.scene import Mention, Scene, gather
from reviewer.answers.unit import SAFETY, WALLS, Unit, addable, are_rivals, told_kind

SHORT = 5
"""Words up to which a last sentence that judges is the question: `good or bad`."""


_TELL = r"(?:, |\b(?:please|pls|you|and|so|just|but|someone|somebody) )tell me\b"


_ASKING = re.compile(
    r"\A(?:(?:so|ok|and|also|but|hi|hey|hello|well|then|now|quick|question|please|pls|again|thanks|second|next|first|other|third|finally|plus|or|(?:M|N)(?! (?:is|are|was|were|has|have|does|do|did) )|,|all|two|three|couple|few|thing|of|just|to|know|i|would|like|1|2|3) )*"
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


_DONE_FIRST = PUT | {"add", "adding", "put", "use", "using"}
_AFTER_DOING = re.compile(
    r" , ((?:do|does|is|are|can|should|will|would) (?:i|we|you|it|they|there|that|this) )"
)
_TELLS = re.compile(r"(?:did|do|will|does|has) (?:a|an|the|some|my|our) ")
"""`Did a blower door test`: what somebody did, and no question."""
_INDIRECT = re.compile(r"\b(?:ask|asks|asking|asked|wonder|wonders) (?:if|whether)\b")


_CONTINUES = re.compile(
    r"\b(?:and|also|but|then|plus|,) (?:also |then |if so |if not |if yes |so |, )*(?:what|how|why|which|is|are|can|could|should|do|does|did|will|would|may)\b"
)


def cut(text: str, lexemes: list[Lexeme]) -> list[Unit]:
    units: list[Unit] = []
    # A doubt in brackets, `powder (salt?)`, ends no sentence.
    spans = sentences(text.replace("?)", " )"))
    questions = any(mark == "?" for _, _, mark in spans)
    for start, end, mark in spans:
        own = [x for x in lexemes if start <= x.start < end]
        if not own:
            continue
        line, starts = line_of(own)
        cuts = [0]
        told: set[int] = set()
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
        after = _AFTER_DOING.search(line) if own[0].value in _DONE_FIRST and not cuts[1:] else None
        if after is not None and asked(
            own[(at := next(i for i, s in enumerate(starts) if s >= after.start(1))) :]
        ):
            # `Add batts and drywall, do I need poly?`: what is done first is told.
            cuts.append(at)
            told.add(at)
        cuts = sorted({*cuts, *_items(own)})
        for a, b in zip(cuts, [*cuts[1:], len(own)], strict=True):
            part = own[a:b]
            line = line_of(part)[0]
            asks = mark == "?" or (bool(_ASKING.search(line)) and not _TELLS.match(line))
            if questions and mark != "?":
                asks = bool(_FIRM.search(line))
            asks = asks and b not in told
            found = asked(part) if asks else None
            if asks and found is None and (mark == "?" or _INDIRECT.search(line_of(part)[0])):
                found = Asked("safe here", -1, 0, "")
            units.append(Unit(part, part[0].start, part[-1].end, found))
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


_LAYER = frozenset(("material", "loose", "role", "space"))


def self_answered(units: list[Unit]) -> None:
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
        rest = after.lexemes[after.lexemes.index(first) + 1 :]
        if rest and rest[0].sort in _LAYER and not any(x.sort in _LAYER for x in said):
            # `Any objection? No plastic is in there`: what is not there, and no answer.
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


def plans_apart(units: list[Unit]) -> None:
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


def correct_units(units: list[Unit]) -> None:
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
        if before is not None and after is not None and are_rivals(before[1], after, before[0].scene):
            before[0].scene.mentions.remove(before[1])


def resolve_pronouns(units: list[Unit], text: str) -> None:
    """Questions about `it` where that is a layer named before: `My husband insists on poly. Should we put it in?`"""
    before: list[Mention] = []
    for u in units:
        own = [m for m in u.scene.mentions if m.material or m.role or m.space]
        vague = (
            u.asked is not None
            and u.asked.intent == "safe here"
            and not own
            and not any(x.value in SAFETY for x in u.lexemes)
        )
        if (
            vague
            and any(x.sort == "word" and x.value in PRONOUNS for x in u.lexemes)
            and any(addable(m) for m in before)
        ):
            found = asked(u.lexemes, pronouns=True)
            if found is not None and found.intent in ("need", "add", "leave out", "why not always"):
                u.asked = replace(found, subject=-1)
            elif found is not None and "@put" in found.pattern and any(addable(m) for m in before[-3:]):
                u.asked = replace(found, intent="add", subject=-1)
        before += u.scene.mentions
    for n, u in enumerate(units):
        if u.asked is None or u.asked.intent not in ("safe here", "what is") or u.asked.concept:
            continue
        said = _term(units[: n + 1], text)
        if said and explains(u.lexemes) and not (u.scene.mentions or u.scene.findings):
            u.asked = Asked("what is", -1, 0, "mean", said)


def _term(units: list[Unit], text: str) -> str:
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


def asked_in_statement(units: list[Unit]) -> None:
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


def separate_questions(units: list[Unit]) -> list[Unit]:
    """The units that ask something of their own; one that only puts the question before it in other words is a
    statement of its context."""
    out: list[Unit] = []
    for u in units:
        if u.asked is None:
            continue
        theirs = next(
            (o.scene.setting.kind for o in reversed(units[: units.index(u)]) if o.scene.setting.kind), ""
        )
        mine = u.scene.setting.kind
        another = mine and theirs and mine != theirs and {mine, theirs} != WALLS and u.part(True).told
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


def _fragment(u: Unit) -> bool:
    """Whether it is a description with a question mark, and asks nothing."""
    several = len([m for m in u.scene.mentions if m.material]) > 1
    return (
        u.asked is not None and not u.asked.pattern and several and not _ASKING.search(line_of(u.lexemes)[0])
    )


def _bare(u: Unit, symptom: bool = False) -> bool:
    """Whether a question says nothing by itself, or nothing but a symptom."""
    s = u.scene
    named = s.mentions or s.findings or s.setting.kind or s.setting.place or s.quality
    if symptom:
        named = not any(not feared(u.lexemes, x) for x in s.findings)
    return u.asked is not None and not u.asked.pattern and not named


def _own_question(before: Unit, u: Unit, told: list[Mention]) -> bool:
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


def whole_text(units: list[Unit], text: str) -> Unit:
    """No question in the text: one about all of it."""
    lexemes = [x for u in units for x in u.lexemes]
    unit = Unit(lexemes, 0, len(text), asked(lexemes) or Asked("safe here", -1, 0, ""))
    unit.scene = gather([x for u in units for x in (*u.lexemes, Lexeme(u.end, u.end, "", "break", "", ""))])
    told = [x for x in unit.scene.findings if not feared(lexemes, x)]
    if unit.asked is not None:
        unit.asked = weighed(unit.asked, lexemes, unit.scene.mentions, (), seen=bool(told))
        unit.asked = general(unit.asked, lexemes, [unit.scene])
    if told and unit.asked is not None and unit.asked.intent == "safe here":
        unit.asked = Asked("what went wrong", -1, 0, "seen")
    unit.scene.as_said = stated_order(text, unit.scene, told_kind([unit]))
    return unit


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


def stated_order(text: str, scene: Scene, kind: str) -> bool:
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


__all__ = [
    "SHORT",
    "asked_in_statement",
    "correct_units",
    "cut",
    "plans_apart",
    "resolve_pronouns",
    "self_answered",
    "separate_questions",
    "stated_order",
    "whole_text",
]
