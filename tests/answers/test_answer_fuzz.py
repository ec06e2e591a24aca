"""Any text gets a reply: `ask` never raises for what a person types. Nothing outside is claimed."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reviewer.answers.asking import ask, status
from reviewer.answers.compute import Desk
from reviewer.answers.dialogue import Dialogue
from reviewer.answers.read import read
from reviewer.reply import Direction, Status
from reviewer.report import reply as report

DESK = Desk()
WORDS = st.sampled_from(
    [
        "can",
        "i",
        "skip",
        "the",
        "poly",
        "in",
        "duluth",
        "houston",
        "chicago",
        "wall",
        "roof",
        "basement",
        "slab",
        "2x6",
        "2x4",
        "@",
        "16",
        "24",
        "R-21",
        "fiberglass",
        "osb",
        "plywood",
        "drywall",
        "paint",
        "foam",
        "iso",
        "xps",
        "2",
        "1-1/2",
        "in",
        "inch",
        "inches",
        "no",
        "not",
        "without",
        "instead",
        "of",
        "or",
        "vs",
        "and",
        "also",
        "what",
        "is",
        "a",
        "perm",
        "zone",
        "5",
        "CZ6",
        "mold",
        "frost",
        "why",
        "always",
        "cheapest",
        "how",
        "much",
        "thick",
        "need",
        "add",
        "safe",
        "brick",
        "stucco",
        "vinyl",
        "house",
        "wrap",
        "kraft",
        "smart",
        "retarder",
        "peel",
        "stick",
        "?",
        ".",
        ",",
        ";",
        "!",
        "inside",
        "outside",
        "between",
        "over",
        "under",
        "same",
        "with",
        "-3",
        "0/0",
        "1e999",
        "%",
        "$",
        "'",
        '"',
        "|",
        "\\",
        "kühl",
        "où",
        "雪",
    ]
)
TEXTS = st.one_of(
    st.text(max_size=120),
    st.lists(WORDS, max_size=30).map(" ".join),
    st.builds(
        lambda a, b, c: f"{a} {b}? {c}",
        st.sampled_from(
            [
                "Is it safe in",
                "Do I need poly in",
                "How much foam in",
                "What is",
                "cheapest for",
                "plywood or osb in",
                "why not always",
            ]
        ),
        st.lists(WORDS, max_size=12).map(" ".join),
        st.text(max_size=20),
    ),
)


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(TEXTS)
def test_any_text_gets_a_reply_in_every_format(text: str) -> None:
    found = ask(text, DESK)
    assert found.replies
    assert status(found) in (0, 1, 2)
    for r in found.replies:
        assert r.status in get_args(Status)
        assert r.direction in get_args(Direction)
        assert r.answer
        assert (r.status == "answered") <= (r.direction != "")
        assert len(r.asked) <= 3
        assert r.status != "asked back" or r.asked
    printed = report.as_text(found, 80)
    assert all(c.isprintable() or c == "\n" for c in printed)
    report.as_json(found)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(TEXTS, min_size=2, max_size=5))
def test_any_dialogue_goes_on(texts: list[str]) -> None:
    talking = Dialogue(lambda text, before: read(text, before=before), DESK)
    for text in texts:
        assert talking.say(text).replies


@pytest.mark.parametrize(
    "text", ["", " ", "?", "\x00", "a" * 100_000, "?" * 5000, "poly " * 2000, "2x6 " * 300]
)
def test_empty_endless_and_odd_texts_get_a_reply(text: str) -> None:
    found = ask(text, DESK)
    assert found.replies
    report.as_text(found)
