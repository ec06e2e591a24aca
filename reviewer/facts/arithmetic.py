"""Calculations that are written as a person writes them and come out as written.

A `Term` is a number or a formula of numbers. It has an exact value, a text in which each number is
rounded, and the value that the rounded numbers give. `settle` finds the fewest digits with which the
text, worked out by hand, gives the printed result.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

_SUM, _PRODUCT, _POWER, _ATOM = 1, 2, 3, 4
_MOST_EXTRA = 9
_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


class Term:
    """A number, or numbers joined by operations. `+ - * / **` work between terms and plain numbers; plain
    numbers stand as they are.

    >>> t = number(20.0, 1) - (number(20.0, 1) - number(-13.24, 1)) * number(1.0631, 3) / 4.5
    >>> t.text(0), round(t.rounded(0), 3), round(t.exact, 3)
    ('20.0 − (20.0 − (−13.2))·1.063/4.5', 12.157, 12.147)
    """

    __slots__ = ("_text", "_value", "exact", "rank")

    def __init__(self, text: Callable[[int], str], value: Callable[[int], float], exact: float, rank: int):
        self._text, self._value, self.exact, self.rank = text, value, exact, rank

    def text(self, extra: int) -> str:
        """As written, with `extra` digits more than asked for in each number."""
        return self._text(extra)

    def rounded(self, extra: int) -> float:
        """What `text(extra)` comes to."""
        return self._value(extra)

    def __add__(self, other: Term | float) -> Term:
        return _joined(self, _term(other), " + ", lambda a, b: a + b, _SUM)

    def __radd__(self, other: float) -> Term:
        return _term(other) + self

    def __sub__(self, other: Term | float) -> Term:
        return _joined(self, _term(other), " − ", lambda a, b: a - b, _SUM)

    def __rsub__(self, other: float) -> Term:
        return _term(other) - self

    def __mul__(self, other: Term | float) -> Term:
        return _joined(self, _term(other), "·", lambda a, b: a * b, _PRODUCT)

    def __rmul__(self, other: float) -> Term:
        return _term(other) * self

    def __truediv__(self, other: Term | float) -> Term:
        return _joined(self, _term(other), "/", lambda a, b: a / b, _PRODUCT)

    def __rtruediv__(self, other: float) -> Term:
        return _term(other) / self

    def __pow__(self, other: Term | float) -> Term:
        return _joined(self, _term(other), "^", lambda a, b: a**b, _POWER)


def number(value: float, places: int, power: int = 0) -> Term:
    """`value` with `places` decimals, or as a multiple of 10^`power`.

    >>> number(57.2135e-12, 2, -12).text(0), number(0.5, 3).text(0), number(-4.0, 1).text(1)
    ('57.21·10⁻¹²', '0.500', '−4.0')
    """
    value = float(value)
    scale = 10.0**power

    def text(extra: int) -> str:
        shown = fixed(value / scale, places + extra)
        # Further digits are shown where they say something.
        end = len(shown) - extra
        shown = (shown[:end] + shown[end:].rstrip("0")).rstrip(".") if extra else shown
        return shown + (raised(power) if power else "")

    def rounded(extra: int) -> float:
        return float(f"{value / scale:.{places + extra}f}") * scale

    rank = _SUM if value < 0 else _PRODUCT if power else _ATOM
    return Term(text, rounded, value, rank)


def figures(value: float, digits: int, power: int = 0) -> Term:
    """`value` with `digits` significant figures, or so as a multiple of 10^`power`.

    >>> figures(1234.5, 3).text(0), figures(0.012345, 3).text(0), figures(5.7213e-11, 3, -12).text(0)
    ('1234', '0.0123', '57.2·10⁻¹²')
    """
    return number(value, places_of(value / 10.0**power, digits), power)


def places_of(value: float, digits: int) -> int:
    """Decimals that show `digits` significant figures of `value`.

    >>> places_of(1234.5, 3), places_of(0.0123, 3), places_of(0.0, 3)
    (0, 4, 2)
    """
    return max(0, digits - 1 - (math.floor(math.log10(abs(value))) if value else 0))


def constant(text: str) -> Term:
    """A constant of the equation, written as in its source.

    >>> constant("0.00267").exact
    0.00267
    """
    value = float(text)
    return Term(lambda _: text.replace("-", "−"), lambda _: value, value, _SUM if value < 0 else _ATOM)


def power_of_ten(digits: str, power: int) -> Term:
    """A constant with a power of ten.

    >>> power_of_ten("5.670374", -8).text(0)
    '5.670374·10⁻⁸'
    """
    value = float(f"{digits}e{power}")
    return Term(lambda _: digits + raised(power), lambda _: value, value, _PRODUCT)


def exp(t: Term) -> Term:
    return _called("exp", math.exp, t)


def cos(t: Term) -> Term:
    """Of an angle in radians."""
    return _called("cos", math.cos, t)


def ln(t: Term) -> Term:
    return _called("ln", math.log, t)


def greatest(*terms: Term | float) -> Term:
    """
    >>> greatest(number(0.5, 1), 0).text(0)
    'max(0.5, 0)'
    """
    return _called("max", max, *(_term(t) for t in terms))


def least(*terms: Term | float) -> Term:
    return _called("min", min, *(_term(t) for t in terms))


def total(terms: list[Term]) -> Term:
    """The sum of one term or more, in order."""
    out = terms[0]
    for t in terms[1:]:
        out = out + t
    return out


class Settled(NamedTuple):
    """A calculation as printed."""

    put_in: str
    result: str


def settle(term: Term, places: int, power: int = 0) -> Settled:
    """The calculation with as few digits as give the result, to `places` decimals, when worked out from them.

    >>> settle(number(0.0889, 4) / number(0.0391, 3), 3)
    Settled(put_in='0.0889/0.0391', result='2.274')
    """
    scale = 10.0**power
    wanted = fixed(term.exact / scale, places)
    extra = next(
        (n for n in range(_MOST_EXTRA) if fixed(term.rounded(n) / scale, places) == wanted), _MOST_EXTRA
    )
    return Settled(term.text(extra), wanted + (raised(power) if power else ""))


def fixed(value: float, places: int) -> str:
    """With `places` decimals, a minus that is a minus, and no negative zero.

    >>> fixed(-0.004, 2), fixed(-1.5, 1)
    ('0.00', '−1.5')
    """
    text = f"{value:.{places}f}"
    return text[1:] if text.startswith("-") and float(text) == 0 else text.replace("-", "−")


def raised(power: int) -> str:
    """
    >>> raised(-12)
    '·10⁻¹²'
    """
    return "·10" + str(power).translate(_RAISED)


def _term(x: Term | float) -> Term:
    return x if isinstance(x, Term) else constant(f"{x:g}")


def _called(name: str, f: Callable[..., float], *terms: Term) -> Term:
    return Term(
        lambda n: f"{name}({', '.join(t.text(n) for t in terms)})",
        lambda n: f(*(t.rounded(n) for t in terms)),
        f(*(t.exact for t in terms)),
        _ATOM,
    )


def _joined(a: Term, b: Term, sign: str, f: Callable[[float, float], float], rank: int) -> Term:
    def text(n: int) -> str:
        left, right = a.text(n), b.text(n)
        if a.rank < rank or (sign == "^" and a.rank == rank):
            left = f"({left})"
        tight = sign in (" − ", "/", "^")
        if b.rank < rank or (b.rank == rank and (tight or right.startswith("−"))):
            right = f"({right})"
        return left + sign + right

    return Term(text, lambda n: f(a.rounded(n), b.rounded(n)), f(a.exact, b.exact), rank)
