"""The command `reviewer gate`: arguments and exit status. Everything else is imported when it runs."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional

import typer

from reviewer.gate.limits import HOURLY_TIME_LIMIT, TIME_LIMIT

if TYPE_CHECKING:
    from datetime import date

    from reviewer.gate.gate import Gate, Options
    from reviewer.gate.report import Report
    from reviewer.gate.run import Runner
    from reviewer.report.letterhead import Letterhead

FORMATS = ("terminal", "json", "junit", "sarif", "markdown", "html", "csv")
SUFFIXES = {
    ".txt": "terminal",
    ".json": "json",
    ".xml": "junit",
    ".sarif": "sarif",
    ".md": "markdown",
    ".html": "html",
    ".csv": "csv",
    ".xlsx": "workbook",
    ".pdf": "pdf",
    ".docx": "docx",
}
ANNOTATE = ("auto", "github", "azure", "teamcity")
FAIL_AT = ("serious", "caution", "note", "never")


def gate_command(
    paths: Annotated[
        Optional[list[str]],
        typer.Argument(
            metavar="PATH...",
            help='Section files, folders, patterns such as "details/**/*.yaml", or "-" for standard input.',
        ),
    ] = None,
    format: Annotated[
        str, typer.Option("--format", metavar="|".join(FORMATS), help="How the report is printed.")
    ] = "terminal",
    output: Annotated[
        Optional[list[Path]],
        typer.Option(
            "-o",
            "--output",
            metavar="FILE",
            help="Write a report; the format follows the suffix: "
            + ", ".join(SUFFIXES)
            + ". Can be repeated.",
        ),
    ] = None,
    annotate: Annotated[
        Optional[str],
        typer.Option(
            "--annotate",
            metavar="|".join(ANNOTATE),
            help="Print annotations for a continuous integration service, too.",
        ),
    ] = None,
    policy: Annotated[
        Optional[Path],
        typer.Option(
            "--policy", metavar="FILE", help="The policy, instead of every reviewer.yaml found upwards."
        ),
    ] = None,
    show_policy: Annotated[
        bool,
        typer.Option(
            "--show-policy", help="Print the policy for these paths, with where each key comes from."
        ),
    ] = False,
    baseline: Annotated[
        Optional[Path],
        typer.Option("--baseline", metavar="FILE", help="Findings in this file are known and fail nothing."),
    ] = None,
    letterhead: Annotated[
        Optional[Path],
        typer.Option(
            "--letterhead", metavar="FILE", help="Firm, date, project and signature for a written report."
        ),
    ] = None,
    write_baseline: Annotated[
        bool,
        typer.Option("--write-baseline", help="Write what is found now into the baseline, and prune it."),
    ] = False,
    since: Annotated[
        Optional[str],
        typer.Option(
            "--since", metavar="REV", help="Only what changed since a git revision, and which verdicts moved."
        ),
    ] = None,
    diff: Annotated[
        Optional[tuple[Path, Path]],
        typer.Option("--diff", metavar="OLD NEW", help="Two folders: which verdicts moved, and why."),
    ] = None,
    fail_at: Annotated[
        Optional[str],
        typer.Option(
            "--fail-at", metavar="SEVERITY", help="Exit status 1 from this severity on; over the policy's."
        ),
    ] = None,
    today: Annotated[
        Optional[str],
        typer.Option("--today", metavar="DATE", help="The day that waivers are judged by, as 2027-06-30."),
    ] = None,
    rules: Annotated[
        Optional[list[Path]],
        typer.Option("--rules", metavar="DIR", help="A folder of your own packs, beside ours."),
    ] = None,
    edition: Annotated[
        Optional[str], typer.Option("--edition", metavar="CODE", help='Code and edition, such as "IRC 2018".')
    ] = None,
    units: Annotated[
        Optional[str], typer.Option("--units", metavar="ip|si", help="ip or si (default: by country).")
    ] = None,
    hourly: Annotated[
        bool, typer.Option("--hourly", help="Run the hourly simulation of every section, too (EN 15026).")
    ] = False,
    jobs: Annotated[
        Optional[int],
        typer.Option(
            "-j",
            "--jobs",
            metavar="N",
            help="Worker processes (default: one a processor; 0: none, in this process).",
        ),
    ] = None,
    time_limit: Annotated[
        Optional[float],
        typer.Option(
            "--time-limit",
            metavar="SECONDS",
            help=f"For one section (default: {TIME_LIMIT:g}, hourly {HOURLY_TIME_LIMIT:g}).",
        ),
    ] = None,
    cluster: Annotated[
        Optional[str],
        typer.Option(
            "--cluster", metavar="ADDRESS", help="Review on a Dask cluster: the scheduler's address."
        ),
    ] = None,
    cache: Annotated[
        Optional[Path], typer.Option("--cache", metavar="DIR", help="Where results are kept between runs.")
    ] = None,
    no_cache: Annotated[
        bool, typer.Option("--no-cache", help="Review everything anew, and keep nothing.")
    ] = False,
    watch: Annotated[
        bool, typer.Option("--watch", help="Stay, and review again whenever a file is saved (until Ctrl-C).")
    ] = False,
    color: Annotated[str, typer.Option("--color", metavar="WHEN", help="auto, always or never.")] = "auto",
) -> None:
    """Gate a library of details: policy, baseline, waivers, reports in many formats.

    Exit status: 0 passes, 1 fails, 2 something could not be reviewed or used.
    """
    from reviewer.errors import InputError, Problem
    from reviewer.gate.cache import default_folder
    from reviewer.gate.gate import Gate, Options

    _choice(format, FORMATS, "--format")
    _choice(color, ("auto", "always", "never"), "--color")
    for value, words, option in (
        (annotate, ANNOTATE, "--annotate"),
        (fail_at, FAIL_AT, "--fail-at"),
        (units, ("ip", "si"), "--units"),
    ):
        if value is not None:
            _choice(value, words, option)
    reports = [(path, _format_of(path)) for path in output or ()]
    letter = None
    if letterhead is not None:
        from reviewer.report.written import DRAWN, letterhead_for

        drawn = [kind for _, kind in reports if kind in DRAWN]
        letter = letterhead_for(letterhead, drawn, "-o with .pdf or .docx")
    given: dict[str, Any] = {
        **({"fail_at": fail_at} if fail_at else {}),
        **({"edition": edition} if edition else {}),
        **({"units": units} if units else {}),
        **({"hourly": True} if hourly else {}),
        **({"rules": tuple(str(folder.absolute()) for folder in rules)} if rules else {}),
    }
    if diff is not None and (paths or since):
        raise InputError(Problem("--diff takes two folders and nothing else", None, "--diff OLD NEW"))
    if not paths and diff is None:
        raise InputError(Problem("no path is given", None, 'files, folders, patterns, or "-"'))
    if time_limit is not None and not 0 < time_limit <= 1e6:
        raise InputError(Problem("this time limit is not possible", None, "seconds, such as 60"))
    options = Options(
        paths=tuple(paths or ()),
        today=_today(today),
        policy=policy.absolute() if policy else None,
        given=given,
        baseline=baseline,
        write_baseline=write_baseline,
        since=since or "",
        diff=diff,
        cache=None if no_cache else (cache or default_folder()),
        time_limit=time_limit,
    )
    if show_policy:
        _print([_policies(options)])
        return
    gate = Gate(options, _notice)
    if write_baseline and not (baseline or gate.top.baseline):
        raise InputError(
            Problem("there is no place for the baseline", None, "--baseline FILE, or baseline: in the policy")
        )
    runner = _runner(jobs, cluster)
    try:
        if watch:
            _watch(
                gate,
                runner,
                lambda report: _emit(report, gate, reports, format, annotate, color, letter),
                list(paths or ()),
            )
            return
        report = gate.run(runner, _progress())
        try:
            status = _emit(report, gate, reports, format, annotate, color, letter)
        finally:
            report.close()
    finally:
        runner.close()
    raise typer.Exit(status)


def _today(text: str | None) -> date:
    """The day that waivers are judged by: the one place where the program reads the calendar."""
    from datetime import date

    from reviewer.errors import InputError, Problem
    from reviewer.gate.waivers import day

    if text is None:
        return date.today()
    found = day(text)
    if found is None:
        raise InputError(Problem(f'"{text}" is not a date', None, "year-month-day, such as 2027-06-30"))
    return found


def _runner(jobs: int | None, cluster: str | None) -> Runner:
    from reviewer.errors import InputError, Problem
    from reviewer.gate.run import Here, Workers, default_jobs

    if cluster:
        from reviewer.gate.cluster import Cluster

        return Cluster(cluster)
    if jobs is not None and not 0 <= jobs <= 1024:
        raise InputError(Problem(f"{jobs} worker processes are not possible", None, "0 to 1024"))
    return Here() if jobs == 0 else Workers(jobs or default_jobs())


def _emit(
    report: Report,
    gate: Gate,
    reports: list[tuple[Path, str]],
    format: str,
    annotate: str | None,
    color: str,
    letter: Letterhead | None,
) -> int:
    """Write every report asked for; the exit status."""
    from reviewer.files import write_whole

    for path, kind in reports:
        write_whole(path, _file(report, kind, letter))
    if gate.written is not None:
        write_whole(gate.written.path, gate.written.render())
    _print(_lines(report, format, _colored(color)))
    if annotate is not None:
        import os

        from reviewer.gate.outputs import annotations

        service = annotate if annotate != "auto" else annotations.service(os.environ)
        if service:
            _print(annotations.render(report, service), sys.stdout if format == "terminal" else sys.stderr)
    return report.status


def _file(report: Report, kind: str, letter: Letterhead | None) -> str | bytes | Iterator[str]:
    if kind == "workbook":
        from reviewer.gate.outputs.register import workbook

        return workbook(report)
    if kind in ("pdf", "docx"):
        from reviewer.gate.outputs.paper import gate_paper
        from reviewer.report.written import written

        return written([gate_paper(report, letter)], kind)
    return (f"{line}\n" for line in _lines(report, kind, False, 100))


def _lines(report: Report, kind: str, color: bool, width: int | None = None) -> Iterable[str]:
    match kind:
        case "json":
            from reviewer.gate.outputs.as_json import render
        case "junit":
            from reviewer.gate.outputs.junit import render
        case "sarif":
            from reviewer.gate.outputs.sarif import render
        case "markdown":
            from reviewer.gate.outputs.markdown import render
        case "html":
            from reviewer.gate.outputs.html import render
        case "csv":
            from reviewer.gate.outputs.register import render_csv as render
        case _:
            from reviewer.gate.outputs import terminal

            return terminal.render(report, color, width or _columns())
    return render(report)


def _policies(options: Options) -> str:
    from reviewer.gate.discovery import STANDARD_INPUT
    from reviewer.gate.policy import Policies, show
    from reviewer.gate.rulebook import rule_ids

    policies = Policies(rule_ids, options.policy, options.given)
    shown = []
    for text in options.paths or ((options.diff[1].as_posix(),) if options.diff else ()):
        path = Path.cwd() if text == STANDARD_INPUT else Path(text).absolute()
        shown.append(show(policies.of_folder(path if path.is_dir() else path.parent), text))
    return "\n".join(shown).rstrip("\n")


def _watch(gate: Gate, runner: Runner, emit: Any, paths: list[str]) -> None:
    from reviewer.gate.watch import watch

    watch(gate, runner, emit, paths)


def _print(lines: Iterable[str], stream: Any = None) -> None:
    """Lines on standard output. A full disk behind it is an error, a closed pipe is not."""
    from reviewer.errors import InputError, Problem

    stream = stream or sys.stdout
    try:
        for line in lines:
            try:
                stream.write(f"{line}\n")
            except UnicodeEncodeError:
                # Names of files can hold what an old terminal can't show.
                encoding = getattr(stream, "encoding", None) or "utf-8"
                stream.write(f"{line}\n".encode(encoding, "backslashreplace").decode(encoding))
        stream.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        sys.stdout = None  # type: ignore[assignment]
        raise InputError(
            Problem(f"the report can't be printed: {error.strerror}", None, "room for it")
        ) from None


def _notice(text: str) -> None:
    print(text, file=sys.stderr)


def _progress() -> Any:
    """Shows how far the run is, where somebody looks on."""
    if not sys.stderr.isatty():
        return lambda done: None

    def tick(done: int) -> None:
        if done % 20 == 0:
            print(f"\r{done} reviewed", end="\r", file=sys.stderr, flush=True)

    return tick


def _choice(value: str, words: tuple[str, ...], option: str) -> None:
    from reviewer.errors import InputError, Problem, nearest

    if value not in words:
        expected = "one of " + ", ".join(words)
        raise InputError(Problem(f'{option} can\'t be "{value}"', None, expected, nearest(value, words)))


def _format_of(path: Path) -> str:
    from reviewer.errors import InputError, Problem, nearest

    found = SUFFIXES.get(path.suffix.lower())
    if found is None:
        expected = "one of " + ", ".join(SUFFIXES)
        near = nearest(path.suffix, SUFFIXES)
        raise InputError(
            Problem(f'the format of "{path}" is not known from its suffix', None, expected, near)
        )
    from reviewer.report.written import need

    need(found)
    return found


def _colored(color: str) -> bool:
    import os

    if color != "auto":
        return color == "always"
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def _columns() -> int:
    import shutil

    return shutil.get_terminal_size((80, 24)).columns if sys.stdout.isatty() else 80
