"""The work shown: whoever types the printed numbers into a calculator gets the printed result.

The evaluator here is written for this test alone: it reads the printed text and knows nothing of the package.
"""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Callable
from functools import lru_cache

import pytest

from reviewer import cli
from reviewer.model import parse
from reviewer.report import as_json, markdown, terminal
from reviewer.report.review_paper import review_paper
from reviewer.result import Result, Work, WorkLine
from reviewer.review import review
from reviewer.workbench import shipped_cases

SECTIONS = {
    "wall that condenses": (
        "wall",
        "Duluth, MN",
        None,
        "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB | house wrap "
        "| vinyl siding",
    ),
    "wall with steel studs and brick": (
        "wall",
        "Miami, FL",
        None,
        "vinyl wall covering | 1/2 in gypsum board | 3-5/8 in steel studs @ 16 in with R-13 glass fiber batt "
        "| 1/2 in gypsum sheathing | house wrap | 1 in air space | 4 in brick veneer",
    ),
    "wall with exterior foam": (
        "wall",
        "Minneapolis, MN",
        "home, humidified",
        "latex paint | 1/2 in gypsum board | 2x4 @ 16 in with R-13 glass fiber batt | 1/2 in plywood "
        "| 2 in polyisocyanurate board | vinyl siding",
    ),
    "unvented roof over a pool": (
        "roof",
        "Boston, MA",
        "pool",
        "1/2 in gypsum board | 2x10 @ 24 in with R-30 glass fiber batt | 5/8 in plywood | asphalt felt | asphalt shingles",
    ),
    "low roof": ("roof", "Chicago, IL", None, "steel deck | 4 in polyisocyanurate board | EPDM membrane"),
    "slab of new concrete": (
        "slab",
        "Denver, CO",
        None,
        "4 in new concrete | 10 mil polyethylene | 2 in XPS | 4 in gravel | soil",
    ),
    "basement in Canada": (
        "foundation wall",
        "Toronto, ON",
        None,
        "1/2 in gypsum board | 2x4 @ 16 in with R-13 glass fiber batt | 8 in concrete | dampproofing | soil",
    ),
    "floor over a crawl space": (
        "floor",
        "Fairbanks, AK",
        None,
        "3/4 in oak flooring | 3/4 in plywood | 2x10 @ 16 in with R-30 glass fiber batt | vented crawl space",
    ),
    "Canadian wall with foam": (
        "wall",
        "Calgary, AB",
        "home, ASHRAE 160",
        "latex paint | 1/2 in gypsum board | 2x6 @ 16 in with R-21 glass fiber batt | 7/16 in OSB "
        "| 1-1/2 in XPS | vinyl siding",
    ),
}
FUNCTIONS: dict[str, Callable[..., float]] = {
    "exp": math.exp,
    "ln": math.log,
    "cos": math.cos,
    "max": max,
    "min": min,
}
SUPERSCRIPT = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
TOKEN = re.compile(r"\s*(\d+(?:\.\d+)?|[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+|[a-z]+|[−+·/^(),])")


@lru_cache(maxsize=32)
def reviewed(name: str, units: str) -> Result:
    kind, place, indoor, line = SECTIONS[name]
    section = parse.section_from_line(line, kind=kind, place=place, zone=None, indoor=indoor)
    return review(section, units=units, work=True)  # type: ignore[arg-type]


class Calculator:
    """Numbers, `+ − · / ^`, brackets, powers of ten as superscripts, and the functions of a pocket calculator."""

    def __init__(self, text: str):
        found = TOKEN.findall(text)
        assert "".join(found) == re.sub(r"\s", "", text), f"unreadable: {text}"
        self.tokens, self.at = found, 0

    def next(self) -> str:
        return self.tokens[self.at] if self.at < len(self.tokens) else ""

    def take(self) -> str:
        self.at += 1
        return self.tokens[self.at - 1]

    def result(self) -> float:
        value = self.sum()
        assert not self.next(), f"left over: {self.tokens[self.at :]}"
        return value

    def sum(self) -> float:
        value = self.product()
        while self.next() in ("+", "−"):
            value = value + self.product() if self.take() == "+" else value - self.product()
        return value

    def product(self) -> float:
        value = self.power()
        while self.next() in ("·", "/"):
            value = value * self.power() if self.take() == "·" else value / self.power()
        return value

    def power(self) -> float:
        if self.next() == "−":
            self.take()
            return -self.power()
        value = self.atom()
        if self.next() == "^":
            self.take()
            return value ** self.power()
        if self.next() and self.next()[0] in "⁻⁰¹²³⁴⁵⁶⁷⁸⁹":
            return value ** int(self.take().translate(SUPERSCRIPT))
        return value

    def atom(self) -> float:
        token = self.take()
        if token == "(":
            value = self.sum()
            assert self.take() == ")"
            return value
        if token in FUNCTIONS:
            assert self.take() == "("
            arguments = [self.sum()]
            while self.next() == ",":
                self.take()
                arguments.append(self.sum())
            assert self.take() == ")"
            return FUNCTIONS[token](*arguments)
        return float(token)


def worked_out(text: str) -> float:
    return Calculator(text).result()


def rounding(result: str) -> float:
    """Half a unit of the last digit printed."""
    digits, _, power = result.partition("·10")
    places = len(digits.partition(".")[2])
    return 0.5 * 10.0 ** (int(power.translate(SUPERSCRIPT)) if power else 0) * 10.0**-places


def lines(result: Result) -> list[tuple[Work, WorkLine]]:
    return [(w, line) for w in result.work for line in w.numbers]


def work(result: Result, title: str) -> Work:
    return next(w for w in result.work if w.title.startswith(title))


def value(w: Work, of: str) -> float:
    exact = [line for line in w.numbers if line.of == of]
    return worked_out((exact or [line for line in w.numbers if line.of.startswith(of)])[0].result)


def test_the_calculator_of_this_test() -> None:
    assert worked_out("20.0 − (20.0 − (−13.2))·1.063/4.5") == pytest.approx(20 - 33.2 * 1.063 / 4.5)
    assert worked_out("1/(57.2·10⁻¹²) + 2^−0.5") == pytest.approx(1 / 57.2e-12 + 2**-0.5)
    assert worked_out("max(0, −1)·exp(ln(2)) − 3·10⁹") == -3e9
    assert rounding("17.48·10⁹") == pytest.approx(5e6)
    assert rounding("0.079") == pytest.approx(5e-4)


def checked(result: Result) -> int:
    """How many lines come to what is printed, within the rounding of the result; the first that doesn't fails."""
    found = 0
    for w, line in lines(result):
        if line.put_in:
            off = abs(worked_out(line.put_in) - worked_out(line.result))
            assert off <= rounding(line.result) * (1 + 1e-6), f"{w.title}: {line}"
            found += 1
    return found


@pytest.mark.parametrize("units", ["ip", "si"])
@pytest.mark.parametrize("name", SECTIONS)
def test_printed_numbers_give_the_printed_result(name: str, units: str) -> None:
    assert checked(reviewed(name, units)) > 40


def test_so_do_those_of_every_case() -> None:
    cases = shipped_cases()
    results = [review(parse.load_section(path), work=True) for path in cases]
    assert sum(checked(r) for r in results) > 20 * len(cases)


@pytest.mark.parametrize("name", SECTIONS)
def test_the_work_is_printed_whole_and_within_80_columns(name: str) -> None:
    result = reviewed(name, "ip")
    text = terminal.render(result, 80)
    shown = text[text.index("The work: every calculation") :]
    assert max(len(line) for line in shown.splitlines()) <= 80
    flat = re.sub(r"\s", "", shown)
    for _, line in lines(result):
        put_in = re.sub(
            r"\s", "", f"{line.put_in} = {line.result} {line.unit}" if line.put_in else line.result
        )
        assert put_in in flat
    assert markdown.render(review_paper(result)).count("### ") >= len(result.work)


@pytest.mark.parametrize("name", SECTIONS)
def test_every_calculation_has_formula_source_and_limits(name: str) -> None:
    for w in reviewed(name, "si").work:
        assert w.title and w.formula and w.result and w.source and w.limits
        for line in w.numbers:
            assert line.put_in or line.note or line.of in ("asks", "have") or line.of.startswith("asks"), (
                f"{w.title}: {line}"
            )


@pytest.mark.parametrize("name", SECTIONS)
def test_the_work_is_that_of_the_review(name: str) -> None:
    """The numbers shown are those that the findings rest on."""
    result = reviewed(name, "si")
    calc = result.calculations
    framed = next(
        w for w in result.work if w.title in ("Total resistance with framing", "Thermal transmittance")
    )
    assert value(framed, "U") == pytest.approx(calc["u_value"], abs=6e-5)
    joints = work(result, "Temperatures")
    saturated = work(result, "Dew point")
    assert value(saturated, "θ_d") == pytest.approx(calc["dew_point"]["indoor"], abs=0.006)
    for joint in calc["dew_point"]["joints"]:
        label = f"joint {joint['inner'] + 1}/{joint['outer'] + 1}"
        assert value(joints, label) == pytest.approx(joint["temperature"], abs=0.006)
        assert value(saturated, f"margin at {label}") == pytest.approx(joint["margin"], abs=0.011)
    if "share_outboard" in calc and "share_needed" in calc:
        share = work(result, "Share of R")
        assert value(share, "share") == pytest.approx(calc["share_outboard"], abs=6e-4)
        assert value(share, "needed") == pytest.approx(calc["share_needed"], abs=6e-4)
    if "temperature_factor" in calc:
        surface = work(result, "Temperature factor")
        assert value(surface, "f_Rsi") == pytest.approx(calc["temperature_factor"], abs=6e-4)
        assert value(surface, "f_Rsi,min") == pytest.approx(calc["temperature_factor_needed"], abs=6e-4)
    if calc["wood_moisture"]:
        wettest = max(max(w["monthly"]) for w in calc["wood_moisture"])
        assert worked_out(work(result, "Wood moisture").numbers[-1].result) == pytest.approx(
            wettest, abs=1.1e-4
        )


@pytest.mark.parametrize("name", SECTIONS)
def test_the_year_s_stock_is_the_review_s_month_by_month(name: str) -> None:
    result = reviewed(name, "si")
    stocks = [w for w in result.work if w.title.startswith("The year's balance")]
    condenses = result.calculations["drying"]["condenses"]
    assert len(stocks) == int(condenses)
    for w in stocks:
        inner, outer = (int(n) - 1 for n in re.findall(r"(\d+)/(\d+)", w.title)[0])
        joint = next(
            j for j in result.calculations["monthly"]["joints"] if (j["inner"], j["outer"]) == (inner, outer)
        )
        months = result.calculations["monthly"]["months"]
        held = {
            line.of.split()[-1]: worked_out(line.result) for line in w.numbers if line.of.startswith("held")
        }
        assert held
        for month, printed in held.items():
            assert printed == pytest.approx(joint["held"][months.index(month)], abs=1.6e-4), month


def test_forces_are_those_of_the_review() -> None:
    """Leakage, rain, sun, inward drive and built-in water against the facts that the rules read."""
    from reviewer.facts.build import build

    for name, checks in {
        "wall that condenses": [
            ("Wetting by air", "m in the year", "leakage", "wetting", 6e-4),
            ("Wetting by air", "drying in the year", "leakage", "drying", 6e-4),
            ("Driving rain", "on the wall in the year", "rain", "on_wall", 6e-3),
            ("Driving rain", "leak in the year", "rain", "leak", 6e-5),
            ("Sun on", "θ_s", "sun", "cladding_peak", 6e-3),
        ],
        "wall with steel studs and brick": [("Inward drive", "condensed there", "sun", "inward_water", 6e-5)],
        "slab of new concrete": [("Built-in", "M_0", "layer:0", "water_to_dry", 6e-4)],
    }.items():
        kind, place, indoor, line = SECTIONS[name]
        section = parse.section_from_line(line, kind=kind, place=place, zone=None, indoor=indoor)
        records = build(section)[0].by_id()
        for title, of, record, field, within in checks:
            shown = value(work(reviewed(name, "si"), title), of)
            assert shown == pytest.approx(records[record].fields[field], abs=within), (title, of)


def test_a_section_without_a_place_shows_what_needs_no_climate() -> None:
    section = parse.section_from_line(
        "1/2 in gypsum board | 2x4 @ 16 in with R-13 glass fiber batt | 1/2 in plywood | vinyl siding",
        kind="wall",
        place=None,
        zone=None,
        indoor=None,
    )
    titles = [w.title for w in review(section, work=True).work]
    assert "Total resistance with framing" in titles
    assert not any("Temperatures" in t for t in titles)


def test_the_work_is_shown_only_when_asked_for() -> None:
    kind, place, indoor, line = SECTIONS["low roof"]
    section = parse.section_from_line(line, kind=kind, place=place, zone=None, indoor=indoor)
    result = review(section)
    assert result.work == []
    assert "The work" not in terminal.render(result, 80)
    shown = reviewed("low roof", "ip")
    assert Result.model_validate_json(as_json.render([shown])) == shown


def test_the_command_prints_the_work(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    kind, place, _, line = SECTIONS["low roof"]
    monkeypatch.setattr(
        sys, "argv", ["reviewer", "review", line, "--kind", kind, "--place", place, "--show-work"]
    )
    with pytest.raises(SystemExit):
        cli.main()
    assert "The work: every calculation with its numbers" in capsys.readouterr().out
