"""The command `reviewer ask`: arguments and exit status. Everything else is imported when it runs."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Optional

import typer

if TYPE_CHECKING:
    from reviewer.reply import Replies
    from reviewer.report.letterhead import Letterhead

FORMATS = ("terminal", "markdown", "json", "html")
SUFFIXES = {
    ".txt": "terminal",
    ".md": "markdown",
    ".markdown": "markdown",
    ".json": "json",
    ".html": "html",
    ".htm": "html",
    ".pdf": "pdf",
    ".docx": "docx",
}


def ask_command(
    question: Annotated[
        Optional[str],
        typer.Argument(
            metavar="QUESTION",
            help="One question or several, as you would write to a consultant. Without it: a dialogue, or a question "
            "a line from a pipe.",
        ),
    ] = None,
    place: Annotated[
        Optional[str],
        typer.Option(
            "--place", help='Where it stands: "City, ST", a ZIP code or a zone; whatever the text says.'
        ),
    ] = None,
    format: Annotated[
        Optional[str], typer.Option("--format", metavar="|".join(FORMATS), help="How replies are printed.")
    ] = None,
    output: Annotated[
        Optional[list[Path]],
        typer.Option(
            "-o", "--output", metavar="FILE", help="Write to a file; the format follows its suffix."
        ),
    ] = None,
    rules: Annotated[
        Optional[list[Path]],
        typer.Option("--rules", help="A folder of your own packs, beside ours.", metavar="DIR"),
    ] = None,
    edition: Annotated[
        str, typer.Option("--edition", help='Code and edition, such as "IRC 2018".', metavar="CODE")
    ] = "",
    units: Annotated[
        Optional[str], typer.Option("--units", help="ip or si (default: by country).", metavar="ip|si")
    ] = None,
    color: Annotated[str, typer.Option("--color", help="auto, always or never.", metavar="WHEN")] = "auto",
    letterhead: Annotated[
        Optional[Path],
        typer.Option(
            "--letterhead", metavar="FILE", help="Firm, date, project and signature for a written report."
        ),
    ] = None,
    plain: Annotated[
        bool, typer.Option("--plain", help="Text to be read out: sentences only, no columns, no drawing.")
    ] = False,
    width: Annotated[Optional[int], typer.Option("--width", help="Columns (60 to 200).")] = None,
) -> None:
    """A question in plain English, answered with reasons, numbers and sources. Exit status 0 answered, 1 asked back,
    2 referred or not understood."""
    for value, words, option in (
        (color, ("auto", "always", "never"), "--color"),
        (units, ("ip", "si"), "--units"),
        (format, FORMATS, "--format"),
    ):
        if value is not None:
            _choice(value, words, option)
    chosen = [(path, _format_of(path)) for path in output or ()]
    letter = None
    if letterhead is not None:
        from reviewer.report.written import letterhead_for

        letter = letterhead_for(
            letterhead, [*(fmt for _, fmt in chosen), format or "", "plain" if plain else ""]
        )
    text = "plain" if plain else "terminal"
    shown = format if format not in (None, "terminal") else text
    from reviewer.answers import asking

    desk = asking.desk_for(tuple(rules or ()), edition, units)  # type: ignore[arg-type]
    colored, columns = _colored(color), width or _columns()
    if question is not None:
        found = asking.ask(question, desk, place)
        for path, fmt in chosen:
            _write(path, render(found, text if fmt == "terminal" else fmt, False, width or 100, letter))
        if format is not None or not chosen:
            sys.stdout.write(str(render(found, shown, colored, columns, letter)))
        raise typer.Exit(asking.status(found))
    if chosen:
        _wrong("a dialogue is printed, not written to a file", "a question, or no -o")
    for n, found in enumerate(asking.converse(desk, place, _said_beside)):
        if format == "json":
            from reviewer.report.reply import as_line

            sys.stdout.write(as_line(found))
        else:
            sys.stdout.write(("\n" if n else "") + str(render(found, shown, colored, columns, letter)))
        sys.stdout.flush()


def _said_beside(text: str) -> None:
    """What is no reply goes to standard error."""
    import textwrap

    print(textwrap.fill(text, min(_columns(), 100)), file=sys.stderr)


def render(
    found: Replies, fmt: str, colored: bool, columns: int, letter: Letterhead | None = None
) -> str | bytes:
    if fmt == "html":
        from reviewer.report import html_reply

        return html_reply.render(found)
    from reviewer.report import reply

    if fmt == "json":
        return reply.as_json(found)
    if fmt == "terminal":
        return reply.as_text(found, columns, colored)
    from reviewer.report import written

    return written.written([reply.as_paper(found, letter, pictures=fmt in written.DRAWN)], fmt)


def _choice(value: str, words: tuple[str, ...], option: str) -> None:
    from reviewer.errors import nearest

    if value not in words:
        _wrong(f'{option} can\'t be "{value}"', "one of " + ", ".join(words), nearest(value, words))


def _wrong(message: str, expected: str, near: str = "") -> None:
    from reviewer.errors import InputError, Problem

    raise InputError(Problem(message, None, expected, near))


def _format_of(path: Path) -> str:
    from reviewer.errors import nearest

    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        _wrong(
            f'the format of "{path}" is not known from its suffix',
            "one of " + ", ".join(SUFFIXES),
            nearest(suffix, SUFFIXES),
        )
    from reviewer.report.written import need

    need(SUFFIXES[suffix])
    return SUFFIXES[suffix]


def _write(path: Path, text: str | bytes) -> None:
    from reviewer.files import write_whole

    write_whole(path, text)


def _colored(color: str) -> bool:
    import os

    if color != "auto":
        return color == "always"
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def _columns() -> int:
    import shutil

    return shutil.get_terminal_size((80, 24)).columns if sys.stdout.isatty() else 80
