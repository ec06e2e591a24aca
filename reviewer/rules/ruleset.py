"""A ruleset: packs of rules, compiled; from YAML, or from the rulebook kept since the last run."""

from __future__ import annotations

import gc
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import reviewer
from reviewer.document import MAX_BYTES
from reviewer.engine.types import Pattern
from reviewer.engine.types import Rule as EngineRule
from reviewer.errors import InputError, Problem
from reviewer.rules import cache
from reviewer.rules.compile import compile_rule
from reviewer.rules.language import Alternative, Rule, Topic
from reviewer.rules.load import check_references, read_topic, ruleset_files

if TYPE_CHECKING:
    from reviewer.engine import Program
    from reviewer.engine.types import Fact, Outcome

SHIPPED_NAME = "rulesets"
"""How the shipped packs are called in messages, wherever they lie."""
_ENGINE_NAME = re.compile(r"'([^']*)#\d+'")
MAX_FILES = 1000
"""Ruleset files in one folder of packs."""
COMPILED = "rulebook.jsonl"
"""The shipped packs as read, beside them in the wheel."""


class Ruleset:
    """Rules by id, in the order of packs and files, and the engine rules made of them.

    `digest` stands for the content of the files and the meaning the program gives them: two rulesets
    with one digest give the same findings.
    """

    def __init__(
        self,
        topics: Sequence[Topic],
        rules: Mapping[str, Rule],
        alternatives: Sequence[Alternative],
        digest: str,
    ):
        self.topics = tuple(topics)
        self.rules = rules
        self.alternatives = tuple(alternatives)
        self.digest = digest

    @classmethod
    def of(cls, topics: Sequence[Topic], rules: Iterable[Rule], digest: str = "") -> Ruleset:
        """A ruleset of rules that are already read."""
        by_id = {rule.id: rule for rule in rules}
        alternatives = [a for rule in by_id.values() for a in compile_rule(rule)]
        return cls(topics, by_id, alternatives, digest)

    def __repr__(self) -> str:
        return f"Ruleset({len(self.rules)} rules, {len(self.alternatives)} alternatives)"

    @cached_property
    def program(self) -> Program:
        """The engine's program of all rules.

        Raises reviewer.engine.types.EngineError: a limit passed, or a cycle over a negation.
        """
        from reviewer.engine import compile_program

        return compile_program([a.engine for a in self.alternatives])

    def run(self, facts: Sequence[Fact]) -> Outcome:
        """What follows from the facts of a review.

        Raises InputError: a rule would have to try more combinations of facts, or the rules would fire
        more often, than is allowed.
        """
        from reviewer.engine.types import EngineError

        try:
            return self.program.run(facts)
        except EngineError as error:
            named = _ENGINE_NAME.search(str(error))
            rule = self.rules.get(named[1]) if named else None
            message = _ENGINE_NAME.sub(r'"\1"', str(error))
            raise InputError(
                Problem(
                    f"the rules can't be run on this section: {message}",
                    rule.mark if rule else None,
                    "conditions that fewer facts meet",
                )
            ) from None

    @cached_property
    def by_engine_name(self) -> Mapping[str, Alternative]:
        return {a.engine.name: a for a in self.alternatives}

    @cached_property
    def order(self) -> Mapping[str, int]:
        """The place of each rule in the rulebook."""
        return {rule: n for n, rule in enumerate(self.rules)}

    def alternatives_of(self, rule: str) -> tuple[Alternative, ...]:
        return self._alternatives.get(rule, ())

    @cached_property
    def _alternatives(self) -> Mapping[str, tuple[Alternative, ...]]:
        found: dict[str, list[Alternative]] = {}
        for alternative in self.alternatives:
            found.setdefault(alternative.rule, []).append(alternative)
        return {rule: tuple(of_rule) for rule, of_rule in found.items()}

    def rule(self, rule_id: str) -> Rule:
        """A rule by its id.

        Raises InputError, with the nearest id.
        """
        from reviewer.errors import nearest

        if rule_id not in self.rules:
            raise InputError(
                Problem(
                    f'there is no rule "{rule_id}"', None, "the id of a rule", nearest(rule_id, self.rules)
                )
            )
        return self.rules[rule_id]

    def closure(self, rules: Iterable[str]) -> list[str]:
        """These rules and all that conclude what they ask for, over any number of steps; in order."""
        wanted: set[str] = set()
        todo = list(rules)
        while todo:
            rule = todo.pop()
            if rule in wanted:
                continue
            wanted.add(rule)
            for alternative in self.alternatives_of(rule):
                for pattern in (*alternative.engine.patterns, *alternative.engine.absent):
                    for test in pattern.tests:
                        if pattern.kind == "concluded" and test.field == "name":
                            todo += self._concluded_by.get(str(test.value), ())
        return [rule for rule in self.rules if rule in wanted]

    @cached_property
    def _concluded_by(self) -> Mapping[str, tuple[str, ...]]:
        found: dict[str, dict[str, None]] = {}
        for a in self.alternatives:
            if a.engine.head.kind == "concluded":
                found.setdefault(a.engine.head.name, {})[a.rule] = None
        return {name: tuple(rules) for name, rules in found.items()}

    def concluded_by(self, name: str) -> tuple[str, ...]:
        """The rules that conclude a thing."""
        return self._concluded_by.get(name, ())

    def conclusions(self) -> tuple[str, ...]:
        """Everything that some rule concludes, sorted."""
        return tuple(sorted(self._concluded_by))


class _KeptRules(Mapping[str, Rule]):
    """Rules of a kept rulebook, each read from its line when it is asked for."""

    def __init__(self, ids: Sequence[str], lines: Sequence[bytes]):
        self._lines = dict(zip(ids, lines, strict=True))
        self._read: dict[str, Rule] = {}

    def __getitem__(self, rule: str) -> Rule:
        found = self._read.get(rule)
        if found is None:
            found = self._read[rule] = cache.decode(json.loads(self._lines[rule]))
        return found

    def __iter__(self) -> Iterator[str]:
        return iter(self._lines)

    def __len__(self) -> int:
        return len(self._lines)

    def __contains__(self, rule: object) -> bool:
        return rule in self._lines


def shipped_rules_dir() -> Path:
    """The folder of the packs that come with the program: in a checkout, or in the installed wheel."""
    # importlib.resources would do, but costs 13 ms to import, and reading needs real files anyhow.
    package = Path(reviewer.__file__).parent
    installed = package / "_rulesets"
    return installed if installed.is_dir() else package.parent / SHIPPED_NAME


def load_ruleset(dirs: Iterable[str | Path] | None = None, keep: bool = True) -> Ruleset:
    """Read all packs in these folders (None: the shipped ones) into one ruleset.

    With `keep`, a rulebook that was read before comes from the cache folder, where it is put after
    reading; its marks then lack the source line. Without, the YAML is read.

    Raises InputError with every problem in every file.
    """
    sources = _sources([shipped_rules_dir()] if dirs is None else [Path(d) for d in dirs])
    digest = cache.digest_of(sources)
    if keep:
        kept = _kept(digest)
        if kept is not None:
            return kept
    ruleset = _read(sources, digest)
    folder = cache.folder() if keep else None
    if folder:
        cache.write(folder / cache.file_name(digest), dump(ruleset))
    return ruleset


def is_kept(dirs: Iterable[str | Path]) -> bool:
    """Whether these packs, as they are, were read before and their rulebook is kept.

    Raises InputError: a folder can't be read.
    """
    return _kept(cache.digest_of(_sources([Path(d) for d in dirs]))) is not None


def _kept(digest: str) -> Ruleset | None:
    folder = cache.folder()
    places = [shipped_rules_dir() / COMPILED, *([folder / cache.file_name(digest)] if folder else [])]
    for place in places:
        kept = cache.read(place)
        if kept is not None and (ruleset := _revived(kept, digest)) is not None:
            return ruleset
    return None


def dump(ruleset: Ruleset) -> bytes:
    """A ruleset as the bytes of a kept rulebook. Patterns, which recur a lot, stand there once."""
    patterns: dict[Pattern, int] = {}

    def places(used: Iterable[Pattern]) -> list[int]:
        return [patterns.setdefault(pattern, len(patterns)) for pattern in used]

    alternatives = [
        [
            a.rule,
            a.number,
            a.engine.name,
            places(a.engine.patterns),
            places(a.engine.absent),
            a.engine.head,
            a.aliases,
            a.conditions,
        ]
        for a in ruleset.alternatives
    ]
    head = (ruleset.digest, ruleset.topics, tuple(ruleset.rules), tuple(patterns), alternatives)
    return cache.dump(head, ruleset.rules)


def _revived(kept: tuple[Any, list[bytes]], digest: str) -> Ruleset | None:
    head, lines = kept
    if not isinstance(head, tuple) or head[0] != digest:
        return None
    _, topics, ids, patterns, rows = head
    alternatives = [
        Alternative(
            rule,
            number,
            EngineRule(name, tuple(patterns[n] for n in present), goal, tuple(patterns[n] for n in absent)),
            aliases,
            conditions,
        )
        for rule, number, name, present, absent, goal, aliases, conditions in rows
    ]
    return Ruleset(topics, _KeptRules(ids, lines), alternatives, digest)


def _sources(dirs: Sequence[Path]) -> list[tuple[str, bytes]]:
    """Every ruleset file: its name for messages and its content."""
    shipped = shipped_rules_dir()
    found: dict[str, bytes] = {}
    problems: list[Problem] = []
    for folder in dirs:
        try:
            files = ruleset_files(folder)
        except InputError as error:
            problems += error.problems
            continue
        if len(files) > MAX_FILES:
            problems.append(
                Problem(
                    f'the folder "{folder}" holds {len(files)} ruleset files', None, f"at most {MAX_FILES}"
                )
            )
            continue
        for path in files:
            inside = path.relative_to(folder)
            name = (Path(SHIPPED_NAME) / inside if folder == shipped else folder / inside).as_posix()
            try:
                with path.open("rb") as stream:
                    # A little more than a document may have: reading refuses the rest.
                    found[name] = stream.read(MAX_BYTES + 1)
            except OSError as error:
                problems.append(Problem(f'"{name}" can\'t be read: {error.strerror}'))
    if problems:
        raise InputError(problems)
    return list(found.items())


def _read(sources: Sequence[tuple[str, bytes]], digest: str) -> Ruleset:
    topics: list[Topic] = []
    rules: list[Rule] = []
    problems: list[Problem] = []
    # Reading makes some hundred thousand small objects that all stay: collecting cycles meanwhile
    # finds none and takes twice the time of the reading.
    collecting = gc.isenabled()
    gc.disable()
    try:
        for name, content in sources:
            try:
                topic, found = read_topic(content, name)
            except InputError as error:
                problems += error.problems
            else:
                topics.append(topic)
                rules += found
        if not problems:
            problems += check_references(topics, rules)
        if problems:
            raise InputError(problems)
        return Ruleset.of(topics, rules, digest)
    finally:
        if collecting:
            gc.enable()
