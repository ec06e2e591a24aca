"""The whole shipped rulebook: sound, pinned by its examples, and one outcome in both engines."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest

from reviewer.engine import available, compile_program
from reviewer.engine.types import Fact
from reviewer.facts.build import build
from reviewer.model.parse import load_section
from reviewer.rules.check import check
from reviewer.rules.explain import nearest_miss
from reviewer.rules.mutation import mutate
from reviewer.rules.page import rulebook
from reviewer.rules.ruleset import Ruleset, load_ruleset
from reviewer.rules.witness import cases_for
from reviewer.workbench import facts_of, shipped_cases

CASES = shipped_cases()


@cache
def book() -> Ruleset:
    return load_ruleset(keep=False)


@cache
def facts_of_case(path: Path) -> tuple[Fact, ...]:
    return tuple(build(load_section(path))[0].facts())


def fact_sets() -> Iterator[tuple[str, tuple[Fact, ...]]]:
    """Every case, and every example of every rule that gives bare facts."""
    for path in CASES:
        yield path.stem, facts_of_case(path)
    for rule in book().rules.values():
        for example in rule.examples:
            if example.facts is not None:
                yield f"{rule.id}: {example.name}", example.facts


def test_the_rulebook_has_its_size_and_no_error() -> None:
    assert len(book().rules) >= 150
    errors = [r.render() for r in check(book(), facts_of) if r.level == "error"]
    assert errors == []


def test_both_engines_give_one_outcome_on_every_case_and_every_example() -> None:
    if len(available()) < 2:
        pytest.fail("only one engine runs here; nothing can be compared")
    rules = [a.engine for a in book().alternatives]
    with compile_program(rules, engine="rete") as rete, compile_program(rules, engine="fixpoint") as fixpoint:
        compared = 0
        for name, facts in fact_sets():
            one, other = rete.run(facts), fixpoint.run(facts)
            assert (one.facts, one.proofs, one.firings) == (other.facts, other.proofs, other.firings), name
            compared += 1
    assert compared > 1000


def test_no_change_of_a_rule_goes_unnoticed_by_its_examples() -> None:
    report = mutate(book(), None, facts_of)
    assert [f"{s.rule}: {s.what}" for s in report.survivors] == []
    assert report.not_run == ()
    assert report.tried > 3000


def test_facts_are_found_on_which_every_rule_fires_and_on_which_it_is_just_silent() -> None:
    poor = []
    for rule in book().rules.values():
        verdicts = [case.fires for case in cases_for(rule, book())]
        if verdicts.count(True) < 2 or verdicts.count(False) < 1:
            poor.append(rule.id)
    assert poor == []


@pytest.mark.parametrize("path", CASES[:8], ids=[p.stem for p in CASES[:8]])
def test_every_rule_says_how_near_it_is_on_a_case_and_agrees_with_the_engine(path: Path) -> None:
    facts = facts_of_case(path)
    outcome = book().run(facts)
    fired = {d.rule.partition("#")[0] for ds in outcome.proofs.values() for d in ds}
    for rule in book().rules:
        miss = nearest_miss(book(), rule, facts, outcome)
        assert miss.fires == (rule in fired), rule
        assert miss.fires or miss.failed, rule


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.tags: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        given = dict(attrs)
        if given.get("id"):
            self.ids.append(str(given["id"]))
        if given.get("href"):
            self.links.append(str(given["href"]))
        if tag not in ("meta", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_book_as_html_is_whole_closed_and_without_script() -> None:
    page = _Page()
    text = rulebook(book(), "html")
    page.feed(text)
    assert page.open == []
    assert sorted(page.ids) == sorted([*book().rules, "content"])
    assert {link.removeprefix("#") for link in page.links} <= set(page.ids)
    assert page.tags.isdisjoint({"script", "img", "link", "iframe", "object"})
    assert re.findall(r"(?:https?:)?//[a-z]", text) == []


def test_the_book_as_text_keeps_to_80_columns_and_holds_every_rule() -> None:
    text = rulebook(book(), "text")
    assert max(map(len, text.splitlines())) <= 80
    assert all(rule in text for rule in book().rules)
    markdown = rulebook(book(), "markdown")
    assert all(f'<a id="{rule}"></a>' in markdown for rule in book().rules)
