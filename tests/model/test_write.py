"""The way back: what is written must read back to the same values, exactly. No outside source: the check
is the reader, on layers put together from the words of the trade."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer.errors import InputError
from reviewer.library.materials import load_materials
from reviewer.library.types import ROLES
from reviewer.model.lexicon import library_lexicon
from reviewer.model.parse import load_section, parse_layer, parse_section
from reviewer.model.schema import POSITIONS
from reviewer.model.section import CONDITIONS, JOINTS, SURROUNDINGS, VENTS, Layer, Section
from reviewer.model.write import same_layer, write_layer, write_section

GOOD = sorted((Path(__file__).parent / "good").glob("*.yaml"))


def check_round_trip(layer: Layer) -> None:
    text = write_layer(layer)
    again = parse_layer(text, layer.index)
    assert same_layer(again, layer), text
    assert write_layer(again) == text


@pytest.mark.parametrize(
    ("text", "canonical"),
    [
        ("polyethylene 6 mil taped", "6 mil polyethylene sheet, taped"),
        ('1/2" drywall', "1/2 in gypsum board"),
        ("2x6 @ 16 in with R-21 glass fiber batt", "R-21 glass fiber batt, 2x6 @ 16 in"),
        ("ventilated air space 3/4 in", "3/4 in vented air space"),
        ("air space 1 in, weep holes", "1 in air space; vents = weep holes"),
        ("140 mm mineral wool", "140 mm mineral wool batt"),
        ("8-12 in cellulose", "8 to 12 in dense-packed cellulose"),
        ("crawl space, vented", "vented crawl space"),
        ("? sheathing", "unknown sheathing"),
        ("4 mil poly", "polyethylene sheet 4 mil"),
        ("concrete, new, 8 in", "8 in concrete, new"),
        ("dense-packed cellulose 12 in, double stud @ 24", "12 in dense-packed cellulose; framing = studs @ 24 in, double stud"),
        ("R-13 fiberglass in steel studs 3-5/8 in @ 16", "R-13 glass fiber batt; framing = 3-5/8 in steel studs @ 16 in"),
        ("plywood; permeance = 0.5 perm dry, 5 perm wet", "plywood; permeance = 0.5 perm dry, 5 perm wet"),
    ],
)  # fmt: skip
def test_the_written_form(text, canonical):
    assert write_layer(parse_layer(text)) == canonical


@pytest.mark.parametrize("name", sorted(load_materials()))
def test_every_material_of_the_library_can_be_written(name):
    if name not in library_lexicon().members:
        check_round_trip(parse_layer(f"{name}; condition = damp; joints = sealed"))


lengths = st.one_of(
    st.builds(
        "{} in".format,
        st.sampled_from(["1/4", "3/8", "1/2", "5/8", "3/4", "1", "1-1/2", "3-5/8", "5.5", "8"]),
    ),
    st.builds("{} mm".format, st.integers(1, 400) | st.decimals("0.1", "99", places=2)),
    st.builds("{} mil".format, st.integers(1, 60)),
    st.builds("{:.6f} m".format, st.floats(0.0001, 0.9)),
    st.builds("{} to {} in".format, st.integers(1, 6), st.integers(6, 14)),
)
names = st.sampled_from(
    sorted(
        n for n in load_materials() if n not in library_lexicon().members and not any(c.isdigit() for c in n)
    )
)
spacings = st.sampled_from(["", " @ 16", " @ 24 in", " @ 400 mm", " at 19.2 in o.c."])
framings = st.one_of(
    st.builds("{}{}{}".format, st.sampled_from(["2x4", "2x6", "2x10 rafters", "spruce 2x8", "38x140 mm", "1.25 in x 7 in", "2 in wide"]), spacings, st.sampled_from(["", ", 25 %", ", 12.5 % framing"])),
    st.builds("{}{}".format, st.sampled_from(["double stud", "staggered stud 2x4", "trusses", "furring", "1x3 furring", "3-5/8 in steel studs", "3-5/8 steel studs", "92 mm steel studs", "9-1/2 in I-joists", "I-joists"]), spacings),
)  # fmt: skip
free_text = st.text("abcdefgh ,;.()=", min_size=1, max_size=15).filter(lambda t: t.strip())
keys = st.fixed_dictionaries(
    {},
    optional={
        "thickness": lengths | st.just("unknown"),
        "framing": framings,
        "joints": st.sampled_from(JOINTS),
        "condition": st.sampled_from(CONDITIONS),
        "position": st.sampled_from(POSITIONS),
        "coats": st.integers(1, 20).map(str),
        "r_value": st.builds("R-{}".format, st.decimals("0.1", "80", places=1)) | st.builds("RSI {:.4f}".format, st.floats(0.01, 12))
        | st.sampled_from(["R-13 to R-15", "RSI 2 to RSI 3.5", "R-3.7 to R-3.95"]),
        "density": st.builds("{} kg/m3".format, st.integers(1, 9000)) | st.builds("{} pcf".format, st.decimals("0.5", "200", places=1)),
        "permeance": st.builds("{} perm dry, {} perm wet".format, st.decimals("0.01", "50", places=2), st.integers(1, 99)) | st.builds("sd {:.3f} m".format, st.floats(0.01, 100)),
        "roles": st.lists(st.sampled_from(ROLES), max_size=3, unique=True).map(lambda r: ", ".join(w if i else f"not {w}" for i, w in enumerate(r))).filter(bool),
        "fasteners": st.sampled_from(["metal girts", "screws at 16 in", "clips; some are missing"]),
        "note": free_text,
    },
)  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(names, keys)
def test_what_is_written_reads_back_exactly(name, given_keys):
    text = f"{name}; " + "; ".join(f"{k} = {v.replace(';', ';;')}" for k, v in given_keys.items())
    check_round_trip(parse_layer(text if given_keys else name))


@settings(max_examples=60, deadline=None)
@given(
    lengths, st.sampled_from(VENTS), st.sampled_from(["", "1x3 furring @ 16 in", "1.5 in x 1.5 in @ 24 in"])
)
def test_air_spaces_read_back_exactly(thickness, vents, framing):
    tail = f"; framing = {framing}" if framing else ""
    check_round_trip(parse_layer(f"air space {thickness}; vents = {vents}{tail}"))


@pytest.mark.parametrize("text", [*SURROUNDINGS, "?", "unknown insulation 3 in, wet", "air space"])
def test_surroundings_and_unknowns_read_back(text):
    check_round_trip(parse_layer(text))


def same_section(a: Section, b: Section) -> None:
    for f in fields(Section):
        left, right = getattr(a, f.name), getattr(b, f.name)
        if f.name in ("marks", "file"):
            continue
        if f.name == "layers":
            assert len(left) == len(right)
            assert all(same_layer(x, y) and x.index == y.index for x, y in zip(left, right, strict=True))
        elif f.name in ("place", "indoor"):
            assert (left is None) == (right is None)
            assert left is None or replace(left, mark=None) == replace(right, mark=None)
        elif f.name == "waivers":
            assert [replace(w, mark=left[0].mark) for w in left] == [
                replace(w, mark=left[0].mark) for w in right
            ]
        else:
            assert left == right, f.name


@pytest.mark.parametrize("path", GOOD, ids=[p.stem for p in GOOD])
def test_sections_read_back(path):
    section = load_section(path)
    text = write_section(section)
    again = parse_section(text, str(path))
    same_section(again, section)
    assert write_section(again) == text


places = st.one_of(
    st.builds(
        "place: {}".format,
        st.sampled_from(["Duluth, MN", "'55802'", "46.8, -92.1", "{name: Duluth, zone: 7}"]),
    ),
    st.just("zone: 5A"),
    st.builds("weather: {}".format, st.sampled_from(["a b.epw", "{file: x.epw, zone: 4C}"])),
)
extras = st.lists(
    st.sampled_from(
        ["title: 'It''s # a \"title\": yes'", "cooling: no", "exposure: {rain: severe}", "exposure: {faces: SW}",
         "building: {height: 31 ft, airtightness: 0.6 ACH50, use: pool}", "notes: \"two\\nlines\"", "id: a/b-1",
         "known: {drainage: none, radon: 'null'}", "zones: [5A, 7]", "indoor: {temperature: 68 F}", "indoor: class 3",
         "expect: {disposition: incomplete, findings: [a/b]}", "waivers: [{rule: a/b, reason: '- x', by: 'no', until: 2027-01-31}]"]
    ),
    unique_by=lambda line: line.split(":")[0],
)  # fmt: skip


@settings(max_examples=100, deadline=None)
@given(places, extras, st.lists(names, min_size=1, max_size=4))
def test_random_sections_read_back(place, lines, layers):
    items = "".join(f"  - {name}\n" for name in layers)
    section = parse_section(
        f"kind: wall\n{place}\n" + "".join(f"{x}\n" for x in lines) + f"layers:\n{items}", "x.yaml"
    )
    same_section(parse_section(write_section(section), "x.yaml"), section)


@pytest.mark.parametrize(
    "word", ["null", "~", "yes", "- a", "? b", "a: b", "a #b", "'q", "", "é ½ “x”", "a\tb", "[x]"]
)
def test_any_text_survives_as_a_title_and_a_note(word):
    section = replace(load_section(GOOD[0]), title=word, notes=word)
    try:
        again = parse_section(write_section(section), section.file)
    except InputError as error:
        pytest.fail(str(error))
    assert (again.title, again.notes) == (word.strip(), word.strip())
