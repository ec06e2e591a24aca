"""Whatever is typed: nothing crashes, spans do not overlap, sections are whole and can be written to a file and read again."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from reviewer.answers.lexicon import lexicon
from reviewer.answers.read import read
from reviewer.answers.reading import Reading
from reviewer.answers.scan import scan
from reviewer.model.parse import parse_section
from reviewer.model.section import KINDS, Section
from reviewer.model.write import same_layer, write_section

TRADE = sorted(lexicon().phrases)[::7]
SMALL = (
    "is", "it", "safe", "do", "i", "need", "can", "skip", "the", "or", "and", "with", "no", "without", "outside", "inside", "over", "under",
    "between", "of", "?", ",", ".", "/", "2x6", "@ 24", "R-21", "R-13+5ci", "1-1/2 in", "6 mil", "50 %", "1920s", "in Duluth", "zone 6",
    "in Springfield", "MN", "what", "why", "how much", "instead of", "vs", "(", ")", "|", "from inside out:", "both sides", "both", "70 F",
)  # fmt: skip
SETTINGS = settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])

texts = st.one_of(
    st.text(max_size=200),
    st.lists(st.sampled_from([*SMALL, *TRADE]), max_size=25).map(" ".join),
    st.lists(st.one_of(st.sampled_from(SMALL), st.sampled_from(TRADE), st.text(max_size=6)), max_size=20).map(
        " ".join
    ),
)


def sections(reading: Reading) -> list[Section]:
    found = [o.section for o in reading.options] + [s for g in reading.gaps for _, s in g.replies]
    return [*([reading.base] if reading.base is not None else []), *found]


@SETTINGS
@example('SBIP0AGAINT"THE"CONCRETE')
@given(texts)
def test_no_text_crashes_and_spans_do_not_overlap(text: str) -> None:
    lexemes = scan(text)
    for a, b in pairwise(lexemes):
        assert a.end <= b.start
    readings = read(text)
    assert readings
    for reading in readings:
        ends = 0
        for word in reading.words:
            assert ends <= word.start < word.end <= len(text)
            assert text[word.start : word.end] == word.text
            ends = word.end
        assert 0.0 <= reading.confidence <= 1.0
        assert len(reading.gaps) <= 3


@SETTINGS
@given(texts)
def test_every_section_is_of_a_kind_and_survives_its_file(text: str) -> None:
    for reading in read(text):
        for section in sections(reading)[:3]:
            assert section.kind in KINDS
            assert section.layers
            again = parse_section(write_section(section))
            assert len(again.layers) == len(section.layers)
            assert all(same_layer(a, b) for a, b in zip(again.layers, section.layers, strict=True))
            assert again.kind == section.kind
            assert (again.place is None) == (section.place is None)


@SETTINGS
@given(texts, texts)
def test_a_dialogue_of_anything_goes_on(first: str, second: str) -> None:
    before = read(first)[-1]
    assert read(second, before=before)


@SETTINGS
@given(texts)
def test_the_same_text_is_read_the_same(text: str) -> None:
    assert read(text) == read(text)
