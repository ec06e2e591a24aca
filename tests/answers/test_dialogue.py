"""Questions one after the other, and the command around them. Nothing outside is claimed."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest

from reviewer import cli
from reviewer.answers import asking
from reviewer.answers.compute import Desk
from reviewer.answers.dialogue import Dialogue, talk
from reviewer.answers.read import read
from reviewer.answers.reading import Gap, Reading
from tests.answers.hand_made import POLY, about, wall, with_poly

WALL = "2x6 wall with R-21 fiberglass, plywood, house wrap and vinyl siding in Duluth, MN, painted drywall. Can I skip the poly?"


@pytest.fixture(scope="module")
def desk() -> Desk:
    return Desk()


def talking(desk: Desk) -> Dialogue:
    return Dialogue(lambda text, before: read(text, before=before), desk)


def test_a_question_goes_on_from_the_one_before(desk: Desk) -> None:
    d = talking(desk)
    first = d.say(WALL).replies[0]
    second = d.say("and in Houston?").replies[0]
    assert (first.direction, second.direction) == ("no", "yes")
    assert second.place.startswith("Houston, TX")
    assert [x.name for x in first.layers] == [x.name for x in second.layers]


def test_a_material_is_exchanged_in_the_section_before(desk: Desk) -> None:
    d = talking(desk)
    d.say(WALL)
    reply = d.say("same wall with OSB instead of plywood").replies[0]
    names = [x.name for x in reply.layers]
    assert "oriented strand board" in names
    assert "plywood" not in names


def test_a_question_about_words_in_between_does_not_lose_the_section(desk: Desk) -> None:
    d = talking(desk)
    d.say(WALL)
    d.say("What is plywood?")
    assert d.say("and in Houston?").replies[0].place.startswith("Houston, TX")


def asked_back() -> Reading:
    place = "Minneapolis, MN"
    cold = wall(place, cladding="vinyl siding")
    replies = (
        ("polyethylene sheet", wall(place, inside=POLY, cladding="vinyl siding")),
        ("only paint", cold),
    )
    return about("safe here", cold, gaps=(Gap("what lies inside", "It decides", replies),))


@pytest.mark.parametrize(
    ("said", "direction"), [("polyethylene sheet", "yes"), ("1", "yes"), ("Only paint.", "no"), ("2", "no")]
)
def test_one_of_the_replies_offered_completes_the_question(desk: Desk, said: str, direction: str) -> None:
    def reader(text: str, before: Reading | None) -> Sequence[Reading]:
        assert text == "the question", "the reply offered must not be read as a question of its own"
        return [asked_back()]

    d = Dialogue(reader, desk)
    assert d.say("the question").replies[0].status == "asked back"
    reply = d.say(said).replies[0]
    assert (reply.status, reply.direction) == ("answered", direction)


def test_a_dialogue_stops_at_quit_and_at_an_empty_line_but_a_pipe_skips_those(desk: Desk) -> None:
    def reader(text: str, before: Reading | None) -> Sequence[Reading]:
        return [with_poly("leave out")]

    lines = ["one", "", "two", "quit", "three"]
    assert len(list(talk(Dialogue(reader, desk), lines, skip_empty=False))) == 1
    assert len(list(talk(Dialogue(reader, desk), lines, skip_empty=True))) == 2


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str, typed: str | None = None) -> int:
    monkeypatch.setattr(sys, "argv", ["reviewer", "ask", *arguments])
    if typed is not None:
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    return int(stopped.value.code or 0)


@pytest.mark.parametrize(
    ("question", "status"),
    [
        (WALL, 0),
        ("What is plywood?", 0),
        ("Is a 2x6 wall with fiberglass and OSB ok?", 1),
        ("What is the capital of France?", 2),
        ("What size header do I need over a 12 foot opening? " + WALL, 2),
    ],
)
def test_the_exit_status_says_whether_it_was_answered(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], question: str, status: int
) -> None:
    assert run(monkeypatch, question) == status
    assert capsys.readouterr().err == ""


def test_a_pipe_is_a_question_a_line_and_json_is_a_line_a_reply(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, "--format", "json", typed=f"{WALL}\n\nand in Houston?\n") == 0
    first, second = map(json.loads, capsys.readouterr().out.splitlines())
    assert first["replies"][0]["direction"] == "no"
    assert second["replies"][0]["place"].startswith("Houston")


def test_a_file_gets_the_format_of_its_suffix(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    for suffix, begins in ((".json", "{"), (".html", "<!DOCTYPE html>"), (".txt", "You asked"), (".md", "")):
        path = tmp_path / f"reply{suffix}"
        assert run(monkeypatch, WALL, "-o", str(path)) == 0
        assert path.read_text(encoding="utf-8").startswith(begins)
    assert capsys.readouterr().out == ""


def test_a_place_given_beside_the_question_counts_and_a_wrong_one_is_an_error(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], desk: Desk
) -> None:
    assert asking.ask(WALL, desk, "Houston, TX").replies[0].place.startswith("Houston, TX")
    assert asking.ask(WALL, desk, "CZ2A").replies[0].direction == "yes"
    assert run(monkeypatch, WALL, "--place", "Duluht, MN") == 2
    assert "did you mean 'Duluth, MN'" in capsys.readouterr().err


def test_wrong_options_are_one_clear_message(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, WALL, "--format", "markdwn") == 2
    assert "did you mean 'markdown'" in capsys.readouterr().err
    assert run(monkeypatch, WALL, "-o", "reply.jsn") == 2
    assert "did you mean '.json'" in capsys.readouterr().err
    assert run(monkeypatch, "-o", "reply.json", typed="") == 2
    assert "not written to a file" in capsys.readouterr().err
