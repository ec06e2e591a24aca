"""The colors of drawings and charts, by what they stand for, on light and on dark paper.

Drawings carry the light colors as attributes, so that they look right wherever an SVG is shown; where a style sheet
is heard, `dark_rules` lays the dark ones over them. Nothing is told by color alone: hatches, dashes, marks and words
say the same.
"""

from __future__ import annotations

from typing import Final

PAPER: Final = ("#fffdf8", "#171a1f")
"""What drawings stand on: light, dark."""

INKS: Final[dict[str, tuple[str, str, str]]] = {
    # what it stands for: (property, light, dark)
    "word": ("fill", "#22262e", "#ece9e2"),
    "aside": ("fill", "#565d6b", "#b3b8c2"),
    "edge": ("stroke", "#3a404c", "#c9ccd3"),
    "rule": ("stroke", "#d9d5c9", "#3a3f48"),
    "paper": ("fill", PAPER[0], PAPER[1]),
    "mark": ("fill", "#22262e", "#ece9e2"),
    "on-mark": ("fill", "#fffdf8", "#171a1f"),
    "warmth": ("stroke", "#b4431f", "#ff9f7a"),
    "warmth-band": ("fill", "#f3d3c4", "#52301f"),
    "vapor": ("stroke", "#1a5fa8", "#82bcff"),
    "saturation": ("stroke", "#6a3d9a", "#cba6f7"),
    "water": ("stroke", "#0b5d78", "#63d2f0"),
    "water-body": ("fill", "#0b5d78", "#63d2f0"),
    "water-tint": ("fill", "#bfe3ee", "#12414f"),
    "drying": ("fill", "#c9a227", "#e8c65a"),
    "limit": ("stroke", "#a3261d", "#ff9a8d"),
    "limit-word": ("fill", "#a3261d", "#ff9a8d"),
    "band": ("fill", "#f3efe3", "#20242b"),
    "line-1": ("stroke", "#1a5fa8", "#82bcff"),
    "line-2": ("stroke", "#b4431f", "#ff9f7a"),
    "line-3": ("stroke", "#3d6b1f", "#a5d28a"),
    "line-4": ("stroke", "#6a3d9a", "#cba6f7"),
    "line-5": ("stroke", "#7a5c00", "#e8c65a"),
    "line-6": ("stroke", "#22262e", "#ece9e2"),
    # Grounds and hatches of the materials.
    "ground-pale": ("fill", "#f4f1ea", "#2a2d33"),
    "ground-warm": ("fill", "#f0e0c8", "#43341f"),
    "ground-wood": ("fill", "#e6cfa8", "#4a3a22"),
    "ground-cool": ("fill", "#dfe8ee", "#26323b"),
    "ground-soft": ("fill", "#fbeecb", "#40381f"),
    "ground-foam": ("fill", "#e3ecd9", "#2b3626"),
    "ground-brick": ("fill", "#edcfc2", "#4b2c22"),
    "ground-stone": ("fill", "#dddad3", "#383836"),
    "ground-dark": ("fill", "#c9c5bd", "#4a4a48"),
    "ground-earth": ("fill", "#d9cab2", "#3c3323"),
    "ground-open": ("fill", "#ffffff", "#101317"),
    "hatch": ("stroke", "#6b6455", "#a9a496"),
    "speck": ("fill", "#6b6455", "#a9a496"),
}


def ink(name: str, also: str = "") -> dict[str, str]:
    """Attributes that color an element: its class, and the light color as an attribute of its own.

    >>> ink("warmth")
    {'class_': 'warmth', 'stroke': '#b4431f'}
    """
    what, light, _ = INKS[name]
    return {"class_": f"{name} {also}".rstrip(), what: light}


def dark_rules(within: str = "") -> str:
    """The dark colors as rules of a style sheet; `within` is a selector that goes before each."""
    return "".join(f"{within}.{name}{{{what}:{dark}}}" for name, (what, _, dark) in INKS.items())
