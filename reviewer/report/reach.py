"""Where a section holds, for people: the limit first, then the zones as a map, then what decides in each."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from reviewer.reaching import HOME, Reach, ReachLine
from reviewer.report import words
from reviewer.report.letterhead import Letterhead
from reviewer.report.paper import Paper
from reviewer.report.terminal import MAX_WIDTH, MIN_WIDTH, PROSE, Line, paint, wrap
from reviewer.units import show

REGIMES = (("A", "A moist"), ("B", "B dry"), ("C", "C marine"))


def as_json(reach: Reach) -> str:
    return reach.model_dump_json(by_alias=True, indent=2) + "\n"


def schema() -> dict[str, Any]:
    """JSON Schema of `as_json`."""
    found = Reach.model_json_schema(by_alias=True, mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **found}


def as_html(reach: Reach) -> str:
    """One page that needs nothing beside it."""
    from reviewer.report import html_reach

    return html_reach.render(reach)


def as_paper(reach: Reach, letterhead: Letterhead | None = None) -> Paper:
    """For PDF, DOCX, Markdown and the linear text."""
    from reviewer.report.reach_paper import reach_paper

    return reach_paper(reach, letterhead)


def as_text(reach: Reach, width: int = 80, color: bool = False) -> str:
    """For a terminal: plain text, with colors when asked for."""
    width = min(max(width, MIN_WIDTH), MAX_WIDTH)
    return paint(_lines(reach, width), width, color)


def title(reach: Reach) -> str:
    s = reach.section
    return words.clean(s.title or (s.id if s.file not in ("<line>", "-") else s.kind.capitalize()))


def kept(reach: Reach) -> str:
    """What stays the same in every climate."""
    home = f"stands in {words.clean(reach.home)}" if reach.home else "place not stated"
    parts = [reach.section.kind, home, f"indoors: {words.clean(reach.indoor)}", reach.edition]
    if reach.at_least == "no exceptions taken":
        parts.append("holds only where no exceptions are taken")
    return " · ".join(parts)


def verdict(line: ReachLine) -> str:
    """`holds, 2 cautions`; `fails, 1 serious`; `can't be judged`."""
    if line.disposition == "incomplete":
        return "can't be judged"
    head = "holds" if line.holds else "fails"
    if line.serious:
        return f"{head}, {line.serious} serious"
    if line.cautions:
        return f"{head}, {line.cautions} caution{'s' if line.cautions > 1 else ''}"
    return head


def cells(reach: Reach) -> list[tuple[str, list[ReachLine | str | None]]]:
    """The map: a row for each number from the warm end, with the verdicts moist, dry and marine.

    None where the code has no such zone, text where it has one that was not reviewed. A zone without letter
    stands alone in its row.
    """
    missing = {z.zone: z.why for z in reach.not_reviewed}
    if reach.system == "NBC":
        return [(x.zone, [x]) for x in reach.zones]
    rows: list[tuple[str, list[ReachLine | str | None]]] = []
    for n in range(9):
        here = [x for x in reach.zones if x.number == n]
        single = next((x for x in here if not x.regime), None)
        if single is not None:
            rows.append((str(n), [single]))
            continue
        row: list[ReachLine | str | None] = [
            next((x for x in here if x.regime == r), None) or ("no place" if f"{n}{r}" in missing else None)
            for r, _ in REGIMES
        ]
        if any(row):
            rows.append((str(n), row))
    return rows


def deciding(line: ReachLine, units: str) -> str:
    """What the verdict there hangs on, in a sentence."""
    if line.disposition == "incomplete":
        return f"{'; '.join(line.missing) or 'a decisive fact is missing'}"
    if line.deciding is None:
        return "nothing found that would harm it"
    margin = f" ({words.clean(line.margin)})" if line.margin else ""
    return f"{words.clean(line.deciding.title)}{margin} [{line.deciding.rule}]"


def winter(line: ReachLine, units: str) -> str:
    """`coldest month 24 °F; plywood below the indoor dew point in 5 months`."""
    parts = []
    if line.coldest_month is not None:
        parts.append(f"coldest month {show(line.coldest_month, 'temperature', units)}")
    if line.plane is not None:
        n, name = line.plane.months_below_dew_point, words.clean(line.plane.name)
        span = f"below the indoor dew point in {n} month{'s' if n > 1 else ''}"
        parts.append(f"{name} {span if n else 'never below the indoor dew point'}")
    return "; ".join(parts)


def _lines(r: Reach, width: int) -> Iterator[Line]:
    prose = min(width, PROSE)

    def wrapped(text: str, first: str = "", rest: str | None = None, style: str = "plain") -> Iterator[Line]:
        rest = " " * len(first) if rest is None else rest
        for t in wrap(text, prose, first, rest):
            yield Line(t, style)

    yield from wrapped(f"Where it holds: {title(r)}", style="heading")
    yield from wrapped(kept(r), style="dim")
    yield Line("")
    yield from wrapped(r.limit, style="heading")
    for text in r.limits:
        yield from wrapped(text, "  - ")
    if r.zones:
        yield Line("")
        yield from _map(r, width)
    if r.places:
        yield Line("")
        yield Line("Places", "heading")
        for x in r.places:
            yield from _place(x, r, prose)
    if r.zones:
        yield Line("")
        yield Line("What decides, from the warm end", "heading")
        clean = [x.zone for x in r.zones if x.deciding is None and x.disposition != "incomplete"]
        if clean:
            label = f"zone{'s' if len(clean) > 1 else ''} {', '.join(clean)}"
            yield from wrapped(f"{label}: nothing found that would harm it", "  ", "    ")
        for x in r.zones:
            if x.zone not in clean:
                yield from _place(x, r, prose)
    if r.assumptions:
        yield Line("")
        yield Line("What was assumed", "heading")
        for a in r.assumptions:
            yield from wrapped(f"{a.what} ({a.why})", "  - ")
    yield Line("")
    yield Line("Cautions", "heading")
    for c in r.cautions:
        yield from wrapped(c, "  - ")


def _place(x: ReachLine, r: Reach, prose: int) -> Iterator[Line]:
    where = words.clean(x.place)
    asked = words.clean(x.asked)
    head = f"{asked} ({where})" if where and where.casefold() != asked.casefold() else asked
    if x.zone and not asked.startswith("zone "):
        head += f", zone {x.zone}"
    head = f"{head}: {verdict(x)}"
    for n, t in enumerate(wrap(head, prose, "  ", "    ")):
        yield Line(t, x.disposition if n == 0 else "plain")
    for text, style in ((deciding(x, r.units), "plain"), (winter(x, r.units), "dim")):
        for t in wrap(text, prose, "    "):
            yield Line(t, style)


def _map(r: Reach, width: int) -> Iterator[Line]:
    rows = cells(r)
    columns = 1 if r.system == "NBC" else len(REGIMES)
    size = min((width - 6 - 2 * (columns - 1)) // columns, 30)
    heads = ["verdict"] if r.system == "NBC" else [h for _, h in REGIMES]
    yield Line(f"{'zone':>4}  " + "  ".join(f"{h:<{size}}" for h in heads), "heading")
    for number, row in rows:
        lines = [_cell(c, r, size) for c in row]
        height = max(len(c) for c in lines)
        worst = next((c.disposition for c in row if isinstance(c, ReachLine) and not c.holds), "plain")
        if worst == "plain" and any(isinstance(c, ReachLine) for c in row):
            worst = next(c.disposition for c in row if isinstance(c, ReachLine))
        for n in range(height):
            texts = [c[n] if n < len(c) else "" for c in lines]
            label = number if n == 0 else ""
            line = f"{label:>4}  " + "  ".join(f"{t:<{size}}" for t in texts)
            yield Line(line, worst if n == 0 else "dim", 4 if n == 0 else -1)
    legend = ["· no such zone in the code"] if r.system == "US" else []
    if r.system == "US":
        legend.append("7 and 8 have no letter")
    legend += ["> the zone where it stands"] if any(x.asked == HOME for x in r.places) else []
    legend += ["no place: none of the table lies there"] if r.not_reviewed else []
    for t in wrap("; ".join(legend), width, "  "):
        yield Line(t, "dim")


def _cell(c: ReachLine | str | None, r: Reach, size: int) -> list[str]:
    if c is None:
        return ["·"]
    if isinstance(c, str):
        return [c]
    here = "> " if any(x.zone == c.zone for x in r.places if x.asked == HOME) else ""
    return [*wrap(verdict(c), size), *wrap(here + words.clean(c.place), size)]
