"""Reach, comparison, possibilities and flips for people: whole, within the width, harmless, and by their schemas."""

from __future__ import annotations

import json

import jsonschema
import pytest

from reviewer.comparison import Comparison
from reviewer.model.parse import load_section, parse_section, section_from_line
from reviewer.model.section import Section
from reviewer.reaching import Reach
from reviewer.report import as_json, markdown, possible, terminal
from reviewer.report import compare as compare_report
from reviewer.report import reach as reach_report
from reviewer.report.review_paper import review_paper
from reviewer.result import Result
from reviewer.review import load_rules, review
from reviewer.variants.command import with_variants
from reviewer.variants.compare import climates_of, compare
from reviewer.variants.judging import Judges
from reviewer.variants.reach import reach
from reviewer.workbench import shipped_cases

CASES = {p.stem: p for p in shipped_cases()}
WIDTHS = [60, 80, 123, 200]
HOSTILE = (
    'kind: wall\ntitle: "<script>alert(1)</script> |x"\nplace: Chicago, IL\n'
    "layers:\n- latex paint\n- 1/2 in gypsum board\n- 2x6 @ 16 in with R-21 glass fiber batt\n- ? sheathing\n"
    "- 1 to 2 in extruded polystyrene board\n- vinyl siding\n"
)


@pytest.fixture(scope="module")
def reached() -> list[Reach]:
    judges = Judges()
    sections = [load_section(CASES[n]) for n in ("mill-street-foam-short", "river-bend-foil")]
    sections.append(parse_section(HOSTILE))
    return [reach(s, judges) for s in sections]


@pytest.fixture(scope="module")
def compared() -> list[Comparison]:
    judges = Judges()
    names = ("mill-street-shut-in", "mill-street-foam-enough", "unknown-sheathing")
    sections = [load_section(CASES[n]) for n in names]
    hostile = parse_section(HOSTILE)
    return [
        compare(sections[:2], judges, climates_of(["4A", "7"], ["Miami, FL"])),
        compare([*sections, hostile], judges),
        compare([hostile] * 6, judges),
        compare([parse_section("kind: wall\nlayers: latex paint")] * 2, judges),
    ]


def reviewed(*sections: Section) -> list[Result]:
    rules = load_rules()
    return with_variants([review(s, rules) for s in sections], sections, rules, "", 64, True)


@pytest.fixture(scope="module")
def results() -> list[Result]:
    line = "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with ? insulation | ? | house wrap | vinyl siding"
    return reviewed(
        load_section(CASES["unknown-sheathing"]),
        parse_section(HOSTILE),
        section_from_line(line, kind="wall", place="Duluth, MN"),
    )


@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_wider_than_the_terminal(
    width: int, reached: list[Reach], compared: list[Comparison], results: list[Result]
) -> None:
    texts = [reach_report.as_text(r, width) for r in reached]
    texts += [compare_report.as_text(c, width) for c in compared]
    texts += ["\n".join(line.text for line in possible.lines(r, width)) for r in results]
    for text in texts:
        assert text.strip()
        assert max(map(len, text.splitlines())) <= width


def test_no_control_character_and_no_markup_of_the_user_comes_through(
    reached: list[Reach], compared: list[Comparison], results: list[Result]
) -> None:
    for text in (
        markdown.render(reach_report.as_paper(reached[2])),
        markdown.render(compare_report.as_paper(compared[1])),
        markdown.render(review_paper(results[1])),
    ):
        assert "<script>" not in text
        assert "\x1b" not in text
    for text in (
        reach_report.as_text(reached[2]),
        compare_report.as_text(compared[1]),
        terminal.render(results[1]),
    ):
        assert "\x1b" not in text


def test_colors_are_laid_over_the_same_text(reached: list[Reach], compared: list[Comparison]) -> None:
    import re

    plain = re.compile(r"\x1b\[[0-9;]*m")
    for report, found in ((reach_report, reached[0]), (compare_report, compared[0])):
        colored = report.as_text(found, 80, True)  # type: ignore[arg-type]
        assert "\x1b[" in colored
        stripped = "\n".join(line.rstrip() for line in plain.sub("", colored).splitlines())
        assert stripped == report.as_text(found, 80).rstrip("\n")  # type: ignore[arg-type]


def test_json_follows_its_schema_and_comes_back(
    reached: list[Reach], compared: list[Comparison], results: list[Result]
) -> None:
    for r in reached:
        data = json.loads(reach_report.as_json(r))
        jsonschema.validate(data, reach_report.schema())
        assert Reach.model_validate(data) == r
    for c in compared:
        data = json.loads(compare_report.as_json(c))
        jsonschema.validate(data, compare_report.schema())
        assert Comparison.model_validate(data) == c
    for x in results:
        data = json.loads(as_json.render([x]))
        jsonschema.validate(data, as_json.result_schema())
        jsonschema.validate(data["possibilities"], possible.schema())
        assert Result.model_validate(data) == x


def test_the_map_has_a_cell_for_every_zone(reached: list[Reach]) -> None:
    rows = reach_report.cells(reached[0])
    shown = [c.zone for _, row in rows for c in row if not isinstance(c, str) and c is not None]
    assert sorted(shown) == sorted(x.zone for x in reached[0].zones)
    assert [n for n, _ in rows] == [str(n) for n in range(9)]
    assert rows[0][1] == ["no place", "no place", None]


def test_every_unknown_assumption_and_answer_is_in_the_report(results: list[Result]) -> None:
    for r in results:
        found = r.possibilities
        assert found is not None
        text = " ".join(terminal.render(r, 200).split())
        for q in found.questions:
            assert q.find_out in text
        for a in found.assumptions:
            assert " ".join(a.what.split()) in text
        paper = " ".join(markdown.render(review_paper(r)).replace("\\", "").split())
        for q in found.questions:
            for answer in q.answers:
                assert answer.says in paper
        assert all(t in text for t in found.not_varied)


def test_a_result_without_either_has_neither_part() -> None:
    plain = review(load_section(CASES["mill-street-shut-in"]))
    assert list(possible.lines(plain, 80)) == []
    assert json.loads(as_json.render([plain]))["possibilities"] is None
