"""No word for a layer gets lost: it stands in the section, or is shown as not used, or is asked about.

The words are every name of the library's materials and the trade's shorthand, in sentences of our own whose layers are known by how
they were put together; and the tuning half of `cases/questions/`. What is denied stands in no section.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reviewer.answers.accounts import on_soil, sections_of, stands
from reviewer.answers.lexicon import normal
from reviewer.answers.read import read
from reviewer.answers.reading import SURE, Reading
from reviewer.answers.scan import scan
from reviewer.answers.together import read_together
from reviewer.library.materials import find_material, load_materials

from .test_reading_materials import OTHERWISE, meant

_PLAIN = frozenset("abcdefghijklmnopqrstuvwxyz -/")
FRAMING = ("spruce", "steel stud")
NAMES = sorted(
    (name, id_)
    for id_, m in load_materials().items()
    for name in (id_, *m.aliases)
    if set(name) <= _PLAIN
    and name not in OTHERWISE
    and find_material(name) is m
    and m.roles
    and id_ not in FRAMING
)
CARRIERS = (
    "A {kind} in {place} with {layers}. Is it safe?",
    "{place} {kind}: {layers}, any problems",
    "is {layers} ok for a {kind} in {place}?",
    "Our {kind} has {layers}; we are in {place}. Will it stay dry?",
)
FLOORS = {"hardwood", "pine"}
"""Woods that are a floor where a floor is told."""
KINDS = ("2x6 wall", "cathedral roof", "flat roof", "basement wall", "floor over a crawl space", "slab")
PLACES = ("Duluth, MN", "Houston, TX", "zone 5A", "Portland, OR")
MANY = settings(
    derandomize=True, max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)


def shown(reading: Reading, name: str) -> bool:
    """Whether a word for a layer ended in a section, among the words not used, or in a question back."""
    if reading.gaps or reading.confidence < SURE or reading.refusal is not None:
        return True
    may_be = meant_by(name)
    names = {x.name for s in sections_of(reading) for x in s.layers}
    about = {reading.subject.name} if reading.subject is not None else set()
    unused = {w for text in reading.unused for w in normal(text).split()}
    words = set(normal(name).split())
    if any(on_soil(id_, s) for id_ in may_be for s in sections_of(reading)):
        return True
    spaces = "air space" in names and any(x.sort in ("space", "size") for x in scan(f"has {name} on it"))
    became = any(stands(i, names) for i in may_be)
    return bool(may_be & (names | about)) or bool(words & unused) or spaces or became or alike(may_be, names)


def meant_by(name: str) -> set[str]:
    """Every material that a name may stand for."""
    return set().union(*(meant(x) for x in scan(f"has {name} on it")))


def alike(may_be: set[str], names: set[str]) -> bool:
    """Whether a material became another of its sort, as a batt outside becomes a board and a siding underfoot a floor."""
    words = {w for n in names for w in re.split("[ -]", n)}
    under = names & {"vented crawl space", "unvented crawl space"}
    soil = (under or "roof ballast" in names) and any(
        load_materials()[i].family == "soil" for i in may_be if i in load_materials()
    )
    return bool(soil) or any(
        set(i.split()) & words or (i in FLOORS and words & {"flooring", "paneling"}) for i in may_be
    )


@MANY
@given(
    st.sampled_from(CARRIERS), st.sampled_from(KINDS), st.sampled_from(PLACES), st.lists(st.sampled_from(NAMES), min_size=1, max_size=5, unique_by=lambda n: n[1]),
    st.sampled_from((", ", " and ", " over ", ", then ")),
)  # fmt: skip
def test_every_layer_that_is_told_is_in_the_section_or_shown_as_not_used(
    carrier: str, kind: str, place: str, told: list[tuple[str, str]], joint: str
) -> None:
    text = carrier.format(kind=kind, place=place, layers=joint.join(name for name, _ in told))
    for reading in read(text):
        if sections_of(reading):
            lost = [name for name, _ in told if not shown(reading, name)]
            assert lost == [], (text, [x.name for x in sections_of(reading)[0].layers], reading.unused)


@MANY
@given(
    st.sampled_from(KINDS), st.sampled_from(PLACES), st.lists(st.sampled_from(NAMES), max_size=3, unique_by=lambda n: n[1]), st.sampled_from(NAMES),
    st.sampled_from(("no", "without", "there is no", "minus the", "we left out the", "never had any", "avoid any", "don't want any")),
)  # fmt: skip
def test_what_is_denied_stands_in_no_section(
    kind: str, place: str, told: list[tuple[str, str]], denied: tuple[str, str], no: str
) -> None:
    if any(meant_by(denied[0]) & meant_by(name) for name in ("batts", *(n for n, _ in told))):
        return
    text = (
        f"A {kind} in {place} with {', '.join(n for n, _ in told) or 'batts'}, {no} {denied[0]}. Is it safe?"
    )
    for reading in read(text):
        if reading.base is None or reading.gaps or reading.confidence < SURE:
            continue
        there = {x.name for x in reading.base.layers if (kind, x.name) != ("slab", "concrete")}
        assert denied[1] not in there, (text, there, reading.unused)


@pytest.mark.parametrize(
    "path", sorted((Path(__file__).parents[2] / "cases" / "questions").glob("*.yaml")), ids=lambda p: p.stem
)
def test_no_material_of_the_corpus_gets_lost(path: Path) -> None:
    lost = []
    for q in yaml.safe_load(path.read_text(encoding="utf-8")):
        readings = read(q["text"])
        lexemes = scan(q["text"])
        read_together(q["text"], lexemes)
        for x in lexemes:
            before = q["text"][max(x.start - 40, 0) : x.start].lower()
            if re.search(
                r"\b(?:no|not|never|nothing|without|nor|skip|leave|took|tore|instead|than|don't|wants?|w/o)\b",
                before,
            ):
                continue
            if x.sort == "material" and x.value in load_materials() and x.value not in FRAMING:
                with_section = [r for r in readings if sections_of(r)]
                there = {layer.name for r in with_section for s in sections_of(r) for layer in s.layers}
                if with_section and not (
                    stands(x.value, there) or any(shown(r, x.text) for r in with_section)
                ):
                    lost.append((q["text"], x.text))
    assert lost == []


@pytest.mark.parametrize(
    ("text", "gap"),
    [
        # The kinds that words may speak for are ours, as builders mean them; common practice, no published source.
        ("basement ceiling in Denver, batts between joists, unfinished below. problem?", "kind"),
        ("2x10 joists with R-30 batts in Milwaukee, drywall. ok?", "kind"),
        ("same wall in Miami and Duluth: 2x6 R-21 OSB vinyl. is it ok?", "place"),
        ("wall in Denver, zone 3, 2x6 R-21 OSB brick, ok?", "place"),
    ],
)  # fmt: skip
def test_what_speaks_for_two_things_is_asked(text: str, gap: str) -> None:
    (reading,) = read(text)
    assert gap in [g.what for g in reading.gaps]


def test_what_is_told_twice_in_agreement_is_not_asked() -> None:
    (reading,) = read("2x6 wall R-21 OSB vinyl in Duluth MN, zone 7. is poly ok?")
    assert reading.base is not None and reading.base.place is not None
    assert reading.base.place.name == "Duluth, MN" and not reading.gaps


def test_what_was_torn_off_stood_there_when_it_went_wrong() -> None:
    (reading,) = read(
        "tore off vinyl siding in Duluth MN, OSB black in every bay, 2x6 R-19 no poly drywall. what caused it"
    )
    assert reading.base is not None
    names = [x.name for x in reading.base.layers]
    assert {"vinyl siding", "gypsum board"} <= set(names) and "polyethylene sheet" not in names


def test_it_stands_for_what_was_named_before_it() -> None:
    (reading,) = read(
        "Fargo, do we have to have poly, or can I scrap it if the drywall gets painted? 2x6 batts, OSB, wrap, vinyl"
    )
    assert reading.subject is not None and reading.subject.name == "polyethylene sheet"


def test_a_sheet_told_by_its_gauge_alone_may_be_what_is_asked_about() -> None:
    for text in ("10 mil? on gravel", "0MIL?FAAM0FAAM", "slab in Boise, is 15 mil under it worth it?"):
        assert read(text)
