"""Pages: well formed, linked both ways, the numbers those of the result, nothing of a section's text alive in them."""

from __future__ import annotations

import os
import re
from collections import Counter
from functools import cache
from html import unescape
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer import cli
from reviewer.model.parse import load_section
from reviewer.remedies import command as remedies
from reviewer.report import as_json, charts, html, html_compare, html_findings, html_reach, html_remedy, words
from reviewer.report.drawing import standalone
from reviewer.report.markup import preformatted
from reviewer.report.scale import scale
from reviewer.result import Result
from reviewer.review import load_rules, review
from reviewer.rules.page import rule_page
from reviewer.units import show
from reviewer.variants import command as variants

ROOT = Path(__file__).parents[2]
GOLDEN = Path(__file__).parent / "golden"
CASES = sorted(p for p in (ROOT / "cases").glob("*/*.yaml") if p.parent.name != "questions")
TAGS = set(
    re.findall(
        r"\w+",
        "html head meta title style body a header main footer nav section article div p h1 h2 h3 h4 h5 h6 ol ul li dl dt "
        "dd strong b span small sup code pre br table caption thead tbody tr th td details summary figure figcaption svg "
        "desc defs pattern rect circle path g text fieldset legend label input",
    )
)
VOID = frozenset({"meta", "br", "input"})


class Page(HTMLParser):
    """Reads a page and fails on what is not closed."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[tuple[str, dict[str, str | None]]] = []
        self.tags: Counter[str] = Counter()
        self.ids: list[str] = []
        self.links: list[tuple[str, list[str]]] = []
        """Where to, and the ids that it stands in."""
        self.headings: list[int] = []
        self.attributes: set[str] = set()
        self.words: list[tuple[list[str], str]] = []
        """Text with the tags that it stands in."""
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        assert len(given) == len(attrs), f"an attribute twice in {tag}"
        self.tags[tag] += 1
        self.attributes |= set(given)
        if given.get("id"):
            self.ids.append(str(given["id"]))
        if tag == "a":
            within = [str(a["id"]) for _, a in self.open if a.get("id")]
            self.links.append((str(given["href"]), within))
        if re.fullmatch("h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append((tag, given))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, tag
        assert self.open.pop()[0] == tag

    def handle_data(self, data: str) -> None:
        self.words.append(([t for t, _ in self.open], data))

    def text(self) -> str:
        return " ".join(
            " ".join(d for tags, d in self.words if not {"style", "svg", "title"} & set(tags)).split()
        )


def sound(text: str) -> Page:
    """What holds for every page."""
    page = Page(text)
    assert text.startswith('<!DOCTYPE html>\n<html lang="en">')
    assert set(page.tags) <= TAGS
    assert not [a for a in page.attributes if a.startswith("on") or a in ("src", "srcset", "action")]
    assert [i for i, n in Counter(page.ids).items() if n > 1] == []
    for link, _ in page.links:
        assert link.startswith("#"), link
        assert link[1:] in page.ids, link
    assert page.headings[0] == 1
    assert page.headings.count(1) == 1
    assert all(b <= a + 1 for a, b in pairwise(page.headings)), page.headings
    # Nothing is fetched: the only addresses are names of the SVG namespace.
    assert set(re.findall(r"https?://[^\s\"'<]+", unescape(text))) <= {
        "http://www.w3.org/2000/svg",
        "http://a.example)",
    }
    assert "default-src 'none'" in text
    # Numbers are bound to their units by a space that does not break.
    assert all(c.isprintable() or c in "\n\xa0" for c in text)
    return page


@cache
def proven(path: Path) -> Result:
    return review(load_section(path), proof=True, work=True)


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_the_page_of_every_case_is_sound(path: Path) -> None:
    r = proven(path)
    page = sound(html.render([r]))
    assert words.DISPOSITIONS[r.disposition] in page.text()
    for f in r.findings:
        assert " ".join(f.title.split()) in page.text()


@pytest.mark.parametrize("name", ["held", "empty", "held_enormous", "hostile"])
def test_pages_at_the_edges_are_sound(name: str, request: pytest.FixtureRequest) -> None:
    r = request.getfixturevalue(name)
    page = sound(html.render([r]))
    assert page.tags["article"] == len(r.findings)


def test_several_sections_stand_on_one_page(held: Result, hostile: Result, empty: Result) -> None:
    page = sound(html.render([held, hostile, empty]))
    assert {"s1-top", "s2-top", "s3-top", "s1-layer-1", "s2-layer-1"} <= set(page.ids)


# Links


def test_findings_lead_to_layers_to_numbers_to_sources_and_back(held: Result) -> None:
    page = Page(html.render([held]))
    links: dict[str, set[str]] = {}
    for to, within in page.links:
        for place in within:
            links.setdefault(place, set()).add(to[1:])
    numbered = [x for n, f, below in html_findings.numbered(held) for x in ((n, f), *below)]
    for n, f in numbered:
        anchor = f"finding-{n}"
        for i in f.layers:
            assert f"layer-{i + 1}" in links[anchor]
            assert anchor in links[f"layer-{i + 1}"]
        sources = {to for to in links[anchor] if to.startswith("source-")}
        published = [c for c in f.citations if c.kind != "common practice"]
        assert bool(sources) or not (published or any(e.source for e in f.evidence))
    cited = {i for i in page.ids if i.startswith("source-")}
    assert cited
    for source in cited:
        back = links[source]
        assert back, source
        assert all(
            source in links[place] for place in back if not place.startswith(("section", "year", "cautions"))
        )


def test_every_source_of_the_result_is_listed(held: Result) -> None:
    page = Page(html.render([held]))
    text = page.text()
    for f in held.findings:
        for e in f.evidence:
            assert words.clean(e.source) in text
        for c in f.citations:
            assert words.citation(c) in text
    for x in held.layers:
        for source in x.sources.values():
            assert words.clean(source) in text
    for source in held.climate.source:
        assert words.clean(source) in text


def test_the_proof_unfolds_with_every_fact_and_step(held: Result) -> None:
    text = Page(html.render([held])).text()
    steps = [s for f in held.findings for s in f.proof]
    assert steps
    while steps:
        step = steps.pop()
        assert " ".join(step.says.split()) in text
        for e in step.facts:
            if e.origin != "concluded":
                assert words.clean(e.label) in text
        steps += step.because


# Numbers


class Rows(HTMLParser):
    """The cells of every table by its caption."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tables: dict[str, list[list[str]]] = {}
        self.caption = ""
        self.row: list[str] = []
        self.cell: list[str] | None = None
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("caption", "th", "td"):
            self.cell = []
        if tag == "tr":
            self.row = []

    def handle_endtag(self, tag: str) -> None:
        if tag in ("caption", "th", "td") and self.cell is not None:
            text = " ".join("".join(self.cell).split())
            if tag == "caption":
                self.caption = text
                self.tables[text] = []
            else:
                self.row.append(text)
            self.cell = None
        if tag == "tr":
            self.tables[self.caption].append(self.row)

    def handle_data(self, data: str) -> None:
        if self.cell is not None:
            self.cell.append(data)


@pytest.mark.parametrize("system", ["ip", "si"])
def test_the_tables_by_month_hold_the_numbers_of_the_result(held: Result, system: str) -> None:
    r = held.model_copy(update={"units": system})
    tables = Rows(html.render([r])).tables
    monthly = r.calculations["monthly"]
    degree, pressure = ("°F", "in. Hg") if system == "ip" else ("°C", "Pa")
    t = tables[f"Temperature, {degree}"]
    assert t[0][1:] == monthly["months"]
    shown = [[float(v) for v in row[1:]] for row in t[1:]]
    given = [monthly["indoor"]["temperature"], monthly["surfaces"]["inner"]]
    given += [j["temperature"] for j in monthly["joints"]]
    given += [monthly["surfaces"]["outer"], monthly["outer_side"]["temperature"]]
    # Degrees Fahrenheit by their definition, to the degree; Celsius to a tenth.
    for row, values in zip(shown, given, strict=True):
        expected = [v * 9 / 5 + 32 for v in values] if system == "ip" else values
        assert row == pytest.approx(expected, abs=0.5001 if system == "ip" else 0.0501)
    # 1 in. Hg is 3386.389 Pa (NIST SP 811, from memory).
    each, step = (3386.389, 0.0005) if system == "ip" else (1.0, 0.5)
    for caption, key in (
        ("Vapor pressure", "vapor_pressure"),
        ("Vapor pressure at saturation", "saturation"),
    ):
        rows = tables[f"{caption}, {pressure}"]
        joints = [row for row in rows if re.match(r"\d+/\d+", row[0])]
        for row, j in zip(joints, monthly["joints"], strict=True):
            assert [float(v) for v in row[1:]] == pytest.approx([v / each for v in j[key]], abs=step * 1.001)
    humidity = tables["Relative humidity at each joint, monthly means, %"][1:]
    for row, j in zip(humidity, monthly["joints"], strict=True):
        assert [int(v) for v in row[1:]] == [int(f"{h * 100:.0f}") for h in j["humidity"]]
    wood = tables["Moisture content of wood, %"][1:]
    for row, w in zip(wood, r.calculations["wood_moisture"], strict=True):
        assert [float(v) for v in row[1:]] == pytest.approx([v * 100 for v in w["monthly"]], abs=0.051)


def test_the_table_of_layers_holds_the_numbers_of_the_result(held: Result) -> None:
    text = html.render([held])
    (rows,) = [t for caption, t in Rows(text).tables.items() if caption.startswith("Layers.")]
    listed = [unescape(s) for s in re.findall(r'<li id="source-\d+">([^<]+)', text)]
    for row, x in zip(rows[1:], held.layers, strict=True):
        assert row[0] == str(x.index + 1)
        assert row[2].startswith(x.name)
        assert row[3] == show(x.thickness or 0.0, "length", "ip")
        for cell, v, key in (
            (row[5], x.permeance_dry, "permeance_dry"),
            (row[6], x.permeance_wet, "permeance_wet"),
        ):
            number, _, source = cell.partition("[")
            assert number == words.permeance(v, "ip", False)
            assert listed[int(source.rstrip("]")) - 1].startswith(words.clean(x.sources[key]))
        assert row[7] == words.temperature(x.temperature_outer, "ip")
        assert row[8] == words.humidity(x.humidity_outer)


def points(svg: str, name: str) -> list[tuple[float, float]]:
    """The points of the first line of a color."""
    (d,) = re.findall(rf'd="M([^"]+)"[^>]*class="{name}"', svg)[:1]
    return [(float(x), float(y)) for x, y in (p.split(" ") for p in d.split("L"))]


def test_the_profile_is_drawn_through_the_numbers_of_the_result(held: Result) -> None:
    r = held.model_copy(update={"units": "si"})
    month, why = charts.worst_month(r)
    assert (month, why) == (0, "the month in which most water condenses")
    svg = charts.through(r, month, "p")
    assert svg is not None
    s = scale(r.layers, 40.0, 320.0 - 40.0)
    monthly = r.calculations["monthly"]
    for name, lines in (
        (
            "warmth",
            [
                monthly["surfaces"]["inner"],
                *(j["temperature"] for j in monthly["joints"]),
                monthly["surfaces"]["outer"],
            ],
        ),
        (
            "vapor",
            [
                monthly["surfaces"]["inner_vapor_pressure"],
                *(j["vapor_pressure"] for j in monthly["joints"]),
                monthly["surfaces"]["outer_vapor_pressure"],
            ],
        ),
    ):
        drawn = points(svg, name)[1:-1]
        values = [v[month] for v in lines]
        assert [x for x, _ in drawn] == pytest.approx(s.edges, abs=0.006)
        # One straight scale takes every value to its height on paper.
        (low, y_low), (high, y_high) = (end(zip(values, drawn, strict=True)) for end in (min, max))
        for v, (_, y) in zip(values, drawn, strict=True):
            share = (v - low) / (high - low)
            assert y == pytest.approx(y_low[1] + share * (y_high[1] - y_low[1]), abs=0.02), name
    assert points(svg, "saturation")[0][0] == pytest.approx(s.edges[0], abs=0.006)


def test_bars_of_water_rise_and_fall_with_the_result() -> None:
    r = proven(ROOT / "cases" / "vapor-control" / "mill-street-pool.yaml")
    monthly = r.calculations["monthly"]
    joint = max(monthly["joints"], key=lambda j: max(j["held"]))
    svg = charts.wetting_and_drying(monthly["months"], joint, "si", "w")
    bars = re.findall(r'height="([\d.]+)" class="(water-body|drying)" [^>]*data-month="(\w+)"', svg)
    rates = {m: v for m, v in zip(monthly["months"], joint["condensation"], strict=True) if v}
    assert [m for _, _, m in bars] == list(rates)
    tall = max(bars, key=lambda b: float(b[0]))
    for height, kind, month in bars:
        assert (kind == "water-body") == (rates[month] > 0)
        expected = float(tall[0]) * abs(rates[month] / rates[tall[2]])
        assert float(height) == pytest.approx(max(expected, 0.5), abs=0.02), month


def test_profiles_in_the_result_agree_with_psychrometrics(held: Result) -> None:
    """Saturation against psychrolib, ASHRAE Handbook—Fundamentals 2017 ch. 1 eqs. 5 and 6 (seen in its source): the
    standard's equations run within 0.6 % of it over water and within 2 % over ice to −40 °C."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    monthly = held.calculations["monthly"]
    for j in monthly["joints"]:
        for t, p, s, h in zip(
            j["temperature"], j["vapor_pressure"], j["saturation"], j["humidity"], strict=True
        ):
            assert s == pytest.approx(psychrolib.GetSatVapPres(t), rel=0.006 if t > 0 else 0.02)
            assert h == pytest.approx(p / s, abs=0.0012)
            assert p <= s * 1.0005


def test_the_course_of_mold_ends_where_the_highest_index_says() -> None:
    r = proven(ROOT / "cases" / "vapor-control" / "mill-street-pool.yaml")
    mold: dict[str, Any] = r.calculations["mold"]
    (found,) = [f for f in r.findings if f.rule == "moisture-state/mold-grows"]
    (index,) = [e.value for e in found.evidence if e.fact.endswith("mold_index")]
    assert max(max(j["index"]) for j in mold["joints"]) == pytest.approx(float(index), abs=0.001)
    assert all(len(j["index"]) == 12 * mold["years"] for j in mold["joints"])


def test_a_result_says_how_its_framing_stands() -> None:
    """A 2x6 is 1-1/2 in thick (American Softwood Lumber Standard PS 20, from memory)."""
    r = proven(ROOT / "cases" / "vapor-control" / "mill-street-shut-in.yaml")
    (framing,) = [x.framing for x in r.layers if x.framing]
    assert framing.width == pytest.approx(1.5 * 0.0254)
    assert framing.spacing == pytest.approx(16 * 0.0254)
    assert all(x.framed == (x.framing is not None) for x in r.layers)


def test_the_schema_tells_what_the_profiles_hold(held: Result) -> None:
    told = as_json.result_schema()["properties"]["calculations"]["description"]
    calc = held.calculations
    for key in ("monthly", "surfaces", "wood_moisture", "wood_limits", "mold"):
        assert f"`{key}`" in told
    for key in calc["monthly"]["joints"][0].keys() - {"inner", "outer", "name"}:
        assert key in told


# Hostile text


def test_what_somebody_writes_is_only_ever_text(hostile: Result) -> None:
    text = html.render([hostile])
    assert "<b onload" not in text
    assert "&lt;b onload=&quot;x&quot;&gt;" in text
    assert "\u202e" not in text


SCRIPT = "<script>alert(1)</script>\"'><img src=x onerror=y>&lt;"


def test_hostile_words_of_a_section_file_stay_words(tmp_path: Path) -> None:
    """Titles, ids, notes, layers nobody knows, materials with overrides, statements and waivers, all the way."""
    said = SCRIPT.replace("'", "''")
    path = tmp_path / "it's <b>.yaml"
    path.write_text(
        f"title: '{said}'\nkind: wall\nplace: Duluth, MN\nnotes: '{said}'\n"
        "layers:\n  - latex paint\n"
        f"  - {{material: gypsum board, thickness: 1/2 in, permeance: {{dry: 30 perm, wet: 40 perm}}, note: '{said}'}}\n"
        "  - '? script sheathing'\n  - 2x6 @ 16 in with R-21 glass fiber batt\n  - house wrap\n  - vinyl siding\n"
        f"waivers:\n  - {{rule: vapor-control/shut-in-between, reason: '{said}', by: '{said}', until: 2030-01-01}}\n",
        encoding="utf-8",
    )
    r = review(load_section(path), proof=True, work=True)
    assert SCRIPT in r.section.title
    text = html.render([r])
    page = sound(text)
    assert "script" not in page.tags
    assert "&lt;script&gt;alert(1)&lt;/script&gt;&quot;&#39;&gt;" in text
    assert "<script" not in standalone(r)


@settings(max_examples=40)
@given(title=st.text(max_size=80), name=st.text(max_size=40), says=st.text(max_size=80))
def test_whatever_is_written_the_page_is_sound(title: str, name: str, says: str) -> None:
    r = kept_small()
    layer = r.layers[0].model_copy(update={"name": name, "text": says, "sources": {"r_value": says}})
    finding = r.findings[0].model_copy(update={"title": says, "explanation": title, "margin": name})
    changed = r.model_copy(
        update={
            "section": r.section.model_copy(update={"title": title, "id": name}),
            "layers": [layer],
            "findings": [finding],
            "summary": says,
        }
    )
    sound(html.render([changed]))


@cache
def kept_small() -> Result:
    text = (Path(__file__).parent / "kept" / "proven.json").read_text(encoding="utf-8")
    return Result.model_validate_json(text).model_copy(update={"calculations": {}})


def test_a_file_is_set_as_it_is_written_and_no_further() -> None:
    assert preformatted("a: <b>\n  - \x1b[31m\u202e\tx") == "a: &lt;b&gt;\n  -  [31m  x"


def test_very_long_words_may_break_and_are_kept(held: Result) -> None:
    long = "x" * 5000
    r = held.model_copy(update={"section": held.section.model_copy(update={"title": long})})
    text = html.render([r])
    assert long in text
    assert "overflow-wrap:anywhere" in text


# Other pages


def test_pages_of_reach_comparison_and_remedies_are_sound(tmp_path: Path) -> None:
    good, bad = (
        str(ROOT / "cases" / "vapor-control" / f"{n}.yaml")
        for n in ("mill-street-kraft-wall", "mill-street-shut-in")
    )
    hostile = tmp_path / "hostile.yaml"
    hostile.write_text(
        Path(bad).read_text(encoding="utf-8").replace("title:", 'title: "<script>alert(1)</script>" #', 1),
        encoding="utf-8",
    )
    reach = variants.reach(str(hostile))
    page = sound(html_reach.render(reach))
    assert page.tags["tr"] >= len(reach.zones)
    assert words.clean(reach.limit) in page.text()
    compared = variants.compare([good, str(hostile)], zones=["4A,6A"])
    page = sound(html_compare.render(compared))
    assert page.tags["svg"] == 2
    for n in compared.numbers:
        assert n.label in page.text()
    advice = remedies.remedy(bad, most_candidates=60)
    page = sound(html_remedy.render(advice))
    for p in advice.proposals:
        for change in p.changes:
            assert words.clean(change.says)[1:] in page.text()


def test_sections_side_by_side_share_one_scale() -> None:
    names = ("mill-street-kraft-wall", "mill-street-shut-in")
    found = variants.compare([str(ROOT / "cases" / "vapor-control" / f"{n}.yaml") for n in names])
    text = html_compare.render(found)
    per_meter = []
    for n, svg in enumerate(re.findall(r"<svg.*?</svg>", text, re.S)):
        widest = max(found.sections[n].layers, key=lambda x: x.thickness or 0.0)
        (width,) = re.findall(rf'width="([\d.]+)"[^>]*data-layer="{widest.index + 1}"', svg)
        per_meter.append(float(width) / (widest.thickness or 1.0))
    assert per_meter[0] == pytest.approx(per_meter[1], rel=1e-3)


def test_the_page_of_a_rule_is_sound() -> None:
    rules = load_rules()
    sound(rule_page(next(iter(rules.rules.values())), rules, "html"))


def test_the_command_writes_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "review.html"
    with pytest.raises(SystemExit):
        cli.app(["review", str(CASES[0]), "-o", str(out)])
    assert capsys.readouterr().out == ""
    page = sound(out.read_text(encoding="utf-8"))
    # The proof is there without being asked for.
    assert page.tags["details"] >= 5


@pytest.mark.parametrize("name", ["ordinary", "empty", "enormous"])
def test_the_golden_pages_hold(name: str, held: Result, empty: Result, held_enormous: Result) -> None:
    """REVIEWER_WRITE_SCENARIOS=1 writes them anew; look at them in a browser."""
    result = {"ordinary": held, "empty": empty, "enormous": held_enormous}[name]
    path = GOLDEN / f"{name}.html"
    found = html.render([result])
    if os.environ.get("REVIEWER_WRITE_SCENARIOS"):
        path.write_text(found, encoding="utf-8")
    assert found == path.read_text(encoding="utf-8")
    assert len(found.encode()) <= 500_000
