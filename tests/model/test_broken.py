"""Files that are wrong, each with the whole message beside it (`NAME.yaml`, `NAME.txt`)."""

from __future__ import annotations

from pathlib import Path

import pytest

from reviewer.errors import InputError
from reviewer.model.parse import load_section

FOLDER = Path(__file__).parent / "broken"
FILES = sorted(FOLDER.glob("*.yaml"))


@pytest.mark.parametrize("path", FILES, ids=[p.stem for p in FILES])
def test_the_message_is_the_one_beside_the_file(path, monkeypatch):
    monkeypatch.chdir(FOLDER)
    with pytest.raises(InputError) as caught:
        load_section(path.name)
    assert f"{caught.value}\n" == path.with_suffix(".txt").read_text(encoding="utf-8")
    assert all(
        (p.mark is not None and p.expected) or p.message == "the document is empty"
        for p in caught.value.problems
    )


def test_the_corpus_is_whole():
    assert len(FILES) >= 90
    assert {p.stem for p in FOLDER.glob("*.txt")} == {p.stem for p in FILES}
