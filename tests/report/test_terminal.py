"""The terminal report at every width: no line over it, nothing cut off, no hyphenated id broken."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from reviewer import cli
from reviewer.model.parse import load_section
from reviewer.report import terminal, words
from reviewer.result import Result
from reviewer.review import review

ROOT = Path(__file__).parents[2]
CASES = sorted(
    p for p in (ROOT / "cases").rglob("*.yaml") if "questions" not in p.parts and p.parent != ROOT / "cases"
)
WIDTHS = (60, 80, 120, 200)


@cache
def reviewed(path: Path, units: str) -> Result:
    return review(load_section(path), units=units, work=units == "ip")  # type: ignore[arg-type]


@pytest.mark.parametrize("path", CASES, ids=[p.stem for p in CASES])
def test_no_line_is_wider_than_asked_and_every_number_is_there(path: Path) -> None:
    for units in ("ip", "si"):
        result = reviewed(path, units)
        for width in WIDTHS:
            text = terminal.render(result, width)
            over = [line for line in text.splitlines() if len(line) > width]
            assert not over, (units, width, over[:3])
            flowed = " ".join(text.split())
            for f in result.findings:
                assert f.rule in flowed, (width, f.rule)
            for row in words.year(result).rows if "monthly" in result.calculations else ():
                values = re.compile(r"\s+".join(map(re.escape, row.values[:6])))
                assert values.search(flowed), (width, row.label)
                assert row.label in flowed, (width, row.label)


@pytest.mark.parametrize("name", ["empty", "enormous", "hostile"])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_edges_fit_too(name: str, width: int, request: pytest.FixtureRequest) -> None:
    text = terminal.render(request.getfixturevalue(name), width)
    assert max(len(line) for line in text.splitlines()) <= width


@pytest.mark.parametrize("color", [False, True])
def test_no_text_of_anybody_steers_the_terminal(hostile: Result, color: bool) -> None:
    """Whatever a title holds, what reaches the terminal is text, line ends and, with colors, SGR sequences (ECMA-48,
    8.3.117, from memory) of the program's own."""
    text = re.sub(r"\x1b\[[0-9;]*m", "", terminal.render(hostile, 80, color))
    assert all(c.isprintable() or c == "\n" for c in text)
    assert "evil" in text


def test_colors_are_laid_over_the_same_words(ordinary: Result) -> None:
    colored = terminal.render(ordinary, 80, True)
    assert "\x1b[" in colored
    bare = re.sub(r"\x1b\[[0-9;]*m", "", colored)
    assert [t.rstrip() for t in bare.splitlines()] == terminal.render(ordinary, 80).splitlines()


@pytest.mark.parametrize(
    ("options", "settings", "colored"),
    [
        ([], {}, True),
        ([], {"NO_COLOR": "1"}, False),
        ([], {"TERM": "dumb"}, False),
        (["--color", "never"], {}, False),
        (["--color", "always"], {"NO_COLOR": "1"}, True),
        (["--plain"], {}, False),
    ],
)
def test_colors_on_a_terminal_as_asked(
    options: list[str],
    settings: dict[str, str],
    colored: bool,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    for key, value in settings.items():
        monkeypatch.setenv(key, value)
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setattr(sys, "argv", ["reviewer", "review", str(CASES[0]), "--fail-at", "never", *options])
    with pytest.raises(SystemExit):
        cli.main()
    assert ("\x1b[" in capsys.readouterr().out) is colored


def test_no_line_breaks_inside_a_rule_or_between_a_number_and_its_unit() -> None:
    text = "At 34 °F and 100 % it holds 12 grains/ft² (8.4 g/m²) [vapor-control/shut-in-between] of 3 perms."
    for width in range(40, 60):
        lines = terminal.wrap(text, width)
        assert any("[vapor-control/shut-in-between]" in t for t in lines)
        for pair in ("34 °F", "100 %", "12 grains/ft²", "3 perms"):
            assert any(pair in t for t in lines), (width, pair)
        assert " ".join(lines) == text


@pytest.mark.parametrize("width", WIDTHS)
def test_remedies_replies_and_proofs_fit_as_well(
    width: int, advised: dict[str, tuple[Any, Callable[..., object]]]
) -> None:
    from reviewer.report import explained, remedy, reply
    from reviewer.review import load_rules
    from reviewer.why import explain

    section, rules = load_section(CASES[0]), load_rules()
    ids = ("vapor-control/shut-in-between", "water-control/no-barrier", "moisture-state/mold-grows")
    texts = [
        remedy.as_text(advised["remedies"][0], width),
        reply.as_text(advised["replies"][0], width),
        *(explained.as_text(explain(section, i, rules, asked="why not"), width) for i in ids),
    ]
    for text in texts:
        # A command is printed to be copied, and is not broken.
        over = [t for t in text.splitlines() if len(t) > width and not t.lstrip().startswith("reviewer ")]
        assert not over
        assert not re.search(r"[a-z]-$", text, re.MULTILINE), "a word or an id ends a line at its hyphen"
