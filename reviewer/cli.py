"""The command line: arguments and exit status only. Everything heavy is imported where it is used."""

from __future__ import annotations

import gc
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, Optional

import typer

from reviewer.answers.command import ask_command
from reviewer.gate.command import gate_command

if TYPE_CHECKING:
    from collections.abc import Callable

    from reviewer.errors import InputError
    from reviewer.explanation import Explanation
    from reviewer.model.section import Section
    from reviewer.report.letterhead import Letterhead
    from reviewer.result import Result

FORMATS = ("terminal", "json", "markdown", "html")
SUFFIXES = {
    ".json": "json",
    ".md": "markdown",
    ".markdown": "markdown",
    ".txt": "terminal",
    ".html": "html",
    ".htm": "html",
    ".pdf": "pdf",
    ".docx": "docx",
}
SCHEMAS = {
    "section": "reviewer.model.schema:section_schema",
    "result": "reviewer.report.as_json:result_schema",
    "ruleset": "reviewer.rules.schema:ruleset_schema",
    "policy": "reviewer.gate.policy_schema:policy_schema",
    "gate": "reviewer.gate.outputs.as_json:schema",
    "letterhead": "reviewer.report.letterhead:letterhead_schema",
    "reach": "reviewer.report.reach:schema",
    "compare": "reviewer.report.compare:schema",
    "possibilities": "reviewer.report.possible:schema",
    "reply": "reviewer.report.reply:schema",
    "remedy": "reviewer.report.remedy:schema",
    "least": "reviewer.report.least:schema",
}
"""Where each JSON Schema comes from."""
PAGE_FORMATS = ("text", "markdown", "html")
PAGE_SUFFIXES = {".html": "html", ".htm": "html", ".md": "markdown", ".markdown": "markdown"}
THRESHOLDS = ("serious", "caution", "note", "never")

app = typer.Typer(
    name="reviewer",
    help="Reviews walls, roofs, foundations, floors and slabs for moisture safety, layer by layer.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)
rules_app = typer.Typer(help="The rulebook and its workbench.", no_args_is_help=True, rich_markup_mode=None)
materials_app = typer.Typer(
    help="The materials that the program knows, with sources.", no_args_is_help=True, rich_markup_mode=None
)
places_app = typer.Typer(
    help="The places and climates that the program knows.", no_args_is_help=True, rich_markup_mode=None
)
app.add_typer(rules_app, name="rules")
app.add_typer(materials_app, name="materials")
app.add_typer(places_app, name="places")

UnitsOption = Annotated[
    Optional[str], typer.Option("--units", help="ip or si (default: by country).", metavar="ip|si")
]
RulesOption = Annotated[
    Optional[list[Path]],
    typer.Option("--rules", help="A folder of your own packs, beside ours.", metavar="DIR"),
]
CasesOption = Annotated[
    Optional[Path],
    typer.Option("--cases", metavar="DIR", help="Section files to run (default: the shipped cases)."),
]
EditionOption = Annotated[
    str, typer.Option("--edition", help='Code and edition, such as "IRC 2018".', metavar="CODE")
]
LetterheadOption = Annotated[
    Optional[Path],
    typer.Option(
        "--letterhead", metavar="FILE", help="Firm, date, project and signature for a written report."
    ),
]
PlainOption = Annotated[
    bool, typer.Option("--plain", help="Text to be read out: sentences only, no columns, no drawing.")
]
FormatOption = Annotated[
    Optional[str], typer.Option("--format", metavar="|".join(FORMATS), help="How results are printed.")
]
OutputOption = Annotated[
    Optional[list[Path]],
    typer.Option("-o", "--output", metavar="FILE", help="Write to a file; the format follows its suffix."),
]
WidthOption = Annotated[
    Optional[int], typer.Option("--width", help="Columns of the terminal report (60 to 200).")
]
SectionArgument = Annotated[
    str, typer.Argument(metavar="SECTION", help='A section file, "-", or a section in one line.')
]
KindOption = Annotated[Optional[str], typer.Option("--kind", help="For a section in one line.")]
ColorOption = Annotated[str, typer.Option("--color", help="auto, always or never.", metavar="WHEN")]


def main() -> None:
    """Entry point: one clear message for every input that can't be used, exit status 2."""
    from reviewer.errors import InputError

    # Nearly all that a command makes at its start stays: looking for garbage in it takes an eighth of a short run.
    gc.set_threshold(100_000, 20, 20)
    try:
        app(prog_name="reviewer")
    except InputError as e:
        _refuse(e)
    except BrokenPipeError:
        sys.stderr.close()
        raise SystemExit(0) from None
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        raise SystemExit(130) from None


def _refuse(e: InputError) -> NoReturn:
    for problem in e.problems:
        print(problem.render(), file=sys.stderr)
    raise SystemExit(2)


def _wrong(message: str, expected: str) -> NoReturn:
    from reviewer.errors import InputError, Problem

    raise InputError(Problem(message, None, expected))


def _choice(value: str, words: tuple[str, ...], option: str) -> str:
    if value not in words:
        from reviewer.errors import InputError, Problem, nearest

        raise InputError(
            Problem(
                f'{option} can\'t be "{value}"', None, "one of " + ", ".join(words), nearest(value, words)
            )
        )
    return value


def _print_version(wanted: bool) -> None:
    if wanted:
        import reviewer
        from reviewer.engine import available, why_not_rete

        why = why_not_rete()
        print(f"reviewer {reviewer.__version__}, engine: {available()[0]}" + (f" ({why})" if why else ""))
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_print_version, is_eager=True, help="Version and engine.")
    ] = False,
) -> None:
    del version


@app.command()
def review(
    sections: Annotated[
        list[str],
        typer.Argument(
            metavar="SECTION...",
            help='Section files, "-" for standard input, or a section in one line: layers from the room outwards, separated by "|".',
        ),
    ],
    kind: Annotated[
        Optional[str],
        typer.Option("--kind", help="For a section in one line: wall, roof, foundation wall, floor or slab."),
    ] = None,
    place: Annotated[
        Optional[str],
        typer.Option("--place", help='"City, ST", a ZIP code, or "lat, lon"; overrides the file.'),
    ] = None,
    zone: Annotated[
        Optional[str], typer.Option("--zone", help='A climate zone alone, such as "5A"; overrides the file.')
    ] = None,
    indoor: Annotated[
        Optional[str], typer.Option("--indoor", help="A named indoor condition; overrides the file.")
    ] = None,
    format: FormatOption = None,
    output: OutputOption = None,
    fail_at: Annotated[
        str,
        typer.Option(
            "--fail-at",
            metavar="SEVERITY",
            help="Exit status 1 from this severity on: serious, caution, note or never.",
        ),
    ] = "serious",
    rules: RulesOption = None,
    edition: EditionOption = "",
    units: UnitsOption = None,
    color: ColorOption = "auto",
    letterhead: LetterheadOption = None,
    plain: PlainOption = False,
    drawing: Annotated[
        Optional[Path],
        typer.Option("--drawing", metavar="FILE", help="Draw the section to scale into an SVG file."),
    ] = None,
    hourly: Annotated[
        bool,
        typer.Option("--hourly", help="Run the hourly heat, air and moisture simulation too (EN 15026)."),
    ] = False,
    show_work: Annotated[
        bool,
        typer.Option("--show-work", help="Print every calculation: formula, numbers put in, result, source."),
    ] = False,
    width: WidthOption = None,
    possibilities: Annotated[
        int,
        typer.Option(
            "--possibilities",
            metavar="N",
            min=0,
            max=20000,
            help="Review at most N of what unknown and ranged layers may be (0: none).",
        ),
    ] = 64,
    what_flips: Annotated[
        bool,
        typer.Option(
            "--what-flips", help="Also find the three facts whose change flips the verdict soonest."
        ),
    ] = False,
    why: Annotated[
        Optional[str],
        typer.Option("--why", metavar="RULE", help="Instead of the report: the whole proof of one rule."),
    ] = None,
    why_not: Annotated[
        Optional[str],
        typer.Option(
            "--why-not", metavar="RULE", help="Instead of the report: how far one rule is from firing."
        ),
    ] = None,
) -> None:
    """Review sections: verdict, findings with numbers and sources, and what to do."""
    from reviewer.review import load_rules, review_all

    _choice(fail_at, THRESHOLDS, "--fail-at")
    _choice(color, ("auto", "always", "never"), "--color")
    if units is not None:
        _choice(units, ("ip", "si"), "--units")
    if format is not None:
        _choice(format, FORMATS, "--format")
    chosen = [(path, _format_of(path)) for path in output or ()]
    letter = _letterhead(letterhead, chosen, format, plain)
    if drawing is not None and len(sections) != 1:
        _wrong(f"--drawing draws one section, not {len(sections)}", "one section")
    if hourly:
        _say_if_slow()
    loaded = [_load(text, kind, place, zone, indoor) for text in sections]
    rulebook = load_rules(tuple(rules or ()))
    if why is not None or why_not is not None:
        from reviewer.why import explain

        told = [
            explain(s, rule, rulebook, asked=asked, edition=edition, units=units, hourly=hourly)  # type: ignore[arg-type]
            for s in loaded
            for asked, rule in (("why", why), ("why not", why_not))
            if rule is not None
        ]
        _put(lambda *how: _explained(told, *how), chosen, format, color, width, plain)
        return
    results = review_all(
        loaded,
        rulebook,
        edition=edition,
        units=units,  # type: ignore[arg-type]
        proof=bool({"json", "html"} & {format, *(f for _, f in chosen)}),
        hourly=hourly,
        work=show_work,
    )
    if possibilities or what_flips:
        from reviewer.variants.command import with_variants

        results = with_variants(results, loaded, rulebook, edition, possibilities, what_flips)
    if drawing is not None:
        from reviewer.report.drawing import standalone

        _write(drawing, standalone(results[0]))
    if drawing is None or chosen or format is not None:
        _put(lambda *how: _rendered(results, letter, *how), chosen, format, color, width, plain)
    raise typer.Exit(_status(results, fail_at))


def _put(
    render: Callable[[str, bool, int], str | bytes],
    chosen: list[tuple[Path, str]],
    format: str | None,
    color: str,
    width: int | None,
    plain: bool = False,
) -> None:
    """Write to files, or print, what `render` makes of a format, whether to use colors, and a width."""
    for path, fmt in chosen:
        _write(path, render("plain" if plain and fmt == "terminal" else fmt, False, width or 100))
    if format is not None or not chosen:
        shown = "plain" if plain and format in (None, "terminal") else format or "terminal"
        sys.stdout.write(str(render(shown, _use_color(color), width or _columns())))


def _letterhead(
    path: Path | None, chosen: list[tuple[Path, str]], format: str | None, plain: bool
) -> Letterhead | None:
    if path is None:
        return None
    from reviewer.report.written import letterhead_for

    return letterhead_for(path, [*(fmt for _, fmt in chosen), format or "", "plain" if plain else ""])


def _say_if_slow() -> None:
    import importlib.util

    if importlib.util.find_spec("numba") is None:
        print(
            "numba is not installed: the hourly simulation runs uncompiled and takes minutes for each section, "
            "with the same result; install it with: pip install 'reviewer[hourly]'",
            file=sys.stderr,
        )


def _format_of(path: Path) -> str:
    """The format that a file's suffix asks for. Raises InputError: no such format, or its library is missing."""
    if path.suffix.lower() not in SUFFIXES:
        from reviewer.errors import InputError, Problem, nearest

        raise InputError(
            Problem(
                f'the format of "{path}" is not known from its suffix',
                None,
                "one of " + ", ".join(SUFFIXES),
                nearest(path.suffix, SUFFIXES),
            )
        )
    from reviewer.report.written import need

    fmt = SUFFIXES[path.suffix.lower()]
    need(fmt)
    return fmt


def _load(text: str, kind: str | None, place: str | None, zone: str | None, indoor: str | None) -> Section:
    from reviewer.model import parse
    from reviewer.model.override import override

    if "|" in text and not Path(text).exists():
        return parse.section_from_line(text, kind=kind, place=place, zone=zone, indoor=indoor)
    if text == "-":
        section = parse.parse_section(sys.stdin.buffer.read(), "-")
    else:
        section = parse.load_section(Path(text))
    return override(section, kind=kind, place=place, zone=zone, indoor=indoor)


def _rendered(
    results: list[Result], letter: Letterhead | None, fmt: str, color: bool, width: int
) -> str | bytes:
    if fmt == "json":
        from reviewer.report import as_json

        return as_json.render(results)
    if fmt == "html":
        from reviewer.report import html

        return html.render(results)
    if fmt == "terminal":
        from reviewer.report import terminal

        return "\n".join(terminal.render(r, width, color) for r in results)
    from reviewer.report import written
    from reviewer.report.review_paper import review_paper

    drawn = fmt in written.DRAWN
    papers = [review_paper(r, letter, brief=fmt == "pdf", pictures=drawn) for r in results]
    return written.written(papers, fmt)


def _explained(told: list[Explanation], fmt: str, color: bool, width: int) -> str:
    from reviewer.report import explained

    if fmt in ("html", "pdf", "docx"):
        _wrong(f"a proof is not written as {fmt.upper()}", "a .txt, .md or .json file")
    if fmt == "json":
        return explained.as_json(told)
    if fmt == "markdown":
        return "\n".join(map(explained.as_markdown, told))
    if fmt == "plain":
        return "\n".join(map(explained.as_plain, told))
    return "\n".join(explained.as_text(e, width, color) for e in told)


def _write(path: Path, text: str | bytes) -> None:
    """Whole or not at all."""
    from reviewer.files import write_whole

    write_whole(path, text)


def _use_color(color: str) -> bool:
    import os

    if color != "auto":
        return color == "always"
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def _columns() -> int:
    import shutil

    return shutil.get_terminal_size((80, 24)).columns if sys.stdout.isatty() else 80


def _status(results: list[Result], fail_at: str) -> int:
    if fail_at == "never":
        return 0
    failing = THRESHOLDS[: THRESHOLDS.index(fail_at) + 1]
    return int(any(f.severity in failing and f.waived is None for r in results for f in r.findings))


app.command("gate")(gate_command)
app.command("ask")(ask_command)


@app.command()
def remedy(
    section: SectionArgument,
    kind: KindOption = None,
    place: Annotated[Optional[str], typer.Option("--place", help="For a section in one line.")] = None,
    keep: Annotated[
        Optional[list[str]],
        typer.Option("--keep", metavar="LAYER", help="What must stay: a number, a role or a name; repeat."),
    ] = None,
    side: Annotated[str, typer.Option("--from", metavar="inside|outside", help="Work from one side.")] = "",
    until: Annotated[
        str, typer.Option("--until", metavar="DISPOSITION", help="The least that a remedy must reach.")
    ] = "make corrections noted",
    costs: Annotated[
        Optional[Path], typer.Option("--costs", metavar="FILE", help="Prices of your own (YAML).")
    ] = None,
    most: Annotated[int, typer.Option("--most", min=1, max=4, help="Changes at once.")] = 3,
    candidates: Annotated[
        int, typer.Option("--candidates", min=1, max=20000, help="Combinations to try at most.")
    ] = 2000,
    patch: Annotated[
        bool, typer.Option("--patch", help="Print the section file with the cheapest remedy made.")
    ] = False,
    least: Annotated[
        Optional[str],
        typer.Option(
            "--least",
            metavar="AMOUNT",
            help='The least that clears, such as "exterior insulation", "foam share", "vapor control".',
        ),
    ] = None,
    format: FormatOption = None,
    output: OutputOption = None,
    rules: RulesOption = None,
    edition: EditionOption = "",
    units: UnitsOption = None,
    color: ColorOption = "auto",
    letterhead: LetterheadOption = None,
    plain: PlainOption = False,
    width: WidthOption = None,
) -> None:
    """The changes that clear the findings, cheapest first. Exit status 1 when nothing within the limits works."""
    from reviewer.remedies import command
    from reviewer.report import remedy as report

    _choices(units, format, color)
    chosen = [] if patch else [(path, _format_of(path)) for path in output or ()]
    letter = _letterhead(letterhead, chosen, format, plain)
    if least is not None:
        from reviewer.report import least as least_report

        if patch or keep or side or costs is not None:
            _wrong(
                "--least varies one amount and nothing else", "it without --patch, --keep, --from and --costs"
            )
        amount = command.least(
            section,
            least,
            kind=kind,
            place=place,
            rules=tuple(rules or ()),
            edition=edition,
            units=units,  # type: ignore[arg-type]
        )
        _put(lambda *how: _variant(least_report, amount, letter, *how), chosen, format, color, width, plain)
        total = amount.answers[-1]
        raise typer.Exit(int(total.asks and total.amount is None))
    found = command.remedy(
        section,
        kind=kind,
        place=place,
        keep=tuple(keep or ()),
        side=side,
        until=until,
        costs=costs,
        most_changes=most,
        most_candidates=candidates,
        rules=tuple(rules or ()),
        edition=edition,
        units=units,  # type: ignore[arg-type]
    )
    works = bool(found.proposals) or found.disposition in ("no exceptions taken", found.until)
    if patch:
        if not found.proposals:
            print(found.summary, file=sys.stderr)
            raise typer.Exit(int(not works))
        text = found.proposals[0].patched
        for path in output or ():
            _write(path, text)
        if not output:
            sys.stdout.write(text)
        raise typer.Exit(0)

    _put(lambda *how: _variant(report, found, letter, *how), chosen, format, color, width, plain)
    raise typer.Exit(int(not works))


@app.command()
def reach(
    section: SectionArgument,
    kind: KindOption = None,
    places: Annotated[
        Optional[list[str]],
        typer.Option("--place", metavar="PLACE", help="At this place instead of in every zone; repeat."),
    ] = None,
    listed: Annotated[
        Optional[Path], typer.Option("--places", metavar="FILE", help="At the places of a file, one a line.")
    ] = None,
    indoor: Annotated[
        Optional[str], typer.Option("--indoor", help="A named indoor condition; overrides the file.")
    ] = None,
    until: Annotated[
        str, typer.Option("--until", metavar="DISPOSITION", help="The least that counts as holding.")
    ] = "make corrections noted",
    format: FormatOption = None,
    output: OutputOption = None,
    rules: RulesOption = None,
    edition: EditionOption = "",
    units: UnitsOption = None,
    color: ColorOption = "auto",
    letterhead: LetterheadOption = None,
    plain: PlainOption = False,
    width: WidthOption = None,
) -> None:
    """Where a section holds: its verdict in every climate zone, or at places. Exit status 1 when it fails at one asked for."""
    from reviewer.reaching import HOME
    from reviewer.report import reach as report
    from reviewer.variants import command

    _choices(units, format, color)
    chosen = [(path, _format_of(path)) for path in output or ()]
    letter = _letterhead(letterhead, chosen, format, plain)
    found = command.reach(
        section,
        kind=kind,
        indoor=indoor,
        places=tuple(places or ()),
        listed=listed,
        until=until,
        rules=tuple(rules or ()),
        edition=edition,
        units=units,  # type: ignore[arg-type]
    )
    _put(lambda *how: _variant(report, found, letter, *how), chosen, format, color, width, plain)
    asked_for = places or listed
    raise typer.Exit(int(bool(asked_for) and not all(x.holds for x in found.places if x.asked != HOME)))


@app.command()
def compare(
    sections: Annotated[
        list[str],
        typer.Argument(
            metavar="SECTION SECTION...", help="Section files or sections in one line; the first is A."
        ),
    ],
    kind: Annotated[
        Optional[str],
        typer.Option(
            "--kind", help="For sections in one line; beside a file they take all but layers from it."
        ),
    ] = None,
    zones: Annotated[
        Optional[list[str]],
        typer.Option(
            "--zones", metavar="ZONES", help='In these climate zones too, such as "4A,5A,6A", or all; repeat.'
        ),
    ] = None,
    places: Annotated[
        Optional[list[str]], typer.Option("--place", metavar="PLACE", help="At this place too; repeat.")
    ] = None,
    format: FormatOption = None,
    output: OutputOption = None,
    rules: RulesOption = None,
    edition: EditionOption = "",
    units: UnitsOption = None,
    color: ColorOption = "auto",
    letterhead: LetterheadOption = None,
    plain: PlainOption = False,
    width: WidthOption = None,
) -> None:
    """Sections side by side: layers, numbers, findings, climates, and what one buys over the other."""
    from reviewer.report import compare as report
    from reviewer.variants import command

    _choices(units, format, color)
    chosen = [(path, _format_of(path)) for path in output or ()]
    letter = _letterhead(letterhead, chosen, format, plain)
    found = command.compare(
        sections,
        kind=kind,
        zones=tuple(zones or ()),
        places=tuple(places or ()),
        rules=tuple(rules or ()),
        edition=edition,
        units=units,  # type: ignore[arg-type]
    )
    _put(lambda *how: _variant(report, found, letter, *how), chosen, format, color, width, plain)


def _choices(units: str | None, format: str | None, color: str) -> None:
    _choice(color, ("auto", "always", "never"), "--color")
    for value, words, option in ((units, ("ip", "si"), "--units"), (format, FORMATS, "--format")):
        if value is not None:
            _choice(value, words, option)


def _variant(
    report: Any, found: Any, letter: Letterhead | None, fmt: str, colored: bool, columns: int
) -> str | bytes:
    """What a report module makes of its result."""
    if fmt == "json":
        return report.as_json(found)
    if fmt == "html":
        return report.as_html(found)
    if fmt == "terminal":
        return report.as_text(found, columns, colored)
    from reviewer.report.written import written

    return written([report.as_paper(found, letter)], fmt)


@app.command()
def schema(
    what: Annotated[str, typer.Argument(metavar="|".join(SCHEMAS), help="Which JSON Schema.")],
) -> None:
    """Print the JSON Schema of section files, results, rulesets, policies or reports of the gate."""
    import json
    from importlib import import_module

    _choice(what, tuple(SCHEMAS), "the schema")
    module, _, function = SCHEMAS[what].partition(":")
    found = getattr(import_module(module), function)()
    print(json.dumps(found, indent=2, ensure_ascii=False))


@materials_app.command("list")
def materials_list(
    family: Annotated[Optional[str], typer.Option("--family", help="Only this family.")] = None,
) -> None:
    """All materials: name, family, conductivity, permeance."""
    from reviewer import catalog

    sys.stdout.write(catalog.materials_table(family))


@materials_app.command("show")
def materials_show(
    name: Annotated[str, typer.Argument(metavar="MATERIAL", help="A material as builders say it.")],
    units: UnitsOption = None,
) -> None:
    """One material: every value with its source and certainty."""
    from reviewer import catalog

    sys.stdout.write(catalog.material_page(name, units or "ip"))


@places_app.command("find")
def places_find(
    place: Annotated[str, typer.Argument(metavar="PLACE", help='"City, ST", a ZIP code, or "lat, lon".')],
) -> None:
    """Find a place: coordinates, county, zone by edition, climate station."""
    from reviewer import catalog

    sys.stdout.write(catalog.place_line(place))


@places_app.command("show")
def places_show(
    place: Annotated[
        str,
        typer.Argument(metavar="PLACE", help='"City, ST", a ZIP code, "lat, lon", or a zone such as "5A".'),
    ],
    units: UnitsOption = None,
) -> None:
    """A place's climate month by month, with sources."""
    from reviewer import catalog

    sys.stdout.write(catalog.place_page(place, units))


@rules_app.command("list")
def rules_list(
    pack: Annotated[Optional[str], typer.Option("--pack", help="Only this pack.")] = None,
    rules: RulesOption = None,
) -> None:
    """All rules: id, severity, title."""
    from reviewer import workbench
    from reviewer.review import load_rules

    sys.stdout.write(workbench.listing(load_rules(tuple(rules or ())), pack))


@rules_app.command("show")
def rules_show(
    rule: Annotated[Optional[str], typer.Argument(metavar="ID", help="The rule's id.")] = None,
    every: Annotated[bool, typer.Option("--all", help="The whole book, with an index.")] = False,
    pack: Annotated[Optional[str], typer.Option("--pack", help="With --all: only this pack.")] = None,
    format: Annotated[
        Optional[str], typer.Option("--format", metavar="|".join(PAGE_FORMATS), help="How pages are written.")
    ] = None,
    output: Annotated[
        Optional[Path],
        typer.Option(
            "-o", "--output", metavar="FILE", help="Write to a file; the format follows its suffix."
        ),
    ] = None,
    rules: RulesOption = None,
) -> None:
    """A rule's page, made from the rule itself; or the whole book."""
    from reviewer import workbench
    from reviewer.review import load_rules

    if (rule is None) != every:
        _wrong("one rule is shown, or all of them", 'the id of a rule, or "--all"')
    form = _page_format(format, output)
    loaded = load_rules(tuple(rules or ()))
    text = workbench.book(loaded, form, pack) if rule is None else workbench.page(loaded, rule, form)
    if output is not None:
        _write(output, text)
    else:
        sys.stdout.write(text)


def _page_format(format: str | None, output: Path | None) -> str:
    if format is not None:
        return _choice(format, PAGE_FORMATS, "--format")
    return PAGE_SUFFIXES.get(output.suffix.lower(), "text") if output is not None else "text"


@rules_app.command("check")
def rules_check(
    rules: RulesOption = None,
    timing: Annotated[bool, typer.Option("--timing", help="How long each rule takes too.")] = False,
) -> None:
    """Check the rulebook: schema, units, facts, duties, examples. Exit status 1 when something is wrong."""
    from reviewer import workbench

    text, status = workbench.check(tuple(rules or ()), timing)
    sys.stdout.write(text)
    raise typer.Exit(status)


@rules_app.command("coverage")
def rules_coverage(
    cases: CasesOption = None,
    pack: Annotated[Optional[str], typer.Option("--pack", help="Only this pack.")] = None,
    rules: RulesOption = None,
) -> None:
    """What cases exercise, and which changes of a rule no example notices. Exit status 1 when there are any."""
    from reviewer import workbench
    from reviewer.review import load_rules

    text, status = workbench.coverage(load_rules(tuple(rules or ())), cases, pack)
    sys.stdout.write(text)
    raise typer.Exit(status)


@rules_app.command("diff")
def rules_diff(
    old: Annotated[
        str,
        typer.Argument(
            metavar="OLD", help='A folder of packs, "shipped", or several joined by "+", as in shipped+mine.'
        ),
    ],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The same, to compare with.")],
    over: Annotated[
        Optional[Path],
        typer.Option(
            "--over", metavar="DIR", help="Section files to compare on (default: the shipped cases)."
        ),
    ] = None,
) -> None:
    """What a change of rules changes in findings and verdicts. Exit status 1 when a case changes."""
    from reviewer import workbench

    text, status = workbench.difference(old, new, over)
    sys.stdout.write(text)
    raise typer.Exit(status)


@rules_app.command("facts")
def rules_facts(
    kind: Annotated[Optional[str], typer.Argument(metavar="KIND", help="The fields of this kind.")] = None,
) -> None:
    """What rules may ask: the kinds of facts, or the fields of one."""
    from reviewer.rules.draft import vocabulary

    sys.stdout.write(vocabulary(kind))


@rules_app.command("new")
def rules_new(
    rules: Annotated[
        Path,
        typer.Option("--rules", metavar="DIR", help="The folder of your own packs; it is made if need be."),
    ],
    id: Annotated[Optional[str], typer.Option("--id", help="The pack, a slash and the rule's name.")] = None,
    title: Annotated[
        Optional[str], typer.Option("--title", help="What is the matter, in a few words.")
    ] = None,
    when: Annotated[
        Optional[list[str]],
        typer.Option(
            "--when",
            metavar="CONDITION",
            help='A condition, such as "layer inner: permeance_wet <= 1 perm"; may be given several times.',
        ),
    ] = None,
    severity: Annotated[
        Optional[str], typer.Option("--severity", help="serious, caution, note or credit.")
    ] = None,
    reason: Annotated[Optional[str], typer.Option("--reason", help="Why it is this severe.")] = None,
    says: Annotated[Optional[str], typer.Option("--says", help="The finding in one sentence.")] = None,
    explanation: Annotated[
        Optional[str], typer.Option("--explanation", help="What happens physically.")
    ] = None,
    do: Annotated[
        Optional[list[str]], typer.Option("--do", help="A remedy; may be given several times.")
    ] = None,
    cites: Annotated[
        Optional[list[str]],
        typer.Option("--cites", help='"common practice", or "document; edition; clause".'),
    ] = None,
    confidence: Annotated[Optional[str], typer.Option("--confidence", help="high, medium or low.")] = None,
    topic: Annotated[
        Optional[str], typer.Option("--topic", help="The file of the pack that it goes to.")
    ] = None,
) -> None:
    """Write a rule with its examples from a few answers: asked for on a terminal, or given as options."""
    from reviewer import workbench

    given = {
        "id": id,
        "title": title,
        "when": when,
        "severity": severity,
        "reason": reason,
        "says": says,
        "explanation": explanation,
        "do": do,
        "cites": cites,
        "confidence": confidence,
        "topic": topic,
    }

    def ask(question: str) -> str:
        return typer.prompt(question, default="", show_default=False, err=True)

    text, status = workbench.new_rule(rules, given, ask if sys.stdin.isatty() else None)
    sys.stdout.write(text)
    raise typer.Exit(status)
