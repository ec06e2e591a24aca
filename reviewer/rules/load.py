"""Ruleset files to typed rules, every problem located.

`load_ruleset` reads whole packs and checks what the rules say about each other; `read_topic` reads
one file. What a rule owes its reader beyond the language (citations, examples) is `check`'s part.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from reviewer.citations import CERTAINTIES, COMMON_PRACTICE, Citation
from reviewer.citations import KINDS as CITATION_KINDS
from reviewer.document import Node, Reader, one_of, parse_document
from reviewer.engine.types import Fact, Value
from reviewer.errors import InputError, Mark, Problem, nearest
from reviewer.facts.vocabulary import KINDS, STATEMENTS, Field
from reviewer.rules.compile import count_alternatives
from reviewer.rules.language import (
    CHANGES,
    CONFIDENCES,
    MAX_ALTERNATIVES,
    SEVERITIES,
    SINGLE,
    VOICES,
    Conclusion,
    Condition,
    Example,
    FieldTest,
    FindingPart,
    Remedy,
    Rule,
    RuleReference,
    Topic,
)
from reviewer.rules.template import Template, TemplateError, parse_template
from reviewer.rules.values import (
    KNOWN,
    TEXTUAL,
    Reference,
    ValueTestError,
    parse_value_test,
    read_constant,
)
from reviewer.units import UnitError

TOPIC_KEYS = ("pack", "topic", "about", "rules")
RULE_KEYS = (
    "id",
    "title",
    "applies to",
    "when",
    "any",
    "finding",
    "conclude",
    "cites",
    "defeats",
    "defeats because",
    "symptom of",
    "related",
    "examples",
)
FINDING_KEYS = (
    "severity",
    "reason",
    "confidence",
    "voice",
    "hazard",
    "layers",
    "says",
    "explanation",
    "margin",
    "do",
    "one per",
)
FINDING_REQUIRED = ("severity", "reason", "confidence", "voice", "says", "explanation")
CITATION_KEYS = ("document", "edition", "clause", "kind", "certainty")
EXAMPLE_KEYS = ("fires", "silent", "facts", "section")
SUFFIXES = (".yaml", ".yml")

_KEBAB = r"[a-z0-9]+(-[a-z0-9]+)*"
_PACK = re.compile(_KEBAB)
_ID = re.compile(f"{_KEBAB}/{_KEBAB}")
_HEAD = re.compile(r"(?P<negated>not\s+)?(?P<kind>\S+)(?:\s+(?P<alias>\S+))?")
_ALIAS = re.compile(r"[A-Za-z_][A-Za-z0-9_-]*")
_REFERENCE = re.compile(r"([A-Za-z_][A-Za-z0-9_-]*)(?:\.([A-Za-z_][A-Za-z0-9_]*))?")


def read_topic(text: str | bytes, file: str) -> tuple[Topic, list[Rule]]:
    """Read one ruleset file.

    Raises InputError with every problem of the file, in the order of the text.
    """
    reader = Reader()
    node = parse_document(text, file)
    fields = reader.map(node, TOPIC_KEYS, "a ruleset file", required=TOPIC_KEYS)
    pack = reader.text(fields.get("pack"), "the pack") or ""
    if pack and not _PACK.fullmatch(pack):
        reader.problem(
            fields["pack"], f'"{pack}" is not a name of a pack', "lower-case words joined by hyphens"
        )
    topic = reader.text(fields.get("topic"), "the topic") or ""
    about = reader.text(fields.get("about"), "the sentence about the topic") or ""
    rules = [
        rule
        for item in reader.list(fields.get("rules"), "the rules")
        if (rule := _RuleReader(reader, pack, topic, file).rule(item)) is not None
    ]
    reader.finish()
    return Topic(pack, topic, about, file, tuple(r.id for r in rules)), rules


class _RuleReader:
    """Reads one rule; knows which aliases are bound so far."""

    def __init__(self, reader: Reader, pack: str, topic: str, file: str):
        self.reader = reader
        self.pack, self.topic, self.file = pack, topic, file
        self.scope: dict[str, str] = {}
        """Alias to kind, of the positive conditions read so far."""
        self.later: set[str] = set()
        """Aliases that are bound further down."""

    def rule(self, node: Node) -> Rule | None:
        reader = self.reader
        before = len(reader.problems)
        fields = reader.map(node, RULE_KEYS, "a rule", required=("id", "title"))
        if node.kind != "map":
            return None
        rule_id = self.id(fields.get("id"))
        title = reader.text(fields.get("title"), "the title") or ""
        self.collect_aliases(fields)
        applies = self.applies(fields.get("applies to"))
        when = self.conditions(fields.get("when"), "when")
        branches = self.any(fields.get("any"))
        if not (applies or when or branches) and len(reader.problems) == before:
            reader.problem(node, f'the rule "{rule_id}" has no conditions', 'the key "when"')
        finding, conclusion = self.head(node, fields, rule_id)
        cites = tuple(c for item in self.list_of(fields.get("cites")) if (c := self.citation(item)))
        defeats = self.references(fields.get("defeats"), rule_id)
        because = reader.text(fields.get("defeats because"), "the reason of the defeat") or ""
        if "defeats" in fields and "defeats because" not in fields:
            reader.problem(
                node.key_mark("defeats"),
                '"defeats" has no reason',
                'the key "defeats because": why the other findings do not stand beside this one',
            )
        if "defeats because" in fields and "defeats" not in fields:
            reader.problem(node.key_mark("defeats because"), "this is the reason of no defeat", '"defeats"')
        symptom_of = self.references(fields.get("symptom of"), rule_id)
        if conclusion and "symptom of" in fields:
            reader.problem(
                node.key_mark("symptom of"), "a conclusion is not a symptom", '"symptom of" on a finding'
            )
        related = self.references(fields.get("related"), rule_id)
        examples = self.examples(fields.get("examples"))
        if len(reader.problems) > before:
            return None
        rule = Rule(
            id=rule_id,
            title=title,
            pack=self.pack,
            topic=self.topic,
            file=self.file,
            applies=applies,
            when=when,
            any=branches,
            finding=finding,
            conclusion=conclusion,
            cites=cites,
            defeats=defeats,
            defeats_because=because,
            symptom_of=symptom_of,
            related=related,
            examples=examples,
            mark=fields["id"].mark,
        )
        self.count_alternatives(rule)
        return rule if len(reader.problems) == before else None

    def id(self, node: Node | None) -> str:
        text = self.reader.text(node, "the id") or ""
        if text and not _ID.fullmatch(text):
            self.reader.problem(
                node, f'"{text}" is not an id', "the pack, a slash, and lower-case words joined by hyphens"
            )
        elif text and self.pack and not text.startswith(f"{self.pack}/"):
            self.reader.problem(
                node, f'the id "{text}" is of another pack', f'an id that starts with "{self.pack}/"'
            )
        return text

    def list_of(self, node: Node | None) -> list[Node]:
        """A list; a single text stands for a list of one."""
        if node is not None and node.kind == "scalar" and not node.empty:
            return [node]
        return self.reader.list(node)

    def references(self, node: Node | None, rule_id: str) -> tuple[RuleReference, ...]:
        found: list[RuleReference] = []
        for item in self.list_of(node):
            text = self.reader.text(item, "the id of a rule")
            if text == rule_id:
                self.reader.problem(item, "a rule can't name itself here", "the id of another rule")
            elif text and any(r.rule == text for r in found):
                self.reader.problem(item, f'"{text}" is named twice', "each rule once")
            elif text:
                found.append(RuleReference(text, item.mark))
        return tuple(found)

    # Conditions

    def collect_aliases(self, fields: Mapping[str, Node]) -> None:
        """Names bound anywhere, to tell "further down" from "nowhere"."""
        when, branches = fields.get("when"), fields.get("any")
        lists = [when] if when is not None else []
        lists += branches.items if branches is not None and branches.kind == "list" else []
        for items in lists:
            for item in items.items if items.kind == "list" else []:
                for key in item.fields if item.kind == "map" else ():
                    m = _HEAD.fullmatch(key.strip())
                    if m and m["alias"] and not m["negated"]:
                        self.later.add(m["alias"])

    def applies(self, node: Node | None) -> Condition | None:
        if node is None:
            return None
        tests = self.tests(node, "section", negated=False)
        self.scope["section"] = "section"
        return Condition("section", "section", tests, False, node.mark)

    def conditions(self, node: Node | None, key: str) -> tuple[Condition, ...]:
        items = self.reader.list(node, f'"{key}"')
        # A condition without an alias goes by its kind when it is the only such condition.
        bare: dict[str, int] = {}
        for item in items:
            for name in item.fields if item.kind == "map" else ():
                bare[name.strip()] = bare.get(name.strip(), 0) + 1
        found = [self.condition(item, bare) for item in items]
        return tuple(c for c in found if c is not None)

    def any(self, node: Node | None) -> tuple[tuple[Condition, ...], ...]:
        if node is None:
            return ()
        common = dict(self.scope)
        scopes: list[dict[str, str]] = []
        branches: list[tuple[Condition, ...]] = []
        for item in self.reader.list(node, '"any"'):
            self.scope = dict(common)
            branch = self.conditions(item, "any")
            if not branch and item.kind == "list":
                self.reader.problem(item, "this alternative is empty", "a list of conditions")
            branches.append(branch)
            scopes.append(self.scope)
        # What follows may use only what every alternative binds, to the same kind.
        self.scope = {
            alias: kind
            for alias, kind in (scopes[0] if scopes else common).items()
            if all(s.get(alias) == kind for s in scopes)
        }
        if len(branches) == 1:
            self.reader.problem(
                node, '"any" has one alternative', 'two or more, or the conditions under "when"'
            )
        return tuple(branches)

    def condition(self, node: Node, bare: Mapping[str, int]) -> Condition | None:
        reader = self.reader
        if node.kind != "map" or len(node.fields) != 1:
            reader.problem(node, "this is not a condition", '"KIND ALIAS: {field: test, …}"')
            return None
        ((key, value),) = node.fields.items()
        mark = node.key_mark(key)
        m = _HEAD.fullmatch(key.strip())
        if m is None:
            reader.problem(
                mark, f'"{key}" is not the head of a condition', '"KIND", "KIND ALIAS" or "not KIND ALIAS"'
            )
            return None
        kind, alias, negated = m["kind"], m["alias"] or "", bool(m["negated"])
        if kind not in KINDS:
            reader.problem(mark, f'there is no kind of fact "{kind}"', one_of(KINDS), nearest(kind, KINDS))
            return None
        if alias and kind in SINGLE and alias != kind:
            reader.problem(mark, f"there is only one {kind} fact", f'"{kind}" without an alias')
            return None
        if alias and not _ALIAS.fullmatch(alias):
            reader.problem(mark, f'"{alias}" is not an alias', "a word of letters, digits and hyphens")
            return None
        if alias and alias != kind and alias in KINDS:
            reader.problem(mark, f'"{alias}" is a kind of fact', "another alias")
            return None
        if not alias and not negated and (kind in SINGLE or (bare.get(kind) == 1 and kind not in self.scope)):
            alias = kind
        if alias and alias in self.scope and kind not in SINGLE:
            reader.problem(mark, f'the alias "{alias}" is bound twice', "another alias")
            return None
        if value.empty:
            tests: tuple[FieldTest, ...] = ()
        else:
            tests = self.tests(value, kind, negated)
        if kind == "concluded":
            self.named_conclusion(mark, tests)
        if negated:
            used = {t.alias for t in _references(tests)}
            if len(used) > 1:
                reader.problem(
                    mark,
                    f"a negated condition compares with {len(used)} others",
                    "references to one alias at most",
                )
        elif alias:
            self.scope[alias] = kind
        return Condition(kind, alias, tests, negated, mark)

    def named_conclusion(self, mark: Mark, tests: Iterable[FieldTest]) -> None:
        for test in tests:
            if test.field == "name" and all(
                len(part) == 1 and part[0].op == "==" and isinstance(part[0].operand, str)
                for part in test.alternatives
            ):
                return
        self.reader.problem(
            mark, "this does not say which conclusion", '"name: …" with the conclusion\'s name'
        )

    def tests(self, node: Node, kind: str, negated: bool) -> tuple[FieldTest, ...]:
        reader = self.reader
        if node.kind != "map":
            reader.problem(node, f"the tests on a {kind} are {_what(node)}", "{field: test, …}")
            return ()
        known = KINDS[kind].fields
        found: list[FieldTest] = []
        for name, value in node.fields.items():
            if name not in known:
                reader.problem(
                    node.key_mark(name),
                    f'"{name}" is not a field of a {kind} fact',
                    "a field of the vocabulary",
                    nearest(name.replace(" ", "_"), known),
                )
                continue
            text = reader.text(value, f'the test of "{name}"')
            if text is None:
                continue
            lead = len(value.text) - len(value.text.lstrip())
            try:
                alternatives = parse_value_test(text, known[name])
            except ValueTestError as error:
                reader.problem(
                    value.at(lead + error.offset, error.length), error.message, error.expected, error.nearest
                )
                continue
            test = FieldTest(name, alternatives, text, value.mark)
            misfits = [r for r in _references([test]) if not self.reference_fits(r, known[name], value)]
            if not misfits:
                found.append(test)
            if kind == "statement" and name == "about":
                self.known_subject(test)
        return tuple(found)

    def known_subject(self, test: FieldTest) -> None:
        for part in test.alternatives:
            for c in part:
                if isinstance(c.operand, str) and c.op != KNOWN and c.operand not in STATEMENTS:
                    self.reader.problem(
                        test.mark,
                        f'nobody can state anything about "{c.operand}"',
                        "a subject of the vocabulary",
                        nearest(c.operand, STATEMENTS),
                    )

    def reference_fits(self, ref: Reference, field: Field, node: Node) -> bool:
        def mark() -> Mark:
            return node.at(max(node.text.find(str(ref)), 0), len(str(ref)))

        target = self.resolve(ref, mark)
        if target is None:
            return False
        same = target.dimension == field.dimension or {target.dimension, field.dimension} <= set(TEXTUAL)
        if not same:
            self.reader.problem(
                mark(),
                f'"{ref}" is {_dimension(target)}, this field is {_dimension(field)}',
                f"a field of {field.dimension}",
            )
        return same

    def resolve(self, ref: Reference, mark: Callable[[], Mark]) -> Field | None:
        """The vocabulary's field of a reference, or a problem. A mark takes time: it is made for problems."""
        kind = self.scope.get(ref.alias) or (ref.alias if ref.alias in SINGLE else None)
        if kind is None:
            if ref.alias in self.later:
                where = "further down, or in some alternatives only"
                self.reader.problem(
                    mark(), f'the alias "{ref.alias}" is bound {where}', "an alias of an earlier condition"
                )
            else:
                names = [*self.scope, *(s for s in SINGLE if s not in self.scope)]
                self.reader.problem(
                    mark(), f'there is no alias "{ref.alias}"', one_of(names), nearest(ref.alias, names)
                )
            return None
        fields = KINDS[kind].fields
        if ref.field not in fields:
            self.reader.problem(
                mark(),
                f'"{ref.field}" is not a field of a {kind} fact',
                "a field of the vocabulary",
                nearest(ref.field, fields),
            )
            return None
        return fields[ref.field]

    # Heads

    def head(
        self, node: Node, fields: Mapping[str, Node], rule_id: str
    ) -> tuple[FindingPart | None, Conclusion | None]:
        finding, conclude = fields.get("finding"), fields.get("conclude")
        if finding is not None and conclude is not None:
            self.reader.problem(
                node.key_mark("conclude"), "a rule has a finding or a conclusion, not both", "two rules"
            )
        elif finding is None and conclude is None:
            self.reader.problem(node, f'the rule "{rule_id}" says nothing', 'the key "finding" or "conclude"')
        return (
            self.finding(finding) if finding is not None else None,
            self.conclusion(conclude) if conclude is not None else None,
        )

    def finding(self, node: Node) -> FindingPart | None:
        reader = self.reader
        fields = reader.map(node, FINDING_KEYS, "a finding", required=FINDING_REQUIRED)
        severity = reader.choice(fields.get("severity"), SEVERITIES, "the severity") or ""
        confidence = reader.choice(fields.get("confidence"), CONFIDENCES, "the confidence") or ""
        voice = reader.choice(fields.get("voice"), VOICES, "the voice") or ""
        hazard = reader.flag(fields.get("hazard"), "the hazard") or False
        if hazard and severity not in ("serious", "caution"):
            reader.problem(fields.get("severity"), f"a hazard can't be a {severity}", "serious or caution")
        layers = tuple(
            ref for item in self.list_of(fields.get("layers")) if (ref := self.layer_reference(item))
        )
        remedies = [self.remedy(item) for item in reader.list(fields.get("do"), '"do"')]
        return FindingPart(
            severity=severity,
            reason=reader.text(fields.get("reason"), "the reason") or "",
            confidence=confidence,
            voice=voice,
            hazard=hazard,
            layers=layers,
            says=self.template(fields.get("says")) or Template("", ()),
            explanation=self.template(fields.get("explanation")) or Template("", ()),
            margin=self.template(fields.get("margin")),
            remedies=tuple(r for r in remedies if r is not None),
            one_per=self.one_per(fields.get("one per")),
            mark=node.mark,
        )

    def one_per(self, node: Node | None) -> str:
        text = self.reader.text(node, '"one per"')
        if text is None:
            return "layers"
        layer_aliases = [alias for alias, kind in self.scope.items() if kind == "layer"]
        if text not in ("section", *layer_aliases):
            words = ["section", *layer_aliases]
            self.reader.problem(
                node, f'findings can\'t be merged by "{text}"', one_of(words), nearest(text, words)
            )
        return text

    def layer_reference(self, node: Node) -> Reference | None:
        """`alias` of a layer, or `alias.field` that holds the place of one."""
        text = self.reader.text(node, "a layer")
        if text is None:
            return None
        m = _REFERENCE.fullmatch(text)
        ref = Reference(m[1], m[2] or "index") if m else None
        if m is None or ref is None:
            self.reader.problem(node, f'"{text}" names no layer', "an alias of a layer, or alias.field")
            return None
        if not m[2] and self.scope.get(m[1]) not in (None, "layer"):
            kind = self.scope[m[1]]
            places = [f"{m[1]}.{n}" for n, f in KINDS[kind].fields.items() if f.dimension == "index"]
            self.reader.problem(
                node,
                f'"{text}" is a {kind}, not a layer',
                one_of(places) if places else "an alias of a layer",
            )
            return None
        field = self.resolve(ref, lambda: node.mark)
        if field is None:
            return None
        if field.dimension != "index":
            self.reader.problem(
                node, f'"{text}" is {_dimension(field)}', "a field that holds the place of a layer"
            )
            return None
        return ref

    def remedy(self, node: Node) -> Remedy | None:
        reader = self.reader
        fields = reader.map(node, ("text", "change"), "a remedy", required=("text",))
        text = self.template(fields.get("text"))
        change: dict[str, str] = {}
        given = fields.get("change")
        if given is not None:
            parts = reader.map(given, None, "the change")
            actions = [c for c in CHANGES if c in parts]
            if len(actions) != 1 or next(iter(parts), "") != actions[0]:
                first = next(iter(parts), "")
                reader.problem(
                    given,
                    f'"{first}" is not a change'
                    if not actions
                    else "a change starts with what it does, once",
                    f"one of {one_of(CHANGES)}, first",
                    nearest(first, CHANGES),
                )
                return None
            for name, value in parts.items():
                said = reader.text(value, f'"{name}"')
                if said is not None:
                    change[name] = said
            self.change_fits(parts, change, actions[0])
        return Remedy(text, change, node.mark) if text else None

    def change_fits(self, parts: Mapping[str, Node], change: Mapping[str, str], action: str) -> None:
        allowed: dict[str, Collection[str] | None] = {
            "remove": ("remove",),
            "replace": ("replace", "with"),
            "insert": ("insert", "inside of", "outside of"),
            "set": None,
        }
        keys = allowed[action]
        for name in parts:
            if keys is not None and name not in keys:
                self.reader.problem(
                    parts[name], f'"{name}" does not go with "{action}"', one_of(keys), nearest(name, keys)
                )
        if action == "replace" and "with" not in change:
            self.reader.problem(parts[action], '"replace" does not say with what', 'the key "with"')
        if action == "insert" and ("inside of" in change) == ("outside of" in change):
            self.reader.problem(parts[action], '"insert" does not say where', '"inside of" or "outside of"')
        if action == "set" and len(change) < 2:
            self.reader.problem(parts[action], '"set" does not say what', "a key and its new value")
        for name in ("remove", "replace", "set", "inside of", "outside of"):
            if name in parts and not (name == "set" and change.get(name) in (*SINGLE, "building")):
                self.layer_reference(parts[name])

    def conclusion(self, node: Node) -> Conclusion | None:
        reader = self.reader
        places = {n: f for n, f in KINDS["concluded"].fields.items() if n != "name"}
        fields = reader.map(node, ("fact", *places), "a conclusion", required=("fact",))
        name = reader.text(fields.get("fact"), "the conclusion")
        copied: list[tuple[str, Reference]] = []
        for key, value in fields.items():
            if key != "fact" and (ref := self.layer_reference(value)):
                copied.append((key, ref))
        return Conclusion(name, tuple(copied), node.mark) if name else None

    def template(self, node: Node | None) -> Template | None:
        text = self.reader.text(node, "the text")
        if text is None or node is None:
            return None
        try:
            template = parse_template(text)
        except TemplateError as error:
            self.reader.problem(_part(node, text, error.offset, error.length), error.message, error.expected)
            return None
        for slot in template.slots():
            self.resolve(
                Reference(slot.alias, slot.field), partial(_part, node, text, slot.offset, slot.length)
            )
        return template

    # The rest

    def citation(self, node: Node) -> Citation | None:
        reader = self.reader
        if node.kind == "scalar":
            if reader.choice(node, ("common practice",), "the source"):
                return COMMON_PRACTICE
            return None
        fields = reader.map(node, CITATION_KEYS, "a citation", required=("document", "kind", "certainty"))
        document = reader.text(fields.get("document"), "the document")
        edition = reader.text(fields.get("edition"), "the edition") or ""
        clause = reader.text(fields.get("clause"), "the clause") or ""
        kind = reader.choice(fields.get("kind"), CITATION_KINDS, "the kind of source")
        certainty = reader.choice(
            fields.get("certainty"), [c for c in CERTAINTIES if c != "given"], "the certainty"
        )
        if not (document and kind and certainty):
            return None
        return Citation(document, edition, clause, kind, certainty)

    def examples(self, node: Node | None) -> tuple[Example, ...]:
        found = [self.example(item) for item in self.reader.list(node, "the examples")]
        return tuple(e for e in found if e is not None)

    def example(self, node: Node) -> Example | None:
        reader = self.reader
        fields = reader.map(node, EXAMPLE_KEYS, "an example")
        if not fields:
            return None
        if ("fires" in fields) == ("silent" in fields):
            reader.problem(node, "an example says whether the rule fires", '"fires: NAME" or "silent: NAME"')
            return None
        if ("facts" in fields) == ("section" in fields):
            reader.problem(node, "an example has one case", '"facts" or "section"')
            return None
        fires = "fires" in fields
        name = reader.text(fields.get("fires" if fires else "silent"), "the name of the example") or ""
        given = fields.get("facts")
        facts = self.facts(given) if given is not None else None
        section: dict[str, Any] | None = None
        if "section" in fields:
            if fields["section"].kind != "map":
                reader.problem(fields["section"], "the section is not a map", "the keys of a section file")
                return None
            section = _plain(fields["section"])
        return Example(name, fires, facts, section, node.mark)

    def facts(self, node: Node) -> tuple[Fact, ...]:
        reader = self.reader
        counts: dict[str, int] = {}
        facts: dict[str, Fact] = {}
        for item in reader.list(node, "the facts"):
            if item.kind != "map" or len(item.fields) != 1:
                reader.problem(item, "this is not a fact", '"KIND: {field: value, …}"')
                continue
            ((kind, given),) = item.fields.items()
            if kind not in KINDS:
                reader.problem(
                    item.key_mark(kind),
                    f'there is no kind of fact "{kind}"',
                    one_of(KINDS),
                    nearest(kind, KINDS),
                )
                continue
            values = self.values(kind, given)
            if kind == "layer":
                values.setdefault("index", float(counts.get(kind, 0)))
            counts[kind] = counts.get(kind, 0) + 1
            fact_id = kind if kind in SINGLE else f"{kind}:{_number(values, counts[kind])}"
            if fact_id in facts:
                reader.problem(item.key_mark(kind), f'there are two facts "{fact_id}"', "each once")
            facts[fact_id] = Fact(fact_id, kind, values)
        for kind in SINGLE:
            facts.setdefault(kind, Fact(kind, kind, {}))
        return tuple(facts.values())

    def values(self, kind: str, node: Node) -> dict[str, Value]:
        reader = self.reader
        known = KINDS[kind].fields
        values: dict[str, Value] = {}
        if node.empty:
            return values
        for name, value in reader.map(node, known, f"a {kind} fact").items():
            text = reader.text(value, f'"{name}"')
            if text is None:
                continue
            try:
                values[name] = read_constant(text, known[name])
            except UnitError as error:
                reader.problem(value, error.message, error.expected, error.nearest)
        return values

    def count_alternatives(self, rule: Rule) -> None:
        count = count_alternatives(rule)
        if count > MAX_ALTERNATIVES:
            self.reader.problem(
                rule.mark, f"the rule has {count} alternatives", f"at most {MAX_ALTERNATIVES}: several rules"
            )


def _number(values: Mapping[str, Value], count: int) -> str:
    """What tells facts of one kind apart: a layer's place, a pair's two places, else a number."""
    if "index" in values:
        return f"{values['index']:g}"
    if "inner" in values and "outer" in values:
        return f"{values['inner']:g}-{values['outer']:g}"
    return str(count)


def _references(tests: Iterable[FieldTest]) -> list[Reference]:
    found = (c.operand for t in tests for part in t.alternatives for c in part)
    return list(dict.fromkeys(o for o in found if isinstance(o, Reference)))


def _part(node: Node, text: str, offset: int, length: int) -> Mark:
    """The mark of a part of a text, in folded and literal texts too: the line that holds it."""
    lead = len(node.text) - len(node.text.lstrip())
    whole = node.mark
    mark = node.at(lead + offset, length)
    if mark != whole:
        return mark
    part = text[offset : offset + length]
    lines = node.source.text.split("\n")
    # The same part may stand in the text several times: take the one that is meant.
    nth = text.count(part, 0, offset)
    for number in range(whole.line - 1, len(lines)):
        at = -1
        while (at := lines[number].find(part, at + 1)) >= 0:
            if number == whole.line - 1 and at < whole.column - 1:
                continue
            if nth == 0:
                return node.source.mark(number, at, length)
            nth -= 1
    return whole


def _plain(node: Node) -> Any:
    if node.kind == "map":
        return {name: _plain(value) for name, value in node.fields.items()}
    if node.kind == "list":
        return [_plain(item) for item in node.items]
    return node.text


def _what(node: Node) -> str:
    return {"list": "a list", "scalar": "a plain text"}.get(node.kind, "a map")


def _dimension(field: Field) -> str:
    names = {"word": "a word", "text": "a text", "index": "the place of a layer", "count": "a count"}
    return names.get(field.dimension, f"of the dimension {field.dimension}")


# Packs


def ruleset_files(folder: Path) -> list[Path]:
    """The ruleset files under a folder, sorted; names that start with a dot or underscore are left out.

    Raises InputError: no such folder, or no ruleset file in it.
    """
    if not folder.is_dir():
        what = "is not a folder" if folder.exists() else "does not exist"
        raise InputError(
            Problem(f'the folder of rules "{folder}" {what}', None, "a folder with ruleset files")
        )
    found = [
        path
        for path in sorted(folder.rglob("*"))
        if path.suffix in SUFFIXES
        and path.is_file()
        and not any(part.startswith((".", "_")) for part in path.relative_to(folder).parts)
    ]
    if not found:
        raise InputError(Problem(f'the folder "{folder}" holds no ruleset files', None, "files named *.yaml"))
    return found


def check_references(topics: Sequence[Topic], rules: Sequence[Rule]) -> list[Problem]:
    """What rules say about each other: ids once, and every rule that is named exists."""
    problems: list[Problem] = []
    first: dict[str, Rule] = {}
    for rule in rules:
        if rule.id in first:
            other = first[rule.id].mark
            problems.append(
                Problem(
                    f'there are two rules "{rule.id}", the other in {other.file}:{other.line}',
                    rule.mark,
                    "an id of its own for each rule",
                )
            )
        first.setdefault(rule.id, rule)
    for rule in rules:
        for ref in (*rule.defeats, *rule.symptom_of, *rule.related):
            if ref.rule not in first:
                problems.append(
                    Problem(
                        f'there is no rule "{ref.rule}"',
                        ref.mark,
                        "the id of a rule",
                        nearest(ref.rule, first),
                    )
                )
        for ref in (*rule.defeats, *rule.symptom_of):
            if ref.rule in first and first[ref.rule].finding is None:
                problems.append(
                    Problem(f'"{ref.rule}" concludes and has no finding', ref.mark, "a rule with a finding")
                )
    problems += _cycles(first, "defeats") + _cycles(first, "symptom_of")
    seen: dict[tuple[str, str], Topic] = {}
    for topic in topics:
        other_topic = seen.setdefault((topic.pack, topic.topic), topic)
        if other_topic is not topic:
            problems.append(
                Problem(
                    f'the topic "{topic.topic}" of {topic.pack} stands in {other_topic.file} too',
                    Mark(topic.file, 1, 1),
                    "another name for one of them",
                )
            )
    return problems


def _cycles(rules: Mapping[str, Rule], relation: str) -> list[Problem]:
    """Rules that, over others, defeat or are a symptom of themselves; each cycle is told once."""
    word = {"defeats": "defeats", "symptom_of": "is a symptom of"}[relation]
    problems: list[Problem] = []
    done: set[str] = set()
    for start in rules:
        path = [start]
        stack = [iter(getattr(rules[start], relation))]
        while stack and start not in done:
            ref = next(stack[-1], None)
            if ref is None:
                done.add(path.pop())
                stack.pop()
            elif ref.rule in path:
                cycle = path[path.index(ref.rule) :]
                problems.append(
                    Problem(
                        f'"{ref.rule}" {word} itself: ' + " → ".join([*cycle, ref.rule]),
                        ref.mark,
                        "an order without a circle",
                    )
                )
            elif ref.rule in rules and ref.rule not in done:
                path.append(ref.rule)
                stack.append(iter(getattr(rules[ref.rule], relation)))
    return problems
