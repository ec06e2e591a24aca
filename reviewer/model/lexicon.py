"""The names under which layers are known: materials by any of their names, in any order of words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cache

from reviewer.library.materials import aliases, load_materials, nearest_materials, normalize
from reviewer.library.types import Material
from reviewer.units import UnitError, parse

FRAMING_NOUNS = frozenset(
    (
        *("stud", "joist", "rafter", "framing", "framed", "truss"),
        *("furring", "strapping", "batten", "strip", "purlin", "sleeper"),
    )
)
"""Words, in normal form, for members that interrupt a layer."""

_FRAMING_ONLY = FRAMING_NOUNS | {
    "wood",
    "lumber",
    "member",
    "timber",
    "softwood",
    "steel",
    "metal",
    "dimension",
}
_SIZE = re.compile(r"\d+x\d*")
_LENGTH = re.compile(r"(?:\d+ )?(?:\d+/\d+|\d+(?:\.\d+)?|half) (?:in|inch|mil|mm|ft|m)\b ?")
_COUNTED = re.compile(r"(?:two|double|three|triple|[1-4]) (?:layer|sheet)")
_DROPPED = ("batt", "insulation")


class Lexicon:
    """Finds materials by their words.

    `names` maps names in normal form to material ids; `material` gives the material of an id;
    `near` gives the ids nearest to a misspelt name.
    """

    def __init__(
        self,
        names: Mapping[str, str],
        material: Callable[[str], Material],
        near: Callable[[str], list[str]],
    ):
        self.material = material
        self.near = near
        self.names: dict[str, str] = {}
        self.members: dict[str, str] = {}
        """Names of framing members: `wood stud`, `2x4`."""
        self.sized: dict[tuple[str, float], str] = {}
        """A material and a thickness for which there is a material of its own: polyethylene of 4 mil."""
        for name, id_ in names.items():
            bare = _LENGTH.sub("", name).strip()
            if bare != name and (not bare or self._add_sized(name, bare, names)):
                continue
            (self.members if _plain_member(name) else self.names)[name] = id_
        self._add_shortened()
        self.by_words: dict[tuple[str, ...], str | None] = {}
        for name, id_ in self.names.items():
            words = tuple(sorted(name.split()))
            # Two materials whose names are the same words in another order: only the order decides.
            self.by_words[words] = id_ if self.by_words.get(words, id_) == id_ else None
        self.longest = max((len(name.split()) for name in self.names), default=1)
        self.with_digits = tuple(
            sorted((n for n in self.names if re.search(r"\d", n)), key=lambda n: (-len(n.split()), n))
        )
        self.counted = tuple(n for n in map(normalize, dict.fromkeys(names.values())) if _COUNTED.match(n))

    def _add_sized(self, name: str, bare: str, names: Mapping[str, str]) -> bool:
        """Whether a name with a thickness in it goes without: the thickness is read for itself, so that
        "4 mil poly" and "polyethylene, 4 mil" are one."""
        id_ = names[name]
        of = names.get(bare)
        if of is None:
            if not set(bare.split()) <= set(id_.split()):
                return False
            self.names.setdefault(bare, id_)
        elif of != id_:
            length = name.replace(bare, "").replace("half", "1/2").strip()
            try:
                self.sized.setdefault((of, parse(length, "length").low), id_)
            except UnitError:
                return False
        return True

    def _add_shortened(self) -> None:
        """`kraft faced glass fiber` for `kraft faced glass fiber batt`, where one material only fits."""
        found: dict[str, set[str]] = {}
        for name, id_ in self.names.items():
            words = name.split()
            if len(words) > 2 and words[-1] in _DROPPED:
                found.setdefault(" ".join(words[:-1]), set()).add(id_)
        for name, ids in found.items():
            if len(ids) == 1:
                self.names.setdefault(name, *ids)

    def find(self, words: str) -> str | None:
        """The id of the material that is named by `words` (in normal form), in whatever order."""
        return self.names.get(words) or self.by_words.get(tuple(sorted(words.split())))

    def find_member(self, words: str) -> str | None:
        """As `find`, for what framing is made of."""
        return self.members.get(words) or self.find(words)

    def of_thickness(self, material: Material, thickness: float) -> Material:
        """The material for a sheet of that thickness, where sheets of one kind differ by thickness."""
        id_ = self.sized.get((material.id, thickness))
        if id_ is None or "membrane" not in material.flags:
            return material
        return self.material(id_)


def _plain_member(name: str) -> bool:
    """Whether a name speaks of framing members only (`2x4`, `wood furring strip`): those are read as
    framing, and a layer of members says what lies between them."""
    words = [w for w in name.split() if not _SIZE.fullmatch(w)]
    return all(w in _FRAMING_ONLY for w in words) and (
        len(words) < len(name.split()) or any(w in FRAMING_NOUNS for w in words)
    )


@cache
def library_lexicon() -> Lexicon:
    """The lexicon of the package's own materials."""
    materials = load_materials()
    return Lexicon(aliases(), lambda id_: materials[id_], lambda text: nearest_materials(text, 3))


__all__ = ["FRAMING_NOUNS", "Lexicon", "library_lexicon", "normalize"]
