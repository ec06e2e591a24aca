"""Answers computed from readings made by hand: direction, numbers, and that nothing in them is invented.

Outside of the program: IRC 2021 Table R702.7(2) and (3), classes and continuous insulation by zone (memory, and restated
second-hand in trade articles). The rest are invariants of answering itself.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace

import jsonschema
import pytest

from reviewer.answers.answer import answer, replies
from reviewer.answers.command import render
from reviewer.answers.compute import ZONES, Desk, Judged, Point, decide, in_zone, neighbors
from reviewer.answers.reading import SURE, Gap, Option, Subject
from reviewer.model.parse import section_from_line
from reviewer.model.section import Indoor
from reviewer.reply import Replies, Reply, WordReading
from reviewer.report import reply as report
from reviewer.result import SEVERITIES
from reviewer.review import review
from reviewer.units import parse
from tests.answers.hand_made import POLY, about, wall, with_poly


@pytest.fixture(scope="module")
def desk() -> Desk:
    return Desk()


# -- yes or no --------------------------------------------------------------------------------------


def test_paint_alone_is_not_enough_in_zone_7_and_class_i_is_not_permitted_in_zone_2(desk: Desk) -> None:
    cold = answer(with_poly("leave out", "Duluth, MN"), desk)
    hot = answer(with_poly("leave out", "Houston, TX"), desk)
    assert (cold.status, cold.direction) == ("answered", "no")
    assert cold.answer.startswith(
        "No, keep the polyethylene sheet in this wall in Duluth, MN (zone 7): without it,"
    )
    assert {"vapor-control/sheathing-wets-in-winter", "code-us-residential/retarder-required"} & {
        f.rule for f in cold.reasons
    }
    assert (hot.status, hot.direction) == ("answered", "yes")
    assert hot.answer.startswith("Yes, leave the polyethylene sheet out")


@pytest.mark.parametrize("place", ["Duluth, MN", "Houston, TX", "Chicago, IL", "Seattle, WA"])
def test_needed_and_may_be_left_out_are_never_said_together(desk: Desk, place: str) -> None:
    need, out = (answer(with_poly(i, place), desk).direction for i in ("need", "leave out"))
    assert (need, out) not in {("yes", "yes"), ("no", "no")}


@pytest.mark.parametrize("zone", ["3A", "4A", "5A", "6A", "7"])
def test_no_wall_is_said_to_pass_without_what_it_fails_without(desk: Desk, zone: str) -> None:
    """Dense-packed cellulose behind boards gets wet in the cold zones with a coat of latex paint as without."""
    line = "1/2 in gypsum board | dense-packed cellulose, 2x4 @ 16 in | board sheathing | asphalt felt | wood lap siding"
    bare, painted = (section_from_line(x, kind="wall", zone=zone) for x in (line, f"latex paint | {line}"))
    options = (Option("without latex paint", bare), Option("with latex paint", painted))
    fails = [review(x).disposition == "revise and resubmit" for x in (bare, painted)]
    for intent in ("need", "leave out"):
        said = answer(about(intent, bare, options, Subject("material", "latex paint")), desk).answer
        assert not (fails[0] and "passes without" in said), said
        assert not (all(fails) and "is better for it" in said), said
        assert zone != "6A" or "fails either way" in said


@pytest.mark.parametrize("zone", ["2A", "4A", "6A", "8"])
def test_safe_is_yes_just_where_the_review_passes(desk: Desk, zone: str) -> None:
    for section in (wall(zone=zone), wall(zone=zone, inside=POLY)):
        result = review(section)
        reply = answer(about("safe here", section), desk)
        passes = result.disposition in ("no exceptions taken", "make corrections noted")
        assert (reply.direction == "yes") == passes
        assert reply.answer.startswith("Yes" if passes else "No")
        assert reply.disposition == result.disposition


def test_adding_what_harms_is_refused_with_the_finding_it_causes(desk: Desk) -> None:
    reply = answer(with_poly("add", "Houston, TX"), desk)
    assert reply.direction == "no"
    caused = {f.rule for f in review(wall("Houston, TX", inside=POLY)).findings if f.severity == "serious"}
    had = {f.rule for f in review(wall("Houston, TX")).findings}
    assert reply.reasons[0].rule in caused - had


def point(rule: str, severity: str) -> Point:
    return Point(rule, severity, "rule of thumb", False, rule, "", (), False)


def judged(*points: Point) -> Judged:
    worst = min((SEVERITIES.index(p.severity) for p in points), default=9)  # type: ignore[arg-type]
    names = {0: "revise and resubmit", 1: "make corrections noted"}
    return Judged(names.get(worst, "no exceptions taken"), points, (), "", "", None, None)  # type: ignore[arg-type]


GRAVE, OTHER, CARE, NOTE = (
    point("a/grave", "serious"),
    point("b/other", "serious"),
    point("c/care", "caution"),
    point("roof/note", "note"),
)
RAIN = point("water-control/rain", "caution")


@pytest.mark.parametrize(
    ("without", "given", "need", "leave_out", "add"),
    [
        ((GRAVE,), (), "yes", "no", "yes"),
        ((), (GRAVE,), "no", "yes", "no"),
        ((), (), "no", "yes", "yes"),
        ((OTHER,), (OTHER,), "no", "yes", "no"),
        ((GRAVE, OTHER), (OTHER,), "yes", "no", "yes"),
        ((CARE,), (), "no", "yes", "yes"),
        ((RAIN,), (), "yes", "no", "yes"),
        ((), (CARE,), "no", "yes", "no"),
        ((), (point("retrofit/look", "caution"),), "no", "yes", "depends"),
        ((NOTE,), (), "depends", "yes", "yes"),
        # A caution that a graver finding of the same rule replaces is no gain.
        ((CARE,), (point("c/care", "serious"),), "no", "yes", "no"),
    ],
)
def test_with_and_without_are_decided_by_what_differs(
    without: tuple[Point, ...], given: tuple[Point, ...], need: str, leave_out: str, add: str
) -> None:
    pair = [judged(*without), judged(*given)]
    assert [decide(i, pair).direction for i in ("need", "leave out", "add")] == [need, leave_out, add]


# -- nothing invented -------------------------------------------------------------------------------


@pytest.mark.parametrize("intent", ["need", "leave out", "add"])
@pytest.mark.parametrize("place", ["Duluth, MN", "Chicago, IL", "Miami, FL"])
def test_every_reason_is_a_finding_of_a_review_of_one_of_the_sections(desk: Desk, intent, place: str) -> None:
    reading = with_poly(intent, place)
    reply = answer(reading, desk)
    found = [f for o in reading.options for f in review(o.section).findings]
    assert reply.reasons
    for f in reply.reasons:
        assert f in found
    for f in reply.reasons:
        assert f.citations


def test_the_first_sentence_carries_the_deciding_number(desk: Desk) -> None:
    reply = answer(with_poly("leave out"), desk)
    margin = next(f for f in reply.reasons).margin
    assert margin
    assert margin in reply.answer


def test_a_change_that_is_advised_was_reviewed_and_passes(desk: Desk) -> None:
    reply = answer(about("safe here", wall()), desk)
    assert reply.better
    better = wall(inside="variable-permeance retarder, taped | ")
    assert any("variable-permeance retarder" in t or "vapor retarder paint" in t for t in reply.better)
    assert review(better).disposition != "revise and resubmit"
    assert any(c.startswith("reviewer remedy ") for c in reply.commands)


@pytest.mark.parametrize("place", ["Chicago, IL", "Baltimore, MD", "Minneapolis, MN"])
def test_what_would_change_the_answer_agrees_with_asking_there(desk: Desk, place: str) -> None:
    section = wall(place, sheathing="1/2 in plywood", cladding="vinyl siding")
    reply = answer(about("safe here", section), desk)
    zone = desk.judged([section])[0].zone
    assert neighbors(zone)
    for other in neighbors(zone):
        there = answer(about("safe here", in_zone(section, other)), desk)
        turned = [t for t in reply.changes_it if f", {other}: " in t]
        if there.direction != reply.direction:
            assert turned, reply.changes_it
            assert there.direction in turned[0]
        elif not turned:
            assert any(other in t for t in reply.changes_it if t.startswith("The answer is the same"))


def test_a_material_that_was_read_and_not_placed_is_shown_as_not_used(desk: Desk) -> None:
    def word(text: str, sort: str, reads: str, start: int) -> WordReading:
        return WordReading(start=start, end=start + len(text), text=text, sort=sort, reads=reads)

    words = (
        word("OSB", "material", "oriented strand board", 0),
        word("slate", "material", "slate", 10),
        word("no", "negation", "no", 20),
        word("stucco", "material", "stucco", 23),
    )
    reply = answer(replace(about("safe here", wall()), words=words, unused=("thingy",)), desk)
    assert reply.unused == ["thingy", "slate"]


# -- asked back -------------------------------------------------------------------------------------

NOWHERE = Gap("place", "The climate decides whether vapor from the room condenses")


def test_a_missing_place_that_decides_is_asked_for_with_the_answer_for_each_zone(desk: Desk) -> None:
    reading = with_poly("leave out", None, (NOWHERE,))
    reply = answer(reading, desk)
    assert reply.status == "asked back"
    (asked,) = reply.asked
    assert asked.why
    assert len(asked.replies) > 1
    for zone in ("2A", "7"):
        there = tuple(Option(o.label, in_zone(o.section, zone)) for o in reading.options)
        direct = answer(about("leave out", there[0].section, there, reading.subject), desk)
        group = next(text for label, text in asked.replies if zone_in(zone, label))
        assert group.split(" ")[0].strip(",") == direct.answer.split(" ")[0].strip(",")


def zone_in(zone: str, label: str) -> bool:
    """Whether `zones 1A to 4A and 7` names a zone."""
    order, named = list(ZONES), label.removeprefix("zones ").removeprefix("zone ")
    for part in named.replace(" and ", ", ").split(", "):
        first, _, last = part.partition(" to ")
        if order.index(first) <= order.index(zone) <= order.index(last or first):
            return True
    return False


def test_a_missing_place_that_does_not_decide_is_not_asked_for(desk: Desk) -> None:
    # All insulation outside of the membrane is sound from zone 1 to zone 8 (common practice).
    sound = section_from_line(
        "1/2 in gypsum board | 2x4 @ 16 in with air space | 1/2 in plywood | self-adhered membrane | "
        "6 in mineral wool board | 3/4 in air space vented top and bottom | fiber-cement siding",
        kind="wall",
    )
    reply = answer(about("safe here", sound, gaps=(NOWHERE,)), desk)
    assert [desk.judged([in_zone(sound, z)])[0].disposition for z in ZONES] == ["no exceptions taken"] * len(
        ZONES
    )
    assert (reply.status, reply.direction) == ("answered", "yes")
    assert any("every zone" in t for t in reply.more)


def test_a_gap_whose_replies_agree_is_answered_over_and_one_whose_replies_differ_is_asked(desk: Desk) -> None:
    base = wall("Houston, TX", cladding="vinyl siding")
    same = Gap(
        "sheathing",
        "It lies where vapor may condense",
        (
            ("plywood", wall("Houston, TX", sheathing="1/2 in plywood", cladding="vinyl siding")),
            ("oriented strand board", base),
        ),
    )
    assert answer(about("safe here", base, gaps=(same,)), desk).status == "answered"
    cold = wall("Minneapolis, MN", cladding="vinyl siding")
    differ = Gap(
        "what lies inside",
        "It decides",
        (
            ("with polyethylene sheet", wall("Minneapolis, MN", inside=POLY, cladding="vinyl siding")),
            ("paint only", cold),
        ),
    )
    reply = answer(about("safe here", cold, gaps=(differ,)), desk)
    assert reply.status == "asked back"
    assert reply.answer.startswith("It depends: ")
    assert "no with paint only" in reply.answer
    assert [label for label, _ in reply.asked[0].replies] == ["with polyethylene sheet", "paint only"]


def test_at_most_three_things_are_asked_back(desk: Desk) -> None:
    gaps = tuple(Gap(w, "It decides") for w in ("place", "kind", "layers", "indoor"))
    reply = answer(about("safe here", None, gaps=gaps), desk)
    assert reply.status == "asked back"
    assert len(reply.asked) == 3


def test_a_reading_that_is_not_sure_asks_and_does_not_answer(desk: Desk) -> None:
    word = WordReading(
        start=0, end=3, text="pollys", sort="material", reads="polyethylene sheet", confidence=SURE - 0.01
    )
    reading = replace(with_poly("leave out"), words=(word,), confidence=SURE - 0.01)
    reply = answer(reading, desk)
    assert reply.status == "asked back"
    assert '"pollys"' in reply.asked[0].question
    assert not reply.reasons


def test_what_the_review_cannot_use_is_told_and_not_raised(desk: Desk) -> None:
    reply = answer(about("safe here", wall("Atlantis, ZZ")), desk)
    assert reply.status == "not understood"
    assert reply.refusal is not None
    assert '"ZZ"' in reply.answer
    assert reply.refusal.can


# -- choices ----------------------------------------------------------------------------------------


def test_the_order_of_the_alternatives_does_not_matter(desk: Desk) -> None:
    a = Option("plywood", wall("Minneapolis, MN", inside=POLY, sheathing="1/2 in plywood"))
    b = Option("oriented strand board", wall("Minneapolis, MN"))
    one = answer(about("which", a.section, (a, b)), desk)
    two = answer(about("which", b.section, (b, a)), desk)
    assert one.direction == "choice"
    assert one.answer == two.answer
    assert one.answer.startswith("Plywood")
    assert [o.label for o in one.options] == [o.label for o in two.options]


def test_what_is_advised_for_a_job_passes_where_anything_passes(desk: Desk) -> None:
    reply = answer(about("what to use", wall(), subject=Subject("role", "vapor control")), desk)
    assert reply.direction == "choice"
    good = [o for o in reply.options if o.disposition in ("no exceptions taken", "make corrections noted")]
    assert good
    assert reply.options[0] in good
    ranks = [o.disposition in ("no exceptions taken", "make corrections noted") for o in reply.options]
    assert ranks == sorted(ranks, reverse=True)


def test_the_cheapest_is_nothing_where_it_passes_and_a_change_that_passes_where_not(desk: Desk) -> None:
    fine = answer(about("cheapest", wall("Houston, TX", cladding="vinyl siding")), desk)
    assert "Nothing more is needed" in fine.answer or "cheapest that works" in fine.answer
    poor = answer(about("cheapest", wall(cladding="vinyl siding")), desk)
    assert "cheapest that works" in poor.answer
    assert "relative cost" in poor.answer


# -- amounts ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "by_code"),
    [("5A", "1-1/2 in"), ("6A", "2-1/2 in"), ("7", "3 in"), ("8", "4 in")],
)
def test_exterior_insulation_by_code_is_that_of_the_table_in_stock_sizes(
    desk: Desk, zone: str, by_code: str
) -> None:
    """IRC 2021 Table R702.7(3), 2x6, Class III inside: R-7.5, R-11.25, R-15, R-20 (memory, restated second-hand); the
    board gives R-5 an inch, so the next stock sizes are these."""
    base = wall(zone=zone)
    subject = Subject("material", "extruded polystyrene board", "outside")
    reply = answer(about("how much", base, subject=subject), desk)
    assert reply.direction == "amount"
    said = reply.answer + " ".join(reply.dissent)
    assert f"the code asks for {by_code} (" in said, said


def test_the_least_amount_passes_by_all_voices_and_half_of_it_does_not(desk: Desk) -> None:
    reply = answer(about("how much", wall(zone="6A"), subject=Subject("role", "insulation", "outside")), desk)
    size = re.match(r"At least (\S+ in) \(R-", reply.answer)
    assert size is not None, reply.answer
    half = f"{parse(size[1], 'length').low * 500:.1f} mm"
    enough, little = (
        review(wall(zone="6A", outside=f"{x} extruded polystyrene board, taped | ")) for x in (size[1], half)
    )
    moved = {f.rule for f in reply.reasons if f.severity in ("serious", "caution")}
    assert moved
    assert not moved & {f.rule for f in enough.findings}
    assert moved & {f.rule for f in little.findings}


def test_the_vent_area_is_the_codes(desk: Desk) -> None:
    """IRC 2021 R806.2: 1/150, or 1/300 with balanced vents and a retarder in cold zones (memory)."""
    attic = section_from_line(
        "latex paint | 1/2 in gypsum board | R-49 kraft-faced glass fiber batt | vented attic",
        kind="roof",
        zone="6A",
    )
    reply = answer(about("how much", attic, subject=Subject("role", "vent area")), desk)
    assert reply.direction == "amount"
    assert "1/150" in reply.answer
    assert "1/300" in reply.answer
    assert any("R806.2" in s for s in reply.sources)


# -- what is it -------------------------------------------------------------------------------------


def test_a_property_is_the_librarys_with_its_source(desk: Desk) -> None:
    reply = answer(about("what is", subject=Subject("property", "permeance of oriented strand board")), desk)
    assert "0.75 perms dry and 2 perms damp at 7/16 in" in reply.answer
    assert any("range" in s for s in reply.sources)
    assert "reviewer materials show 'oriented strand board'" in reply.commands


def test_what_is_not_held_is_not_explained(desk: Desk) -> None:
    reply = answer(about("what is", subject=Subject("concept", "flux capacitor")), desk)
    assert reply.status == "not understood"
    assert reply.refusal is not None
    assert reply.refusal.can


# -- zones and troubles -----------------------------------------------------------------------------


def test_why_not_always_names_the_zones_where_it_harms(desk: Desk) -> None:
    asked = about("why not always", subject=Subject("material", "polyethylene sheet"), text="Why not always?")
    reply = answer(asked, desk)
    assert reply.direction == "explanation"
    assert reply.answer.startswith("Because polyethylene stops vapor both ways")
    assert any("does harm in zones 1A" in t for t in reply.more)
    by_zone = {z.zone: z.disposition for z in reply.zones}
    assert by_zone["1A"] == "revise and resubmit"
    assert by_zone["7"] != "revise and resubmit"
    assert any("2x6 wall with glass fiber and OSB" in a.what for a in reply.assumed)


@pytest.mark.parametrize("seen", ["mold", "frost", "rot", "condensation"])
def test_causes_that_the_review_speaks_for_come_first(desk: Desk, seen: str) -> None:
    reply = answer(about("what went wrong", wall(), subject=Subject("finding", seen)), desk)
    assert reply.direction == "explanation"
    causes = [t for t in reply.more if t.startswith("Cause ")]
    backed = ["The review speaks for it" in t for t in causes]
    assert backed == sorted(backed, reverse=True)
    assert backed[0]
    assert all("How to tell:" in t for t in causes)


# -- form -------------------------------------------------------------------------------------------


def several() -> list:
    return [
        with_poly("leave out"),
        with_poly("need", None, (NOWHERE,)),
        about("what is", subject=Subject("material", "plywood")),
        about("why not always", subject=Subject("material", "polyethylene sheet")),
        about("safe here", wall("Atlantis, ZZ")),
    ]


def test_replies_go_to_json_and_back_and_meet_their_schema() -> None:
    found = replies("several at once", several(), Desk())
    data = json.loads(report.as_json(found))
    jsonschema.validate(data, report.schema())
    assert Replies.model_validate(data) == found
    assert json.loads(report.as_line(found)) == data


def test_the_same_question_gives_the_same_bytes() -> None:
    one, two = (report.as_json(replies("several at once", several(), Desk())) for _ in range(2))
    assert one == two


def test_a_kept_answer_is_the_fresh_one(desk: Desk) -> None:
    for r in several():
        assert answer(r, desk) == answer(r, Desk()) == answer(r, desk)


def test_a_brief_answer_is_the_same_but_for_what_it_leaves_out(desk: Desk) -> None:
    brief = Desk(brief=True)
    for r in several():
        whole = answer(r, desk)
        left_out = {"changes_it": [], "better": []}
        commands = [c for c in whole.commands if not c.startswith(("reviewer review", "reviewer remedy"))]
        if r.intent == "what is":
            commands = whole.commands
        assert answer(r, brief) == whole.model_copy(update={**left_out, "commands": commands})


@pytest.mark.parametrize("width", [60, 80, 120, 200])
def test_no_line_is_wider_than_the_terminal_but_commands(desk: Desk, width: int) -> None:
    text = report.as_text(replies("several at once", several(), desk), width)
    for line in text.splitlines():
        assert len(line) <= width or line.startswith("  reviewer "), line


def test_hostile_text_is_harmless_in_markdown_and_on_a_terminal(desk: Desk) -> None:
    hostile = "<script>alert(1)</script> \x1b[31m| `x` [a](b)\n# head"
    found = replies(hostile, [replace(with_poly("leave out"), text=hostile, unused=(hostile,))], desk)
    markdown = str(render(found, "markdown", False, 80))
    assert "<script>" not in markdown
    assert "\x1b" not in markdown
    assert "\x1b" not in report.as_text(found)


def test_what_was_understood_stands_before_the_answer(desk: Desk) -> None:
    found = replies("a question", [with_poly("leave out")], desk)
    text = report.as_text(found)
    assert text.index("What was understood") < text.index("No, keep")
    assert isinstance(found.replies[0], Reply)


@pytest.mark.parametrize(
    ("line", "place"),
    [
        (
            "ceramic tile | tile waterproofing membrane | 1/2 in cement board | 6 mil polyethylene | 2x6 @ 16 in with "
            "R-21 glass fiber batt | 7/16 in OSB | house wrap | fiber-cement siding",
            "Green Bay, WI",
        ),
        (
            "latex paint | 1/2 in gypsum board | 6 mil polyethylene | 2x6 @ 16 in with R-20 glass fiber batt | 7/16 in OSB | "
            "2-1/2 in foil-faced polyisocyanurate board, taped | 3/4 in air space vented | wood lap siding",
            "Regina, SK",
        ),
    ],
)
def test_a_section_with_one_layer_too_many_is_not_called_safe(desk: Desk, line: str, place: str) -> None:
    """Common practice; NBC Table 9.25.5.2 (memory) lets the second stand, so it is not refused either."""
    section = section_from_line(line, kind="wall", place=place)
    assert answer(about("safe here", section), desk).direction == "depends"


def test_whether_a_deck_without_winter_needs_a_barrier_hangs_on_a_test(desk: Desk) -> None:
    """Common practice: the water of the concrete decides, and no climate."""
    bare, given = (
        section_from_line(
            f"6 in concrete | {x}4 in polyisocyanurate board | TPO membrane",
            kind="roof",
            place="Honolulu, HI",
        )
        for x in ("", "self-adhered roof vapor retarder | ")
    )
    options = (Option("without", bare), Option("with", given))
    subject = Subject("role", "vapor control")
    for intent in ("need", "leave out"):
        assert answer(about(intent, bare, options, subject), desk).direction == "depends"


def test_foam_below_a_cold_floor_is_no_second_tight_layer(desk: Desk) -> None:
    """Over dry cold air a subfloor on the warm side is threatened by nothing from below (common practice)."""
    floor = "vinyl flooring | 3/4 in plywood | 2x10 @ 16 in with R-30 glass fiber batt | {}outdoor air"
    bare, given = (
        section_from_line(floor.format(x), kind="floor", place="Kotzebue, AK")
        for x in ("", "4 in expanded polystyrene board | ")
    )
    options = (Option("without", bare), Option("with", given))
    subject = Subject("material", "expanded polystyrene board")
    assert answer(about("add", bare, options, subject), desk).direction == "yes"


def test_what_the_code_forbids_by_its_class_another_class_does(desk: Desk) -> None:
    """IRC Table R702.7(2) (memory) prohibits Class I in zone 4A; a humid room needs more than paint there all the same."""
    humid = Indoor(name="pool", temperature=None, humidity=None, mark=None)
    without, given = (
        replace(wall("Wichita, KS", inside=x), indoor=humid) for x in ("", "6 mil polyethylene, sealed | ")
    )
    options = (Option("without", without), Option("with", given))
    reply = answer(about("need", without, options, Subject("material", "polyethylene sheet")), desk)
    assert reply.direction == "yes"
    assert "something of the kind" in reply.answer


def test_the_thing_asked_about_is_not_fine_where_it_is_the_one_too_many(desk: Desk) -> None:
    """Common practice: a faced batt on old insulation has its facing in the cold."""
    line = "latex paint | 1/2 in gypsum board | 6 in loose mineral wool | 6 in kraft-faced glass fiber batt | vented attic"
    section = section_from_line(line, kind="roof", place="Utica, NY")
    asked_about = about("safe here", section, subject=Subject("material", "kraft-faced glass fiber batt"))
    assert answer(asked_about, desk).direction == "no"
    assert answer(about("safe here", section), desk).direction == "depends"


def test_a_sheet_of_class_i_that_only_the_code_misses_may_give_way_to_a_lesser_one(desk: Desk) -> None:
    """IRC 2021 Table R702.7(2), Class I or II in zone 5 (memory): no sheet is asked for, and kraft is not to be left out."""
    dry = {"place": "Boulder, CO", "sheathing": "1/2 in plywood", "cladding": "wood lap siding"}
    sheet = answer(with_poly("leave out", **dry), desk)
    assert sheet.direction == "depends"
    assert sheet.answer.startswith("Not without something in its place")
    without, kraft = wall(**dry), wall(**dry, inside="kraft paper | ")
    options = (Option("without kraft paper", without), Option("with kraft paper", kraft))
    assert (
        answer(about("leave out", without, options, Subject("material", "kraft paper")), desk).direction
        == "no"
    )
