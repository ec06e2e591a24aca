"""Every name of every material of the library, one and several of them, is read as that material inside a question.

The names are the library's own (`reviewer/data`); what is expected follows from them, not from the reading.
"""

from __future__ import annotations

from reviewer.answers.lexicon import data, lexicon, listed
from reviewer.answers.scan import Lexeme, scan
from reviewer.library.materials import find_material, load_materials

OTHERWISE = {
    # Words that a builder means otherwise than the library's list of names, or that stand for framing or a function.
    *("rock", "spf", "kraft", "kraft facing", "kraft paper facing", "panel siding", "metal siding", "blown insulation"),
    *("cedar", "redwood", "california redwood", "larch", "hardwood", "wood plank", "plaster lath", "gypsum plaster lath"),
    *("stud", "joist", "rafter", "wood strip", "batten", "strapping", "furring", "furring strip", "drainage board", "drain board"),
    *("dampproofing", "damp proofing", "weather resistant barrier", "ground cover", "ground vapor barrier"),
    *("crawl space liner", "crawl space vapor barrier", "metal furring", "steel furring"),
    *("wood furring", "wood furring strip", "wood strapping", "wood batten"),
}  # fmt: skip
_PLAIN = frozenset("abcdefghijklmnopqrstuvwxyz -/")


def meant(x: Lexeme) -> set[str]:
    """Materials that a lexeme may stand for."""
    found: set[str] = set()
    for sort, value in ((x.sort, x.value), *((e.sort, e.value) for e in x.others)):
        if sort == "material":
            found.add(value)
        elif sort == "loose":
            row = lexicon().loose[int(value)]
            found |= {row.takes, row.veneer, *row.decides, *row.open}
    return found


def read_as(name: str) -> set[str]:
    text = f"Our building in Chicago has {name} on it, is that OK?"
    at = text.index(name)
    return set().union(*(meant(x) for x in scan(text) if x.start < at + len(name) and x.end > at))


def test_every_name_of_every_material_is_read_as_that_material() -> None:
    # Sizes in a name ("4 mil", "1x6") are read as sizes, which the section carries by itself.
    asked = [
        (name, id_)
        for id_, m in load_materials().items()
        for name in (id_, *m.aliases)
        if set(name) <= _PLAIN and name not in OTHERWISE and find_material(name) is m
    ]
    assert len(asked) > 2000
    wrong = [(name, id_) for name, id_ in asked if id_ not in read_as(name)]
    assert wrong == []


def test_several_of_a_material_are_read_as_one_is() -> None:
    asked = [
        (name, id_)
        for id_, m in load_materials().items()
        for name in (id_, *m.aliases)
        if set(name) <= _PLAIN
        and len(name.split()[-1]) > 4
        and name[-1] not in "sxyh"
        and name not in OTHERWISE
        and find_material(name) is m
    ]
    assert len(asked) > 1500
    wrong = [(name, id_) for name, id_ in asked if id_ not in read_as(name + "s")]
    assert wrong == []


def test_every_shorthand_of_the_trade_is_read_as_what_it_stands_for() -> None:
    wrong = [
        (phrase, id_)
        for id_, phrases in data("wording.yaml")["materials"].items()
        for phrase in listed(phrases)
        if phrase not in OTHERWISE and id_ not in read_as(phrase)
    ]
    assert wrong == []
