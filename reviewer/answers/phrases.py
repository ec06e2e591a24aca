"""Words of answers: small functions from values to phrases, the same wherever an answer needs them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from reviewer.names import shown_name
from reviewer.units import show

if TYPE_CHECKING:
    from reviewer.answers.compute import Judged, Point
    from reviewer.result import Result

_KEEPS_CAPITAL = re.compile(r"(?:[A-Z][A-Z0-9-]|Class I|IRC|IBC|NBC|ISO|R-\d|U )")


def decapitalized(text: str) -> str:
    """A sentence as the second half of another.

    >>> decapitalized("Plywood gets wet"), decapitalized("IRC 2021 asks for more"), decapitalized("Class I inside")
    ('plywood gets wet', 'IRC 2021 asks for more', 'Class I inside')
    """
    return text if _KEEPS_CAPITAL.match(text) else text[:1].lower() + text[1:]


def capitalized(text: str) -> str:
    return text[:1].upper() + text[1:]


def stopped(text: str) -> str:
    """With a stop at its end.

    >>> stopped("It dries"), stopped("Does it?")
    ('It dries.', 'Does it?')
    """
    return text if text.endswith((".", "?", "!")) else f"{text}."


def joined(items: Sequence[str], last: str = "and") -> str:
    """
    >>> joined(["a", "b", "c"]), joined(["a", "b"], "or")
    ('a, b and c', 'a or b')
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


_MASS = (
    "proofing",
    "insulation",
    "foam",
    "cellulose",
    "paint",
    "stucco",
    "siding",
    "paper",
    "felt",
    "wool",
    "glass",
    "sheathing",
    "ventilation",
)
_PLURAL = ("tiles", "shingles", "batts", "boards", "bricks", "panels", "blocks")


def the(name: str) -> str:
    """
    >>> the("polyethylene sheet"), the("the gap"), the("epdm membrane")
    ('the polyethylene sheet', 'the gap', 'the EPDM membrane')
    """
    name = shown_name(name)
    return name if name == "it" or name.startswith(("the ", "a ", "an ")) else f"the {name}"


def a(name: str) -> str:
    """A thing with its indefinite article, or none where it is counted by mass.

    >>> a("polyethylene sheet"), a("open-cell spray foam"), a("oriented strand board"), a("EPDM membrane")
    ('a polyethylene sheet', 'open-cell spray foam', 'an oriented strand board', 'an EPDM membrane')
    """
    name = shown_name(name)
    if name == "it" or name.endswith((*_MASS, *_PLURAL)) or name.startswith(("a ", "an ", "the ")):
        return name
    return f"an {name}" if name[:1].lower() in "aeiou" or re.match(r"[FLMNRSX][A-Z]", name) else f"a {name}"


def bare(name: str) -> str:
    """A thing without an article.

    >>> bare("the gap")
    'gap'
    """
    return re.sub(r"^(?:the|an?) ", "", shown_name(name))


def place(j: Judged) -> str:
    """`in Duluth, MN (zone 7)`, or empty."""
    if not j.place:
        return ""
    return f"in {j.place}" + (f" (zone {j.zone})" if j.zone else "")


def spoken(kind: str, where: str) -> str:
    """`this wall in Duluth, MN (zone 7)`."""
    return f"this {kind}" + (f" {where}" if where else "")


def told(p: Point | None) -> str:
    """A finding as half a sentence, with its deciding numbers."""
    if p is None:
        return "nothing is found against it"
    text = decapitalized(p.says).rstrip(".")
    return f"{text} ({p.margin})" if p.margin and p.margin not in p.says else text


def titled(p: Point | None) -> str:
    return "nothing is found against it" if p is None else decapitalized(p.says).rstrip(".")


DISPOSITIONS = {
    "no exceptions taken": "no exceptions taken",
    "make corrections noted": "passes with corrections",
    "revise and resubmit": "does not pass",
    "incomplete": "too little is known",
}


def margins(r: Result) -> list[str]:
    """How far a section is from trouble, in numbers, the most telling first."""
    c, out = r.calculations, []
    wood = [(max(w["monthly"]), w["name"]) for w in c.get("wood_moisture", [])]
    if wood:
        most, name = max(wood)
        out.append(f"the wettest wood, {shown_name(name)}, reaches {show(most, 'wood moisture', r.units)}")
    d = c.get("drying")
    if d:
        if not d["condenses"]:
            out.append("no condensation at monthly means")
        else:
            dries = "dries within the year" if d["dries_within_year"] else "does not dry within the year"
            out.append(f"at most {show(d['peak'], 'area density', r.units)} of condensate, which {dries}")
    if "share_outboard" in c and "share_needed" in c:
        out.append(
            f"{c['share_outboard'] * 100:.0f} % of the resistance lies outboard of the coldest plane that can "
            f"get wet, {c['share_needed'] * 100:.0f} % would keep it above the room's dew point"
        )
    if "u_value" in c:
        out.append(
            f"U {show(c['u_value'], 'thermal transmittance', r.units)} "
            f"({show(c['r_value'], 'thermal resistance', r.units)} with framing)"
        )
    return out


def change(c: Mapping[str, Any], names: Sequence[str]) -> str:
    """A change of a section in words; `names` are those of its layers.

    >>> change({"replace": 0, "with": "vapor retarder paint"}, ["latex paint"])
    'put vapor retarder paint in place of the latex paint'
    >>> change({"insert": "house wrap, taped", "outside of": 0}, ["plywood"])
    'put house wrap, taped outside of the plywood'
    """
    if "ground cover" in c:
        rest = ", ".join(f"{v} at the {k}" for k, v in c.items() if k not in ("set", "ground cover"))
        return f"cover the soil with {c['ground cover']!s}" + (f", with {rest}" if rest else "")
    if "remove" in c:
        return f"leave out {the(names[int(c['remove'])])}"
    if "replace" in c:
        return f"put {shown_name(str(c['with']))} in place of {the(names[int(c['replace'])])}"
    if "insert" in c:
        side = "inside of" if "inside of" in c else "outside of"
        return f"put {shown_name(str(c['insert']))} {side} {the(names[int(c[side])])}"
    what = the(names[int(c["set"])]) if isinstance(c["set"], int) else f"the {c['set']}"
    return f"have {what} " + ", ".join(
        f"{v}" if k in ("joints", "vents") else f"with {k} {v}" for k, v in c.items() if k != "set"
    )


def spanned(zones: Sequence[str], order: Sequence[str]) -> str:
    """Zones in a row, runs drawn together.

    >>> spanned(["1A", "2A", "3A", "6A"], ["1A", "2A", "3A", "4A", "5A", "6A"])
    'zones 1A to 3A and 6A'
    >>> spanned(["7"], ["6A", "7", "8"])
    'zone 7'
    """
    runs: list[list[str]] = []
    for n, z in enumerate(order):
        if z not in zones:
            continue
        if runs and n and order[n - 1] == runs[-1][-1]:
            runs[-1].append(z)
        else:
            runs.append([z])
    parts = [
        r[0] if len(r) == 1 else f"{r[0]} and {r[1]}" if len(r) == 2 else f"{r[0]} to {r[-1]}" for r in runs
    ]
    count = sum(len(r) for r in runs)
    return ("zone " if count == 1 else "zones ") + joined(parts)
