"""What the Canadian code asks of a layer of low permeance, and of a board that may be one.

NBC 2020 Table 9.25.5.2, and Table A-9.25.5.1 for 25 mm of extruded polystyrene (23 to 92 ng), both from memory.
"""

from __future__ import annotations

from reviewer.facts.build import build
from reviewer.model.parse import section_from_line

WALL = (
    "latex paint | 1/2 in gypsum board | 6 mil polyethylene | 38x140 mm @ 400 mm with RSI-3.5 glass fiber batt | 11 mm OSB | "
    "{} | 3/4 in air space vented | fiber-cement siding"
)


def _topics(board: str, place: str) -> dict[str, str]:
    book = build(section_from_line(WALL.format(board), kind="wall", place=place))[0]
    asked = [r.fields for r in book.records if r.kind == "requirement"]
    return {str(f["topic"]): str(f.get("met")) for f in asked}


def test_a_thin_board_near_the_limit_is_asked_about_by_its_product() -> None:
    assert _topics("25 mm extruded polystyrene board", "Regina, SK")["low permeance ratio by product"] == "no"
    assert "low permeance ratio by product" not in _topics("50 mm mineral wool board", "Regina, SK")


def test_a_tight_board_is_asked_about_by_the_table() -> None:
    thick = _topics("50 mm foil-faced polyisocyanurate board", "Regina, SK")
    assert thick["low permeance ratio"] == "yes"
    assert "low permeance ratio by product" not in thick
