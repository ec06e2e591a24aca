"""What the command line says beside the report."""

from __future__ import annotations

import importlib.util
import sys

import pytest

from reviewer import cli


def test_a_slow_simulation_is_announced_where_numba_is_missing_and_only_there(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    cli._say_if_slow()
    assert "takes minutes" in capsys.readouterr().err
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: sys)
    cli._say_if_slow()
    assert capsys.readouterr().err == ""
