"""The drawing of a section: to scale, whole, in the right order, told apart without color, and safe."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reviewer import cli
from reviewer.library.materials import load_materials
from reviewer.model.parse import load_section
from reviewer.report import hatch, ink
from reviewer.report.drawing import described, drawing, standalone
from reviewer.report.markup import el, escape, figures
from reviewer.report.scale import SHEET, scale, spread
from reviewer.result import Result
from reviewer.review import review

ROOT = Path(__file__).parents[2]
GOLDEN, KEPT = Path(__file__).parent / "golden", Path(__file__).parent / "kept"
SVG = "{http://www.w3.org/2000/svg}"
SECTIONS = (
    "vapor-control/mill-street-shut-in",
    "vapor-control/mill-street-open-cell-roof",
    "foundation/birch-row-basement",
    "foundation/larch-house-slab",
    "foundation/ferry-lane-closed-crawl-space",
    "retrofit/brick-row-insulated-inside",
    "moisture/steel-studs",
    "roof/tundra-hall-attic",
)


@pytest.fixture(scope="module", params=SECTIONS)
def section(request: pytest.FixtureRequest) -> Result:
    return review(load_section(ROOT / "cases" / f"{request.param}.yaml"))


def tree(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def across(r: Result) -> str:
    """The attribute that a thickness is drawn in."""
    return "height" if r.section.kind in ("roof", "floor", "slab") else "width"


def bodies(r: Result) -> dict[int, ElementTree.Element]:
    return {
        int(e.attrib["data-layer"]): e
        for e in tree(drawing(r)).iter(f"{SVG}rect")
        if "data-layer" in e.attrib
    }


def test_every_layer_is_drawn_at_one_scale(section: Result) -> None:
    drawn = {
        n: float(e.attrib[across(section)])
        for n, e in bodies(section).items()
        if "data-scale" not in e.attrib
    }
    lines = {
        int(e.attrib["data-layer"]): float(e.attrib["data-thickness"])
        for e in tree(drawing(section)).iter(f"{SVG}path")
        if "data-thickness" in e.attrib
    }
    known = {x.index + 1: x.thickness for x in section.layers if x.thickness}
    assert set(drawn) | set(lines) == set(known)
    per_meter = sum(drawn.values()) / sum(known[n] for n in drawn)
    for n, size in drawn.items():
        # Coordinates have two decimals.
        assert size == pytest.approx(known[n] * per_meter, abs=0.011), n
    for n, size in lines.items():
        assert size < SHEET
        assert size == pytest.approx(known[n] * per_meter, rel=0.01, abs=0.001), n


def test_layers_lie_edge_to_edge_from_the_room_outwards(section: Result) -> None:
    place = "y" if across(section) == "height" else "x"
    found = [
        (float(e.attrib[place]), float(e.attrib[place]) + float(e.attrib[across(section)]))
        for _, e in sorted(bodies(section).items())
    ]
    if section.section.kind == "roof":
        found = [(-b, -a) for a, b in found]
    for (_, end), (start, _) in pairwise(found):
        # Sheets lie between the bodies, each thinner than a line.
        assert -0.02 <= start - end < SHEET * len(section.layers)


def test_members_have_their_width_at_the_same_scale(section: Result) -> None:
    layers = bodies(section)
    for e in tree(drawing(section)).iter(f"{SVG}rect"):
        if "data-member" not in e.attrib:
            continue
        n = int(e.attrib["data-member"])
        x = section.layers[n - 1]
        assert x.framing is not None
        assert x.thickness
        along = "width" if across(section) == "height" else "height"
        per_meter = float(layers[n].attrib[across(section)]) / x.thickness
        assert float(e.attrib[along]) <= x.framing.width * per_meter + 0.02
    framed = [x for x in section.layers if x.framing and x.thickness]
    assert bool(framed) == ("data-member" in drawing(section))


def test_condensate_is_marked_where_the_result_says(section: Result) -> None:
    marked = re.findall(r'data-condensate="(\d+)"', drawing(section))
    assert [int(n) for n in marked] == [x.index + 1 for x in section.layers if x.condensing]


def test_what_has_no_thickness_is_drawn_open_and_said_to_be_out_of_scale() -> None:
    r = review(load_section(ROOT / "cases" / "foundation" / "birch-row-basement.yaml"))
    soil = bodies(r)[len(r.layers)]
    assert soil.attrib["data-scale"] == "none"
    assert "broken edges: not to scale" in drawing(r)


def test_the_drawing_says_in_words_what_it_shows(section: Result) -> None:
    root = tree(drawing(section))
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert root.attrib["role"] == "img"
    assert title is not None
    assert desc is not None
    assert root.attrib["aria-labelledby"].split() == [title.attrib["id"], desc.attrib["id"]]
    for x in section.layers:
        assert f"{x.index + 1}: {x.name}" in str(desc.text)
    assert str(desc.text).count("condensate collects") == sum(x.condensing for x in section.layers)


def test_every_hatch_that_is_used_is_defined_and_ids_keep_apart(section: Result) -> None:
    svg = drawing(section, "left-")
    defined = set(re.findall(r'<pattern id="([^"]+)"', svg))
    assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= defined
    assert all(i.startswith("left-") for i in re.findall(r' id="([^"]+)"', svg))


def test_every_family_of_the_library_has_a_hatch_of_its_own() -> None:
    assert {m.family for m in load_materials().values()} <= set(hatch.FAMILIES)
    strokes = [(t[1], t[2], t[3]) for t in hatch._TILES.values()]
    assert len(set(strokes)) == len(strokes)


def luminance(color: str) -> float:
    """Relative luminance of an sRGB color. W3C, WCAG 2.2, definition of relative luminance (from memory)."""
    channels = [int(color[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_gives_the_known_ends() -> None:
    """Black on white is 21:1 by definition; #767676 on white is the gray that just passes 4.5 (from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("mode", [0, 1], ids=["light", "dark"])
def test_words_and_lines_stand_out_from_the_paper(mode: int) -> None:
    """WCAG 2.2, 1.4.3: text 4.5:1; 1.4.11: graphical objects that are needed 3:1 (from memory)."""
    least = {"word": 4.5, "aside": 4.5, "limit-word": 4.5}
    for name, colors in ink.INKS.items():
        lines = name.startswith("line-") or name in (
            "warmth",
            "vapor",
            "saturation",
            "water",
            "water-body",
            "limit",
            "edge",
        )
        if name in least or lines:
            assert contrast(colors[mode + 1], ink.PAPER[mode]) >= least.get(name, 3.0), name
    assert contrast(ink.INKS["mark"][mode + 1], ink.INKS["on-mark"][mode + 1]) >= 4.5


def test_a_hatch_stands_out_from_its_ground() -> None:
    for mode in (1, 2):
        for tile in hatch._TILES.values():
            assert contrast(ink.INKS["hatch"][mode], ink.INKS[tile[0]][mode]) >= 3.0, tile[0]


def test_no_text_of_a_section_becomes_an_element(hostile: Result) -> None:
    root = tree(standalone(hostile))
    allowed = {"svg", "title", "desc", "style", "defs", "pattern", "rect", "circle", "path", "g", "text"}
    assert {e.tag.removeprefix(SVG) for e in root.iter()} <= allowed
    assert not [a for e in root.iter() for a in e.attrib if a.lower().startswith("on")]
    assert all(c.isprintable() or c == "\n" for c in standalone(hostile))


def test_sixty_layers_have_sixty_numbers_that_do_not_touch(held_enormous: Result) -> None:
    root = tree(drawing(held_enormous, legend=False))
    disks = [
        (float(e.attrib["x"]), float(e.attrib["y"]))
        for e in root.iter(f"{SVG}rect")
        if e.attrib.get("rx") == "7"
    ]
    assert len(disks) == 60
    for n, (x, y) in enumerate(disks):
        assert not [1 for a, b in disks[:n] if abs(a - x) < 15 and abs(b - y) < 14]


def test_an_empty_section_is_drawn_as_one(empty: Result) -> None:
    assert list(described(empty)) == ["The section has no layers."]
    assert tree(drawing(empty)).attrib["role"] == "img"


def test_the_same_result_gives_the_same_bytes_whatever_the_hash_seed(held: Result) -> None:
    code = (
        "from pathlib import Path\nfrom reviewer.result import Result\nfrom reviewer.report import html\n"
        "from reviewer.report.drawing import standalone\n"
        f"r = Result.model_validate_json(Path({str(KEPT / 'proven.json')!r}).read_text(encoding='utf-8'))\n"
        "import sys\nsys.stdout.buffer.write((standalone(r) + html.render([r])).encode())"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", code],
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(outputs) == 1
    assert standalone(held).encode() in outputs.pop()


@pytest.mark.parametrize("name", ["ordinary", "enormous"])
def test_the_kept_drawings_hold(name: str, held: Result, held_enormous: Result) -> None:
    """REVIEWER_WRITE_SCENARIOS=1 writes them anew; look at them."""
    path = GOLDEN / f"{name}.svg"
    found = standalone(held if name == "ordinary" else held_enormous)
    if os.environ.get("REVIEWER_WRITE_SCENARIOS"):
        path.write_text(found, encoding="utf-8")
    assert found == path.read_text(encoding="utf-8")


def test_the_command_draws_one_section(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case, out = str(ROOT / "cases" / f"{SECTIONS[0]}.yaml"), tmp_path / "out.svg"
    with pytest.raises(SystemExit) as done:
        cli.app(["review", case, "--drawing", str(out), "--fail-at", "never"])
    assert done.value.code == 0
    assert capsys.readouterr().out == ""
    assert tree(out.read_text(encoding="utf-8")).tag == f"{SVG}svg"


def test_two_sections_are_not_drawn_into_one_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    case, out = str(ROOT / "cases" / f"{SECTIONS[0]}.yaml"), tmp_path / "out.svg"
    monkeypatch.setattr(sys, "argv", ["reviewer", "review", case, case, "--drawing", str(out)])
    with pytest.raises(SystemExit) as done:
        cli.main()
    assert done.value.code == 2
    assert "--drawing draws one section" in capsys.readouterr().err
    assert not out.exists()


# The pieces


@given(st.text(max_size=60))
def test_escaped_text_holds_no_sign_of_markup_and_nothing_unprintable(text: str) -> None:
    found = escape(text)
    assert not set(found) & set("<>\"'")
    assert found.isprintable()
    assert "&" not in re.sub(r"&(?:amp|lt|gt|quot|#39);", "", found)
    element = el("p", text, title=text)
    read = ElementTree.fromstring(element)
    assert (read.text or "") == read.attrib["title"]


@given(st.lists(st.floats(0, 300), max_size=80).map(sorted), st.floats(1, 30))
def test_places_keep_their_order_their_gap_and_their_bounds(wanted: list[float], gap: float) -> None:
    places = spread(wanted, gap, 0.0, 300.0)
    least = min(gap, 300.0 / max(len(wanted) - 1, 1))
    assert len(places) == len(wanted)
    assert all(-1e-6 <= p <= 300 + 1e-6 for p in places)
    assert all(b - a >= least - 1e-6 for a, b in pairwise(places))


@given(st.lists(st.one_of(st.none(), st.floats(1e-5, 2.0)), min_size=1, max_size=60))
def test_a_scale_fills_its_length_and_is_one_scale(thicknesses: list[float | None]) -> None:
    held = Result.model_validate_json((KEPT / "proven.json").read_text(encoding="utf-8"))
    layers = [
        held.layers[0].model_copy(update={"index": n, "thickness": t}) for n, t in enumerate(thicknesses)
    ]
    s = scale(layers, 10.0, 200.0)
    assert s.edges[0] == 10.0
    assert s.edges[-1] == pytest.approx(210.0)
    for n, t in enumerate(thicknesses):
        if t:
            assert s.size(n) == pytest.approx(t * s.per_meter, abs=1e-9)


@given(st.floats(-1e6, 1e6))
def test_a_coordinate_is_within_half_a_hundredth(value: float) -> None:
    assert float(figures(value)) == pytest.approx(value, abs=0.0051)
