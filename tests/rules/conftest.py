"""What the tests of rules share: a demonstration pack, and rulesets from texts."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from reviewer.rules.load import read_topic
from reviewer.rules.ruleset import Ruleset, load_ruleset

PACKS = Path(__file__).parent / "packs"


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or leaves anything in the cache folder of whoever runs it."""
    monkeypatch.setenv("REVIEWER_CACHE_DIR", str(tmp_path_factory.mktemp("cache")))


@pytest.fixture(scope="session")
def demo() -> Ruleset:
    return load_ruleset([PACKS], keep=False)


@pytest.fixture(scope="session")
def packs() -> Path:
    return PACKS


FINDING = """
finding:
  severity: caution
  reason: It may fail.
  confidence: low
  voice: rule of thumb
  says: It fails
  explanation: It rots.
"""


@pytest.fixture(scope="session")
def rule_text() -> Callable[..., str]:
    """A ruleset file with one rule `t/r`: its keys as YAML, with a plain finding unless `head` is given."""

    def make(keys: str, head: str = FINDING, name: str = "r") -> str:
        body = textwrap.dedent(keys).strip("\n") + "\n" + textwrap.dedent(head).strip("\n")
        lines = [f"id: t/{name}", "title: A test", *body.splitlines()]
        rule = "\n".join(("  - " if n == 0 else "    ") + line for n, line in enumerate(lines))
        return f"pack: t\ntopic: Test\nabout: A test.\nrules:\n{rule}\n"

    return make


@pytest.fixture(scope="session")
def ruleset_of() -> Callable[..., Ruleset]:
    """A ruleset from the texts of files."""

    def make(*texts: str) -> Ruleset:
        read = [read_topic(text, f"{n}.yaml") for n, text in enumerate(texts)]
        return Ruleset.of([topic for topic, _ in read], [rule for _, rules in read for rule in rules])

    return make
