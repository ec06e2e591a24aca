"""The explanations: names that mean one thing, sources that are whole, and demonstrations that run and show their point."""

from __future__ import annotations

import shlex
from functools import cache

import pytest
from typer.testing import CliRunner

from reviewer.answers.concepts import FILE, Concept, concepts, find_concept
from reviewer.cli import app
from reviewer.document import parse_document, read_document
from reviewer.errors import InputError
from reviewer.library.materials import normalize
from reviewer.review import load_rules

ALL = concepts()
EACH = pytest.mark.parametrize("concept", ALL.values(), ids=list(ALL))


@cache
def printed(command: str) -> tuple[int, str]:
    """Exit status and output of a command, its white space as single spaces: lines break where they must."""
    program, *arguments = shlex.split(command)
    assert program == "reviewer"
    done = CliRunner().invoke(app, arguments)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.exit_code, " ".join(done.output.split())


def test_there_are_many_and_each_id_stands_once() -> None:
    rows = read_document(FILE).fields["concepts"].items
    assert len(rows) == len(ALL) >= 80


def test_no_name_means_two_things() -> None:
    owner: dict[str, str] = {}
    for concept in ALL.values():
        for name in (concept.name, *concept.names, *concept.shared_names):
            assert owner.setdefault(normalize(name), concept.id) == concept.id, name
            assert find_concept(name) is concept, name


@EACH
def test_it_says_enough_and_not_too_much(concept: Concept) -> None:
    assert 60 <= len(concept.says.split()) <= 140
    assert len(concept.names) + len(concept.shared_names) >= 3


@EACH
def test_its_sources_are_whole_and_never_claim_to_have_been_read(concept: Concept) -> None:
    assert concept.cites
    for c in concept.cites:
        if c.kind != "common practice":
            assert c.document and (c.clause or c.certainty == "derived"), c
            assert c.certainty in ("secondhand", "memory", "derived"), c


@EACH
def test_it_refers_to_explanations_and_rules_that_exist(concept: Concept) -> None:
    rules = load_rules().rules
    assert concept.see
    assert [n for n in concept.see if n not in ALL and n not in rules] == []
    assert concept.id not in concept.see


@EACH
def test_its_demonstration_runs_and_shows_the_point(concept: Concept) -> None:
    status, output = printed(concept.demonstration)
    assert status in (0, 1), output
    assert concept.look_at in output


def test_nearly_all_give_the_numbers_that_matter() -> None:
    without = [c.id for c in ALL.values() if not any(letter.isdigit() for letter in c.says)]
    assert len(without) < 0.15 * len(ALL), without


def test_demonstrations_compute_more_often_than_they_quote() -> None:
    reviews = [c for c in ALL.values() if c.demonstration.startswith("reviewer review ")]
    assert len(reviews) > 0.6 * len(ALL)


def test_a_file_out_of_order_is_named_by_its_line(monkeypatch: pytest.MonkeyPatch) -> None:
    text = "concepts:\n  - {id: perm, names: [perms], cites: [hearsay]}\n"
    monkeypatch.setattr("reviewer.answers.concepts.read_document", lambda _: parse_document(text, "c.yaml"))
    concepts.cache_clear()
    with pytest.raises(InputError) as error:
        concepts()
    concepts.cache_clear()
    assert all(p.mark is not None and p.mark.line == 2 for p in error.value.problems)
    assert any("says" in p.message for p in error.value.problems)
