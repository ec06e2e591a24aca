"""The rulebook's workbench, put together: lists, pages, checks, coverage and differences of packs.

Each function returns the text to print, and an exit status where there is one.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import reviewer
from reviewer.engine.types import Fact
from reviewer.errors import InputError, Problem, nearest
from reviewer.progress import tracked

if TYPE_CHECKING:
    from reviewer.model.section import Section
    from reviewer.rules.check import Timing
    from reviewer.rules.page import Form
    from reviewer.rules.ruleset import Ruleset

SHIPPED = "shipped"
"""What the packs that come with the program are called where a folder of packs is asked for."""


def facts_of(section: Mapping[str, Any]) -> Sequence[Fact]:
    """The facts of a section given as the keys of a section file: what rule examples are run on."""
    import json

    from reviewer.facts.build import build
    from reviewer.model.parse import parse_section

    # JSON is YAML: the example goes the way of a section file.
    return build(parse_section(json.dumps(section), "<example>"))[0].facts()


def listing(rules: Ruleset, pack: str | None) -> str:
    """One line a rule. Raises InputError for an unknown pack."""
    chosen = _rules_of(rules, pack)
    shown = [rules.rules[r] for r in chosen]
    size = max((len(r.id) for r in shown), default=0)
    lines = [f"{r.id:<{size}}  {r.severity or 'conclusion':<10}  {r.title}" for r in shown]
    lines.append(f"{_count(len(shown), 'rule')} in {_count(len({r.pack for r in shown}), 'pack')}")
    return "\n".join(lines) + "\n"


def page(rules: Ruleset, rule_id: str, form: str = "text") -> str:
    """The page of one rule. Raises InputError: no such rule."""
    from reviewer.rules.page import rule_page

    return rule_page(rules.rule(rule_id), rules, cast("Form", form))


def book(rules: Ruleset, form: str = "text", pack: str | None = None) -> str:
    """The pages of all rules, with an index. Raises InputError: no such pack."""
    from reviewer.rules.page import rulebook

    return rulebook(rules, cast("Form", form), pack)


def _rules_of(rules: Ruleset, pack: str | None) -> list[str]:
    packs = list(dict.fromkeys(topic.pack for topic in rules.topics))
    if pack is not None and pack not in packs:
        raise InputError(
            Problem(f'no pack "{pack}"', None, "one of " + ", ".join(packs), nearest(pack, packs))
        )
    return [r for t in rules.topics if pack in (None, t.pack) for r in t.rules]


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" + ("" if n == 1 else "s")


# Checks


def check(extra: Sequence[Path], timed: bool = False) -> tuple[str, int]:
    """Check every rule and run its examples: the report, and exit status 0 or 1.

    A user's packs are compiled in a process of their own first.

    Raises InputError: a folder that can't be read.
    """
    from reviewer.rules.check import Remark, check_dirs
    from reviewer.rules.child import compile_check_in_child
    from reviewer.rules.ruleset import is_kept, shipped_rules_dir

    dirs = [shipped_rules_dir(), *extra]
    kept = is_kept(dirs)
    refused = compile_check_in_child(dirs) if extra and not kept else []
    remarks = [Remark("error", "", p) for p in refused] or check_dirs(dirs, facts_of)
    errors = sum(r.level == "error" for r in remarks)
    lines = [r.render() for r in remarks]
    lines.append(f"{_count(errors, 'error')}, {_count(len(remarks) - errors, 'warning')}")
    if timed and not errors:
        lines += ["", *_timing_lines(dirs)]
    return "\n".join(lines) + "\n", int(errors > 0)


def _timing_lines(dirs: Sequence[Path]) -> list[str]:
    from reviewer.rules.check import timing

    cases = _case_facts(_sections(None))
    found: Timing = timing(dirs, cases)
    run = sum(found.run.values())
    lines = [
        f"Reading the YAML takes {found.read * 1000:.0f} ms, the kept rulebook {found.kept * 1000:.0f} ms, "
        f"compiling {found.compile * 1000:.0f} ms.",
        f"All rules on {_count(len(cases), 'case')}: {run * 1000:.1f} ms, "
        f"{run / max(len(cases), 1) * 1000:.2f} ms a case ({len(cases) / run:.0f} cases a second).",
        "Each rule alone, with what it rests on, on all cases; the slowest first:",
    ]
    slowest = sorted(found.rules.items(), key=lambda item: -item[1])
    lines += [f"{seconds * 1000:9.2f} ms  {rule}" for rule, seconds in slowest]
    return lines


# Cases


def shipped_cases_dir() -> Path:
    """The cases that come with the program: in a checkout, or in the installed wheel."""
    package = Path(reviewer.__file__).parent
    installed = package / "_cases"
    return installed if installed.is_dir() else package.parent / "cases"


def shipped_questions_dir() -> Path:
    """The questions that come with the program, beside its section files."""
    return shipped_cases_dir() / "questions"


def shipped_cases() -> list[Path]:
    """The section files that come with the program, sorted; the questions beside them are no sections."""
    questions = shipped_questions_dir()
    return sorted(p for p in shipped_cases_dir().glob("*/*.yaml") if p.parent != questions)


def _sections(folder: Path | None) -> dict[str, Section]:
    """The section files under a folder (None: the shipped cases), by their path in it.

    Raises InputError: no such folder, no file in it, or a file that is no section.
    """
    from reviewer.model.parse import load_section
    from reviewer.rules.load import SUFFIXES

    where = shipped_cases_dir() if folder is None else folder
    if not where.is_dir():
        raise InputError(
            Problem(f'the folder of cases "{where}" does not exist', None, "a folder with section files")
        )
    if where.resolve() == shipped_cases_dir().resolve():
        files = [where / p.relative_to(shipped_cases_dir()) for p in shipped_cases()]
    else:
        files = [p for p in sorted(where.rglob("*")) if p.suffix in SUFFIXES and p.is_file()]
    if not files:
        raise InputError(
            Problem(f'the folder of cases "{where}" holds no section files', None, "files named *.yaml")
        )
    sections: dict[str, Section] = {}
    problems: list[Problem] = []
    for path in files:
        try:
            sections[path.relative_to(where).with_suffix("").as_posix()] = load_section(path)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(problems)
    return sections


def _case_facts(sections: Mapping[str, Section]) -> dict[str, Sequence[Fact]]:
    from reviewer.facts.build import build

    return {name: build(sections[name])[0].facts() for name in tracked(list(sections), "facts of case")}


def coverage(rules: Ruleset, folder: Path | None, pack: str | None = None) -> tuple[str, int]:
    """What the cases exercise of the rules, and which changes of a rule its examples don't notice.

    The report, and exit status 1 when a change goes unnoticed or a rule's examples can't be run.

    Raises InputError: no such pack, or cases that can't be used.
    """
    from reviewer.rules.coverage import coverage as covered
    from reviewer.rules.mutation import mutate

    chosen = _rules_of(rules, pack)
    cases = _case_facts(_sections(folder))
    text = covered(rules, cases).of(chosen).render()
    report = mutate(rules, tracked(chosen, "mutation check of rule"), facts_of)
    lines = [
        f"Mutation check: {_count(report.tried, 'change')} of {_count(len(chosen), 'rule')} tried, "
        f"{report.killed} noticed by an example, {len(report.survivors)} not."
    ]
    lines += [s.as_problem().render() for s in report.survivors]
    lines += [f"not tried, its examples fail or can't be run: {rule}" for rule in report.not_run]
    return text + "\n" + "\n".join(lines) + "\n", int(bool(report.survivors or report.not_run))


# Differences


def packs(text: str) -> list[Path]:
    """Folders of packs as the command line names them: `shipped`, a folder, or several joined by `+`."""
    from reviewer.rules.ruleset import shipped_rules_dir

    if text != SHIPPED and Path(text).exists():
        return [Path(text)]
    return [shipped_rules_dir() if part == SHIPPED else Path(part) for part in text.split("+")]


def load_packs(text: str) -> Ruleset:
    """The rules of some packs, those of a user compiled in a process of their own first.

    Raises InputError.
    """
    from reviewer.rules.child import compile_check_in_child
    from reviewer.rules.ruleset import is_kept, load_ruleset, shipped_rules_dir

    dirs = packs(text)
    if dirs != [shipped_rules_dir()] and not is_kept(dirs):
        problems = compile_check_in_child(dirs)
        if problems:
            raise InputError(problems)
    return load_ruleset(dirs)


def difference(old: str, new: str, over: Path | None) -> tuple[str, int]:
    """What changes between two rulebooks: rules, findings of the cases, and verdicts.

    The report, and exit status 1 when the findings or the verdict of a case change.

    Raises InputError: packs or cases that can't be used.
    """
    from reviewer.review import review
    from reviewer.rules.rulediff import difference as compared

    before, after = load_packs(old), load_packs(new)
    sections = _sections(over)
    found = compared(before, after, _case_facts(sections))
    verdicts: dict[str, tuple[str, str]] = {}
    for name in tracked(list(sections), "verdict of case"):
        pair = tuple(review(sections[name], rules).disposition for rules in (before, after))
        if pair[0] != pair[1]:
            verdicts[name] = (pair[0], pair[1])
    lines: list[str] = []
    for what, rules in (
        ("new", found.added),
        ("gone", found.removed),
        ("judges otherwise", found.judging),
        ("words only", found.wording),
    ):
        lines += [f"rule {what}: {rule}" for rule in rules]
    changed = {c.case: c for c in found.cases}
    for name in [n for n in sections if n in changed or n in verdicts]:
        verdict = "the verdict stays"
        if name in verdicts:
            verdict = f"{verdicts[name][0]} -> {verdicts[name][1]}"
        lines.append(f"{name}: {verdict}")
        case = changed.get(name)
        if case is None:
            continue
        lines += [f"  - {_finding(key)}" for key in case.gone]
        lines += [f"  + {_finding(key)}" for key in case.new]
        lines += [f"  {_finding(key)}: {was} -> {now}" for key, was, now in case.severities]
    touched = len(changed.keys() | verdicts.keys())
    lines.append(
        f"{_count(found.cases_run, 'case')}: the findings of {len(changed)} change, the verdicts of {len(verdicts)}"
    )
    return "\n".join(lines) + "\n", int(touched > 0)


def _finding(key: tuple[str, tuple[int, ...]]) -> str:
    rule, layers = key
    numbers = ", ".join(str(n + 1) for n in layers)
    return rule + (f" (layer{'s' if len(layers) > 1 else ''} {numbers})" if layers else "")


# A new rule

Ask = Callable[[str], str]
"""A question to the person at the terminal, and the answer."""

QUESTIONS = {
    "id": "Id, the pack and a name: own/shut-in-between",
    "title": "Title, what is the matter in a few words",
    "topic": "Topic, the file of the pack that it goes to [Own rules]",
    "when": 'Condition, "KIND ALIAS: FIELD TEST, FIELD TEST" (? for the kinds, ?layer for the fields of a layer, '
    "nothing when all are said)",
    "severity": "Severity: serious, caution, note or credit",
    "reason": "Why it is this severe, one sentence",
    "says": "The finding in one sentence; {inner.name} puts in the name of the layer called inner",
    "explanation": "What happens physically",
    "do": "Something to do about it (nothing when all is said)",
    "cites": 'Source, "document; edition; clause" (nothing: common practice)',
    "confidence": "Confidence: high, medium or low [medium]",
}
NEEDED = ("id", "title", "when", "severity", "reason", "says", "explanation")
SEVERAL = ("when", "do", "cites")


def new_rule(folder: Path, given: Mapping[str, Any], ask: Ask | None) -> tuple[str, int]:
    """Write a rule with its examples to a user's pack, and check it.

    `given` are answers already there; what is missing is asked for, or is refused where nobody can be
    asked. The report, and exit status 1 when the check or the mutation check has something to say.

    Raises InputError: answers are missing or wrong; nothing is written then.
    """
    from reviewer.files import write_whole
    from reviewer.rules import draft as drafts
    from reviewer.rules.load import check_references, read_topic
    from reviewer.rules.ruleset import Ruleset, load_ruleset, ruleset_files, shipped_rules_dir

    shipped = shipped_rules_dir().resolve()
    if folder.resolve() == shipped or shipped in folder.resolve().parents:
        raise InputError(
            Problem(f'"{folder}" holds the rules that come with the program', None, "a folder of your own")
        )
    draft = drafts.Draft(**_answers(given, ask))
    drafts.read_draft(draft)
    book = load_ruleset()
    topics, rules = list(book.topics), list(book.rules.values())
    path = folder / draft.pack / draft.file_name
    examples = drafts.examples_for(draft, book)
    if path.exists():
        text = drafts.added_to(path.read_text(encoding="utf-8"), draft, examples, str(path))
    else:
        text = drafts.header(draft) + drafts.compose(draft, examples)
    for file in ruleset_files(folder) if folder.is_dir() and any(folder.rglob("*.yaml")) else ():
        if file != path:
            topic, found = read_topic(file.read_bytes(), str(file))
            topics.append(topic)
            rules += found
    topic, found = read_topic(text, str(path))
    topics.append(topic)
    rules += found
    problems = check_references(topics, rules)
    if problems:
        raise InputError(problems)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, text)
    return _told_of_new(Ruleset.of(topics, rules), draft.id, path, len(examples))


def _told_of_new(rules: Ruleset, rule_id: str, path: Path, examples: int) -> tuple[str, int]:
    from reviewer.rules.check import check as checked
    from reviewer.rules.mutation import mutate

    lines = [f"{rule_id} is written to {path}, with {_count(examples, 'example')}."]
    if not examples:
        lines.append(
            "No facts were found on which it fires: look at its conditions, and add examples by hand."
        )
    remarks = [r for r in checked(rules, facts_of) if r.rule == rule_id]
    report = mutate(rules, [rule_id], facts_of)
    lines += [r.render() for r in remarks]
    if examples:
        lines.append(
            f"{_count(report.tried, 'change')} of the rule tried: {report.killed} noticed by an example, "
            f"{len(report.survivors)} not."
        )
    lines += [s.as_problem().render() for s in report.survivors]
    return "\n".join(lines) + "\n", int(bool(remarks or report.survivors or not examples))


def _answers(given: Mapping[str, Any], ask: Ask | None) -> dict[str, Any]:
    """The answers given, and those to what is asked for."""
    answers = {name: value for name, value in given.items() if value not in (None, "", [])}
    missing = [name for name in QUESTIONS if name not in answers]
    if ask is None:
        needed = [f"--{name}" for name in missing if name in NEEDED]
        if needed:
            raise InputError(
                Problem("a rule needs more answers", None, ", ".join(needed) + ", or a terminal to ask on")
            )
        missing = []
    for name in missing:
        answer = _several(name, ask) if name in SEVERAL else _one(name, ask)
        if answer:
            answers[name] = answer
    return {name: tuple(value) if name in SEVERAL else value for name, value in answers.items()}


def _one(name: str, ask: Ask | None) -> str:
    from reviewer.rules.language import CONFIDENCES, SEVERITIES

    assert ask is not None
    words = {"severity": SEVERITIES, "confidence": CONFIDENCES}.get(name)
    while True:
        answer = ask(QUESTIONS[name]).strip()
        if not answer and name not in NEEDED:
            return ""
        if name == "id" and answer:
            try:
                _try(answer)
            except InputError as error:
                _say(error.problems[0])
                continue
        if answer and (words is None or answer in words):
            return answer
        _say(Problem("an answer is needed", None, ", ".join(words) if words else ""))


def _several(name: str, ask: Ask | None) -> list[str]:
    from reviewer.rules.draft import condition_as_yaml, vocabulary

    assert ask is not None
    answers: list[str] = []
    while True:
        answer = ask(QUESTIONS[name]).strip()
        if not answer and (answers or name not in NEEDED):
            return answers
        if answer.startswith("?") and name == "when":
            try:
                _say(vocabulary(answer.lstrip("?").strip() or None))
            except InputError as error:
                _say(error.problems[0])
            continue
        if name == "when":
            try:
                condition_as_yaml(answer)
                _try(conditions=[*answers, answer])
            except InputError as error:
                for problem in error.problems:
                    _say(problem)
                continue
        answers.append(answer)


def _try(rule_id: str = "own/new", conditions: Sequence[str] = ("section: kind known",)) -> None:
    """Read a rule of these answers. Raises InputError."""
    from reviewer.rules.draft import Draft, read_draft

    read_draft(Draft(rule_id, "New", tuple(conditions), "note", "New.", "New", "New."))


def _say(what: Problem | str) -> None:
    print(what.render() if isinstance(what, Problem) else what, file=sys.stderr)
