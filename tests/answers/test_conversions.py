"""Figures in the other system's units: 1 US perm is 57.2 ng/(s·m²·Pa) and RSI 1 is R-5.678 (NIST SP 811, Appendix B.8)."""

from __future__ import annotations

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import Desk
from reviewer.answers.read import read


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("What is 60 ng/(Pa·s·m²) in perms?", "1.05 perms"),
        ("The code here asks for 60 ng or less. What is that in the perms I know?", "1.05 perms"),
        ("How many ng is 10 perms?", "572 ng"),
        ("What's RSI 3.87 in R?", "R-22"),
        ("Convert R-20 to RSI please", "3.52 m²·K/W"),
        ("sd = 2 m, how many perms is that?", "1.75 perms"),
    ],
)
def test_a_figure_is_told_in_the_other_unit(text: str, told: str) -> None:
    replies = [answer(r, Desk(brief=True)) for r in read(text)]
    assert [r.status for r in replies] == ["answered"]
    assert told in replies[0].answer


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
