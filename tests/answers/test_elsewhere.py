"""Why not always: entries that are whole, pairs that show what is claimed, and answers that blame nothing that is not there.

What an entry claims of zones (`harms`, `helps`) is an expert's expectation: the zones of IRC 2021 Table R702.7(2) and
R702.7(3), R806.5 and R408.3 (restated second-hand or from memory, as each entry cites them), else common practice, no
published source. It is checked against the review of the entry's own pair of sections.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from reviewer.answers.answer import answer
from reviewer.answers.compute import ALL_ZONES, Desk, in_zone
from reviewer.answers.concepts import concepts
from reviewer.answers.elsewhere import described, effect, zones_of
from reviewer.answers.lexicon import normal
from reviewer.answers.read import read
from reviewer.answers.reading import Option, Subject
from reviewer.answers.whynot import FILE, WhyNot, entries, meant
from reviewer.citations import CERTAINTIES
from reviewer.document import parse_document, read_document
from reviewer.errors import InputError
from reviewer.library.materials import load_materials
from reviewer.reply import Reply, WordReading
from tests.answers.hand_made import POLY, about, wall

ALL = entries()
EACH = pytest.mark.parametrize("entry", ALL.values(), ids=list(ALL))
PAIRED = [e for e in ALL.values() if e.pair is not None]


@cache
def desk() -> Desk:
    return Desk()


def ask(text: str) -> Reply:
    return answer(read(text)[-1], desk())


# -- the entries ------------------------------------------------------------------------------------


def test_there_are_many_and_each_id_stands_once() -> None:
    rows = read_document(FILE).fields["whynot"].items
    assert len(rows) == len(ALL) >= 45
    assert len(PAIRED) >= 0.85 * len(ALL)


@EACH
def test_an_entry_names_what_is_known(entry: WhyNot) -> None:
    assert [m for m in entry.materials if m not in load_materials() and m != "spray foam"] == []
    assert [c for c in (*entry.concepts, *entry.see) if c not in concepts()] == []
    assert entry.see
    assert entry.kinds


@EACH
def test_it_answers_in_its_first_sentence_and_says_two_to_four_more(entry: WhyNot) -> None:
    sentences = entry.because.split(". ")
    assert sentences[0].startswith("Because ")
    assert 3 <= len(sentences) <= 6
    assert 55 <= len(entry.because.split()) <= 120


@EACH
def test_its_sources_are_named_and_never_claim_to_have_been_read(entry: WhyNot) -> None:
    assert entry.cites
    for c in entry.cites:
        assert c.certainty in CERTAINTIES
        if c.kind != "common practice":
            assert c.document
            assert c.clause
            assert c.certainty in ("secondhand", "memory")


def test_no_name_stands_for_two_things_of_one_kind() -> None:
    seen: dict[tuple[str, str], str] = {}
    for e in ALL.values():
        for kind in e.kinds:
            for name in {normal(n) for n in e.names}:
                assert seen.setdefault((kind, name), e.id) == e.id, name


@pytest.mark.parametrize("entry", PAIRED, ids=[e.id for e in PAIRED])
def test_its_pair_is_reviewed_in_every_zone_and_bears_out_what_it_claims(entry: WhyNot) -> None:
    assert entry.pair is not None
    found = zones_of(desk(), entry.pair.sections())
    assert sorted(z for zones in found.effects.values() for z in zones) == sorted(ALL_ZONES)
    assert "unknown" not in found.effects
    by_zone = {z: name for name, zones in found.effects.items() for z in zones}
    assert {z: by_zone[z] for z in entry.harms if by_zone[z] not in ("harms", "both", "burdens")} == {}
    assert {z: by_zone[z] for z in entry.helps if by_zone[z] not in ("helps", "short")} == {}


def test_most_pairs_claim_zones_that_the_review_can_contradict() -> None:
    assert len([e for e in PAIRED if e.harms or e.helps]) > 0.6 * len(PAIRED)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("whynot:\n  - {id: x, names: [x], kinds: [tent], because: B, cites: [common practice], see: [perm]}\n", "tent"),
        ("whynot:\n  - {id: x, names: [x], kinds: [wall], because: B, cites: [common practice], see: [perm], on: y}\n", "kind"),
        ("whynot:\n  - {id: x, names: [x], kinds: [wall], cites: [hearsay], see: [perm]}\n", "because"),
        ("whynot:\n  - {id: x, names: [x], kinds: [wall], because: B, cites: [common practice], see: [perm], harms: [9Z]}\n", "9Z"),
    ],
)  # fmt: skip
def test_a_file_out_of_order_is_named_by_its_line(
    monkeypatch: pytest.MonkeyPatch, text: str, says: str
) -> None:
    monkeypatch.setattr("reviewer.answers.whynot.read_document", lambda _: parse_document(text, "w.yaml"))
    entries.cache_clear()
    with pytest.raises(InputError) as error:
        entries()
    entries.cache_clear()
    assert all(p.mark is not None and p.mark.line == 2 for p in error.value.problems)
    assert any(says in p.message for p in error.value.problems)


# -- which entry is meant ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "id_"),
    [
        ("Why not always specify a smart retarder?", "smart-retarder"),
        ("whats the downside to kraft, why isnt it used in every climate", "kraft-facing"),
        ("Why not always put plastic sheeting behind the drywall?", "polyethylene-inside"),
        ("Why not always put a vapor barrier on basement walls?", "basement-polyethylene"),
        ("Why doesn't everybody always put mineral wool outside instead of foam board?", "mineral-wool-outside"),
        ("If exterior foam is so good why don't we always put an inch of it on every house?", "exterior-foam"),
        ("Why not always vent the roof?", "vented-roof"),
        ("why aren't crawl spaces always closed off then?", "closed-crawl-space"),
        ("Why shouldn't crawl space vents always be left open so it airs out?", "vented-crawl-space"),
        ("why not always use plywood instead of osb", "plywood-for-osb"),
        ("why not always use house wrap on the inside as the vapor barrier, it's cheaper", "house-wrap-inside"),
        ("is there any reason not to use spray foam on every basement wall always?", "basement-interior-foam"),
        ("Why not put a vapor barrier on both sides of the wall?", "double-barrier"),
        ("if concrete and foam forms never rot why not always build that way", "insulating-concrete-forms"),
        ("why not build double stud walls everywhere", "double-stud"),
        ("Why not always make everything vapor open, so it can dry?", "vapor-open-everything"),
    ],
)  # fmt: skip
def test_the_thing_that_is_asked_of_is_found(text: str, id_: str) -> None:
    found = meant(read(text)[-1])
    assert found is not None
    assert found.id == id_


@pytest.mark.parametrize(
    ("kind", "subject", "id_"),
    [
        ("wall", Subject("material", "extruded polystyrene board", "outside"), "xps-outside"),
        ("foundation wall", Subject("material", "extruded polystyrene board"), "basement-interior-foam"),
        ("foundation wall", Subject("role", "insulation", "outside"), "exterior-foundation-insulation"),
        ("slab", Subject("material", "extruded polystyrene board"), "under-slab-insulation"),
        ("slab", Subject("role", "vapor control"), "slab-retarder"),
        ("roof", Subject("material", "glass fiber batt"), "batts-in-unvented-rafters"),
        ("foundation wall", Subject("material", "glass fiber batt"), "basement-batts"),
    ],
)
def test_one_material_is_another_thing_in_another_kind_of_section(
    kind: str, subject: Subject, id_: str
) -> None:
    lines = {"slab": "4 in concrete | soil", "roof": "1/2 in gypsum board | 5/8 in plywood | asphalt shingle",
             "wall": "1/2 in gypsum board | 7/16 in OSB", "foundation wall": "8 in concrete | soil"}  # fmt: skip
    from reviewer.model.parse import section_from_line

    found = meant(about("why not always", section_from_line(lines[kind], kind=kind), subject=subject))
    assert found is not None
    assert found.id == id_


# -- what is answered -------------------------------------------------------------------------------


@EACH
def test_each_is_answered_with_its_own_sentence_when_it_is_asked_of_by_name(entry: WhyNot) -> None:
    kind = WordReading(start=0, end=1, text=entry.kinds[0], sort="kind", reads=entry.kinds[0])
    text = f"Why not always {entry.names[0]}, for a {entry.kinds[0]}?"
    reply = answer(replace(about("why not always", text=text), words=(kind,)), desk())
    assert reply.direction == "explanation"
    assert reply.status == "answered"
    assert entry.because.startswith(reply.answer.rstrip("."))
    assert set(map(str, entry.cites)) <= set(reply.sources)
    assert bool(reply.zones) == (entry.pair is not None)


def test_what_the_asker_has_is_computed_and_the_reason_follows() -> None:
    """Polyethylene inside: not permitted in zones 1A to 4B but of use in 6A and up (IRC 2021 Table R702.7(2), second-hand)."""
    reply = ask(
        "We have 2x6 walls in Duluth with R-21 fiberglass, OSB, house wrap and vinyl siding. Why not always put poly inside?"
    )
    assert reply.answer.startswith("In Duluth, MN (zone 7) the polyethylene sheet does good: otherwise")
    assert "does harm in zones 1A" in reply.more[0]
    assert any("cooled building" in t for t in reply.more)


def test_the_place_that_is_told_is_answered_for() -> None:
    """Kraft facing is idle in zone 2A: it is over a perm when damp (IRC 2021 Table R702.7(2) note a, from memory)."""
    reply = ask(
        "Why shouldn't I just always buy the kraft-faced batts? I'm in Orlando and the store only has those."
    )
    assert reply.more[0] == (
        "In Orlando, FL (zone 2A), on a 2x6 wall with glass fiber and OSB, it changes nothing that counts: the section "
        "passes without it."
    )


@pytest.mark.parametrize(
    ("text", "begins"),
    [
        ("Why not always stucco?", "Because stucco holds rain"),
        ("Any drawback to stucco?", "Stucco holds rain"),
        ("Should every house have a rain screen?", "Not always: a vented space"),
    ],
)
def test_the_first_sentence_answers_what_was_asked(text: str, begins: str) -> None:
    assert ask(text).answer.startswith(begins)


def test_a_thickness_that_is_told_is_the_one_that_is_computed() -> None:
    """R-6 an inch: four inches are enough in zone 8, where one is not (IRC 2021 Table R702.7(3), second-hand)."""
    wall_ = "outside my 2x4 wall with R-13, OSB, house wrap and fiber-cement siding in Fairbanks?"
    four, one = (ask(f"Why not use {n} of polyiso {wall_}") for n in ("4 inches", "1 inch"))
    assert "does good" in four.answer
    assert "far too little" in one.answer


def test_solid_walls_are_insulated_inside_and_answered_as_what_they_are() -> None:
    reply = ask(
        "I have 12 in of old brick in Buffalo. Why not just put 2 inches of closed cell on the inside?"
    )
    assert "old soft brick is insulated inside" in reply.answer
    assert any("kept dry by the heat" in t for t in reply.more)


def test_a_state_has_no_climate_of_its_own_and_stops_no_answer() -> None:
    reply = ask("My cousin in Maine has plastic in all her walls. Why isn't it always used down here too?")
    assert reply.status == "answered"
    assert reply.answer.startswith("Because polyethylene stops vapor both ways")


TOLD = ("oriented strand board", "house wrap", "fiber-cement siding")


@pytest.mark.parametrize(
    "subject",
    [Subject("material", "insulating concrete form"), Subject("concept", "vented-attic"), Subject("material", "carpet and pad")],
    ids=lambda s: s.name,
)  # fmt: skip
def test_what_could_not_be_placed_is_never_blamed(subject: Subject) -> None:
    """The wall fails in zone 7 by itself, without any retarder: the thing asked about is not in it."""
    bare = wall("Duluth, MN")
    assert desk().judged([bare])[0].disposition == "revise and resubmit"
    reading = about("why not always", bare, subject=subject, told=TOLD)
    assert described(reading)
    reply = answer(reading, desk())
    assert not any(word in reply.answer for word in ("does harm", "does not pass", "gets wet", "condenses"))


def test_what_the_asker_has_takes_the_thing_where_builders_put_it() -> None:
    reply = answer(
        about("why not always", wall("Duluth, MN"), subject=Subject("concept", "rain-screen"), told=TOLD),
        desk(),
    )
    assert reply.answer.startswith("In Duluth, MN (zone 7) the rain-screen")
    assert "air space" in [x.name for x in reply.layers]


def test_a_pair_that_the_question_tells_is_the_one_that_is_computed() -> None:
    options = (Option("without poly", wall("Miami, FL")), Option("with poly", wall("Miami, FL", inside=POLY)))
    reading = about("why not always", options[0].section, options, Subject("material", "polyethylene sheet"),
                    text="2x6, R-21 glass fiber, OSB, house wrap: why not always poly?", told=TOLD)  # fmt: skip
    assert described(reading)
    reply = answer(reading, desk())
    assert reply.answer.startswith("In Miami, FL (zone 1A) the polyethylene sheet does harm")
    by_zone = {z.zone: z.disposition for z in reply.zones}
    assert by_zone["1A"] == "revise and resubmit"
    assert by_zone["7"] != "revise and resubmit"


def test_what_no_entry_holds_is_explained_or_asked_for() -> None:
    explained = answer(about("why not always", subject=Subject("concept", "radon")), desk())
    assert explained.status == "answered"
    assert explained.answer in concepts()["radon"].says.replace("\n", " ")
    nothing = answer(about("why not always"), desk())
    assert nothing.status == "not understood"
    assert nothing.refusal is not None


def test_the_zones_told_are_those_of_the_table() -> None:
    """Each zone stands in one effect, and the sentence names the zones whose review says so."""
    entry = ALL["polyethylene-inside"]
    assert entry.pair is not None
    without, given = entry.pair.sections()
    found = zones_of(desk(), (without, given))
    for zone in ("2A", "7"):
        a, b = desk().judged([in_zone(without, zone), in_zone(given, zone)])
        assert zone in found.effects[effect(found.decided[zone], b)]
        assert (b.disposition == "revise and resubmit") == (zone == "2A")
        assert (a.disposition == "revise and resubmit") == (zone == "7")
