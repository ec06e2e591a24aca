"""The question bench: reading, direction and silent misreadings on both halves of the corpus.

Checked against the expert's readings in `cases/questions/`, whose grounds are named there question by question.
Phrases and thresholds are tuned on one half; the other, written by others, is only counted (see `bench_questions`).
`REVIEWER_QUESTIONS=1` prints what went wrong in the tuning half.
"""

from __future__ import annotations

import os

import pytest

from tests.answers.bench_questions import ASIDE, TUNING, Score, corpus, scores


@pytest.fixture(scope="module")
def found() -> dict[str, Score]:
    both = scores()
    for name, score in both.items():
        print(f"\n{name}: {score}")
    if os.environ.get("REVIEWER_QUESTIONS"):
        print("\n\n".join(both[TUNING].wrong))
    return both


def test_the_corpus_is_large_and_its_halves_are_alike() -> None:
    texts = list(corpus())
    halves = [which for which, _ in texts]
    assert len(texts) >= 150
    assert len({q["id"] for _, q in texts}) == len(texts)
    assert 0.35 < halves.count(TUNING) / len(halves) < 0.65


# What is aimed at, of questions that nobody tuned on: 90 % read right, which is reached; none misread in silence and 95 % of
# the answers in the right direction, which are not. The floors below are what is reached, so that it can only get better.


def test_no_fewer_questions_kept_aside_are_read_right_than_were(found: dict[str, Score]) -> None:
    aside = found[ASIDE]
    assert aside.read_right >= 0.9 * aside.questions, str(aside)


def test_no_more_is_misread_in_silence_than_was(found: dict[str, Score]) -> None:
    for score, share in ((found[ASIDE], 0.022), (found[TUNING], 0.017)):
        assert score.silent <= share * score.questions, str(score)


def test_no_fewer_answers_point_the_right_way_than_did(found: dict[str, Score]) -> None:
    aside = found[ASIDE]
    assert aside.answered > 0.7 * aside.questions
    assert aside.sound >= 0.86 * aside.answered, str(aside)


def test_most_questions_kept_aside_are_answered_or_asked_back_as_they_should_be(
    found: dict[str, Score],
) -> None:
    aside = found[ASIDE]
    assert aside.status >= 0.93 * aside.questions, str(aside)
