"""Markup with one way in for text: whatever is not `Markup` already is escaped.

HTML and SVG are built with `el`, so that a name, a note or a title from a section file can't become an element,
an attribute or an instruction to the reader's terminal or screen.
"""

from __future__ import annotations

from collections.abc import Iterable

from reviewer.report.words import bound, clean


class Markup(str):
    """Text that is HTML or SVG already."""

    __slots__ = ()


_ESCAPES = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"})
_VOID = frozenset({"meta", "input", "br", "hr"})
_SHAPES = frozenset({"rect", "path", "circle"})
"""SVG elements without content, closed in themselves."""

Child = str | int | None


def escape(text: object) -> Markup:
    """A text of anybody's, harmless as content and inside an attribute: control and bidirectional characters gone,
    white space closed up to single spaces, the five signs of markup escaped.

    >>> escape('<b onclick="x">\\u202eevil\\x1b[31m</b> & co ')
    '&lt;b onclick=&quot;x&quot;&gt; evil [31m&lt;/b&gt; &amp; co '
    """
    text = str(text)
    inner = clean(text)
    if not inner:
        return Markup(" " if text.isspace() else "")
    before, after = " " * text[0].isspace(), " " * text[-1].isspace()
    return Markup(f"{before}{inner}{after}".translate(_ESCAPES))


def el(name: str, /, *children: Child, **attributes: str | float | bool | None) -> Markup:
    """An element. `class_` is written `class`, `stroke_width` is written `stroke-width`; an attribute that is None
    or False is left out, one that is True stands alone. Children that are not markup are escaped.

    >>> el("a", "x < y", href="#n", class_="b")
    '<a href="#n" class="b">x &lt; y</a>'
    """
    if attributes:
        head = "".join(
            f" {key.rstrip('_').replace('_', '-')}" + ("" if value is True else f'="{_attribute(value)}"')
            for key, value in attributes.items()
            if value is not None and value is not False
        )
    else:
        head = ""
    if name in _VOID:
        return Markup(f"<{name}{head}>")
    if name in _SHAPES:
        return Markup(f"<{name}{head}/>")
    inner = "".join(c if isinstance(c, Markup) else escape(c) for c in children if c is not None and c != "")
    return Markup(f"<{name}{head}>{inner}</{name}>")


def _attribute(value: str | float) -> str:
    if isinstance(value, str):
        return escape(value)
    return figures(value)


def figures(value: float, places: int = 2) -> str:
    """A coordinate: two decimals at most, the same on every platform.

    >>> figures(12.0), figures(0.126), figures(-0.001)
    ('12', '0.13', '0')
    """
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def join(parts: Iterable[Child], between: Child = "") -> Markup:
    """Pieces one after the other; those that are not markup are escaped, as is `between`.

    >>> join(["a < b", el("b", "c")], ", ")
    'a &lt; b, <b>c</b>'
    """
    return Markup(_safe(between).join(_safe(p) for p in parts if p is not None and p != ""))


def _safe(part: Child) -> str:
    return part if isinstance(part, Markup) else escape(part)


def prose(text: str) -> Markup:
    """Sentences of anybody's, escaped, with each number bound to its unit.

    >>> prose("at 34 °F & below")
    'at 34\\xa0°F &amp; below'
    """
    return Markup(bound(text).translate(_ESCAPES))


def preformatted(text: str) -> Markup:
    """A text whose lines and indents are kept, such as a file's; other control characters become spaces.

    >>> preformatted("a:\\n  - <b>\\x1b")
    'a:\\n  - &lt;b&gt; '
    """
    lines = ("".join(c if c.isprintable() else " " for c in line) for line in text.splitlines())
    return Markup("\n".join(lines).translate(_ESCAPES))
