"""How well questions are read and answered, against what an expert reads and answers: figures, by half of the corpus.

The corpus is `cases/questions/`. Phrases and thresholds are tuned on the files of that folder; those in its folder `aside`,
which others wrote without having seen the reading or the tuning, are only ever counted. No question moves from one half
to the other.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read
from reviewer.answers.reading import Reading
from reviewer.library.materials import find_material, load_materials, normalize
from reviewer.model.section import Section
from reviewer.reply import Reply
from reviewer.units import UnitError, parse

QUESTIONS = Path(__file__).parents[2] / "cases" / "questions"
TUNING, ASIDE = "tuning", "kept aside"


def corpus() -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Every question with the half that it belongs to."""
    for which, folder in ((TUNING, QUESTIONS), (ASIDE, QUESTIONS / "aside")):
        for path in sorted(folder.glob("*.yaml")):
            for q in yaml.safe_load(path.read_text(encoding="utf-8")):
                yield which, q


@dataclass
class Score:
    """Counts over one half."""

    questions: int = 0
    texts: int = 0
    right: dict[str, int] = field(default_factory=dict)
    of: dict[str, int] = field(default_factory=dict)
    read_right: int = 0
    answered: int = 0
    sound: int = 0
    silent: int = 0
    silent_of: dict[str, int] = field(default_factory=dict)
    """Silent misreadings by what was misread."""
    reasons: int = 0
    with_reasons: int = 0
    status: int = 0
    wrong: list[str] = field(default_factory=list)
    """Of the tuning half only."""

    def count(self, what: str, good: bool) -> bool:
        self.of[what] = self.of.get(what, 0) + 1
        self.right[what] = self.right.get(what, 0) + good
        return good

    def __str__(self) -> str:
        parts = [f"{k} {self.right[k]}/{self.of[k]}" for k in self.of]
        return (
            f"{self.questions} questions in {self.texts} texts; read right {_share(self.read_right, self.questions)} "
            f"({', '.join(parts)}); status {_share(self.status, self.questions)}; answered {self.answered}, "
            f"direction sound {_share(self.sound, self.answered)}; an expected rule among the reasons "
            f"{_share(self.reasons, self.with_reasons)}; silent misreadings {self.silent} "
            f"({', '.join(f'{k} {n}' for k, n in sorted(self.silent_of.items()))})"
        )


def _share(n: int, of: int) -> str:
    return f"{n}/{of} = {100 * n / of:.1f} %" if of else "none"


def scores() -> dict[str, Score]:
    """The corpus read and answered."""
    found = {TUNING: Score(), ASIDE: Score()}
    desk = Desk(brief=True)
    questions = list(corpus())
    by_id = {q["id"]: q for _, q in questions}

    @cache
    def readings_of(id_: str) -> list[Reading]:
        """Each after the one that it follows up, in whichever file that stands."""
        q = by_id[id_]
        earlier = readings_of(q["after"]) if "after" in q else []
        return list(read(q["text"], before=next((r for r in reversed(earlier) if r.base is not None), None)))

    for which, q in questions:
        readings = readings_of(q["id"])
        replies = [answer(r, desk) for r in readings]
        _score(found[which], q, readings, replies, show=which == TUNING)
    return found


def _score(
    score: Score, q: Mapping[str, Any], readings: Sequence[Reading], replies: Sequence[Reply], *, show: bool
) -> None:
    expected, answers = q.get("read") or [], q.get("answer") or []
    score.texts += 1
    notes: list[str] = []
    if not expected:
        # Nothing is to be read as a question about enclosures.
        score.questions += 1
        good = all(r.status in ("referred", "not understood", "asked back") for r in replies)
        wanted = answers[0].get("status") if answers else None
        score.read_right += good
        score.status += bool(replies) and (wanted is None or replies[0].status == wanted)
        score.silent += not good
        if not good:
            score.silent_of["not about enclosures"] = score.silent_of.get("not about enclosures", 0) + 1
        if not good or (wanted and replies and replies[0].status != wanted):
            notes.append(f"wanted {wanted}, got {[r.status for r in replies]}")
    for n, e in enumerate(expected):
        score.questions += 1
        a = answers[n] if n < len(answers) else {}
        if n >= len(readings):
            score.count("intent", False)
            notes.append(f"question {n + 1} was not seen")
            continue
        r, reply = readings[n], replies[n]
        wrong = _misread(score, e, r)
        score.read_right += not wrong
        notes += wrong + _other_subject(score, e, r)
        score.status += reply.status == a.get("status", "answered")
        if reply.status != a.get("status", "answered"):
            notes.append(f"status {reply.status}, wanted {a.get('status')}")
        if reply.status == "answered":
            score.answered += 1
            silent = _silent(e, r, reply)
            score.silent += bool(silent)
            for s in silent:
                score.silent_of[s.split(":")[0]] = score.silent_of.get(s.split(":")[0], 0) + 1
            notes += [f"SILENT {s}" for s in silent]
            good = _sound(a, reply)
            score.sound += good
            if not good:
                notes.append(f"direction {reply.direction}, wanted {a}: {reply.answer}")
            if a.get("rules"):
                score.with_reasons += 1
                named = {f.rule for f in reply.reasons}
                score.reasons += bool(named & set(a["rules"]))
                if not named & set(a["rules"]):
                    notes.append(f"reasons {sorted(named)}, wanted one of {a['rules']}")
    if len(readings) > max(len(expected), 1):
        notes.append(f"{len(readings)} questions seen")
    if notes and show:
        score.wrong.append(f"{q['id']}: {q['text']}\n    " + "\n    ".join(notes))


def _either(wanted: str | list[str]) -> list[str]:
    """What two readers of the text may differ in, neither of them wrong."""
    return wanted if isinstance(wanted, list) else [wanted]


def _section(r: Reading) -> Section | None:
    """The section as described; where it is asked what kind it is, the first that it may be."""
    shown = [r.base, *(o.section for o in r.options), *(s for g in r.gaps for _, s in g.replies)]
    return next((s for s in shown if s is not None), None)


def _misread(score: Score, e: Mapping[str, Any], r: Reading) -> list[str]:
    """What was read otherwise than an expert reads it."""
    out = []
    s = _section(r)
    if not score.count("intent", r.intent in _either(e["intent"])):
        out.append(f"intent {r.intent}, wanted {e['intent']}")
    # An explanation has no section: what was read shows in the words.
    kinds = {s.kind} if s is not None else _read_as(r, "kind")
    if "kind" in e and not score.count("kind", e["kind"] in kinds):
        out.append(f"kind {sorted(kinds)}, wanted {e['kind']}")
    if ("place" in e or "zone" in e) and not score.count(
        "place", _at(e, s) if s is not None else e.get("place") in _read_as(r, "place")
    ):
        out.append(f"place {s.place if s else None}, wanted {e.get('place', e.get('zone'))}")
    if e.get("layers") or e.get("never"):
        names = [x.name for x in s.layers] if s is not None else []
        # Of what is needed or may be left out the section is shown with it and without: either is the one described.
        both = r.intent in ("leave out", "need") and len(r.options) == 2
        shown = [o.section for o in r.options] if both else [s]
        good = any(_fits(e, x, r) for x in shown)
        if not score.count("layers", good):
            out.append(f"layers {names}, wanted {e.get('layers')} without {e.get('never')}")
    return out


def _fits(e: Mapping[str, Any], s: Section | None, r: Reading) -> bool:
    """Whether a section has the layers that are told, in their order, and none that is denied."""
    names = [x.name for x in s.layers] if s is not None else []
    wanted = [w for w in e.get("layers") or () if not _beyond(w, s, r) and not _sought(w, r)]
    return _in_order(wanted, names) and not set(e.get("never") or ()) & set(names)


def _sought(wanted: str, r: Reading) -> bool:
    """Whether a layer is the one that an amount is asked of: the section under review is the one without it."""
    return r.intent == "how much" and r.subject is not None and r.subject.name == wanted


def _read_as(r: Reading, sort: str) -> set[str]:
    """What the words of a sort were read as, in the question: `basement wall` as a foundation wall."""
    return {w.reads.split(",")[0] for w in r.words if w.sort == sort}


def _other_subject(score: Score, e: Mapping[str, Any], r: Reading) -> list[str]:
    """The thing asked about, counted beside: it shows in the answer's direction."""
    names = _subjects(r)
    if not e.get("subject") or score.count(
        "subject", any(e["subject"] in n or n in e["subject"] for n in names)
    ):
        return []
    return [f"subject {names}, wanted {e['subject']}"]


def _subjects(r: Reading) -> list[str]:
    labels = [o.label for o in r.options]
    return [*([r.subject.name] if r.subject is not None else []), *labels] or ["-"]


def _at(e: Mapping[str, Any], s: Section | None) -> bool:
    if s is None or s.place is None:
        return False
    if "place" in e:
        return s.place.name == e["place"]
    return (s.place.zone or s.place.zone_override or "").removeprefix("NBC ").startswith(str(e["zone"]))


def _beyond(wanted: str, s: Section | None, r: Reading) -> bool:
    """Whether a layer was read and lies beyond the ventilated space that the section ends in, as the reply says: the deck
    over a vented attic is no part of the ceiling under review."""
    if s is None or s.layers[-1].space not in ("vented attic", "vented crawl space", "unvented crawl space"):
        return False
    return wanted in _BEYOND and any(_plain(w.reads) == _plain(wanted) for w in r.words)


_BEYOND = frozenset(
    ("plywood", "oriented strand board", "board sheathing", "asphalt felt", "asphalt shingle", "metal roofing", "slate roofing",
     "clay roof tile", "concrete roof tile", "wood roof shingle", "synthetic roof underlayment", "ice and water membrane", "concrete block")
)  # fmt: skip
_ALIKE = {"loose glass fiber on attic floor": "blown glass fiber", "reinforced concrete": "concrete"}
"""Materials that one plain word means: `blown fiberglass` in an attic, a `concrete` deck."""


def _plain(name: str) -> str:
    return _ALIKE.get(name, name)


def _in_order(wanted: Sequence[str], names: Sequence[str]) -> bool:
    rest = iter(names)
    return all(any(_plain(n) == _plain(w) for n in rest) for w in wanted)


def _silent(e: Mapping[str, Any], r: Reading, reply: Reply) -> list[str]:
    """What was answered on another reading than the text's, without a word in the reply that shows it."""
    s = _section(r)
    if s is None:
        return []
    out = []
    if "kind" in e and s.kind != e["kind"]:
        out.append(f"kind: {s.kind}")
    if "place" in e and s.place is not None and s.place.name is not None and s.place.name != e["place"]:
        out.append(f"place: {s.place.name}")
    out += [f"there though denied: {n}" for n in e.get("never") or () if n in {x.name for x in s.layers}]
    # What the question sets beside the section is shown as well: a layer that is only there is not lost.
    names = {_plain(x.name) for shown in (s, *(o.section for o in r.options)) for x in shown.layers}
    unused = {normalize(w) for text in reply.unused for w in (text, *text.split())}
    for wanted in e.get("layers") or ():
        if _plain(wanted) not in names and not (
            _told(wanted, unused) or _beyond(wanted, s, r) or _sought(wanted, r)
        ):
            out.append(f"missing layer: {wanted}")
    return out


def _told(name: str, unused: set[str]) -> bool:
    """Whether a word for a material stands among the words that were not used."""
    m = load_materials()[name] if name in load_materials() else find_material(name)
    known = {normalize(n) for n in (name, *(m.aliases if m else ()))}
    return any(u and (u in known or any(u in k.split() for k in known)) for u in unused)


def _sound(a: Mapping[str, Any], reply: Reply) -> bool:
    wanted = a.get("direction")
    if a.get("status", "answered") != "answered" and wanted is None:
        return False
    if wanted is not None and reply.direction not in _either(wanted):
        return False
    if a.get("choice"):
        return str(a["choice"]).lower() in reply.answer.lower().split(":")[0]
    if a.get("amount"):
        return _within(a["amount"], reply.answer)
    return True


_QUANTITY = re.compile(
    r"R-\d[\d.]*|\d[\d.]* m²·K/W|\d+(?:-\d+/\d+|/\d+|\.\d+)? ?(?:inches|inch|in|mm|cm|mils?|perms?|%)(?![a-z])"
)


def _within(amount: Mapping[str, str], text: str) -> bool:
    """Whether an amount in the sentence lies between the limits."""
    for dimension in ("length", "thermal resistance", "permeance", "fraction"):
        try:
            low, high = parse(str(amount["low"]), dimension).low, parse(str(amount["high"]), dimension).high
        except UnitError:
            continue
        for m in _QUANTITY.finditer(text):
            try:
                value = parse(m[0].replace("inches", "in").replace("inch", "in"), dimension).low
            except UnitError:
                continue
            if low - 1e-9 <= value <= high + 1e-9:
                return True
        return False
    return False
