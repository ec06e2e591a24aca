"""What is asked where no one shape of words decides: everything that speaks for each kind of question, weighed.

Words are weighed by `data/cues.yaml`; beside them stands what the question names. A layer that only the question names, and
not the section before it, is one to be put in; one that it denies is one to be left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import cast

from reviewer.answers.intents import Asked, Fitting, Pattern, compiled, concepts_in, line_of, words_of
from reviewer.answers.lexicon import data, normal
from reviewer.answers.scan import Lexeme
from reviewer.answers.scene import Mention
from reviewer.reply import Intent

_NONE, _WIDE, _NARROW = 1.0, 1.5, 3.5
"""What a pattern of `intents.yaml` counts: none, one of the widest, another."""
_DENIED, _NEW = 4.5, 1.8
"""What it counts that the question names nothing but a layer that it denies; a layer that stands nowhere else."""
_FEW = 2
"""Layers up to which a question with one denied is about that one: with more it lists a section."""


@dataclass(frozen=True, slots=True)
class _Cue:
    intent: Intent
    weight: float
    patterns: tuple[Pattern, ...]
    unless: tuple[Pattern, ...]
    told: bool
    """Counts only where the rest of the text tells of a section."""


@cache
def _cues() -> tuple[_Cue, ...]:
    return tuple(
        _Cue(
            cast(Intent, row["intent"]),
            float(row["weight"]),
            tuple(compiled(p) for p in row["patterns"]),
            tuple(compiled(p) for p in row.get("unless", ())),
            row.get("told") == "section",
        )
        for row in data("cues.yaml")
    )


@cache
def _fitting() -> tuple[list[int], Fitting]:
    """The patterns of all cues, and the place of the cue of each."""
    of = [(place, pattern) for place, cue in enumerate(_cues()) for pattern in cue.patterns]
    return [place for place, _ in of], Fitting([pattern for _, pattern in of])


_FEARS = frozenset(
    ("will", "would", "wouldnt", "could", "might", "going", "gonna", "if", "risk", "danger", "fear", "afraid",
     "scared", "worry", "worried", "concern", "concerned", "chance", "odds", "prevent", "avoid", "stop",
     "itd", "itll", "theyd", "theyll", "hed", "id", "shouldnt", "doesnt", "dont", "wont", "cant")
)  # fmt: skip
"""Words before a symptom that is not there yet."""
_CAUSES = frozenset(("why", "what", "how", "cause", "where", "reason", "explain", "when"))
_BEING = frozenset(("is", "are", "am", "be", "does", "do", "doe", "get", "getting"))
_SAYS = frozenset(
    (
        "says",
        "say",
        "said",
        "claims",
        "claim",
        "swears",
        "swear",
        "warns",
        "warn",
        "insists",
        "insist",
        "told",
        "tells",
        "tell",
    )
)
_EVER = frozenset(("alway", "never", "every", "everything", "all"))
_REACH = 5


def feared(lexemes: Sequence[Lexeme], finding: Lexeme) -> bool:
    """Whether a symptom is feared or asked for and not told: `will it rot`, `is it rotting in there`, `any mold risk`."""
    at = next((k for k, x in enumerate(lexemes) if x is finding), 0)
    after = lexemes[at + 1].value if at + 1 < len(lexemes) else ""
    if after in ("risk", "concern", "problem", "issue", "worry", "potential", "trouble"):
        return True
    before: list[str] = []
    begins = at <= _REACH
    for x in reversed(lexemes[max(0, at - _REACH) : at]):
        if x.sort == "break":
            begins = True
            break
        before.insert(0, x.value if x.sort == "word" else normal(x.text.replace("'", "")))
    if _CAUSES.intersection(before) and "any" not in before:
        return False
    opens = {
        w for k, w in enumerate(before) if (begins and k == 0) or before[k - 1] in ("or", "and", "so", "but")
    }
    if _SAYS.intersection(before) and _EVER.intersection(before):
        # `My friend says cold sheathing always rots`: an opinion.
        return True
    return bool(_FEARS.intersection(before) or (_BEING & opens and len(before) > 1))


def weighed(
    found: Asked,
    lexemes: list[Lexeme],
    mentions: Sequence[Mention],
    told: Sequence[Mention],
    seen: bool = True,
) -> Asked:
    """The intent that most speaks for, `found` among them: `mentions` are what the question names, `told` what the rest
    of the text does; `seen`: whether the text tells of a symptom."""
    told_line, told_starts = line_of(lexemes)
    plain = (told_line, told_starts, words_of(told_line))
    concepts = concepts_in(lexemes)
    explaining = line_of(lexemes, concepts) if concepts else plain[:2]
    explained = (*explaining, words_of(explaining[0]))
    scores: dict[Intent, float] = {
        found.intent: _NONE if not found.pattern else _WIDE if wide(found) else _NARROW
    }
    subjects: dict[Intent, int] = {found.intent: found.subject}
    cues = _cues()
    of_patterns, fitting = _fitting()
    for place in sorted({of_patterns[n] for n in fitting.places(plain[2] | explained[2])}):
        cue = cues[place]
        if (cue.told and len(told) < _FEW) or (cue.intent == "what went wrong" and not seen):
            continue
        line, starts, words = explained if cue.intent == "what is" else plain
        hit = next((m for p in cue.patterns if (m := p.search(line, words))), None)
        if hit is None or any(
            p.search(line, words) for p in cue.unless for line, _, words in (plain, explained)
        ):
            continue
        scores[cue.intent] = scores.get(cue.intent, 0.0) + cue.weight
        if subjects.get(cue.intent, -1) < 0 and "s" in hit.re.groupindex and hit["s"]:
            subjects[cue.intent] = starts.index(hit.start("s"))
    layers = [m for m in mentions if m.material or m.role or m.space]
    denied = [m for m in layers if m.negated]
    if denied and len(layers) <= _FEW and found.intent in ("safe here", "add", "leave out"):
        scores["leave out"] = scores.get("leave out", 0.0) + _DENIED
        subjects.setdefault("leave out", _place(lexemes, denied[0]))
    elif (
        len(layers) == 1
        and len(told) > 1
        and not layers[0].referred_to
        and layers[0].label not in {m.label for m in told}
    ):
        doing = layers[0].lexeme.text.split()[0].endswith("ing")
        scores["add"] = scores.get("add", 0.0) + (_NEW + _DENIED if doing else _NEW)
        subjects.setdefault("add", _place(lexemes, layers[0]))
    best = max(scores, key=lambda i: (scores[i], i == found.intent))
    if best == found.intent:
        return found
    return Asked(best, subjects.get(best, -1), found.start if subjects.get(best, -1) < 0 else 0, "weighed")


def _place(lexemes: list[Lexeme], m: Mention) -> int:
    """Which lexeme a mention is; -1 for one that was read anew as part of another, over a quotation mark."""
    return next((n for n, x in enumerate(lexemes) if x == m.lexeme), -1)


def wide(found: Asked) -> bool:
    """Whether a pattern says little about what is asked."""
    return found.intent == "safe here" or not found.pattern


__all__ = ["feared", "weighed", "wide"]
