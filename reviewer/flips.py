"""The facts whose change flips the verdict soonest. Frozen values."""

from __future__ import annotations

from typing import Literal

from reviewer.values import Disposition, Value


class Flip(Value):
    subject: str
    """`layer 3, mineral wool board: thickness`; `indoor humidity in the coldest month`."""
    layer: int | None
    quantity: str
    dimension: str
    """Empty for a statement in words."""
    now: float | str
    """SI."""
    origin: Literal["given", "looked up", "computed", "concluded", "assumed"]
    """Where the value now comes from."""
    holds_to: float | str
    """The last value found at which the verdict is what it is."""
    flips_at: float | str
    """The first value found at which it is another."""
    change: float
    """Relative: 0.25 is a quarter more, −0.5 half. Of a temperature: of the difference between room and outdoors
    in the coldest month."""
    steps: int
    """For a statement in words: how many steps along its scale; 0 for a number."""
    before: Disposition
    to: Disposition
    because: str
    """The finding that appears or goes."""


class Flips(Value):
    disposition: Disposition
    flips: list[Flip]
    """The nearest first, at most three."""
    tried: list[str]
    """Every fact that was varied."""
    reach: str
    """How far: `from an eighth to eight times the value`."""
    reviewed: int
    """Reviews run."""
    summary: str


def much(change: float) -> str:
    """A relative change for people.

    >>> much(0.25), much(-0.0016)
    ('25 % more', '0.2 % less')
    """
    size = abs(change) * 100
    return f"{f'{size:.1f}' if size < 1 else f'{size:.0f}'} % {'more' if change > 0 else 'less'}"
