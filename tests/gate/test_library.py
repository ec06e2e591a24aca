"""Findings about a library as a whole."""

from __future__ import annotations

import json
from typing import Any


def found(gate: Any, *paths: str) -> list[tuple[str, str, str]]:
    said = json.loads(gate(*(paths or (".",)), "--format", "json").out)
    return [(r["finding"]["rule"], r["file"], r["finding"]["title"]) for r in said["library"]]


def test_two_details_with_one_id(gate: Any, write: Any, texts: Any) -> None:
    write("a/wall.yaml", texts.good("A"))
    write("b/wall.yaml", texts.good("B", batt="2x4 @ 16 in with R-13 glass fiber batt"))
    assert found(gate) == [
        ("library/duplicate-id", "b/wall.yaml", 'The id "wall" is that of a/wall.yaml, too')
    ]
    assert gate(".").status == 1, "serious"


def test_two_details_that_differ_in_name_only(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.good("Court wall"))
    write(
        "b.yaml",
        "# another remark\n" + texts.good("Yard wall").replace("zones: [6A]", "zones: [5A]\nnotes: new"),
    )
    write("c.yaml", texts.good("Mews wall", batt="2x6 @ 24 in with R-21 glass fiber batt"))
    says = '"Yard wall" is the same as "Court wall" (a.yaml) but for names'
    assert found(gate) == [("library/same-but-for-name", "b.yaml", says)]


def test_the_same_layers_for_another_use_are_another_detail(gate: Any, write: Any, texts: Any) -> None:
    write("a.yaml", texts.good("A"))
    write("b.yaml", texts.good("B") + "indoor: pool\n")
    assert found(gate) == []


def test_a_zone_that_the_office_builds_in_without_a_detail(gate: Any, write: Any, texts: Any) -> None:
    write("reviewer.yaml", texts.policy + "office zones: [5A, 6A]\n")
    write("a.yaml", texts.good("A"))
    says = "No wall is claimed for zone 5A, where the office builds"
    assert found(gate) == [("library/zone-without-detail", "reviewer.yaml", says)]
    assert found(gate, "a.yaml") == [], "of single files nothing is missing"
    write("b.yaml", texts.good("B", batt="2x4 @ 16 in with R-13 glass fiber batt").replace("6A", "5A"))
    assert found(gate) == []


def test_a_detail_that_nobody_claims_for_a_zone_of_the_office(gate: Any, write: Any, texts: Any) -> None:
    write("reviewer.yaml", texts.policy + "office zones: [6A]\n")
    write("a.yaml", texts.good("A"))
    write("b.yaml", texts.good("B", batt="2x4 @ 16 in with R-13 glass fiber batt").replace("6A", "2A"))
    write(
        "c.yaml",
        texts.good("C", batt="2x4 @ 24 in with R-13 glass fiber batt").replace(
            "zones: [6A]", "place: Miami, FL"
        ),
    )
    says = '"B" is claimed for none of the zones that the office builds in (6A)'
    assert found(gate) == [("library/detail-for-no-zone", "b.yaml", says)]


def test_one_material_with_different_values(gate: Any, write: Any, texts: Any) -> None:
    def wall(title: str, value: str, thickness: str = "2 in") -> str:
        layer = f"{{material: extruded polystyrene, thickness: {thickness}, conductivity: {value} W/(m K)}}"
        return texts.good(title).replace("  - house wrap\n", f"  - {layer}\n  - house wrap\n")

    write("a.yaml", wall("A", "0.029"))
    write("b.yaml", wall("B", "0.029", "1 in"))
    write("c.yaml", wall("C", "0.035", "3 in"))
    ((rule, file, says),) = found(gate)
    assert (rule, file) == ("library/inconsistent-material", "c.yaml")
    assert "conductivity is 0.035 W/(m·K) here and 0.029 W/(m·K) in a.yaml" in says


def test_values_of_a_layer_are_compared_at_one_thickness_only(gate: Any, write: Any, texts: Any) -> None:
    def wall(title: str, thickness: str, permeance: str) -> str:
        layer = f"{{material: extruded polystyrene, thickness: {thickness}, permeance: {permeance}}}"
        return texts.good(title).replace("  - house wrap\n", f"  - {layer}\n  - house wrap\n")

    write("a.yaml", wall("A", "1 in", "1 perm"))
    write("b.yaml", wall("B", "2 in", "0.5 perm"))
    assert found(gate) == []
    write("c.yaml", wall("C", "2 in", "0.8 perm"))
    assert {rule for rule, _, _ in found(gate)} == {"library/inconsistent-material"}


def test_severities_of_the_gate_s_own_rules_are_the_policy_s_to_change(
    gate: Any, write: Any, texts: Any
) -> None:
    write("a/wall.yaml", texts.good("A"))
    write("b/wall.yaml", texts.good("B", batt="2x4 @ 16 in with R-13 glass fiber batt"))
    change = "severities: [{rule: library/duplicate-id, severity: note, reason: ids are per folder}]\n"
    write("reviewer.yaml", texts.policy + change)
    assert gate(".").status == 0
