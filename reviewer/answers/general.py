"""Questions of general knowledge: nobody's wall, nowhere, and a thing or a mechanism to be explained.

`Does house wrap stop vapor?` and `at what humidity does mold grow` describe no section and tell no place; there is nothing
to review, and nothing to ask back.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from reviewer.answers.intents import Asked, concepts_in
from reviewer.answers.lexicon import lexicon
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Scene

_OWN = frozenset(
    ("my", "our", "ours", "mine", "we", "i", "us", "me", "his", "her", "their", "client", "owner", "here", "customer",
     "basement", "addition", "cabin", "kitchen", "bathroom", "inspector", "contractor", "installer", "husband", "wife")
)  # fmt: skip
"""Words of somebody's own building."""
_ASKING = re.compile(
    r"\A(?:(?:so|ok|and|also|but|hi|hey|hello|well|quick|question|please|just|curious|wondering|[,:-]) )*"
    r"(?:what|whats|which|how|hows|why|when|at what|is|are|does|do|can|could|will|would|explain|define|tell)\b"
)
_KNOWING = re.compile(
    r"\b(?:stop|stops|pass|passes|let|lets|block|blocks|count|counts|considered|classed|qualify|qualifies|called|measured|mean|means|meant|purpose|point of|move|moves|"
    r"go|goes|get through|gets through|worse|better|faster|slower|tighter|stronger|more|less|happen|happens|grow|grows|form|forms|causes|cause|matter|matters|work|works|"
    r"differ|differs|difference|same|rot|rots|start|starts|dry|dries|breathe|breathes|cold weather|in the cold|vapor open|vapour open|permeable|waterproof|airtight|value|rating|"
    r"per inch|used for|for what|good for|true that|is that|what is|whats)\b"
)
_MEANING = re.compile(
    r"\b(?:what is (?:it|that|this)|what s (?:it|that|this)|whats (?:it|that|this)|meaning|what does (?:it|that|this) mean)$"
    r"|\b(?:purpose|point|function|idea|job) of\b|\ba (?:vapor|vapour) (?:barrier|retarder) or\b"
    r"|\bwhat (?:a |an |the |this |these |those )?(?:[\w'’-]+ ){1,4}?(?:is|are|means?|stands? for)\b(?! (?:best|better|needed|required|ok|safe|cheapest|right|good))"
    r"|\b(?:explain|describe|define)\b|\bwhat (?:does|do|did) (?:[\w'’-]+ ){1,3}(?:measure|mean|stand for)\b"
    r"|\b(?:perm|perms|permeance|r value|r-value)s? (?:rating|ratings|value|values)?\s?(?:of|for)\b|\bof what$|\bin plain english\b"
)
_THAT = re.compile(
    r"\A(?:so |and |but |ok |well )?(?:what is|what s|whats|what's|what was) (?:it|that|this|that thing)\Z"
)
"""Asks for what was named just before."""
_DOING = re.compile(
    r"\b(?:should|shall|may|need|needs|required|must|use|put|install|add|skip|omit|leave|allowed|permit|permitted|over|under|behind|outside|inside|between|against)\b"
)
"""Words of a thing to be done, or of a place in a section."""
_FINDINGS = {
    "mold": "mold",
    "rot": "rot",
    "condensation": "condensation",
    "ice dam": "ice-dam",
    "frost": "night-sky",
}
_MOST_LAYERS = 2


def general(
    asked: Asked, lexemes: list[Lexeme], scenes: Sequence[Scene], around: Sequence[Lexeme] = ()
) -> Asked:
    """The question as one for an explanation, where it is of general knowledge; else as it was read. `around` is the rest of
    the text, which may name what is meant."""
    seen = any(s.findings for s in scenes)
    if (
        not seen
        and asked.intent in ("what is", "safe here")
        and not asked.concept
        and _THAT.search(_said(lexemes))
    ):
        named = [id_ for _, _, id_ in concepts_in(list(around))] or [
            lexicon().explained_by[x.value] for x in around if x.value in lexicon().explained_by
        ]
        return Asked("what is", -1, 0, "general", named[-1]) if named else asked
    if asked.intent not in ("safe here", "which", "what went wrong", "what to use", "need"):
        return asked
    text = _said(lexemes)
    told = [m for s in scenes for m in s.mentions if m.material or m.space]
    described = any(
        s.setting.place or s.setting.zone or s.choices or s.framed or s.cavity_r or s.outside_r or s.existing
        or s.setting.building
        for s in scenes
    )  # fmt: skip
    own = bool(_OWN & set(re.findall(r"[a-z]+", text)))
    needed = asked.intent == "need" and any(s.setting.kind for s in scenes)
    if (
        described
        or needed
        or len(told) > _MOST_LAYERS
        or (own and (seen or len(told) > 1 or not _MEANING.search(text)))
    ):
        return asked
    knowing = _ASKING.search(text) is not None and _KNOWING.search(text) is not None
    if not (knowing and not _DOING.search(text)) and not _MEANING.search(text):
        return asked
    found = [id_ for _, _, id_ in concepts_in(lexemes)] or [id_ for _, _, id_ in concepts_in(list(around))]
    materials = [m.material for m in told if m.material]
    shown = [_FINDINGS[x.value] for s in scenes for x in s.findings if x.value in _FINDINGS]
    explained = [lexicon().explained_by[m] for m in materials if m in lexicon().explained_by]
    concept = next(iter((*found, *explained, *shown)), "")
    if not concept and not materials and not any(s.quality for s in scenes):
        return asked
    return Asked("what is", -1, 0, "general", "" if materials and not found else concept)


def _said(lexemes: Sequence[Lexeme]) -> str:
    return " ".join(x.text.lower() for x in lexemes if x.sort != "break")


__all__ = ["general"]
