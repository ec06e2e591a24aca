"""Vent areas, diffusion ports and ground covers of the residential code, through whole sections on either side.

IRC 2021 R806.2 (vent area; as restated in code notes: 40 to 50 % high, zones 6 to 8 with a retarder), R806.5.2 (ports;
from memory, medium), R408.3 and R506.2.3 (ground covers and slabs; from memory). The adopted code governs.
"""

from __future__ import annotations

import pytest

from reviewer.model.parse import parse_section
from reviewer.review import review

ATTIC = "[{ceiling}1/2 in gypsum board, 2x8 @ 24 in with R-30 glass fiber batt, vented attic]"
SLOPED = "[1/2 in gypsum board, 2x10 @ 24 in with R-30 glass fiber batt, 5/8 in plywood, asphalt shingles]"


def fired(kind: str, zone: str, layers: str, known: dict[str, str], extra: str = "") -> set[str]:
    stated = ", ".join(f'{about}: "{says}"' for about, says in known.items())
    text = f'kind: {kind}\nzone: "{zone}"\n{extra}layers: {layers}\nknown: {{{stated}}}\n'
    return {f.rule for f in review(parse_section(text), edition="IRC 2021").findings}


def attic(zone: str, area: str, high: str = "", ceiling: str = "latex paint") -> set[str]:
    known = {"vent area": area} | ({"high vents": high} if high else {})
    found = fired("roof", zone, ATTIC.format(ceiling=f"{ceiling}, "), known)
    return {rule.removeprefix("roof/") for rule in found if rule.startswith("roof/vent-area")}


@pytest.mark.parametrize("zone", ["3A", "6A"])
def test_one_in_150_is_enough_by_itself(zone: str) -> None:
    assert attic(zone, "1/150") == set()


def test_one_in_300_needs_two_fifths_to_half_of_it_high() -> None:
    assert attic("3A", "1/300", "45 %") == set()
    assert attic("3A", "1/300", "40 %") == attic("3A", "1/300", "50 %") == set()
    for share in ("39 %", "51 %"):
        assert attic("3A", "1/300", share) == {"vent-area-unbalanced"}


@pytest.mark.parametrize("zone", ["6A", "7", "8"])
def test_one_in_300_needs_a_retarder_in_the_ceiling_of_cold_zones(zone: str) -> None:
    assert attic(zone, "1/300", "45 %") == {"vent-area-without-retarder"}
    assert attic(zone, "1/300", "45 %", "vapor retarder paint") == set()
    assert attic("5A", "1/300", "45 %") == set()


def test_less_than_one_in_300_never_is() -> None:
    assert "vent-area-too-small" in attic("3A", "1/310", "45 %", "vapor retarder paint")


def port(zone: str, slope: str) -> set[str]:
    found = fired("roof", zone, SLOPED, {"diffusion port": "yes"}, f'slope: "{slope}"\n')
    return {rule.removeprefix("roof/") for rule in found if rule.startswith("roof/diffusion-port")}


def test_diffusion_ports_are_for_zones_one_to_three_at_three_in_twelve_and_steeper() -> None:
    assert port("3A", "3:12") == port("1A", "6:12") == {"diffusion-port-fits"}
    assert port("3A", "2:12") == {"diffusion-port-low-slope"}
    assert port("4A", "6:12") == {"diffusion-port-too-cold"}


FLOOR = "[3/4 in oak flooring, 3/4 in plywood, 2x10 @ 16 in with R-30 glass fiber batt, unvented crawl space]"


def test_a_closed_crawl_space_needs_its_soil_covered() -> None:
    bare = fired("floor", "4A", FLOOR, {"ground cover": "none"})
    covered = fired("floor", "4A", FLOOR, {"ground cover": "polyethylene"})
    assert "foundation/crawl-bare-soil" in bare
    assert "foundation/crawl-bare-soil" not in covered


@pytest.mark.parametrize("sheet", ["6 mil polyethylene", "10 mil polyethylene"])
def test_a_slab_needs_a_retarder_under_it(sheet: str) -> None:
    assert "foundation/slab-without-retarder" in fired("slab", "4A", "[4 in concrete, 4 in gravel, soil]", {})
    assert "foundation/slab-without-retarder" not in fired(
        "slab", "4A", f"[4 in concrete, {sheet}, 4 in gravel, soil]", {}
    )
