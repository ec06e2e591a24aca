"""A change made in the section and in the text of its file is one change. Nothing outside is claimed here."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.errors import InputError
from reviewer.model.parse import load_section, parse_section
from reviewer.model.write import same_layer
from reviewer.remedies.changes import Draft, apply, draft_of, section_of
from reviewer.remedies.patch import patch
from reviewer.workbench import shipped_cases

CASES = shipped_cases()
NEW = (
    "house wrap, taped",
    "2 in mineral wool board",
    "3/4 in air space vented top and bottom",
    "latex paint",
)

FILE = """\
# the street side
title: Row house
kind: wall
layers:  # from the room
  - latex paint
  # hung last year
  - {material: gypsum board, thickness: 1/2 in}  # by the owner
  - material: house wrap
    joints: lapped
  - vinyl siding
building: {stories: 2}
"""


def changed(draft: Draft, picks: list[tuple[str, int, str]]) -> Draft:
    for action, at, text in picks:
        place = at % len(draft.entries)
        change = {
            "remove": {"remove": place},
            "replace": {"replace": place, "with": text},
            "inside": {"insert": text, "inside of": place},
            "outside": {"insert": text, "outside of": place},
            "joints": {"set": place, "joints": "taped"},
            "building": {"set": "building", "ventilation": "balanced"},
            "known": {"set": "section", "drainage": "footing drain"},
        }[action]
        try:
            draft = apply(change, draft)
        except InputError:
            continue
    return draft


@settings(max_examples=120, deadline=None)
@given(
    st.sampled_from(CASES),
    st.lists(
        st.tuples(
            st.sampled_from(("remove", "replace", "inside", "outside", "joints", "building", "known")),
            st.integers(0, 12),
            st.sampled_from(NEW),
        ),
        min_size=1,
        max_size=4,
    ),
)
def test_the_patched_file_reads_as_the_changed_section_and_keeps_every_comment(
    path: Path, picks: list[tuple[str, int, str]]
) -> None:
    text = path.read_text()
    draft = changed(draft_of(load_section(path)), picks)
    try:
        wanted = section_of(draft)
        out = patch(text, draft)
    except InputError:
        return
    again = parse_section(out, str(path))
    assert len(again.layers) == len(wanted.layers)
    assert all(map(same_layer, again.layers, wanted.layers))
    whole_lines = [line for line in text.splitlines() if line.lstrip().startswith("#")]
    assert [line for line in out.splitlines() if line.lstrip().startswith("#")] == whole_lines


def test_a_draft_without_changes_leaves_the_file_as_it_is() -> None:
    for path in CASES[::6]:
        assert patch(path.read_text(), draft_of(load_section(path))) == path.read_text()


def test_a_key_of_a_layer_is_set_at_its_place_and_comments_stay() -> None:
    draft = draft_of(parse_section(FILE))
    draft = apply({"set": 2, "joints": "taped"}, apply({"set": 1, "joints": "sealed"}, draft))
    draft = apply({"set": "building", "ventilation": "exhaust"}, draft)
    assert patch(FILE, draft) == FILE.replace("joints: lapped", "joints: taped").replace(
        "thickness: 1/2 in}", 'thickness: 1/2 in, joints: "sealed"}'
    ).replace("{stories: 2}", '{stories: 2, ventilation: "exhaust"}')


@pytest.mark.parametrize(
    "layers",
    [
        'layers: "latex paint | 1/2 in gypsum board | house wrap"',
        "layers: [latex paint, 1/2 in gypsum board, house wrap]",
    ],
)
def test_layers_in_one_line_or_in_brackets_are_patched_too(layers: str) -> None:
    text = f"kind: wall\n{layers}\n"
    draft = apply(
        {"insert": "1/2 in plywood", "outside of": 0}, apply({"remove": 1}, draft_of(parse_section(text)))
    )
    found = parse_section(patch(text, draft))
    assert [x.name for x in found.layers] == ["latex paint", "plywood", "house wrap"]


def test_a_layer_that_is_not_there_is_a_message() -> None:
    with pytest.raises(InputError, match="there is no layer 9 to change"):
        apply({"remove": 8}, draft_of(parse_section(FILE)))


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(CASES),
    st.lists(
        st.tuples(
            st.sampled_from(("remove", "replace", "inside", "outside", "building")),
            st.integers(0, 12),
            st.sampled_from(NEW),
        ),
        max_size=3,
    ),
)
def test_a_list_turned_round_and_changed_reads_as_the_changed_section(
    path: Path, picks: list[tuple[str, int, str]]
) -> None:
    text = path.read_text()
    draft = changed(apply({"turn": "layers"}, draft_of(load_section(path))), picks)
    try:
        wanted = section_of(draft)
        out = patch(text, draft)
    except InputError:
        return
    again = parse_section(out, str(path))
    assert all(map(same_layer, again.layers, wanted.layers))
    comments = [line for line in text.splitlines() if line.lstrip().startswith("#")]
    assert sorted(line for line in out.splitlines() if line.lstrip().startswith("#")) == sorted(comments)
