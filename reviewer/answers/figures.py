"""Which figure of a section a question asks for."""

from __future__ import annotations

import re

COLD, WATER, DAMP, DEW_POINT = "temperature", "condensation", "moisture content", "dew point"
_ASKS = {
    COLD: re.compile(
        r"\bhow (?:cold|warm)\b(?=[^?.!]*\b(?:get|gets|be|run|runs|reach|reaches|is|will|would|does)\b)"
        r"|\bwhat(?:'s|s)?(?: is| will| would)?(?: the)? temp(?:erature)?s?\b(?=[^?.!]*\b(?:of|at|get|gets|be|run|runs|reach|reaches|does|do|see|sees|fall|drop)\b)"
    ),
    WATER: re.compile(
        r"\bhow much(?: \w+)? (?:condensation|condensate|condenses?|condensing|frost)\b"
        r"|\bhow much (?:water|moisture) (?:condenses|collects|accumulates|will condense|would condense)\b"
    ),
    DAMP: re.compile(
        r"\bhow (?:wet|damp)\b(?=[^?.!]*\b(?:get|gets|be|become|becomes|reach|will|would|does)\b)"
        r"|\bwhat (?:moisture content|mc|percent mc)\b(?=[^?.!]*\b(?:get|gets|be|reach|reaches|will|would|does|see|expect)\b)"
    ),
    DEW_POINT: re.compile(r"\bwhere(?:'s|s)?(?: is| will| would| does)?(?: the| my| our)? dew ?point\b"),
}
_WANTED = re.compile(
    r"\b(?:should|keep|set|need|needs|needed|mold|mould|to prevent|to avoid|recommend\w*|freezer|cooler)\b"
)
"""Words of what is to be, and of rooms that are kept at what is asked."""


def asked(text: str) -> str:
    """The figure; empty where none is asked for.

    >>> asked("What temp does the sheathing get down to?"), asked("How much condensation would I get?")
    ('temperature', 'condensation')
    >>> asked("At what temp should I keep the room?")
    ''
    """
    low = text.lower()
    if _WANTED.search(low):
        return ""
    return next((what for what, pattern in _ASKS.items() if pattern.search(low)), "")
