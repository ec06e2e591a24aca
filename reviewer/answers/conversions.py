"""`What is 60 ng in perms?`: one figure in the other system's unit."""

from __future__ import annotations

import re

from reviewer.units import UnitError, parse, show

_UNITS = {
    "perm": ("permeance", "ip"), "perms": ("permeance", "ip"), "us perm": ("permeance", "ip"), "us perms": ("permeance", "ip"),
    "ng": ("permeance", "si"), "nanogram": ("permeance", "si"), "nanograms": ("permeance", "si"), "metric perms": ("permeance", "si"),
    "rsi": ("thermal resistance", "si"), "r": ("thermal resistance", "ip"), "r value": ("thermal resistance", "ip"),
    "r-value": ("thermal resistance", "ip"), "r values": ("thermal resistance", "ip"), "r-values": ("thermal resistance", "ip"),
}  # fmt: skip
_CONCEPTS = {"permeance": "perm", "thermal resistance": "r-value"}
_NAMED = "|".join(sorted(map(re.escape, _UNITS), key=len, reverse=True))
_TARGET = re.compile(
    rf"\b(?:in|into|to|as|how many|how much)\s+(?:the\s+|your\s+|our\s+|old\s+)*(?P<unit>{_NAMED})(?![\w-]| ?\d)"
)
_ASKS = re.compile(
    r"\b(?:what|what's|whats|how many|how much|convert|translate|equals?|equivalent|is that|which is)\b"
)
_QUANTITY = re.compile(
    r"(?P<ng>\d[\d.,]*\s*(?:ng|nanograms?)(?:\s*/\s*\(?[a-z²2\s·*.]*\)?)?)(?![a-z])"
    r"|(?P<perm>\d[\d.,]*\s*(?:us\s+)?perms?)\b|(?P<sd>\bsd\s*(?:of|=|:)?\s*\d[\d.]*\s*m)\b"
    r"|(?P<rsi>\brsi[\s=-]*\d[\d.]*)|(?P<r>\br[\s=-]*\d[\d.]*)"
)


def asked(text: str, start: int, end: int) -> tuple[str, str] | None:
    """The quantity to convert and the unit that is asked for, where the sentence from `start` to `end` asks for that; the
    quantity may stand in the text before it."""
    low = text.lower()
    target = _TARGET.search(low, start, end)
    if target is None or not _ASKS.search(low, start, end):
        return None
    dimension, system = _UNITS[target["unit"]]
    told = [
        m for m in _QUANTITY.finditer(low, 0, end) if not target.start("unit") <= m.start() < target.end()
    ]
    own = [m for m in told if m.start() >= start]
    for m in reversed(own or told):
        quantity = _plain(m)
        try:
            parse(quantity, dimension)
        except UnitError:
            continue
        same = ("ip" if m["perm"] or m["r"] else "si") == system
        return None if same else (quantity, target["unit"])
    return None


def _plain(m: re.Match[str]) -> str:
    """The quantity as the units' parser takes it."""
    figure = re.search(r"\d[\d.,]*", m[0])
    assert figure is not None
    number = figure[0].rstrip(".,").replace(",", "")
    for name, form in (
        ("ng", "{} ng"),
        ("perm", "{} perm"),
        ("sd", "sd {} m"),
        ("rsi", "RSI-{}"),
        ("r", "R-{}"),
    ):
        if m[name]:
            return form.format(number)
    return m[0]


def converted(quantity: str, unit: str) -> tuple[str, str]:
    """The sentence that converts, and the id of the concept behind it."""
    dimension, system = _UNITS[unit]
    value = parse(quantity, dimension).low
    other = "si" if system == "ip" else "ip"
    before = quantity if quantity.startswith("sd") else show(value, dimension, other)
    return f"{before} is {show(value, dimension, system)}.", _CONCEPTS[dimension]
