"""Foam, or a membrane under insulation, as the vapor barrier that the Canadian code asks for.

Source: NBC 2020 9.25.4.2 (60 ng on the warm side), 9.25.4.3 (close enough to the warm side not to condense) and the ratios
of Table 9.25.5.2, all from memory of the document.
"""

from __future__ import annotations

import pytest

from reviewer.model.parse import section_from_line
from reviewer.review import review

RULE = "code-canada/vapor-barrier-required"


def asked(layers: str, place: str = "Sudbury, ON") -> bool:
    result = review(
        section_from_line(
            f"latex paint | 1/2 in gypsum board | {layers} | house wrap | vinyl siding",
            kind="wall",
            place=place,
        )
    )
    return any(f.rule == RULE for f in result.findings)


@pytest.mark.parametrize(
    ("layers", "missing"),
    [
        ("2x6 @ 16 in with R-22 glass fiber batt | 7/16 in OSB", True),
        # 51 mm is warm on its inner face behind 89 mm of fiber: as much lies outboard as inboard, three tenths are asked.
        (
            "3.5 in R-12 glass fiber batt, 2x6 @ 16 in | 2 in closed-cell spray foam, 2x6 @ 16 in | 7/16 in OSB",
            False,
        ),
        # Half an inch behind 9 in of fiber is cold, and passes more than the limit.
        (
            "9 in R-34 glass fiber batt, 2x10 @ 16 in | 1/2 in closed-cell spray foam, 2x10 @ 16 in | 7/16 in OSB",
            True,
        ),
        # Boards do it only with their joints closed.
        ("3 in extruded polystyrene board, unsealed | 7/16 in OSB", True),
        ("3 in extruded polystyrene board, taped | 7/16 in OSB", False),
        # With nothing that insulates inboard its joints are as warm; unless they are said to be open.
        ("3 in extruded polystyrene board | 7/16 in OSB", False),
        # An adhered membrane under insulation: warm where enough lies outboard of it (9.25.4.3).
        ("1/2 in plywood | self-adhered membrane | 4 in mineral wool board", False),
        (
            "2x4 @ 16 in with R-12 glass fiber batt | 1/2 in plywood | self-adhered membrane | 4 in mineral wool board",
            False,
        ),
        (
            "2x6 @ 16 in with R-22 glass fiber batt | 1/2 in plywood | self-adhered membrane | 1/2 in mineral wool board",
            True,
        ),
        ("2x6 @ 16 in with R-22 glass fiber batt | 1/2 in plywood | self-adhered membrane", True),
    ],
)
def test_foam_that_is_tight_warm_and_sealed_needs_no_sheet(layers: str, missing: bool) -> None:
    assert asked(layers) is missing


@pytest.mark.parametrize(
    ("layers", "missing"),
    [
        # 2 in of closed-cell foam pass less than 1 perm: a Class II retarder itself (IRC R702.7, from memory).
        ("1 in air space | 2 in closed-cell spray foam, 2x6 @ 16 in | 12 in clay brick", False),
        (
            "3.5 in closed-cell spray foam, 2x4 @ 16 in | 7/16 in OSB | house wrap | fiber-cement siding",
            False,
        ),
        # Open-cell foam passes far more, and fiber inboard of foam puts a colder face in vapor's way.
        ("3.5 in open-cell spray foam, 2x4 @ 16 in | 7/16 in OSB | house wrap | fiber-cement siding", True),
        (
            "4 in R-15 glass fiber batt, 2x6 @ 16 in | 1/2 in closed-cell spray foam, 2x6 @ 16 in | 7/16 in OSB | house wrap | fiber-cement siding",
            True,
        ),
    ],
)
def test_foam_that_is_all_the_insulation_is_its_own_retarder(layers: str, missing: bool) -> None:
    result = review(
        section_from_line(f"latex paint | 1/2 in gypsum board | {layers}", kind="wall", place="Chicago, IL")
    )
    assert ("code-us-residential/retarder-required" in {f.rule for f in result.findings}) is missing
