"""Pages of the rulebook, made from the rules themselves: Markdown, plain text or HTML."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from reviewer.citations import Citation
from reviewer.document import one_of
from reviewer.errors import InputError, Problem, nearest
from reviewer.facts.vocabulary import KINDS
from reviewer.rules.evaluate import fact_label
from reviewer.rules.language import SINGLE, Example, Remedy, Rule
from reviewer.rules.ruleset import Ruleset
from reviewer.rules.template import Slot, Template, show_value
from reviewer.rules.words import condition_in_words, value_test_in_words

Form = Literal["markdown", "text", "html"]
FORMS: tuple[Form, ...] = ("markdown", "text", "html")
WIDTH = 80

HEADINGS = (
    "Applies to",
    "Conditions",
    "What happens",
    "Severity",
    "Sources",
    "What to do",
    "Beside other rules",
    "Examples",
)
"""The sections of a page, in order; "What happens" is "Concludes" for a rule without a finding."""


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of a page. `items` are the points of a list, each with points below it."""

    kind: Literal["title", "heading", "text", "points"]
    text: str = ""
    items: tuple[tuple[str, tuple[str, ...]], ...] = ()
    level: int = 0
    """How many headings stand above those of this page."""
    anchor: str = ""
    """The rule that a title is of, in a whole book."""


def rule_page(rule: Rule, ruleset: Ruleset, form: Form = "text") -> str:
    """The page of one rule of a ruleset."""
    return _RENDER[form](list(_blocks(rule, ruleset)))


def rulebook_index(ruleset: Ruleset, pack: str | None = None, form: Form = "text") -> str:
    """All rules by pack and topic: id, severity, title.

    Raises InputError: no such pack.
    """
    return _RENDER[form](list(_index(ruleset, pack)))


def _index(ruleset: Ruleset, pack: str | None, level: int = 0) -> Iterator[Block]:
    packs = list(dict.fromkeys(topic.pack for topic in ruleset.topics))
    if pack is not None and pack not in packs:
        raise InputError(Problem(f'there is no pack "{pack}"', None, one_of(packs), nearest(pack, packs)))
    shown = [topic for topic in ruleset.topics if pack in (None, topic.pack)]
    count = sum(len(topic.rules) for topic in shown)
    several = _count(len({t.pack for t in shown}), "pack")
    yield Block("title", f"{_count(count, 'rule')} in {several}", level=level)
    for topic in shown:
        yield Block("heading", f"{topic.pack}: {topic.topic}", level=level)
        yield Block("text", topic.about)
        points = []
        for rule_id in topic.rules:
            rule = ruleset.rules[rule_id]
            points.append((f"{rule.severity or 'concludes'}  {rule_id}  {rule.title}", ()))
        yield Block("points", items=tuple(points))


BOOK_TITLE = "The rulebook"
CONTENT = "content"
"""Where the text of an HTML page begins."""


def rulebook(ruleset: Ruleset, form: Form = "text", pack: str | None = None) -> str:
    """The whole book: the index, then the page of every rule, with links between them.

    Raises InputError: no such pack.
    """
    shown = [topic for topic in ruleset.topics if pack in (None, topic.pack)]
    blocks = [Block("title", BOOK_TITLE), *_index(ruleset, pack, level=1)]
    for topic in shown:
        blocks.append(Block("title", f"{topic.pack}: {topic.topic}", level=1))
        blocks.append(Block("text", topic.about))
        for rule_id in topic.rules:
            blocks += [
                replace(b, level=2, anchor=rule_id if b.kind == "title" else "")
                for b in _blocks(ruleset.rules[rule_id], ruleset)
            ]
    if form == "text":
        return _text(blocks)
    ids = frozenset(rule for topic in shown for rule in topic.rules)
    if form == "markdown":
        return _markdown(blocks, ids)
    return _html(blocks, ids)


def _blocks(rule: Rule, ruleset: Ruleset) -> Iterator[Block]:
    part = rule.finding
    yield Block("title", rule.title)
    yield Block("text", f"{rule.id} — {rule.topic}")

    yield Block("heading", "Applies to")
    if rule.applies and rule.applies.tests:
        tests = [value_test_in_words("section", test) for test in rule.applies.tests]
        yield Block("points", items=tuple((_capital(t), ()) for t in tests))
    else:
        yield Block("text", "Every section.")

    yield Block("heading", "Conditions")
    points: list[tuple[str, tuple[str, ...]]] = [(_capital(condition_in_words(c)), ()) for c in rule.when]
    if rule.any:
        ways = tuple("; and ".join(condition_in_words(c) for c in branch) for branch in rule.any)
        points.append(("One of these holds", ways))
    yield Block("points", items=tuple(points)) if points else Block("text", "None beside the section's.")

    if part:
        yield Block("heading", "What happens")
        yield Block("text", _shown(part.says, rule))
        for paragraph in re.split(r"\n\s*\n", _shown(part.explanation, rule)):
            yield Block("text", " ".join(paragraph.split()))
        if part.margin:
            yield Block("text", f"Margin: {_shown(part.margin, rule)}")
        yield Block("heading", "Severity")
        hazard = ", a hazard to people" if part.hazard else ""
        yield Block("text", f"{_capital(part.severity)}{hazard}. {part.reason}")
        yield Block("text", f"Confidence: {part.confidence}. Speaks as: {part.voice}.")
    elif rule.conclusion:
        yield Block("heading", "Concludes")
        copied = "".join(f", {name}: that of “{ref.alias}”" for name, ref in rule.conclusion.fields)
        yield Block("text", f"“{rule.conclusion.fact}”{copied}. Other rules build on it.")

    yield Block("heading", "Sources")
    yield _points([_source(c) for c in rule.cites], "None given.")

    if part:
        yield Block("heading", "What to do")
        yield _points([_remedy(r, rule) for r in part.remedies], "Nothing: it is said for information.")

    yield Block("heading", "Beside other rules")
    yield _points(list(_beside(rule, ruleset)), "It stands alone.")

    yield Block("heading", "Examples")
    points = [_example(example) for example in rule.examples]
    yield Block("points", items=tuple(points)) if points else Block("text", "None.")


def _points(items: Sequence[str], otherwise: str) -> Block:
    return Block("points", items=tuple((item, ()) for item in items)) if items else Block("text", otherwise)


def _shown(template: Template, rule: Rule) -> str:
    """A template for people: `[permeance when damp of inner]` where a value comes in."""
    kinds = {c.alias: c.kind for c in rule.conditions() if c.alias and not c.negated}
    kinds |= {kind: kind for kind in SINGLE}
    out: list[str] = []
    for part in template.parts:
        if isinstance(part, Slot):
            kind = kinds.get(part.alias, "")
            meaning = KINDS[kind].fields[part.field].meaning if kind in KINDS else part.field
            if (kind, part.field) == ("layer", "name"):
                out.append(f"[{part.alias}]")
            elif part.alias in SINGLE:
                out.append(f"[{meaning}]")
            else:
                out.append(f"[{meaning} of {part.alias}]")
        else:
            out.append(part)
    return "".join(out)


def _source(citation: Citation) -> str:
    """A source with how sure we are of it."""
    certain = {
        "seen": "read in the source",
        "secondhand": "read in a restatement",
        "memory": "",
        "derived": "derived from published equations",
        "range": "a typical range of the trade",
    }.get(citation.certainty, "")
    return f"{citation} ({certain})" if certain and citation.kind != "common practice" else str(citation)


def _remedy(remedy: Remedy, rule: Rule) -> str:
    return " ".join(_shown(remedy.text, rule).split())


def _beside(rule: Rule, ruleset: Ruleset) -> Iterator[str]:
    def titled(rule_id: str) -> str:
        other = ruleset.rules.get(rule_id)
        return f"{rule_id} ({other.title})" if other else rule_id

    if rule.defeats:
        named = ", ".join(titled(r.rule) for r in rule.defeats)
        yield f"Takes the place of {named}: {_lower(rule.defeats_because)}"
    for other in ruleset.rules.values():
        if any(r.rule == rule.id for r in other.defeats):
            yield f"Gives way to {titled(other.id)}: {_lower(other.defeats_because)}"
    for ref in rule.symptom_of:
        yield f"A symptom of {titled(ref.rule)}"
    for other in ruleset.rules.values():
        if any(r.rule == rule.id for r in other.symptom_of):
            yield f"Has the symptom {titled(other.id)}"
    names = {
        str(t.alternatives[0][0].operand)
        for c in rule.conditions()
        if c.kind == "concluded"
        for t in c.tests
        if t.field == "name"
    }
    for name in sorted(names):
        drawn = ruleset.concluded_by(name)
        yield f"Rests on the conclusion “{name}” of {', '.join(titled(r) for r in drawn) or 'no rule'}"
    for ref in rule.related:
        yield f"See also {titled(ref.rule)}"


def _example(example: Example) -> tuple[str, tuple[str, ...]]:
    verdict = "Fires" if example.fires else "Silent"
    head = f"{verdict}: {example.name}"
    if example.facts is not None:
        return head, tuple(_fact_lines(example))
    return head, tuple(_section_lines(example.section or {}))


def _fact_lines(example: Example) -> Iterator[str]:
    for fact in example.facts or ():
        kind = KINDS[fact.kind].fields
        shown = [
            f"{kind[name].meaning}: {show_value(value, kind[name].dimension, 'ip')}"
            for name, value in fact.fields.items()
            if (fact.kind, name) not in (("layer", "index"), ("layer", "name"))
        ]
        if fact.fields:
            yield _capital(fact_label(fact)) + (f" — {'; '.join(shown)}" if shown else "")


def _section_lines(section: Any) -> Iterator[str]:
    for key, value in section.items():
        if isinstance(value, list):
            yield f"{key}: " + " | ".join(_flat(item) for item in value)
        else:
            yield f"{key}: {_flat(value)}"


def _flat(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{k}: {_flat(v)}" for k, v in value.items())
    return ", ".join(_flat(v) for v in value) if isinstance(value, list) else str(value)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" + ("" if n == 1 else "s")


# Forms


def _text(blocks: Iterable[Block]) -> str:
    lines: list[str] = []
    for block in blocks:
        if lines:
            lines.append("")
        match block.kind:
            case "title":
                wrapped = textwrap.wrap(block.text, WIDTH)
                lines += [*wrapped, "=" * max(map(len, wrapped))]
            case "heading":
                lines += [block.text, "-" * len(block.text)]
            case "text":
                lines += textwrap.wrap(block.text, WIDTH)
            case "points":
                for text, below in block.items:
                    lines += textwrap.wrap(text, WIDTH, initial_indent="- ", subsequent_indent="  ")
                    for item in below:
                        lines += textwrap.wrap(item, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines) + "\n"


_RULE_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*/[a-z0-9]+(?:-[a-z0-9]+)*")
_MARKED = re.compile(r"([\\`*_\[\]<>|#])")


def _markdown(blocks: Iterable[Block], ids: Collection[str] = ()) -> str:
    def safe(text: str) -> str:
        marked = _MARKED.sub(r"\\\1", text)
        return _RULE_ID.sub(lambda m: f"[{m[0]}](#{m[0]})" if m[0] in ids else m[0], marked)

    lines: list[str] = []
    for block in blocks:
        if lines:
            lines.append("")
        match block.kind:
            case "title":
                if block.anchor:
                    lines += [f'<a id="{block.anchor}"></a>', ""]
                lines.append(f"{'#' * (block.level + 1)} {safe(block.text)}")
            case "heading":
                lines.append(f"{'#' * (block.level + 2)} {safe(block.text)}")
            case "text":
                lines.append(safe(block.text))
            case "points":
                for text, below in block.items:
                    lines.append(f"- {safe(text)}")
                    lines += [f"  - {safe(item)}" for item in below]
    return "\n".join(lines) + "\n"


def _html(blocks: Sequence[Block], ids: Collection[str] = ()) -> str:
    """A whole document, which needs nothing beside it and holds no script."""
    from reviewer.report.markup import Markup, el, escape
    from reviewer.report.page import page

    def safe(text: str) -> Markup:
        linked = lambda m: f'<a href="#{m[0]}">{m[0]}</a>' if m[0] in ids else m[0]  # noqa: E731
        return Markup(_RULE_ID.sub(linked, escape(text)))

    out: list[Markup] = []
    for block in blocks:
        match block.kind:
            case "title":
                out.append(el(f"h{block.level + 1}", safe(block.text), id=block.anchor or None))
            case "heading":
                out.append(el(f"h{block.level + 2}", safe(block.text)))
            case "text":
                out.append(el("p", safe(block.text)))
            case "points":
                points = []
                for text, below in block.items:
                    inner = el("ul", *(el("li", safe(item)) for item in below)) if below else None
                    points.append(el("li", safe(text), inner))
                out.append(el("ul", *points))
    title = next((b.text for b in blocks if b.kind == "title"), BOOK_TITLE)
    content = el("div", *out, id=CONTENT)
    kicker = [el("p", BOOK_TITLE, class_="kicker")] if title != BOOK_TITLE else []
    return page(title, kicker, [content], "", jump=CONTENT)


_RENDER = {"markdown": _markdown, "text": _text, "html": _html}
