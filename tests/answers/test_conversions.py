"""Figures in the other system's units: 1 US perm is 57.2 ng/(s·m²·Pa) (ASTM E96) and RSI 1 is R-5.678 (NIST SP 811,
Appendix B.8); dew points by ASHRAE Handbook—Fundamentals, Psychrometrics (from memory)."""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.conversions import METRIC_PERM, asked, converted
from reviewer.answers.read import read
from reviewer.units import PERM


def _told(text: str) -> str:
    (reply,) = [answer(r, Desk(brief=True)) for r in read(text)]
    assert reply.status == "answered"
    return reply.answer


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("What is 60 ng/(Pa·s·m²) in perms?", "1.05 perms"),
        ("The code here asks for 60 ng or less. What is that in the perms I know?", "1.05 perms"),
        ("How many ng is 10 perms?", "572 ng"),
        ("What's RSI 3.87 in R?", "R-22"),
        ("Convert R-20 to RSI please", "3.52 m²·K/W"),
        # ISO 12572, air at 2e-10 kg/(s·m·Pa): 1e-10 over a perm of 5.72e-11.
        ("sd = 2 m, how many perms is that?", "1.75 perms"),
    ],
)
def test_a_figure_is_told_in_the_other_unit(text: str, told: str) -> None:
    assert told in _told(text)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # ASTM E96: 57.2 ng/(s·m²·Pa) a perm, times the fraction.
        ("What is 1/2 perm in ng?", "0.5 perms is 28.6 ng/(s·m²·Pa)."),
        ("½ perm in ng?", "0.5 perms is 28.6 ng/(s·m²·Pa)."),
        ("What is 1-1/2 perms in ng?", "1.5 perms is 85.8 ng/(s·m²·Pa)."),
        ("What is 1½ perms in ng?", "1.5 perms is 85.8 ng/(s·m²·Pa)."),
        ("What is 1,000 ng in perms?", "1000 ng/(s·m²·Pa) is 17.5 perms."),
        # NIST SP 811: 5.678 times 3.5, 3.875 and 0.875; a layer of RSI 3875 is not possible.
        ("What is RSI 3,5 in R-value?", "3.5 m²·K/W is R-19.9."),
        ("What is RSI 3,875 in R-value?", "3.88 m²·K/W is R-22."),
        ("What is RSI 0,875 in R-value?", "0.875 m²·K/W is R-4.97."),
    ],
)
def test_fractions_and_commas_are_read_as_written(text: str, told: str) -> None:
    assert _told(text) == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # ASTM E96 and NIST SP 811, each end.
        ("0.5 to 1 perm in ng", "0.5 to 1 perm is 28.6 to 57.2 ng/(s·m²·Pa)."),
        ("What is between 0.1 and 1 perm in ng?", "0.1 to 1 perm is 5.72 to 57.2 ng/(s·m²·Pa)."),
        ("Convert R-13 to R-15 to RSI", "R-13 to R-15 is 2.29 to 2.64 m²·K/W."),
        (
            "Convert 57 ng to perms and R-20 to RSI",
            "57 ng/(s·m²·Pa) is 0.996 perms. R-20 is 3.52 m²·K/W.",
        ),
        (
            "How many ng is 10 perms and how many RSI is R-20?",
            "10 perms is 572 ng/(s·m²·Pa). R-20 is 3.52 m²·K/W.",
        ),
        ("What are R-13 and R-21 in RSI?", "R-13 is 2.29 m²·K/W. R-21 is 3.7 m²·K/W."),
    ],
)
def test_both_ends_and_all_that_is_asked_are_converted(text: str, told: str) -> None:
    assert _told(text) == told


@pytest.mark.parametrize("text", ["R-6 per inch in RSI", "What is R-6/inch in RSI?"])
def test_what_an_inch_has_is_a_resistivity(text: str) -> None:
    # NIST SP 811, Appendix B.8: 1 h·ft²·°F/(Btu·in) is 6.933 m·K/W.
    told = _told(text)
    assert told.startswith("R-6 per inch is 41.6 m·K/W, a resistivity of the material")
    assert "1.06 m²·K/W (RSI) for each inch, 25.4 mm," in told


def test_what_25_mm_have_is_told_for_an_inch() -> None:
    # NIST SP 811: 5.678 times 25.4/25.
    told = _told("What is RSI 1 per 25 mm in R-value?")
    assert "40 m·K/W" in told
    assert "R-5.77 for each inch" in told


@pytest.mark.parametrize("text", ["what is R-20 in RSI per inch?", "What is 1 perm-inch in ng?"])
def test_a_layer_s_figure_and_a_material_s_are_not_told_as_each_other(text: str) -> None:
    assert asked(text, 0, len(text)) is None


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # NIST SP 811: 5.678 over 0.28; 1 over 0.05 in inch-pound units, and that over 5.678.
        ("U-0.28 W/m2K in R value?", "U-0.28 W/(m²·K) is R-20.3 (3.57 m²·K/W)"),
        ("What is 0,28 W/(m²·K) in R-value?", "U-0.28 W/(m²·K) is R-20.3 (3.57 m²·K/W)"),
        ("What is U 0.05 in R-value?", "U-0.05 Btu/(h·ft²·°F) is R-20 (3.52 m²·K/W)"),
        ("U-0.05 in RSI", "U-0.05 Btu/(h·ft²·°F) is 3.52 m²·K/W (R-20)"),
        ("What is R-20 as a U-value?", "R-20 is U-0.05 Btu/(h·ft²·°F), U-0.284 W/(m²·K)"),
    ],
)
def test_u_is_the_inverse_of_r(text: str, told: str) -> None:
    assert _told(text).startswith(told)


def test_u_without_a_unit_says_what_it_is_taken_for() -> None:
    text = "U 0.05 to R"
    sought = asked(text, 0, len(text))
    assert sought is not None
    told, concept = converted(*sought)
    assert concept == "r-value"
    assert told.startswith("U-0.05 Btu/(h·ft²·°F) is R-20 ")
    assert "taken for inch-pound; in W/(m²·K) it would be R-114 (20 m²·K/W)" in told


def test_u_of_nothing_has_no_inverse() -> None:
    text = "What is U-0 in R-value?"
    assert asked(text, 0, len(text)) is None


def test_a_metric_perm_is_two_things() -> None:
    # ASTM E96, conversion table (from memory): 1 US perm is 0.659 g/(24 h·m²·mmHg).
    assert pytest.approx(0.659, abs=5e-4) == PERM / METRIC_PERM
    told = _told("What is 1 perm in metric perms?")
    assert told.startswith("1 perm is 57.2 ng/(s·m²·Pa)")
    assert "ambiguous" in told
    assert "0.659 metric perms" in told
    told = _told("What is 30 metric perms in US perms?")
    # 30 over 57.2, and 30 over 0.659.
    assert "30 ng/(s·m²·Pa), 0.524 perms" in told
    assert "45.5 perms" in told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        # ASHRAE Handbook—Fundamentals, Psychrometrics (from memory): 44.6 °F and 10.2 °C.
        ("what's the dew point at 70F and 40% RH?", "dew point of 44.6 °F (7.0 °C)"),
        ("At 70 °F and a humidity of 40 percent, what is the dew point?", "dew point of 44.6 °F (7.0 °C)"),
        ("dew point of 21 C 50 %", "dew point of 50.3 °F (10.2 °C)"),
        # Air that is full is at its dew point.
        ("What is the dew point at 20 C and 100 % RH?", "dew point of 68.0 °F (20.0 °C)"),
        # Over ice, ASHRAE Handbook—Fundamentals (from memory): 259.9 Pa at −10 °C, half of it at −17.6 °C.
        (
            "What is the dew point at -10 C and 50% RH?",
            "(-17.6 °C): a surface colder than that gathers frost",
        ),
    ],
)
def test_the_dew_point_of_air_is_computed(text: str, told: str) -> None:
    assert told in _told(text)


@pytest.mark.parametrize(
    "text",
    [
        "what's the dew point at 70F and 40% RH in Duluth?",
        "What's the dew point at 70F and 40% RH behind 2x6 fiberglass batts?",
        "Where is the dew point at 70F and 40% RH?",
        "what R-value stays above the dew point at 70F and 40% RH?",
        "What is the dew point at 70F and 140% RH?",
        "What is the dew point?",
    ],
)
def test_a_dew_point_in_a_section_or_at_a_place_is_not(text: str) -> None:
    assert asked(text, 0, len(text)) is None


@pytest.mark.parametrize(
    "text",
    [
        "2x6 wall in Duluth with RSI 3.87 batts, OSB, vinyl, drywall. Is it safe in winter?",
        "How many inches of XPS outside R-20 batts in Fargo?",
        "What is a perm?",
    ],
)
def test_a_figure_that_only_describes_is_not_converted(text: str) -> None:
    assert all(r.subject is None or r.subject.sort != "quantity" for r in read(text))
