"""`rules check`: is a ruleset right, complete and worth its words?

Errors are what makes a rule wrong or leaves its reader without what it owes: a reading error, a
limit of the engine, a condition that can never hold, a conclusion nobody draws, an example that
fails, a missing source. Warnings are what a second look should settle.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from reviewer.engine.matching import compare
from reviewer.engine.types import EngineError, Fact, Join, Pattern, Test
from reviewer.engine.types import Rule as EngineRule
from reviewer.errors import InputError, Mark, Problem, nearest
from reviewer.facts.vocabulary import KINDS
from reviewer.rules.compile import CONCLUDED
from reviewer.rules.examples import CannotRun, ExampleResult, FactsOf, facts_of, run_examples
from reviewer.rules.language import Alternative, Condition, Rule
from reviewer.rules.ruleset import Ruleset, load_ruleset
from reviewer.rules.thresholds import Sides, sides_of, thresholds_of
from reviewer.units import DIMENSIONS

Level = Literal["error", "warning"]

LEAST_FIRING = 2
LEAST_SILENT = 2

MECHANISMS = (
    "rot", "decay", "mold", "mildew", "corro", "rust", "frost", "freez", "ice", "condens", "saturat", "soak",
    "swell", "shrink", "crack", "split", "spall", "delamin", "debond", "adhesion", "bond", "blister", "buckl",
    "warp", "cup", "peel", "stain", "salt", "efflor", "leak", "drip", "run down", "fire", "burn", "smoke",
    "ignit", "flame", "overheat", "draft", "carbon monoxide", "radon", "asbestos", "lead paint", "lead dust",
    "fume", "poison", "collapse", "soften", "dissolve", "embrittle", "brittle", "settle", "sag", "compress",
    "wash", "insect", "termite", "too wet", "stays wet", "stay wet", "stays damp", "shock",
)  # fmt: skip
"""What words start with that name a way in which a section fails or harms; a serious finding's
explanation must hold one."""


@dataclass(frozen=True, slots=True)
class Remark:
    """One result of the check."""

    level: Level
    rule: str
    """Empty for what concerns a whole file or the ruleset."""
    problem: Problem

    def render(self) -> str:
        first, _, rest = self.problem.render().partition("\n")
        where = self.problem.mark
        prefix = f"{where.file}:{where.line}:{where.column}: " if where else ""
        head = f"{prefix}{self.level}: {first.removeprefix(prefix)}"
        return head + (f"\n{rest}" if rest else "")


def check_dirs(dirs: Iterable[str | Path] | None = None, review_facts: FactsOf | None = None) -> list[Remark]:
    """Read the packs in some folders (None: the shipped ones) and check them; never raises InputError."""
    try:
        ruleset = load_ruleset(dirs, keep=False)
    except InputError as error:
        return [Remark("error", "", p) for p in error.problems]
    return check(ruleset, review_facts)


def check(ruleset: Ruleset, review_facts: FactsOf | None = None) -> list[Remark]:
    """Everything that is wrong or doubtful with a ruleset, in the order of the rulebook.

    Examples given as sections need `review_facts`, which makes facts of them.
    """
    remarks: list[Remark] = list(check_engine(ruleset))
    for rule in ruleset.rules.values():
        remarks += _conclusions(rule, ruleset)
        remarks += _contradictions(rule, ruleset.alternatives_of(rule.id))
        remarks += _duties(rule)
    remarks += _overlaps(ruleset)
    if not any(r.rule == "" and r.level == "error" for r in remarks):
        results = run_examples(ruleset, None, review_facts)
        for result in results:
            problem = result.as_problem()
            if problem is not None:
                unread = result.fired is None and result.example.section is not None and review_facts is None
                remarks.append(Remark("warning" if unread else "error", result.rule, problem))
        remarks += _edges(ruleset, results, review_facts)
    order = ruleset.order
    return sorted(
        remarks, key=lambda r: (order.get(r.rule, -1), _at(r.problem.mark), r.level, r.problem.message)
    )


def _at(mark: Mark | None) -> tuple[str, int, int]:
    return (mark.file, mark.line, mark.column) if mark else ("", 0, 0)


# What an engine says


def check_engine(ruleset: Ruleset) -> Iterator[Remark]:
    """Limits of the engines and circles over a negation."""
    from reviewer.engine.limits import check_rules

    bad = False
    for rule in ruleset.rules.values():
        try:
            check_rules([a.engine for a in ruleset.alternatives_of(rule.id)])
        except EngineError as error:
            bad = True
            yield Remark("error", rule.id, Problem(_without_name(str(error)), rule.mark))
    if bad:
        return
    try:
        _ = ruleset.program
    except EngineError as error:
        named = re.search(r"'([^']*)#\d+'", str(error))
        rule_id = named[1] if named and named[1] in ruleset.rules else ""
        message = re.sub(r"#\d+'", "'", str(error))
        expected = "rules without a circle over a “not”" if "cyclic" in message else ""
        mark = ruleset.rules[rule_id].mark if rule_id else None
        # A ruleset that does not compile can't run examples: the remark stands for the whole.
        yield Remark("error", "", Problem(message, mark, expected))


def _without_name(message: str) -> str:
    return re.sub(r"^rule '[^']*': ", "the engine refuses the rule: ", message)


# Conclusions


def _conclusions(rule: Rule, ruleset: Ruleset) -> Iterator[Remark]:
    for condition, name, mark in _asked_conclusions(rule):
        if not ruleset.concluded_by(name):
            effect = "always holds" if condition.negated else "never holds"
            yield Remark(
                "error",
                rule.id,
                Problem(
                    f'no rule concludes "{name}", so this condition {effect}',
                    mark,
                    "a conclusion that some rule draws",
                    nearest(name, ruleset.conclusions()),
                ),
            )
            continue
        drawn = [c for r in ruleset.concluded_by(name) if (c := ruleset.rules[r].conclusion)]
        for test in condition.tests:
            if test.field != "name" and not any(test.field in dict(c.fields) for c in drawn):
                yield Remark(
                    "error",
                    rule.id,
                    Problem(
                        f'the conclusion "{name}" has no "{test.field}", so this condition never holds',
                        test.mark,
                        "a field that the conclusion copies",
                    ),
                )
    if rule.conclusion and not rule.defeats and not _used(rule.conclusion.fact, ruleset):
        yield Remark(
            "warning",
            rule.id,
            Problem(f'no rule asks for the conclusion "{rule.conclusion.fact}"', rule.conclusion.mark),
        )


def _asked_conclusions(rule: Rule) -> Iterator[tuple[Condition, str, Mark]]:
    for condition in rule.conditions():
        if condition.kind != CONCLUDED:
            continue
        for test in condition.tests:
            if test.field == "name":
                for part in test.alternatives:
                    yield condition, str(part[0].operand), test.mark


def _used(name: str, ruleset: Ruleset) -> bool:
    return any(asked == name for rule in ruleset.rules.values() for _, asked, _ in _asked_conclusions(rule))


# Conditions that can't hold


def _contradictions(rule: Rule, alternatives: Sequence[Alternative]) -> Iterator[Remark]:
    """Alternatives that never fire; one remark for all that fail for one reason."""
    conditions = list(rule.conditions())
    told: dict[tuple[int, str], int] = {}
    for alternative in alternatives:
        for place, message in _impossible(alternative):
            told[place, message] = told.get((place, message), 0) + 1
            break
    for (place, message), count in told.items():
        mark = conditions[place].mark if place >= 0 else rule.mark
        whole = count == len(alternatives)
        effect = (
            "the rule never fires" if whole else f"{count} of its {len(alternatives)} alternatives never fire"
        )
        yield Remark(
            "error", rule.id, Problem(f"{message}: {effect}", mark, "conditions that can hold together")
        )


def _impossible(alternative: Alternative) -> Iterator[tuple[int, str]]:
    engine = alternative.engine
    for n, pattern in enumerate((*engine.patterns, *engine.absent)):
        for field in dict.fromkeys(t.field for t in pattern.tests):
            tests = [t for t in pattern.tests if t.field == field]
            if not _possible(pattern.kind, field, tests):
                yield (
                    alternative.conditions[n],
                    f'no {pattern.kind} has a "{field}" that passes all its tests',
                )
    for n, pattern in enumerate(engine.absent):
        for k, positive in enumerate(engine.patterns):
            if positive.kind == pattern.kind and not pattern.joins and _implies(positive, pattern):
                place = alternative.conditions[len(engine.patterns) + n]
                other = alternative.aliases[k] or positive.kind
                yield place, f'every "{other}" is a fact that must not be there'
    circle = _order_circle(engine)
    if circle is not None:
        yield alternative.conditions[circle], "these places of layers lie inboard of themselves"


def _possible(kind: str, field: str, tests: Sequence[Test]) -> bool:
    """Whether a field can pass all these tests."""
    words = KINDS[kind].fields[field].words if kind in KINDS else ()
    if words:
        return any(all(compare(t.op, word, t.value) for t in tests) for word in words)
    return satisfiable(tests, _bounds(kind, field))


def _bounds(kind: str, field: str) -> tuple[float, float, bool]:
    """The least and the greatest value of a field, and whether only whole values exist."""
    dimension = KINDS[kind].fields[field].dimension if kind in KINDS else ""
    if dimension == "index":
        return 0.0, 1e4, True
    d = DIMENSIONS.get(dimension)
    return (d.low, d.high, dimension == "count") if d else (-1e300, 1e300, False)


def satisfiable(tests: Sequence[Test], bounds: tuple[float, float, bool] = (-1e300, 1e300, False)) -> bool:
    """Whether one value can pass all these tests of one field.

    >>> satisfiable([Test("a", "<", 2.0), Test("a", ">", 1.0)])
    True
    >>> satisfiable([Test("a", "<", 2.0), Test("a", ">", 1.0)], (0.0, 9.0, True))
    False
    >>> satisfiable([Test("a", "==", "wall"), Test("a", "==", "roof")])
    False
    """
    words = {t.value for t in tests if t.op == "==" and isinstance(t.value, str)}
    refused = {t.value for t in tests if t.op == "!="}
    if words:
        return len(words) == 1 and not words & refused and all(isinstance(t.value, str) for t in tests)
    low, high, whole = bounds
    open_low = open_high = False
    for test in tests:
        if isinstance(test.value, str):
            continue
        if test.op in (">", ">=", "==") and (test.value > low or (test.value == low and test.op == ">")):
            low, open_low = test.value, test.op == ">"
        if test.op in ("<", "<=", "==") and (test.value < high or (test.value == high and test.op == "<")):
            high, open_high = test.value, test.op == "<"
    if whole:
        low = float(int(low)) + 1 if open_low and low == int(low) else -(-low // 1)
        high = float(int(high)) - 1 if open_high and high == int(high) else high // 1
        if high - low > 64:
            return True
        candidates = (low + k for k in range(int(high - low) + 1))
        return any(value not in refused for value in candidates)
    if low > high or (low == high and (open_low or open_high)):
        return False
    return low != high or low not in refused


def _implies(strong: Pattern, weak: Pattern) -> bool:
    """Whether a fact that passes the tests of `strong` passes those of `weak`."""
    return all(any(_test_implies(s, w) for s in strong.tests if s.field == w.field) for w in weak.tests)


def _test_implies(s: Test, w: Test) -> bool:
    """Whether passing the test s means passing w.

    >>> _test_implies(Test("a", "<", 2.0), Test("a", "<=", 3.0))
    True
    """
    if s == w:
        return True
    if s.op == "==":
        return compare(w.op, s.value, w.value)
    if isinstance(s.value, str) or isinstance(w.value, str):
        return False
    if w.op == "!=":
        return (s.op in ("<", "<=") and s.value < w.value) or (s.op in (">", ">=") and s.value > w.value)
    if s.op[0] != w.op[0] or s.op not in ("<", "<=", ">", ">="):
        return False
    further = s.value < w.value if s.op[0] == "<" else s.value > w.value
    return further or (s.value == w.value and (s.op == w.op or len(w.op) == 2))


def _order_circle(engine: EngineRule) -> int | None:
    """A pattern whose joins on an order lead in a circle; None when there is none."""
    nodes: set[tuple[int, str]] = set()
    below: dict[tuple[tuple[int, str], tuple[int, str]], bool] = {}
    """(smaller, greater) to whether strictly so."""

    def add(a: tuple[int, str], b: tuple[int, str], strict: bool) -> None:
        nodes.update((a, b))
        below[a, b] = below.get((a, b), False) or strict

    for n, pattern in enumerate(engine.patterns):
        for join in pattern.joins:
            here, there = (n, join.field), (join.other, join.other_field)
            if join.op in ("<", "<=", "=="):
                add(here, there, join.op == "<")
            if join.op in (">", ">=", "=="):
                add(there, here, join.op == ">")
    for via, a, b in itertools.product(sorted(nodes), repeat=3):
        if (a, via) in below and (via, b) in below:
            add(a, b, below[a, via] or below[via, b])
    circles = [a[0] for a in sorted(nodes) if below.get((a, a))]
    return max(circles) if circles else None


# Rules that say the same


def _overlaps(ruleset: Ruleset) -> Iterator[Remark]:
    rules = [r for r in ruleset.rules.values() if r.finding]
    for one, other in itertools.combinations(rules, 2):
        a, b = ruleset.alternatives_of(one.id), ruleset.alternatives_of(other.id)
        kinds_a = {frozenset(p.kind for p in x.engine.patterns) for x in a}
        kinds_b = {frozenset(p.kind for p in x.engine.patterns) for x in b}
        if not any(x <= y or y <= x for x in kinds_a for y in kinds_b):
            continue
        a_within_b, b_within_a = _covered(a, b), _covered(b, a)
        if a_within_b and b_within_a:
            yield Remark(
                "error",
                other.id,
                Problem(f'"{other.id}" has the same conditions as "{one.id}"', other.mark, "one rule"),
            )
        elif a_within_b or b_within_a:
            inner, outer = (one, other) if a_within_b else (other, one)
            if not _linked(inner, outer):
                yield Remark(
                    "warning",
                    inner.id,
                    Problem(
                        f'whenever "{inner.id}" fires, "{outer.id}" fires too',
                        inner.mark,
                        '"defeats", "symptom of" or "related" between them, if both are wanted',
                    ),
                )


def _linked(one: Rule, other: Rule) -> bool:
    def names(rule: Rule) -> set[str]:
        return {r.rule for r in (*rule.defeats, *rule.symptom_of, *rule.related)}

    return other.id in names(one) or one.id in names(other)


def _covered(inner: Sequence[Alternative], outer: Sequence[Alternative]) -> bool:
    """Whether each of `inner`'s alternatives fires only when some of `outer`'s does."""
    return all(any(_fires_with(i.engine, o.engine) for o in outer) for i in inner)


def _fires_with(inner: EngineRule, outer: EngineRule) -> bool:
    """Whether `outer` fires whenever `inner` does: its patterns map onto patterns of `inner`."""
    if len(outer.patterns) > len(inner.patterns) or len(outer.absent) > len(inner.absent):
        return False

    def extend(place: tuple[int, ...]) -> bool:
        n = len(place)
        if n == len(outer.patterns):
            return all(any(_same_absence(i, o, place) for i in inner.absent) for o in outer.absent)
        wanted = outer.patterns[n]
        for k, pattern in enumerate(inner.patterns):
            if k in place or pattern.kind != wanted.kind or not _implies(pattern, wanted):
                continue
            if all(_has_join(inner, k, join, place) for join in wanted.joins) and extend((*place, k)):
                return True
        return False

    return extend(())


def _same_absence(inner: Pattern, outer: Pattern, place: Sequence[int]) -> bool:
    """Whether the absence that `inner` asks for means the one that `outer` asks for."""
    moved = {Join(j.field, j.op, place[j.other], j.other_field) for j in outer.joins}
    return inner.kind == outer.kind and set(inner.joins) <= moved and _implies(outer, inner)


def _has_join(inner: EngineRule, k: int, join: Join, place: Sequence[int]) -> bool:
    other = place[join.other]
    if any(
        j.other == other
        and (j.field, j.other_field) == (join.field, join.other_field)
        and _op_implies(j.op, join.op)
        for j in inner.patterns[k].joins
    ):
        return True
    flipped = {"<": ">", "<=": ">=", ">": "<", ">=": "<="}.get(join.op, join.op)
    return any(
        j.other == k
        and (j.field, j.other_field) == (join.other_field, join.field)
        and _op_implies(j.op, flipped)
        for j in inner.patterns[other].joins
    )


def _op_implies(strong: str, weak: str) -> bool:
    return weak in {"<": ("<", "<=", "!="), ">": (">", ">=", "!="), "==": ("==", "<=", ">=")}.get(
        strong, (strong,)
    )


# What a rule owes its reader


def _duties(rule: Rule) -> Iterator[Remark]:
    def remark(level: Level, message: str, expected: str, mark: Mark | None = None) -> Remark:
        return Remark(level, rule.id, Problem(f'"{rule.id}" {message}', mark or rule.mark, expected))

    part = rule.finding
    if not rule.cites:
        yield remark(
            "error",
            "names no source",
            '"cites": a document with its clause and edition, or "common practice"',
        )
    exact = [c for c in rule.cites if c.kind == "common practice" or (c.clause and c.edition)]
    if part and part.severity == "serious" and rule.cites and not exact:
        yield remark(
            "error",
            "is serious, and no source has both clause and edition",
            'a clause and an edition, or "common practice"',
        )
    for citation in rule.cites:
        if citation.kind in ("code", "standard") and not citation.edition:
            yield remark("error", f"cites {citation.document} without an edition", 'the key "edition"')
    if part and part.voice == "code" and not any(c.kind == "code" for c in rule.cites):
        yield remark("error", "speaks as the code and cites none", "a source of the kind code", part.mark)
    if part and part.severity == "serious" and not _names_mechanism(part.explanation.text):
        yield remark(
            "error",
            "is serious, and its explanation does not say how the section fails",
            "what happens to it: it rots, corrodes, freezes, grows mold, …",
            part.mark,
        )
    if part and part.severity in ("serious", "caution") and not part.remedies:
        yield remark("warning", f"is {_a(part.severity)} and says nothing to do", 'the key "do"', part.mark)
    firing = sum(e.fires for e in rule.examples)
    silent = len(rule.examples) - firing
    if firing < LEAST_FIRING:
        yield remark(
            "error",
            f"has {_count(firing, 'example')} on which it fires",
            f"at least {LEAST_FIRING} that start with “fires”",
        )
    if silent < LEAST_SILENT:
        yield remark(
            "error",
            f"has {_count(silent, 'example')} on which it is silent",
            f"at least {LEAST_SILENT} near misses that start with “silent”",
        )
    names: dict[str, int] = {}
    for example in rule.examples:
        names[example.name] = names.get(example.name, 0) + 1
        if names[example.name] == 2:
            yield remark(
                "warning", f'has two examples named "{example.name}"', "a name for each", example.mark
            )


def _names_mechanism(text: str) -> bool:
    lower = text.casefold()
    return any(re.search(rf"\b{re.escape(stem)}", lower) for stem in MECHANISMS)


def _a(severity: str) -> str:
    return "serious" if severity == "serious" else f"a {severity}"


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" + ("" if n == 1 else "s")


# Thresholds


def example_facts(rule: Rule, review_facts: FactsOf | None) -> list[Fact]:
    """The facts of all examples of a rule that can be read."""
    facts: list[Fact] = []
    for example in rule.examples:
        try:
            facts += facts_of(example, review_facts)
        except CannotRun:
            continue
    return facts


def _edges(
    ruleset: Ruleset, results: Iterable[ExampleResult], review_facts: FactsOf | None
) -> Iterator[Remark]:
    """Thresholds that no example stands just beside, on either side."""
    runnable = {r.rule for r in results if r.fired is not None}
    for rule in ruleset.rules.values():
        if rule.id not in runnable:
            continue
        facts = example_facts(rule, review_facts)
        conditions = list(rule.conditions())
        told: set[tuple[str, str, str, float]] = set()
        for threshold in thresholds_of(rule):
            key = (threshold.kind, threshold.field, threshold.op, threshold.value)
            sides = sides_of(threshold, facts)
            if sides.both_near or key in told:
                continue
            told.add(key)
            test = conditions[threshold.condition].tests[threshold.test]
            yield Remark("warning", rule.id, Problem(_edge_text(sides), test.mark, _edge_expected(sides)))


def _edge_text(sides: Sides) -> str:
    t = sides.threshold
    missing = [
        word
        for word, value in (("that passes", sides.passing), ("that fails", sides.failing))
        if not sides.near(value)
    ]
    return f'no example has a "{t.field}" just beside {t.op} {t.text} {" nor one ".join(missing)}'


def _edge_expected(sides: Sides) -> str:
    from reviewer.units import show

    t = sides.threshold
    if t.dimension in ("index", "count"):
        return f"values {t.step:g} or less from {t.text} on both sides"
    dimension = "temperature difference" if t.dimension == "temperature" else t.dimension
    system = "si" if dimension not in ("permeance", "permeability") else "ip"
    return f"values at most {show(t.step, dimension, system)} from {t.text} on both sides"


# Time


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds, best of several runs."""

    read: float
    """To read the YAML."""
    kept: float
    """To read the kept rulebook instead; 0 when none is kept."""
    compile: float
    run: Mapping[str, float]
    """For each set of facts."""
    rules: Mapping[str, float]
    """For each rule, over all sets of facts, run alone with what it rests on."""


def timing(
    dirs: Iterable[str | Path] | None, fact_sets: Mapping[str, Sequence[Fact]], repeat: int = 3
) -> Timing:
    """How long a ruleset takes: reading, compiling, and each set of facts."""
    import time

    from reviewer.engine import compile_program
    from reviewer.rules.examples import engine_rules

    folders = None if dirs is None else list(dirs)

    def best(action: object) -> float:
        assert callable(action)
        times = []
        for _ in range(repeat):
            start = time.perf_counter()
            action()
            times.append(time.perf_counter() - start)
        return min(times)

    ruleset = load_ruleset(folders)
    engine = [a.engine for a in ruleset.alternatives]
    alone: dict[str, float] = {}
    for rule in ruleset.rules:
        with compile_program(engine_rules(ruleset, rule), engine="fixpoint") as program:
            alone[rule] = sum(best(lambda p=program, f=facts: p.run(f)) for facts in fact_sets.values())
    return Timing(
        read=best(lambda: load_ruleset(folders, keep=False)),
        kept=best(lambda: load_ruleset(folders)),
        compile=best(lambda: compile_program(engine).close()),
        run={name: best(lambda f=facts: ruleset.run(f)) for name, facts in fact_sets.items()},
        rules=alone,
    )
