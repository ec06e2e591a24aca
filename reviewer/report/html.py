"""The review as one HTML file: it needs no network and no script, on a phone, on a desk and on paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from reviewer.report import charts, hatch, html_blocks, html_findings, html_year, words
from reviewer.report.drawing import drawing
from reviewer.report.html_context import Context
from reviewer.report.markup import Markup, el, join, prose
from reviewer.report.page import VERDICT_CLASSES, chip, contents, page, table
from reviewer.report.sources import Sources
from reviewer.result import SEVERITIES, LayerLine, Result
from reviewer.units import show


def render(results: Sequence[Result]) -> str:
    """One page for all results; several stand below one another, with a list of them first."""
    if len(results) == 1:
        r = results[0]
        c = _context(r, "", 2)
        parts = _parts(r, c)
        head = [*_head(r, 1, ""), contents((c.id(i), name) for i, name, _ in parts)]
        return page(words.title(r), head, _sections(parts, c), words.engine_note(r), jump="section")
    title = f"Review of {len(results)} sections"
    links = []
    main: list[Markup] = []
    for n, r in enumerate(results, 1):
        prefix = f"s{n}-"
        c = _context(r, prefix, 3)
        parts = _parts(r, c)
        mark = chip(words.DISPOSITIONS[r.disposition], VERDICT_CLASSES[r.disposition])
        links.append(el("li", el("a", words.title(r), href=f"#{prefix}top"), " ", mark))
        nav = contents(((c.id(i), name) for i, name, _ in parts), f"{n}. {words.title(r)}")
        main.append(el("article", *_head(r, 2, prefix), nav, *_sections(parts, c), id=f"{prefix}top"))
    head = [el("p", "Moisture review", class_="kicker"), el("h1", title), el("ol", *links, id="all")]
    return page(title, head, main, words.engine_note(results[0]) if results else "", jump="all")


def _context(r: Result, prefix: str, level: int) -> Context:
    return Context(r.layers, r.units, prefix, level, Sources(prefix))


def _head(r: Result, level: int, prefix: str) -> Iterator[Markup]:
    if level == 1:
        yield el("p", "Moisture review", class_="kicker")
    yield el(f"h{level}", words.title(r))
    yield el("p", words.where(r), class_="where")
    yield verdict(r.disposition, r.summary)
    counts = [(s, sum(f.severity == s for f in r.findings)) for s in SEVERITIES]
    several = {"caution": "cautions", "note": "notes"}
    one = {"credit": "done well"}
    chips = [
        el("li", chip(f"{n} {several.get(s, one.get(s, s)) if n > 1 else one.get(s, s)}", f"is-{s}"))
        for s, n in counts
        if n
    ]
    yield el("ul", *(chips or [el("li", "no findings")]), class_="tally", aria_label="Findings")


def verdict(disposition: str, summary: str) -> Markup:
    """The verdict, large, with the sentence that goes with it."""
    word = el("strong", words.DISPOSITIONS[disposition])
    return el("div", word, el("p", prose(summary)), class_=f"verdict {VERDICT_CLASSES[disposition]}")


Part = tuple[str, str, list[Markup]]
"""Id, heading, content."""


def _parts(r: Result, c: Context) -> list[Part]:
    """The parts of a review that have something to say, in their order."""
    calc = r.calculations
    monthly = calc.get("monthly")
    found: list[Part] = [("section", "The section, from the room outwards", list(_section(r, c)))]

    def add(id: str, heading: str, content: Iterable[Markup]) -> None:
        parts = list(content)
        if parts:
            found.append((id, heading, parts))

    add("findings", "Findings", html_findings.findings(r, c))
    add("holds", "What holds, and must not be lost in a change", html_findings.credits(r, c))
    if monthly and r.layers:
        add("months", "Through the section, month by month", html_year.months(r, c))
        add("year", "The year: damp and dry", html_year.year(r, c))
        if "strips" in calc:
            add("depth", "By depth below grade", html_year.strips(r, c))
        if "hourly" in calc:
            add("hourly", "The hourly simulation", html_year.hourly(r, c))
    if r.possibilities is not None or r.flips is not None:
        from reviewer.report import possible

        for n, (heading, content) in enumerate(html_blocks.parts(possible.blocks(r), c), 1):
            add(f"possible-{n}", heading, content)
    add("assumed", "What was assumed", _assumed(r))
    add("open", "What could not be judged, and what would settle it", _open(r))
    if monthly and r.layers:
        add("numbers", "The numbers by month", html_year.numbers(r, c))
    add("work", "The work: every calculation with its numbers", _work(r, c))
    cautions = list(_cautions(r, c))
    if c.sources:
        found.append(("sources", "Sources", [c.sources.listed()]))
    found.append(("cautions", "Cautions", cautions))
    return found


def _sections(parts: Iterable[Part], c: Context) -> Iterator[Markup]:
    for id, heading, content in parts:
        yield el("section", c.heading(heading), *content, id=c.id(id))


# The section


def _section(r: Result, c: Context) -> Iterator[Markup]:
    if not r.layers:
        yield el("p", "The section has no layers.")
        return
    figures = [el("figure", Markup(drawing(r, c.prefix, legend=False)), el("figcaption", _drawn(r)))]
    if r.calculations.get("monthly"):
        month, why = charts.worst_month(r)
        name = r.calculations["monthly"]["months"][month]
        chart = charts.through(r, month, c.id("through"))
        if chart is not None:
            figures.append(
                el(
                    "figure",
                    chart,
                    el("figcaption", f"{name}, {why}: drawn on the same scale, the room at the left."),
                )
            )
    yield el(
        "div", el("div", *figures, class_="figures"), el("div", _layers(r, c), *_notes(r, c)), class_="plate"
    )


def _drawn(r: Result) -> str:
    cut = {
        "roof": "A vertical cut, the room below",
        "floor": "A vertical cut, the room above",
        "slab": "A vertical cut, the room above",
    }.get(r.section.kind, "A level cut seen from above, the room at the left")
    said = [f"{cut}. To scale; sheets and coatings are lines."]
    if any(x.condensing for x in r.layers):
        said.append("The beaded line: condensate collects there in some month.")
    if any(x.ventilated for x in r.layers):
        said.append("Arrows: ventilated.")
    if any(not x.thickness for x in r.layers):
        said.append("Broken edges: no thickness, not to scale.")
    return " ".join(said)


def _layers(r: Result, c: Context) -> Markup:
    degree, unit = words.degree(r.units), {"perm": "perms"}.get(u := words.permeance_unit(r.units), u)
    resistance = "" if r.units == "ip" else "R in m²·K/W. "
    names = [
        "#",
        "Hatch",
        "Layer",
        "Thickness",
        "R",
        "Dry",
        "Damp",
        degree,
        "RH",
        "Findings",
    ]
    heads = [
        el("th", name, scope="col", class_="l" if name in ("Hatch", "Layer", "Findings") else None)
        for name in names
    ]
    concerned: dict[int, list[tuple[str, str]]] = {}
    for number, cause, below in html_findings.numbered(r):
        for name, f in ((number, cause), *below):
            for i in f.layers:
                concerned.setdefault(i, []).append((name, f.severity))
    return table(
        f"Layers. {resistance}Dry and damp: permeance in {unit}. {degree} and RH: coldest month and highest monthly mean at "
        "the outer face. [n]: source.",
        heads,
        [_layer(x, r, c, names, concerned.get(x.index, [])) for x in r.layers],
        label="Layers",
        cards="cards layers",
    )


def _layer(x: LayerLine, r: Result, c: Context, names: list[str], found: list[tuple[str, str]]) -> Markup:
    name = words.clean(x.name)
    text = words.clean(x.text)
    anchor = c.layer(x.index)
    about = [text] if text and text.lower() != name.lower() else []
    if x.framing:
        f = x.framing
        about.append(
            f"{words.clean(f.material)} members {show(f.width, 'length', r.units)} at {show(f.spacing, 'length', r.units)}"
        )
    about += [", ".join(x.roles)] if x.roles else []
    about += ["condensate collects at its outer face"] if x.condensing else []
    about += ["ventilated"] if x.ventilated else []
    about += ["not known"] if x.unknown else []

    def cited(source: str) -> Markup:
        return c.sources.cite(source, anchor, f"layer {x.index + 1}")

    resistance = words.resistance(x, r.units)
    # Each number with its source; what stands in no cell is cited with the name.
    by_cell = {
        "R": x.sources.get("r_value", "") if resistance not in (words.NONE, "?") else "",
        "dry": x.sources.get("permeance_dry", ""),
        "damp": x.sources.get("permeance_wet", ""),
    }
    others = dict.fromkeys(s for s in x.sources.values() if s not in by_cell.values())
    key = el(
        "svg",
        hatch.swatch(x, c.prefix, 1, 1, 26, 14),
        viewBox="0 0 28 16",
        width=28,
        height=16,
        aria_hidden="true",
    )
    links = [el("a", n, href=f"#{c.id(f'finding-{n}')}", title=s) for n, s in found]
    damp = x.humidity_outer is not None and x.humidity_outer >= 0.795
    dry, wet = (words.permeance(v, r.units, x.unknown) for v in (x.permeance_dry, x.permeance_wet))
    texts = ((resistance, by_cell["R"]), (dry, by_cell["dry"]), (wet, by_cell["damp"]))
    values = (
        words.thickness(x, r.units),
        *(join([text, cited(source) if source else None]) for text, source in texts),
        words.temperature(x.temperature_outer, r.units),
        words.humidity(x.humidity_outer),
    )
    return el(
        "tr",
        el("td", str(x.index + 1), class_="n"),
        el("td", key),
        el(
            "th",
            name,
            *map(cited, others),
            el("small", " · ".join(about)) if about else None,
            scope="row",
            class_="name",
        ),
        *(
            el("td", value, data_label=label, class_="r80" if label == "RH" and damp else None)
            for label, value in zip(names[3:9], values, strict=True)
        ),
        el("td", join(links, ", ") if links else words.NONE, class_="l", data_label=names[9]),
        id=anchor,
    )


def _notes(r: Result, c: Context) -> Iterator[Markup]:
    told = list(words.about_the_section(r))
    if not told:
        return
    source = r.calculations["method"]["source"] if "u_value" in r.calculations else ""
    cited = c.sources.cite(source, c.id("section"), "the whole section") if source else None
    yield el(
        "ul",
        *(el("li", t, cited if n == len(told) - 1 else None) for n, t in enumerate(told)),
        class_="quiet",
    )


# The grounds


def _assumed(r: Result) -> Iterator[Markup]:
    if r.assumptions:
        yield el("ul", *(el("li", a.what, el("span", f" – {a.why}", class_="quiet")) for a in r.assumptions))


def _open(r: Result) -> Iterator[Markup]:
    items = []
    for settle, rules in words.open_questions(r).items():
        deciding = [m for m in rules if m.decisive]
        named = join([el("code", m.rule) for m in deciding or rules], ", ")
        say = "The verdict can turn on it: " if deciding else "Without an answer: "
        more = [m for m in rules if not m.decisive] if deciding else []
        items.append(
            el(
                "li",
                el("strong", settle[:1].upper() + settle[1:], "."),
                " ",
                say,
                named,
                join(["; also without an answer: ", join([el("code", m.rule) for m in more], ", ")])
                if more
                else None,
                ".",
            )
        )
    if items:
        yield el("ul", *items)


def _work(r: Result, c: Context) -> Iterator[Markup]:
    for n, w in enumerate(r.work, 1):
        anchor = c.id(f"work-{n}")
        yield c.heading(f"{n}. {words.clean(w.title)}", id=f"work-{n}", below=1)
        yield el("ul", *(el("li", part) for part in w.formula.split("; ")))
        if w.where:
            yield el("p", w.where, class_="quiet")
        if w.numbers:
            rows = [
                el(
                    "tr",
                    el("th", line.of, scope="row", class_="name"),
                    el("td", words.calculation(line), class_="l"),
                    el("td", line.note, class_="l"),
                )
                for line in w.numbers
            ]
            heads = [el("th", name, scope="col", class_="l") for name in ("Of", "Calculation", "From")]
            yield table(f"Numbers of {words.clean(w.title)}", heads, rows)
        yield el("p", el("strong", w.result))
        yield el(
            "p",
            f"Limits: {w.limits}",
            c.sources.cite(w.source, anchor, f"work {n}") if w.source else None,
            class_="quiet",
        )


def _cautions(r: Result, c: Context) -> Iterator[Markup]:
    items = [el("li", text) for text in r.cautions]
    if r.climate.source:
        cited = [c.sources.cite(s, c.id("cautions"), "the climate") for s in r.climate.source]
        items.append(el("li", f"Climate of {words.clean(r.climate.place)}", *cited))
    yield el("ul", *items)
