"""What a question is about: a layer that is proposed, denied, meant by a pronoun, or set beside another."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from reviewer.answers.assemble import AS_BOARD
from reviewer.answers.evidence import feared
from reviewer.answers.intents import LAYERS, PUT, Asked, asked, concepts_in
from reviewer.answers.layers import part_of
from reviewer.answers.lexicon import normal
from reviewer.answers.proposals import asks, explains, objectless, proposed, taken_up
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Mention, Scene
from reviewer.answers.unit import Unit, addable, are_rivals, has_masonry, says_nothing
from reviewer.library.materials import load_materials


def _before_or(last: Mention, mentions: list[Mention], unit: Unit) -> list[Mention]:
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
            or not are_rivals(earlier, later, scene)
        ):
            break
        found.insert(0, earlier)
        k -= 1
    return found


def _set_side_by_side(unit: Unit, mentions: list[Mention]) -> list[Mention]:
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


def of_what_was_seen(unit: Unit, scene: Scene, last: Unit | None) -> Asked | None:
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
        and (asks or (says_nothing(unit) and last is not None and last.asked is None and last.scene.findings))
        and (told or any(m.condition in _HARMED for m in scene.mentions))
        and not unit.scene.mentions
        and found.pattern.count(" ") < 40
    ):
        plain = found.intent == "safe here" or not any(
            x.value
            in ("use", "do", "fix", "put", "install", "insulate", "recommend", "suggest", "choose", "pick")
            for x in unit.lexemes
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


def _possessed(m: Mention, unit: Unit) -> bool:
    """Whether a layer is told as one that is there: `do my clapboards fall off`."""
    at = unit.lexemes.index(m.lexeme) if m.lexeme in unit.lexemes else 0
    return any(x.value in ("my", "our") for x in unit.lexemes[max(at - 2, 0) : at])


def _pronoun_only(unit: Unit) -> bool:
    """Whether the clause that asks is about `that`, whatever else is said after it: `Is that OK, I read that …`."""
    end = next((k for k, x in enumerate(unit.lexemes) if x.sort == "break"), 0)
    clause = unit.lexemes[:end]
    asks = any(x.value in ("that", "it", "this", "he", "him") for x in clause) and asked(clause) is not None
    return (
        asks
        and not any(x.sort in LAYERS or x.sort in ("kind", "size", "R") for x in clause)
        and _said_more(unit, end)
    )


def _said_more(unit: Unit, end: int) -> bool:
    """Whether what follows the clause is a sentence and no list of layers."""
    return any(
        x.sort == "word" and x.value in ("i", "we", "he", "she", "they", "or", "because", "since")
        for x in unit.lexemes[end:]
    )


def _put(unit: Unit, own: list[Mention]) -> Mention | None:
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


_CALLED_FOR = "is|are one|it"
"""How the pattern of `Is one called for?` begins: whoever asks so does not ask whether it may be done."""


def proposal_of(unit: Unit, units: list[Unit], scene: Scene) -> Asked | None:
    """A bare "OK?" after a proposal asks about the proposal; "can I put X in" is adding it where the section is
    told without it."""
    asked_ = unit.asked
    if asked_ is None or asked_.intent not in ("safe here", "need", "add", "leave out"):
        return asked_
    if asked_.intent == "need" and asked_.pattern.startswith(_CALLED_FOR):
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
        taken = taken_up(asked_, unit.lexemes, statements, says_nothing(unit) and not scene.findings)
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
            fill = fill or (part == "cavity foam" and has_masonry(rest))
            if uses and part in ("coating", "cavity", "cavity foam", "sheet"):
                return asked_
            if part in _ADDED or fill or (told and part not in ("cavity", "cavity foam")):
                return replace(asked_, intent="add")
    return asked_


_PICK = re.compile(
    r"\bwhich\b(?! (?:side|way|climate|zone|class))|\b(?:your|the better|a better) (?:pick|choice|one)\b"
    r"|\b(?:like|prefer|go with|choose|pick)\b|\bwho(?:'s| is|s) (?:right|correct)\b|\bsettle (?:it|this)\b|\bof (?:the|those|these) two\b"
)
_SURE_PICK = re.compile(
    r"\bwhich (?:do|does|should|would|is|one|bid|quote|of|way)\b|\bwhich\W*\Z|\bwho(?:'s| is|s) (?:right|correct)\b|\bsettle (?:it|this)\b"
)
"""Words that ask for nothing but a pick, whatever else the question seems to ask."""
_MOST_PICKS, _BACK = 4, 2
"""Layers that are set side by side; sentences before the question in which they stand."""


def pick_among(unit: Unit, units: list[Unit], scene: Scene) -> None:
    """`I can get XPS and polyiso for the same price. Which?`: a pick among what one sentence names side by side."""
    text = " ".join(x.text.lower() for x in unit.lexemes)
    if unit.asked is None or not (
        _SURE_PICK.search(text)
        or (unit.asked.intent in ("what to use", "safe here", "which") and _PICK.search(text))
    ):
        return
    k = next(i for i, u in enumerate(units) if u is unit)
    told = [unit, *reversed(units[max(k - _BACK, 0) : k])]
    for n, u in enumerate(told):
        named = _choosable(u)
        if n and len(named) == 1 and n + 1 < len(told) and len(before := _choosable(told[n + 1])) == 1:
            # `He wants felt; I want paper.`
            named = [*before, *named]
        if any(m.alternative_to and m.direct for m in named):
            if u is unit and named:
                return
            continue
        picked = _rivals(named, scene)
        if len(picked) < 2:
            if u is unit and len(named) > 1:
                return
            continue
        for m in picked[1:]:
            m.alternative_to, m.direct = picked[0], True
        unit.asked = replace(unit.asked, intent="which", pattern="which", subject=-1)
        return


def _choosable(u: Unit) -> list[Mention]:
    """Layers of a sentence that may be picked: none that is denied, or that another only lies on."""
    targets = {id(m.target) for m in u.scene.mentions if m.target is not None}
    named = [m for m in u.scene.mentions if m.material and not m.negated and id(m) not in targets]
    put = [m for m in named if "structure" not in load_materials()[m.material].roles]
    # `Batts right on the block, foam glued on the block`: what is put on it is picked, and not the block.
    return put if len(put) > 1 else named


def _rivals(named: list[Mention], scene: Scene) -> list[Mention]:
    """The last run of layers that would take one another's place; none of a long list, and none of one material."""
    if not 1 < len(named) <= _MOST_PICKS:
        return []
    out = [named[-1]]
    for m in reversed(named[:-1]):
        if not are_rivals(m, out[0], scene) or any(m.material == o.material for o in out):
            break
        out.insert(0, m)
    return out


def settle_choice(unit: Unit, scene: Scene) -> None:
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
        if (
            pair is not None
            and pair.alternative_to is not None
            and are_rivals(pair, pair.alternative_to, scene)
        ):
            unit.asked = replace(unit.asked, intent="which", pattern="S or S")
    if (
        unit.asked is not None
        and (unit.asked.intent == "what to use" or says_nothing(unit))
        and not any(m.lexeme in unit.lexemes for m in scene.mentions)
        and any(
            m.alternative_to is not None
            and m.direct
            and not (m.negated or m.replaces)
            and are_rivals(m, m.alternative_to, scene)
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


def _clause_after_or(m: Mention, unit: Unit) -> bool:
    """`do I need poly or is paint enough`: what follows the `or` is asked for itself, and no choice."""
    before = [x for x in unit.lexemes if x.end <= m.lexeme.start]
    at = max((k for k, x in enumerate(before) if x.sort == "alternative"), default=-1)
    return at >= 0 and any(
        x.value in ("is", "are", "can", "could", "will", "would", "does", "do") for x in before[at:]
    )


_PRONOUNS = frozenset(
    ("sheet", "barrier", "membrane", "retarder", "one", "it", "that", "them", "those", "this", "either")
)


def asked_about(
    unit: Unit, mentions: list[Mention], prior: Mention | None = None
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
        if subject is None and intent == "add" and not named:
            # `The painter offers to roll elastomeric over it. Worth adding?`
            offered = [m for m in mentions if m.lexeme.end <= unit.start and not m.negated and m.material]
            subject = next((m for m in reversed(offered) if not any(o.target is m for o in offered)), None)
        if (
            subject is None
            and prior is not None
            and any(x.value in _PRONOUNS for x in unit.lexemes if x.sort in ("word", "number"))
        ):
            subject = prior
    if subject is None and intent in ("need", "leave out") and _says_it(unit):
        subject = _topic([m for m in mentions if m.lexeme.end <= unit.start])
    if subject is not None and intent in ("need", "leave out", "add"):
        subject = _pointed(subject, mentions, unit)
    if subject is None and intent in ("how much", "what to use", "cheapest"):
        subject = next(
            (m for m in mentions if m.lexeme in unit.lexemes and (m.role or (m.loose and m.loose.takes))),
            None,
        )
    return subject, options


def _pronoun(unit: Unit, mentions: list[Mention]) -> Mention | None:
    """What `one` or `it` is that is asked about itself: `is one really required`, `why isn't it in every wall`."""
    assert unit.asked is not None
    first = unit.lexemes[unit.asked.start : unit.asked.start + 3]
    if not any(x.sort == "word" and x.value in ("it", "one") for x in first):
        return None
    before = [m for m in mentions if m.lexeme.end <= first[0].start and not m.negated]
    own = [m for m in before if m.lexeme in unit.lexemes]
    return own[0] if own else next((m for m in reversed(before) if m.role is not None), None)


def _pointed_back(mentions: list[Mention], unit: Unit) -> Mention | None:
    """What `it` stands for: the last retarder, foam or sheet that somebody wants or talks of before the question; of
    `them` the last thing told in the plural."""
    before = [m for m in mentions if m.lexeme.end <= unit.start]
    if any(x.sort == "word" and x.value in ("them", "those") for x in unit.lexemes):
        many = [m for m in before if not m.negated and re.search(r"[^s]s$", m.lexeme.text) and m.material]
        if many:
            return many[-1]
    out = unit.asked is not None and unit.asked.intent == "leave out"
    if out and (topic := _topic(before)) is not None:
        return topic
    if (
        unit.asked is not None
        and unit.asked.intent == "need"
        and any(x.value in ("some", "any") for x in unit.lexemes)
    ):
        # `There is no plastic on the ground. Do I need some?`
        missing = [m for m in before if m.negated and (m.role is not None or m.material)]
        if missing:
            return missing[-1]
    before = [m for m in before if not m.negated]
    added = [m for m in before if addable(m) and not m.referred_to]
    if not added and unit.asked is not None and unit.asked.intent == "need":
        added = [m for m in before if m.role is not None] or [m for m in before if m.space]
    if not added and out:
        # `The yard is out of house wrap. Can I go without?`
        added = sorted((m for m in before if not m.referred_to), key=lambda m: m.lexeme.start)
    return added[-1] if added else None


def _says_it(unit: Unit) -> bool:
    return any(x.sort == "word" and x.text.lower() in ("it", "that", "this") for x in unit.lexemes)


def points_at_nothing(unit: Unit) -> bool:
    """Whether a question speaks of `it` and names no layer, not even by a word like `membrane`."""
    named = any(x.sort in LAYERS or x.value in ("sheet", "barrier", "membrane", "vent") for x in unit.lexemes)
    return _says_it(unit) and not named


def _topic(before: Sequence[Mention]) -> Mention | None:
    """What has been talked of last and not only listed: a layer told again (`The sand has been in our masters`), or the
    retarder, which is what people want to be rid of (`I hate the poly`)."""
    told = sorted(before, key=lambda m: m.lexeme.start)
    again = [
        m
        for k, m in enumerate(told)
        if m.referred_to and any(m.material and o.material == m.material for o in told[:k])
    ]
    retarders = [
        m for m in told if (m.role is not None and m.role.role == "vapor control") or m.material in _RETARDERS
    ]
    spoken = sorted((*again[-1:], *retarders[-1:]), key=lambda m: m.lexeme.start)
    return spoken[-1] if spoken else None


_UNCOVERED = frozenset(("bare", "exposed", "uncovered", "open", "showing", "unfinished", "visible"))
_GONE = frozenset(
    ("deleted", "dropped", "omitted", "skipped", "eliminated", "struck", "left", "removed", "scrapped", "cut", "taken", "ditched", "spared")
)  # fmt: skip
_STANDS_FOR = ("it", "them", "one", "some")
_MAY = frozenset(("can", "could", "may", "might", "should", "must", "would"))
_RETARDERS = ("polyethylene sheet", "kraft paper", "variable-permeance retarder", "slab vapor retarder")


_DONE_TO = frozenset(
    ("leave", "scrap", "skip", "drop", "omit", "delete", "lose", "add", "put", "need", "include", "use", "want", "keep", "remove", "ditch",
     "eliminate", "install", "toss", "forgo")
)  # fmt: skip


def _pointed(subject: Mention, mentions: list[Mention], unit: Unit) -> Mention:
    """`can I scrap it if the gyp gets painted`: what `it` stands for, not the next thing that is named."""
    assert unit.asked is not None
    own = unit.lexemes
    for k in range(1, len(own) - 1):
        x, before, after = own[k], own[k - 1], own[k + 1]
        if (
            x.start >= subject.lexeme.start
            or x.sort not in ("word", "number")
            or x.text.lower() not in _STANDS_FOR
        ):
            continue
        done = normal(before.text) in _DONE_TO and (
            after.sort in ("word", "break", "alternative", "relation", "side")
        )
        if after.value in _UNCOVERED:
            continue
        become = own[k + 2].value if k + 2 < len(own) else ""
        if done or (before.value in _MAY and after.value == "be" and become in _GONE):
            told = [m for m in mentions if m.lexeme.end <= x.start]
            topic = _topic(told) if unit.asked.intent == "leave out" else None
            if x.text.lower() in ("one", "some"):
                topic = next((m for m in reversed(told) if m.role is not None), None)
            named = [m for m in told if not m.negated]
            return topic or max(named, key=lambda m: m.lexeme.start, default=subject)
    return subject


_OUTWARD = ("outside of", "outside")


def one_place(mentions: Sequence[Mention]) -> None:
    """`Mineral wool or EPS outside the sheathing?`: both of them lie there, where the first is a board there as well."""
    for m in mentions:
        first = m.alternative_to
        if first is None or not m.direct or m.negated or m.replaces or first.material not in AS_BOARD:
            continue
        told = first.side or first.relation or first.r or "batt" in first.lexeme.text.lower()
        if not told and (m.relation in _OUTWARD or m.side in _OUTWARD):
            first.side = "outside"


_PLANKS = ("planks", "plank", "boards", "panels", "siding")


def point_back(mentions: list[Mention]) -> None:
    """`the foam`, `the membrane` after one was named is that one, and no further layer."""
    cedar = any(m.material == "cedar shingle" and not m.negated for m in mentions)
    for m in mentions:
        short = m.lexeme.text.lower()
        again = any(o.material == m.material and o.lexeme.text.lower() not in _PLANKS for o in mentions)
        if short in _PLANKS and m.referred_to and not again:
            # `nailed the planks through the wrap` after a siding was named.
            sided = [
                o
                for o in mentions
                if o.lexeme.start < m.lexeme.start
                and o.material
                and "cladding" in load_materials()[o.material].roles
            ]
            if sided:
                m.material, m.loose = sided[-1].material, None
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


__all__ = [
    "asked_about",
    "of_what_was_seen",
    "one_place",
    "pick_among",
    "point_back",
    "points_at_nothing",
    "proposal_of",
    "settle_choice",
]
