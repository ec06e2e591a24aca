"""One run of the gate: discovery, policy, review, judgment, and the report."""

from __future__ import annotations

import os
import sys
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import reviewer
from reviewer.document import MAX_BYTES
from reviewer.errors import InputError, Problem
from reviewer.gate.baseline import Baseline, read_baseline
from reviewer.gate.cache import Cache
from reviewer.gate.change import changed_since, content_at, pairs_of_folders
from reviewer.gate.discovery import (
    STANDARD_INPUT,
    Source,
    covered,
    discover,
    is_section_file,
    read_source,
    start_folder,
)
from reviewer.gate.judge import Judge
from reviewer.gate.kept import Kept
from reviewer.gate.library import Library
from reviewer.gate.limits import HOURLY_TIME_LIMIT, TIME_LIMIT
from reviewer.gate.policy import Policies, Policy
from reviewer.gate.record import LibraryRemark, Record, Task
from reviewer.gate.report import Report
from reviewer.gate.rulebook import gate_rules, rule_ids, rulebook
from reviewer.gate.run import Runner, records


@dataclass(frozen=True, slots=True)
class Options:
    """What one run is asked for."""

    paths: tuple[str, ...] = ()
    today: date = date.min
    policy: Path | None = None
    given: dict[str, Any] = field(default_factory=dict)
    """Fields of the policy that the command line sets."""
    baseline: Path | None = None
    write_baseline: bool = False
    since: str = ""
    diff: tuple[Path, Path] | None = None
    cache: Path | None = None
    time_limit: float | None = None
    """s for one section; None: by whether the hourly simulation runs."""


@dataclass(frozen=True, slots=True)
class _Job:
    """A section to judge: one task, or two where a change is looked at."""

    source: Source
    policy: Policy | None
    after: Task | Record | None
    before: Task | Record | None = None
    compared: bool = False


def _whole(record: Record | Kept) -> Record:
    return record.record() if isinstance(record, Kept) else record


class Gate:
    """The parts that stay from run to run: policies, rulebooks, the cache."""

    def __init__(self, options: Options, notice: Callable[[str], None] = lambda text: None):
        self.options = options
        self.notice = notice
        """Takes what people should know that is no result."""
        self.policies = Policies(rule_ids, options.policy, options.given)
        self.top = self.policies.of_folder(self._start())
        rulebook(self.top.rules)
        self.cache = Cache(options.cache) if options.cache is not None else None
        self.written: Baseline | None = None
        """The baseline after the run, where one was to be written."""
        self._used: dict[int, Policy] = {}

    def _start(self) -> Path:
        if self.options.diff is not None:
            return Path(self.options.diff[1]).absolute()
        return start_folder(self.options.paths)

    def run(self, runner: Runner, tick: Callable[[int], None] = lambda done: None) -> Report:
        """Review and judge everything.

        Raises InputError: paths, policy, baseline, revision or rulebook that can't be used, no section among the
        paths, a full disk.
        """
        options = self.options
        baseline = self._baseline()
        judge, library = Judge(options.today, baseline, options.write_baseline), Library()
        report = Report(f"reviewer {reviewer.__version__}", rulebook(self.top.rules).digest, self._title())
        if options.since:
            report.change = options.since
        elif options.diff is not None:
            report.change = options.diff[0].as_posix()
        count = 0
        for job, after, before in self._reviewed(runner, tick):
            count += 1
            policy = job.policy or self.top
            self._used[id(policy)] = policy
            if after is None:
                assert before is not None
                report.add(judge.removed(before))
                continue
            if isinstance(after, Kept):
                detail = None if job.compared else judge.kept(after, policy)
                if detail is not None:
                    report.copy(detail, after.rules)
                    library.add(after, policy.zones)
                    continue
                after = after.record()
            base = before if before is None or before.verdicts else Record(file=job.source.file)
            if job.compared and base is None:
                base = Record(file=job.source.file)
            report.add(judge.detail(after, policy, base))
            library.add(after, policy.zones)
        if not count and not options.since:
            report.close()
            raise InputError(
                Problem(
                    "no section was found", None, "section files (*.yaml), or folders or patterns of them"
                )
            )
        if not report.change:
            self._about_the_whole(report, judge, library)
        if baseline is not None and not report.change:
            report.baseline = str(baseline.path)
            if not options.write_baseline:
                report.stale = baseline.stale(judge.sections)
        if options.write_baseline:
            old = baseline or Baseline({}, {}, self._baseline_path() or Path("baseline.json"))
            self.written = old.merged(judge.entries, judge.sections)
            if judge.guarded:
                self.notice(
                    f"left out of the baseline, since they may not be waived: {judge.guarded} findings"
                )
        report.tally = judge.total(len(report.stale))
        self._name_rules(report)
        if self.cache is not None and self.cache.full:
            self.notice(f"results are not kept for the next run: {self.cache.full} ({self.cache.folder})")
        return report

    # -- tasks -----------------------------------------------------------------------------------

    def _reviewed(
        self, runner: Runner, tick: Callable[[int], None]
    ) -> Iterator[tuple[_Job, Record | Kept | None, Record | None]]:
        """Jobs with the records of after and before, in order."""
        waiting: deque[_Job] = deque()

        def tasks() -> Iterator[tuple[Task, str] | Record]:
            for job in self._jobs():
                waiting.append(job)
                for side in (job.after, job.before):
                    if isinstance(side, Record):
                        yield side
                    elif side is not None:
                        yield side, rulebook(side.rules).digest

        done = records(tasks(), runner, self.cache, tick)
        for record in done:
            job = waiting.popleft()
            if job.after is None:
                yield job, None, _whole(record)
            else:
                yield job, record, _whole(next(done)) if job.before is not None else None

    def _jobs(self) -> Iterator[_Job]:
        if self.options.diff is not None:
            yield from self._jobs_of_diff(*self.options.diff)
        elif self.options.since:
            yield from self._jobs_since(self.options.since)
        else:
            for source in self._sources(self.options.paths):
                policy, side = self._side(source, None, facts=False)
                yield _Job(source, policy, side)

    def _sources(self, paths: Sequence[str], base: Path | None = None) -> Iterator[Source]:
        return discover(paths, self.policies.of_folder, base)

    def _side(
        self, source: Source, content: bytes | None, facts: bool
    ) -> tuple[Policy | None, Task | Record]:
        """The task of a source, or the record of why there is none."""
        if source.problem:
            return None, Record(file=source.file, refused=[f"{source.file}: {source.problem}"])
        try:
            policy = self.policies.of_folder(source.path.parent)
            rulebook(policy.rules)
        except InputError as error:
            return None, Record(file=source.file, refused=[p.render() for p in error.problems])
        try:
            data = content if content is not None else self._read(source)
        except OSError as error:
            why = f"{source.file}: can't be read: {error.strerror}"
            return policy, Record(file=source.file, refused=[why])
        task = Task(
            file=source.file,
            path=str(source.path) if source.file != STANDARD_INPUT else STANDARD_INPUT,
            content=data,
            zones=policy.zones,
            edition=policy.edition,
            units=policy.units,
            hourly=policy.hourly,
            rules=policy.rules,
            facts=facts,
            limit=self.options.time_limit or (HOURLY_TIME_LIMIT if policy.hourly else TIME_LIMIT),
        )
        return policy, task

    def _read(self, source: Source) -> bytes:
        if source.file == STANDARD_INPUT:
            return sys.stdin.buffer.read(MAX_BYTES + 1)
        return read_source(source)

    def _jobs_since(self, revision: str) -> Iterator[_Job]:
        base = Path.cwd()
        changed, top = changed_since(revision, base)
        for source in self._sources(self.options.paths):
            name = changed.get(str(source.path), changed.get(str(source.path.resolve())))
            if name is None and not source.problem:
                continue
            policy, after = self._side(source, None, facts=True)
            before = None
            if name:
                _, before = self._side(source, content_at(revision, name, top), facts=True)
            yield _Job(source, policy, after, before, compared=True)
        for source, name in self._taken_out(changed, base):
            policy, before = self._side(source, content_at(revision, name, top), facts=True)
            yield _Job(source, policy, None, before, compared=True)

    def _taken_out(self, changed: Mapping[str, str], base: Path) -> Iterator[tuple[Source, str]]:
        """Sections of the folders under review that are no more, with their names in the revision."""
        folders = [folder.resolve() for folder in covered(self.options.paths)]
        for text in sorted(changed):
            path = Path(text)
            if (
                is_section_file(path.name)
                and not os.path.lexists(path)
                and any(folder in path.parents for folder in folders)
                and not self.policies.of_folder(path.parent).leaves_out(path)
            ):
                yield Source(Path(os.path.relpath(path, base.resolve())).as_posix(), path), changed[text]

    def _jobs_of_diff(self, old: Path, new: Path) -> Iterator[_Job]:
        sides = []
        for folder in (old, new):
            if not folder.is_dir():
                raise InputError(Problem(f'"{folder}" is not a folder', None, "two folders of sections"))
            top = folder.absolute()
            found = {s.path.relative_to(top).as_posix(): s for s in self._sources([str(top)])}
            sides.append(found)
        before, after = sides
        pairs = pairs_of_folders(
            [(n, s.path) for n, s in before.items()], [(n, s.path) for n, s in after.items()]
        )
        for name, was, now in pairs:
            policy, new_side = self._side(after[name], None, facts=True) if now else (None, None)
            _, old_side = self._side(before[name], None, facts=True) if was else (None, None)
            source = after[name] if now else before[name]
            yield _Job(source, policy, new_side, old_side, compared=True)

    # -- about the whole run ---------------------------------------------------------------------

    def _about_the_whole(self, report: Report, judge: Judge, library: Library) -> None:
        folders = covered(self.options.paths)
        policies = [self.top, *self._used.values()]
        found = [
            LibraryRemark(file=file, section="", finding=finding)
            for file, finding in judge.policy_remarks(policies, folders)
        ]
        found += library.remarks(judge, self.top, bool(folders))
        report.library = judge.settle(found, self.top)

    def _name_rules(self, report: Report) -> None:
        own = gate_rules()
        for remark in report.library:
            report.rules.setdefault(remark.finding.rule, ("", "", ""))
        books = [rulebook(self.top.rules)] + [rulebook(p.rules) for p in self._used.values()]
        named = {}
        for rule in sorted(report.rules):
            title, severity, authority = report.rules[rule]
            if rule in own:
                title, severity, authority = own[rule].title, own[rule].severity, ""
            else:
                book = next((b for b in books if rule in b.rules), None)
                if book is not None:
                    title, severity = book.rules[rule].title, book.rules[rule].severity
            named[rule] = (title, severity, authority)
        report.rules = named

    def _baseline_path(self) -> Path | None:
        if self.options.baseline is not None:
            return self.options.baseline
        return Path(self.top.baseline) if self.top.baseline else None

    def _baseline(self) -> Baseline | None:
        path = self._baseline_path()
        if path is None or (self.options.write_baseline and not path.exists()):
            return None
        return read_baseline(path)

    def _title(self) -> str:
        if self.options.diff is not None:
            return f"{self.options.diff[0].as_posix()} to {self.options.diff[1].as_posix()}"
        return ", ".join(self.options.paths)
