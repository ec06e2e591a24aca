"""Advice as JSON follows its schema and comes back; text stays within its width and leaves nothing out."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner

from reviewer import cli
from reviewer.advice import LeastAdvice, RemedyAdvice
from reviewer.errors import InputError
from reviewer.model.parse import load_section, section_from_line
from reviewer.remedies.advise import advise
from reviewer.remedies.changes import WHOLE, apply, draft_of, read
from reviewer.remedies.least import least
from reviewer.remedies.moves import Limits
from reviewer.report import least as least_report
from reviewer.report import remedy as remedy_report
from reviewer.variants.judging import Judges
from reviewer.workbench import shipped_cases

ROOT = Path(__file__).parents[2]
CASES = (
    "foundation/carter-hall-wrap-on-block",
    "retrofit/unknown-sheathing",
    "completeness/no-cladding-listed",
    "hazards/attic-with-vermiculite",
)


@pytest.fixture(scope="module")
def judges() -> Judges:
    return Judges()


@pytest.fixture(scope="module")
def found(judges: Judges) -> list[RemedyAdvice]:
    paths = [ROOT / "cases" / f"{name}.yaml" for name in CASES]
    out = [advise(load_section(p), p.read_text(), judges, Limits(most_candidates=64)) for p in paths]
    guest = ROOT / "cases/vapor-control/bayou-court-guest-room.yaml"
    kept = Limits(keep=frozenset({0}), most_candidates=64)
    return [*out, advise(load_section(guest), guest.read_text(), judges, kept)]


@pytest.fixture(scope="module")
def amounts(judges: Judges) -> list[LeastAdvice]:
    wall = load_section(ROOT / "cases/codes/mill-street-foam-short.yaml")
    return [least(wall, what, judges) for what in ("exterior insulation", "vapor control", "cladding gap")]


def test_json_follows_its_schema_and_comes_back(
    found: list[RemedyAdvice], amounts: list[LeastAdvice]
) -> None:
    for a in found:
        jsonschema.validate(a.model_dump(mode="json", by_alias=True), remedy_report.schema())
        assert RemedyAdvice.model_validate_json(remedy_report.as_json(a)) == a
    for a in amounts:
        jsonschema.validate(a.model_dump(mode="json", by_alias=True), least_report.schema())
        assert LeastAdvice.model_validate_json(least_report.as_json(a)) == a


@pytest.mark.parametrize("width", [60, 80, 120, 200])
def test_no_line_is_wider_than_asked_and_every_finding_is_told(
    width: int, found: list[RemedyAdvice], amounts: list[LeastAdvice]
) -> None:
    for a in found:
        text = remedy_report.as_text(a, width)
        assert max(map(len, text.splitlines())) <= width
        told = " ".join(text.split())
        for p in a.proposals:
            for f in (*p.clears, *p.leaves, *p.causes, *p.loses):
                assert f.rule in told
            for c in p.changes:
                assert c.trade in told and c.source in told
        for f in a.findings:
            assert f.rule in told
        for t in a.to_find_out:
            assert all(rule in told for rule in t.decides)
        for u in a.unmoved:
            assert u.finding.rule in told and all(" ".join(x.split()) in told for x in u.advice)
    for a in amounts:
        text = least_report.as_text(a, width)
        assert max(map(len, text.splitlines())) <= width
        told = " ".join(text.split())
        for x in a.answers:
            assert x.voice in told and " ".join(x.says.split()) in told


def test_pages_and_markdown_hold_the_same_amounts(amounts: list[LeastAdvice]) -> None:
    for a in amounts:
        page = least_report.as_html(a)
        for x in a.answers:
            for cell in least_report.row(x, a.dimension):
                assert cell.split(",")[0].replace("'", "&#39;") in page or cell.split(",")[0] in page


def test_what_does_not_work_ends_with_one_and_what_works_with_zero(tmp_path: Path) -> None:
    run = CliRunner().invoke
    case = str(ROOT / "cases/vapor-control/bayou-court-guest-room.yaml")
    assert run(cli.app, ["remedy", case, "--candidates", "64"]).exit_code == 0
    assert run(cli.app, ["remedy", case, "--candidates", "64", "--keep", "1"]).exit_code == 1
    out = tmp_path / "changed.yaml"
    assert run(cli.app, ["remedy", case, "--candidates", "64", "--patch", "-o", str(out)]).exit_code == 0
    assert run(cli.app, ["review", str(out)]).exit_code == 0


def test_every_change_that_a_rule_proposes_can_be_read_and_made(judges: Judges) -> None:
    """Of every rule, not only of those that fire on a case."""
    draft = draft_of(load_section(shipped_cases()[0]))
    space = draft_of(section_from_line("3/4 in air space | vinyl siding", kind="wall"))
    for rule in judges.rules.rules.values():
        for remedy in rule.finding.remedies if rule.finding else ():
            change = dict(remedy.change)
            for key in ("with", "insert"):
                if key in change:
                    read(change[key])
            if change.get("set") in WHOLE:
                assert apply(change, draft).settings, rule.id
            elif "set" in change:
                try:
                    apply({**change, "set": 0}, space if "vents" in change else draft)
                except InputError as e:
                    raise AssertionError(f"{rule.id}: {e}") from None
