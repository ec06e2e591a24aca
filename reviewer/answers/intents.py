"""What a question asks, by the shape of its words."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import cast

from reviewer.answers.lexicon import data, lexicon, normal
from reviewer.answers.scan import Lexeme
from reviewer.library.materials import normalize
from reviewer.reply import Intent

_TAGS = {"material": "M", "loose": "M", "space": "M", "role": "V", "place": "P", "kind": "K", "finding": "F",
         "property": "Y", "concept": "C", "unknown": "U", "R": "Q", "R ci": "Q", "R plus": "Q", "length": "Q",
         "permeance": "Q", "size": "Q", "spacing": "Q", "share": "Q", "humidity": "Q", "R per inch": "Q", "steel": "M",
         "temperature": "Q", "number": "N", "break": ",", "year": "N", "code": "N"}  # fmt: skip
_CLASSES = {"S": "[MVU]", "X": "[MVCDYUF]"}
_PUT = (
    "put|putting|push|pushing|use|using|install|installing|spray|spraying|blow|blowing|apply|applying|place|placing|stick|sticking|staple|stapling|wrap|wrapping|"
    "glue|gluing|fill|filling|insulate|insulating|pack|packing|cover|covering|lay|laying|paint|painting|stuff|stuffing|build|building|"
    "finish|finishing|hang|hanging|run|running|roll|rolling|line|lining|tape|taping|nail|nailing|screw|screwing|attach|attaching|throw|throwing|"
    "tack|tacking|slap|slapping|pour|pouring|strap|strapping|fur|furring|retrofit|retrofitting|inject|injecting|dense"
)
_OFTEN = {
    "@put": _PUT,
    "@say": "say|says|said|saying|think|thinks|thought|tell|tells|told|telling|claim|claims|swear|swears|figure|figures|reckon|reckons|insist|insists",
    "@official": "inspector|code|official|department|reviewer|examiner|engineer|architect|comment|city|town|county|checklist|plan|spec|specs|manual|standard|permit|manufacturer|maker|"
    "instruction|instructions|insurer|insurance|lender|appraiser",
    "@actor": "hubby|guy|guys|man|woman|lady|fella|fellow|contractor|roofer|salesman|saleswoman|rep|inspector|neighbor|husband|wife|son|daughter|cousin|brother|sister|uncle|aunt|"
    "father|mother|dad|mom|nephew|niece|friend|buddy|crew|outfit|company|firm|store|shop|clerk|architect|engineer|designer|builder|sub|gc|painter|drywaller|framer|"
    "mason|owner|utility|insulator|installer|handyman|carpenter|consultant|dealer|supplier|somebody|someone|they|everybody|everyone|he|she|people|plan|drawing|drawings|detail",
    "@mean": "want|wants|wanna|wanted|wish|like|plan|plans|planning|planned|propose|proposes|proposed|proposing|intend|intends|going|gonna|will|would|hope|hoping|"
    "consider|considering|think|thinking|tempted|offer|offers|offered|offering|suggest|suggests|suggested|suggesting|recommend|recommends|recommended|insist|insists|"
    "say|says|said|tell|tells|told|telling|advise|advises|advised|push|pushes|pushing|pitch|pitching|quote|quoted|bid|idea|about|keen|eager|after|talking|talked|ask|asks|asked|"
    "upsold|sold|selling|theyd|hed|wed|id|theyll|floated|floats",
}  # fmt: skip
"""Words that many patterns share."""
_FEW, _MANY = 4, 14


@dataclass(frozen=True, slots=True)
class Asked:
    """An intent found in a run of lexemes; `subject` is the index of what it is about, or -1."""

    intent: Intent
    subject: int
    start: int
    """Index of the lexeme with which the pattern begins."""
    pattern: str
    concept: str = ""
    """Id of the explanation that is asked for."""


def concepts_in(lexemes: list[Lexeme]) -> list[tuple[int, int, str]]:
    """Runs of lexemes that name something explained, the longest first: from, to, and its id."""
    words = lexicon()
    said = [normal(x.text.replace("'", "")) for x in lexemes]
    said = [text if x.sort in LAYERS else _named(text) for x, text in zip(lexemes, said, strict=True)]
    found: list[tuple[int, int, str]] = []
    i = 0
    while i < len(lexemes):
        most = words.longest_concept.get(said[i].partition(" ")[0], 0)
        for size in range(min(most, len(lexemes) - i), 0, -1):
            run = said[i : i + size]
            if lexemes[i + size - 1].sort == "break" or any(x.sort == "break" for x in lexemes[i : i + size]):
                continue
            id_ = words.concepts.get(" ".join(filter(None, run)))
            if id_ is not None:
                found.append((i, i + size, id_))
                i += size - 1
                break
        i += 1
    return found


def _named(text: str) -> str:
    """The name of a concept that one lexeme ends with: `conditioned crawl space`."""
    names = lexicon().concepts
    words = text.split()
    return (
        text
        if text in names
        else next((n for k in range(1, len(words)) if (n := " ".join(words[k:])) in names), text)
    )


@dataclass(frozen=True, slots=True)
class Pattern:
    """A pattern of the data files."""

    source: str
    """As a regular expression."""
    needed: tuple[frozenset[str], ...]
    """For each word that may not be missing, what it may be: most lines lack one, which is told faster."""

    def search(self, line: str, words: frozenset[str]) -> re.Match[str] | None:
        """Where it fits a line made of these words."""
        if any(map(words.isdisjoint, self.needed)):
            return None
        return _expression(self.source).search(line)


@cache
def _expression(source: str) -> re.Pattern[str]:
    """Compiled when a line first holds the words that it needs: most are never asked for."""
    return re.compile(source)


PUT = frozenset(_PUT.split("|"))
"""Verbs for putting something in."""


def words_of(line: str) -> frozenset[str]:
    """The words of a line, as patterns want them."""
    return frozenset(line.split())


@cache
def patterns() -> tuple[tuple[Intent, str, Pattern], ...]:
    """Every pattern of the data file, in its order."""
    return tuple(
        (cast(Intent, row["intent"]), text, compiled(text))
        for row in data("intents.yaml")
        for text in row["patterns"]
    )


class Fitting:
    """Patterns by words, to find those that a line may fit without trying all."""

    def __init__(self, patterns: Sequence[Pattern]) -> None:
        wanted = Counter(w for pattern in patterns for anyone in pattern.needed for w in anyone)
        self.always: list[int] = []
        self.by_word: dict[str, list[int]] = {}
        for place, pattern in enumerate(patterns):
            rarest = min(pattern.needed, key=lambda anyone: sum(wanted[w] for w in anyone), default=None)
            if rarest is None:
                self.always.append(place)
            for word in rarest or ():
                self.by_word.setdefault(word, []).append(place)

    def places(self, words: frozenset[str]) -> list[int]:
        """The places of those that a line of these words may fit, in order."""
        found = {place for word in words if word in self.by_word for place in self.by_word[word]}
        return sorted(found.union(self.always))


@cache
def _fitting() -> Fitting:
    return Fitting([pattern for _, _, pattern in patterns()])


def compiled(text: str) -> Pattern:
    """A pattern in the notation of `intents.yaml`."""
    parts: list[str] = []
    needed: list[frozenset[str]] = []
    for word in text.split():
        if word == "^":
            parts.append(r"\A")
        elif word == "$":
            parts.append(r"\Z")
        elif word in ("..", "..."):
            parts.append(rf"(?:\S+ ){{0,{_FEW if word == '..' else _MANY}}}?")
        else:
            subject = word.endswith("*")
            optional = word.endswith("?") and len(word) > 1
            names = [n for w in word.rstrip("*?").split("|") for n in _OFTEN.get(w, w).split("|")]
            plain = [n if n.isupper() else normalize(n) or n for n in names]
            body = "|".join(_CLASSES.get(n, re.escape(n)) for n in plain)
            part = rf"(?P<s>(?:{body}) )" if subject else rf"(?:(?:{body}) )"
            parts.append(part + ("?" if optional else ""))
            if not optional:
                needed.append(
                    frozenset(
                        w
                        for n in plain
                        for w in (_CLASSES[n].strip("[]") if n in _CLASSES else (n.split(" ")[0],))
                    )
                )
    return Pattern(r"(?:(?<=\s)|\A)" + "".join(parts), tuple(needed))


PRONOUNS = frozenset(("sheet", "barrier", "membrane", "it", "that", "them", "those", "one", "this"))


def line_of(
    lexemes: list[Lexeme], concepts: list[tuple[int, int, str]] | None = None, pronouns: bool = False
) -> tuple[str, list[int]]:
    """Lexemes as the line that patterns are matched against, and for each the place where it starts; with
    `concepts`, their runs are one word each."""
    out: list[str] = []
    starts: list[int] = []
    at = 0
    begins = {i: (j, id_) for i, j, id_ in concepts or ()}
    inside = {k for i, j, _ in concepts or () for k in range(i + 1, j)}
    for n, x in enumerate(lexemes):
        starts.append(at if n not in inside else -1)
        if n in inside:
            continue
        tag = _TAGS.get(x.sort)
        if pronouns and x.sort in ("word", "part", "other") and x.value in PRONOUNS:
            tag = "M"
        if n in begins:
            tag = "D" if begins[n][1] in lexicon().things else "C"
        elif x.sort == "condition" and any(e.sort == "finding" for e in x.others):
            tag = "F"
        if x.sort == "negation" and "/" in x.text:
            tag = "without"
        piece = (
            tag
            if tag is not None
            else (x.value if x.sort == "word" else normal(x.text.replace("'", "")) or ",")
        ) + " "
        out.append(piece)
        at += len(piece)
    line = "".join(out)
    if "to know " in line:
        # `I need to know if` asks nothing by itself.
        line = re.sub(
            r"(?:need|want|like|love|wanna) to know ", lambda m: "," + " " * (len(m[0]) - 2) + " ", line
        )
    return line, starts


def asked(lexemes: list[Lexeme], but: frozenset[str] = frozenset(), pronouns: bool = False) -> Asked | None:
    """The intent of a run of lexemes, other than those in `but`; None where nothing in it asks. With `pronouns`, `it`
    and `that` stand for a layer that was named before."""
    line, starts = line_of(lexemes, pronouns=pronouns)
    if not line.strip():
        return None
    concepts = concepts_in(lexemes)
    told, places = line_of(lexemes, concepts) if concepts else (line, starts)
    said, said_of = words_of(line), words_of(told)
    for place in _fitting().places(said | said_of):
        intent, text, pattern = patterns()[place]
        if intent in but:
            continue
        explains = intent == "what is" and bool(concepts)
        m = pattern.search(told, said_of) if explains else pattern.search(line, said)
        if m is None and explains:
            explains = False
            m = pattern.search(line, said)
        at = places if explains else starts
        if m is None and intent == "why not always" and concepts:
            m, at = pattern.search(told, said_of), places
        if m is None:
            continue
        subject = -1
        if "s" in m.re.groupindex and m["s"]:
            subject = at.index(m.start("s"))
            last = next((i for i, s in enumerate(at) if s >= m.end()), len(lexemes))
            subject = meant(intent, text, lexemes, subject, last)
        first = next((i for i, s in enumerate(at) if s >= m.start()), 0)
        concept = next((id_ for i, _, id_ in concepts if i == subject), "") if explains else ""
        return Asked(intent, subject, first, text, concept)
    return None


_BEFORE_MORE = re.compile(r"S\* \.\.\.? \w")
LAYERS = frozenset(("material", "loose", "role", "space"))


def meant(intent: Intent, text: str, lexemes: list[Lexeme], subject: int, last: int) -> int:
    """Of several layers before a word such as `needed`, the nearest to it: `cellulose means no barrier is needed`; but
    not one that only says where (`poly behind the drywall`). Of an amount, the first layer after it."""
    if intent == "need" and (instance := _instance(lexemes, subject)) >= 0:
        return instance
    if (filled := _with(lexemes, subject)) >= 0:
        return filled
    if intent == "need" and any(x.value in _ASIDE for x in lexemes[max(subject - _FEW, 0) : subject]):
        begins = max((k + 1 for k, x in enumerate(lexemes[:subject]) if x.sort == "break"), default=0)
        subject = next((k for k in range(begins, subject) if lexemes[k].sort in LAYERS), subject)
    if intent in ("need", "leave out") and _BEFORE_MORE.search(text):
        for i in range(last - 1, subject, -1):
            if lexemes[i].sort in LAYERS:
                between = lexemes[subject + 1 : i]
                return (
                    subject
                    if any(
                        x.sort in ("relation", "side", "alternative") or x.value in _ASIDE for x in between
                    )
                    else i
                )
    if intent == "how much":
        amount = next((i for i, x in enumerate(lexemes) if x.value in _AMOUNTS or x.sort == "property"), -1)
        after = next(
            (i for i in range(amount + 1, min(amount + 4, len(lexemes))) if lexemes[i].sort in LAYERS), -1
        )
        between = lexemes[amount + 1 : after]
        if 0 <= amount < after < subject and not any(
            x.sort in ("relation", "side", "break") for x in between
        ):
            return after
    return subject


def _instance(lexemes: list[Lexeme], subject: int) -> int:
    """`anything besides the paint, like poly`: where the thing stands that is asked for, or -1."""
    before = {x.value for x in lexemes[max(subject - 3, 0) : subject]}
    if not before & {"besides", "beyond", "than", "over", "except"}:
        return -1
    like = next(
        (k for k in range(subject + 1, len(lexemes)) if lexemes[k].value in ("like", "such")), len(lexemes)
    )
    return next((k for k in range(like, min(like + _FEW, len(lexemes))) if lexemes[k].sort in LAYERS), -1)


_COVERS = frozenset(
    (
        "cover",
        "covering",
        "fill",
        "filling",
        "line",
        "lining",
        "coat",
        "coating",
        "face",
        "pack",
        "packing",
        "treat",
        "insulate",
        "wrap",
    )
)


def _with(lexemes: list[Lexeme], subject: int) -> int:
    """`cover the soil with poly`: where the thing stands that something is covered with, or -1."""
    if not any(x.value in _COVERS for x in lexemes[max(subject - 3, 0) : subject]):
        return -1
    after = lexemes[subject + 1 : subject + 1 + _FEW]
    at = next((k for k, x in enumerate(after) if x.value == "with"), -1)
    found = (subject + 1 + k for k in range(at + 1, len(after)) if after[k].sort in LAYERS)
    return next(found, -1) if at >= 0 else -1


_ASIDE = frozenset(("before", "after", "when", "until", "once", "like", "because"))
"""Words after which a layer only says when or where."""
_AMOUNTS = frozenset(("thickness", "thick", "much", "many", "depth", "deep", "amount", "inch", "mm", "r"))
