"""A new rule from a few answers: its YAML, with examples on either side of everything it asks."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reviewer.errors import InputError, Mark, Problem
from reviewer.facts.vocabulary import KINDS
from reviewer.rules.language import Rule
from reviewer.rules.load import read_topic
from reviewer.rules.ruleset import Ruleset
from reviewer.rules.witness import Case, cases_for

COMMON = "common practice"
_HEAD = re.compile(r"\s*(?:not\s+)?([a-z_]+)(?:\s+[A-Za-z_][A-Za-z0-9_-]*)?\s*")
_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ./%°²³·()+'-]*")
_SLUG = re.compile(r"[^a-z0-9]+")


@dataclass(frozen=True, slots=True)
class Draft:
    """The answers."""

    id: str
    title: str
    when: tuple[str, ...]
    """Conditions as `KIND ALIAS: FIELD TEST, FIELD TEST`: `layer inner: permeance_wet <= 1 perm`."""
    severity: str
    reason: str
    says: str
    explanation: str
    do: tuple[str, ...] = ()
    cites: tuple[str, ...] = (COMMON,)
    """`common practice`, or `document; edition; clause`, then perhaps `; kind; certainty`."""
    confidence: str = "medium"
    voice: str = "rule of thumb"
    topic: str = "Own rules"

    @property
    def pack(self) -> str:
        return self.id.partition("/")[0]

    @property
    def file_name(self) -> str:
        return (_SLUG.sub("-", self.topic.casefold()).strip("-") or "rules") + ".yaml"


def condition_as_yaml(text: str) -> str:
    """A condition of an answer as the ruleset language writes it. A field may go by its meaning.

    >>> condition_as_yaml("layer inner: permeance when damp <= 1 perm, index > outer.index")
    'layer inner: {permeance_wet: "<= 1 perm", index: "> outer.index"}'
    >>> condition_as_yaml("not layer: ventilated")
    'not layer: {ventilated: yes}'

    Raises InputError.
    """
    head, colon, rest = text.partition(":")
    m = _HEAD.fullmatch(head)
    if m is None or not colon:
        at = Mark("condition", 1, 1, max(len(head), 1), text)
        raise InputError(
            Problem("this is not a condition", at, '"KIND ALIAS: FIELD TEST", with a comma between tests')
        )
    fields = KINDS[m[1]].fields if m[1] in KINDS else {}
    names = {name: name for name in fields} | {f.meaning: name for name, f in fields.items()}
    tests: list[str] = []
    for part in rest.split(",") if rest.strip() else ():
        test = part.strip()
        known = [
            n for n in sorted(names, key=len, reverse=True) if re.match(rf"{re.escape(n)}(?![\w-])", test)
        ]
        name = known[0] if known else test.split(" ")[0]
        value = test[len(name) :].strip().removeprefix(":").strip() or "yes"
        tests.append(f"{names.get(name, name)}: {scalar(value)}")
    return f"{' '.join(head.split())}: {{{', '.join(tests)}}}"


def scalar(text: str) -> str:
    """A text as a YAML scalar, in quotes unless it is harmless without.

    >>> scalar("1 perm"), scalar("<= 1 perm"), scalar("a: b")
    ('1 perm', '"<= 1 perm"', '"a: b"')
    """
    return text if _PLAIN.fullmatch(text) and text == text.strip() else json.dumps(text, ensure_ascii=False)


def compose(draft: Draft, examples: Iterable[Case] = (), indent: int = 2) -> str:
    """The rule as an item of `rules:`."""
    lines = [f"id: {scalar(draft.id)}", f"title: {scalar(draft.title)}"]
    if draft.when:
        lines.append("when:")
        lines += [f"  - {condition_as_yaml(text)}" for text in draft.when]
    lines += [
        "finding:",
        f"  severity: {scalar(draft.severity)}",
        f"  reason: {scalar(draft.reason)}",
        f"  confidence: {scalar(draft.confidence)}",
        f"  voice: {scalar(draft.voice)}",
    ]
    layers = _layer_aliases(draft)
    if layers:
        lines.append(f"  layers: [{', '.join(layers)}]")
    lines += [f"  says: {scalar(draft.says)}", f"  explanation: {scalar(draft.explanation)}"]
    if draft.do:
        lines.append("  do:")
        lines += [f"    - text: {scalar(text)}" for text in draft.do]
    lines.append("cites:")
    lines += [f"  - {_citation(text)}" for text in draft.cites]
    shown = [line for case in examples for line in _example(case)]
    if shown:
        lines += ["examples:", *shown]
    pad = " " * indent
    return "".join(f"{pad}{'- ' if n == 0 else '  '}{line}\n" for n, line in enumerate(lines))


def _layer_aliases(draft: Draft) -> list[str]:
    heads = [text.partition(":")[0].split() for text in draft.when]
    bare = [h for h in heads if h == ["layer"]]
    named = [h[-1] for h in heads if h[0] == "layer" and (len(h) == 2 or len(bare) == 1)]
    return list(dict.fromkeys(named))


def _citation(text: str) -> str:
    if text.strip() == COMMON:
        return COMMON
    given = [part.strip() for part in text.split(";")]
    names = ("document", "edition", "clause", "kind", "certainty")
    found = dict(zip(names, given, strict=False)) | {
        "kind": given[3] if len(given) > 3 else "code",
        "certainty": given[4] if len(given) > 4 else "memory",
    }
    return (
        "{"
        + ", ".join(f"{name}: {json.dumps(v, ensure_ascii=False)}" for name, v in found.items() if v)
        + "}"
    )


def _example(case: Case) -> list[str]:
    lines = [f"  - {'fires' if case.fires else 'silent'}: {scalar(case.name)}", "    facts:"]
    for kind, fields in case.facts:
        inside = ", ".join(f"{name}: {scalar(value)}" for name, value in fields.items())
        lines.append(f"      - {kind}: {{{inside}}}")
    return lines


def header(draft: Draft) -> str:
    """The start of a ruleset file."""
    about = f"Rules of our own: {draft.topic}."
    return f"pack: {scalar(draft.pack)}\ntopic: {scalar(draft.topic)}\nabout: {scalar(about)}\nrules:\n"


def read_draft(draft: Draft, examples: Iterable[Case] = ()) -> Rule:
    """The draft as a rule, with some examples.

    Raises InputError: an answer is not what it should be.
    """
    _, rules = read_topic(header(draft) + compose(draft, examples), "new rule")
    return rules[0]


def examples_for(draft: Draft, ruleset: Ruleset) -> list[Case]:
    """Cases on which the drafted rule fires and cases on which it is just silent.

    `ruleset` holds the rules that draw the conclusions the draft asks for. Empty when no facts were
    found on which it fires.

    Raises InputError: an answer is not what it should be.
    """
    return cases_for(read_draft(draft), ruleset)


def added_to(text: str, draft: Draft, examples: Sequence[Case], file: str) -> str:
    """A ruleset file with the rule at its end.

    Raises InputError: the file can't be read, is of another pack, or no rule can be added at its end.
    """
    topic, before = read_topic(text, file)
    if topic.pack != draft.pack:
        raise InputError(
            Problem(f'"{file}" belongs to the pack "{topic.pack}"', None, f'a file of "{draft.pack}"')
        )
    first = re.search(r"^( *)- ", text, re.MULTILINE)
    indent = len(first[1]) if first else 2
    whole = text.rstrip("\n") + "\n\n" + compose(draft, examples, indent)
    try:
        _, after = read_topic(whole, file)
    except InputError:
        after = []
    if [r.id for r in after] != [*(r.id for r in before), draft.id]:
        raise InputError(
            Problem(f'no rule can be added at the end of "{file}"', None, "a file that ends with its rules")
        )
    return whole


def vocabulary(kind: str | None = None) -> str:
    """What rules may ask: the kinds of facts; or the fields of one, with their meaning and words.

    Raises InputError: no such kind.
    """
    from reviewer.errors import nearest

    if kind is None:
        size = max(map(len, KINDS))
        lines = [f"{name:<{size}}  {kind_.meaning}" for name, kind_ in KINDS.items()]
        return "\n".join(lines) + "\n"
    if kind not in KINDS:
        raise InputError(
            Problem(
                f'there is no kind of fact "{kind}"', None, "one of " + ", ".join(KINDS), nearest(kind, KINDS)
            )
        )
    fields = KINDS[kind].fields
    size = max(map(len, fields))
    lines = []
    for name, field in fields.items():
        values = " | ".join(field.words) if field.words else field.dimension
        lines.append(f"{name:<{size}}  {field.meaning} ({values})")
    return "\n".join(lines) + "\n"
