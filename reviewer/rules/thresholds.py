"""The thresholds of a rule: where they stand, how near counts as "just beside", what was tried there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from reviewer.engine.types import Fact
from reviewer.facts.vocabulary import KINDS
from reviewer.rules.compile import ROUNDING
from reviewer.rules.language import Rule
from reviewer.rules.values import WHOLE, Comparison

ORDERED = ("<", "<=", ">", ">=")

NEAR = 0.10
"""Relative distance within which a value is just beside a threshold."""
_STEPS = {
    "index": 1.0,
    "count": 1.0,
    "temperature": 1.0,
    "temperature difference": 1.0,
    "relative humidity": 0.02,
    "fraction": 0.02,
    "wood moisture": 0.01,
}
"""Dimensions in which a step has a size of its own: zero is no natural origin, or values are whole."""
_AT_ZERO = {
    "area density": 0.01,
    "pressure": 10.0,
    "vapor pressure": 10.0,
    "ratio": 0.05,
    "length": 0.005,
    "thermal resistance": 0.1,
}
"""The step beside a threshold of zero, SI."""


@dataclass(frozen=True, slots=True)
class Threshold:
    """One ordered comparison with a constant."""

    rule: str
    condition: int
    """Counted as `Rule.conditions` does."""
    test: int
    part: int
    comparison: int
    kind: str
    field: str
    dimension: str
    op: str
    value: float
    text: str
    """The constant as written."""

    @property
    def step(self) -> float:
        """How far "just beside" reaches."""
        if self.dimension in _STEPS:
            return _STEPS[self.dimension]
        return abs(self.value) * NEAR or _AT_ZERO.get(self.dimension, 1e-12)

    def holds(self, value: float) -> bool:
        """Whether a value passes, with the rounding that compiled rules allow."""
        slack = 0.0 if self.dimension in WHOLE else ROUNDING * abs(self.value)
        match self.op:
            case "<":
                return value < self.value - slack
            case "<=":
                return value <= self.value + slack
            case ">":
                return value > self.value + slack
            case _:
                return value >= self.value - slack


def thresholds_of(rule: Rule) -> Iterator[Threshold]:
    """Every threshold of a rule, in the order of the text."""
    for n, condition in enumerate(rule.conditions()):
        for t, test in enumerate(condition.tests):
            dimension = KINDS[condition.kind].fields[test.field].dimension
            for p, part in enumerate(test.alternatives):
                for c, comparison in enumerate(part):
                    if is_threshold(comparison):
                        assert isinstance(comparison.operand, float)
                        yield Threshold(
                            rule.id,
                            n,
                            t,
                            p,
                            c,
                            condition.kind,
                            test.field,
                            dimension,
                            comparison.op,
                            comparison.operand,
                            comparison.text,
                        )


def is_threshold(comparison: Comparison) -> bool:
    return comparison.op in ORDERED and isinstance(comparison.operand, float)


@dataclass(frozen=True, slots=True)
class Sides:
    """The values nearest to a threshold among some facts; None where no fact lies on that side."""

    threshold: Threshold
    passing: float | None
    failing: float | None

    def near(self, value: float | None) -> bool:
        t = self.threshold
        return value is not None and abs(value - t.value) <= t.step * (1 + ROUNDING)

    @property
    def both(self) -> bool:
        """Values on both sides, however far."""
        return self.passing is not None and self.failing is not None

    @property
    def both_near(self) -> bool:
        """Values just on either side."""
        return self.near(self.passing) and self.near(self.failing)


def sides_of(threshold: Threshold, facts: Iterable[Fact]) -> Sides:
    """The nearest values of the threshold's field on either side, among facts of its kind."""
    passing: float | None = None
    failing: float | None = None
    for fact in facts:
        value = fact.fields.get(threshold.field) if fact.kind == threshold.kind else None
        if not isinstance(value, (float, int)):
            continue
        distance = abs(value - threshold.value)
        if threshold.holds(value):
            if passing is None or distance < abs(passing - threshold.value):
                passing = float(value)
        elif failing is None or distance < abs(failing - threshold.value):
            failing = float(value)
    return Sides(threshold, passing, failing)
