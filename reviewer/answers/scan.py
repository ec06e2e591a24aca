"""A text to what its words say: quantities, framing, places, materials and the words between them.

What is read is covered, so that nothing is read twice: first numbers with their units, then places, then the
longest phrases of the lexicon. A word that nobody knows is compared with the trade's words for a misspelling.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from reviewer.answers.lexicon import Entry, Lexicon, asking_words, lexicon, near_words, normal
from reviewer.answers.places import Spot, find_spots
from reviewer.library.materials import load_materials
from reviewer.model import wording

_SELDOM = 8
"""How many times oftener a trade word must occur to be meant before another."""
SURELY = 0.75
"""Below this a misspelling is not taken for the nearest trade word."""


@dataclass(slots=True)
class Lexeme:
    """A word or group of words, and what it was taken for."""

    start: int
    end: int
    text: str
    sort: str
    """A sort of `lexicon.Entry`, or `R`, `length`, `perm`, `size`, `spacing`, `humidity`, `temperature`, `year`,
    `code`, `stories`, `place`, `number`, `word` (ordinary), `unknown`, `break`."""
    value: str
    reads: str
    confidence: float = 1.0
    others: tuple[Entry, ...] = ()
    spot: Spot | None = None
    read: bool = field(default=False)
    """Whether something used it."""


_N = wording.N
_SPELLED = {"a": "1", "an": "1", "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6",
            "seven": "7", "eight": "8", "nine": "9", "ten": "10", "twelve": "12"}  # fmt: skip
_SPELLED_N = "|".join(sorted(_SPELLED, key=len, reverse=True))
_PATTERNS: tuple[tuple[str, re.Pattern[str]], ...] = (
    ("code", re.compile(r"\b(?:(?P<c1>irc|ibc|iecc|nbc)[ -]?(?P<y1>20[0-3]\d)|(?P<y2>20[0-3]\d)[ -](?P<c2>irc|ibc|iecc|nbc))\b")),
    ("R plus", re.compile(r"(?<![\w.])r?[ -]?(?P<a>\d{1,2})\s?\+\s?r?-?(?P<b>\d{1,2}(?:\.\d+)?)(?:[ -]?(?P<ci>ci|continuous)\b)?(?![\w/]|\s?(?:\"|''|in\b|inch|mm\b|cm\b))")),
    ("R ci", re.compile(rf"\br[ -]?(?P<n>{_N})[ -]?(?:ci|c\.i\.|continuous(?: exterior)?(?: insulation)?)(?![\w])")),
    ("R per inch", wording.PER_INCH),
    ("R", re.compile(rf"\b(?P<kind>rsi|r)(?:[ -]?values?)?(?: of)?[ -]{{0,2}}(?P<n>{_N})(?:\s?(?:to|-)\s?r?-?(?P<high>\d+(?:\.\d+)?))?(?:'?s|c(?=\s+batt))?(?![\w/]|\.\d)")),
    ("board size", re.compile(r"(?<![\w./])\d{1,2}\s?['’]?\s?x\s?\d{1,2}\s?['’]?\s+(?:sheets?|panels?|sips?)\b")),
    ("size", re.compile(r"(?<![\w./])(?P<a>\d{1,2})(?:\s?x\s?|\s?-?by-?\s?)(?P<b>\d{1,3})(?:\s?mm\b)?(?:['’]?e?s)?(?![\w/]|\.\d)")),
    ("size", re.compile(r"\b(?P<aw>two)(?:\s|-)by(?:\s|-)(?P<bw>four|six|eight|ten|twelve)s?\b")),
    ("spacing", re.compile(rf"(?:@|\bat\b|\bspaced(?: at)?\b|\bevery\b)\s*(?P<n1>12|16|19\.2|24|400|600)(?:\s*(?P<u1>{wording.LENGTH_UNIT}))?(?:\s*{wording.OC})?(?![\w%/]|\.\d)"
                           rf"|{wording.START}(?P<n2>{_N})\s*-?(?P<u2>{wording.LENGTH_UNIT})?[\s-]*{wording.OC}")),
    ("steel", wording.STEEL_STUD),
    ("i joist", wording.I_JOIST),
    ("humidity", re.compile(r"(?:\brh\s*(?:is|of|at|around|about)?\s*)?(?P<n>\d{1,3})\s*(?:-|to)?\s*(?:\d{1,3})?\s*(?:%|percent)\s*(?:rh\b|relative humidity|humidity|r\.h\.|indoor humidity)|\b(?:humidity|rh)\s*(?:is|of|at|around|about|kept at|runs|=|stays at|near|inside|indoors|in winter)*\s*(?:about |around )?(?P<m>\d{1,3})\s*(?:%|percent)?(?![\w])")),
    ("vent share", re.compile(r"(?<![\w./])1\s?[/:]\s?(?P<n>150|300)(?![\w/]|\.\d|\s?(?:in\b|inch|mm\b|\"))")),
    ("share", re.compile(r"(?P<n>\d+(?:\.\d+)?)\s*(?:%|percent\b)")),
    ("temperature", re.compile(r"(?P<n>-?\d{1,3})\s*(?:°\s*f?|deg(?:rees?)?\.?\s*f?|f)\b")),
    ("air", re.compile(r"(?P<n>\d+(?:\.\d+)?)\s*ach\s*(?:50|@\s*50)?\b")),
    ("stories", re.compile(r"\b(?P<n>[1-9](?:\.5| 1/2|½)?|one|two|three|four|five)[ -]?(?:stor(?:y|ey|ies|eys)|floors high)\b")),
    ("year", re.compile(r"(?<![\w.$-])(?P<y>1[6-9]\d\d|20[0-2]\d)(?:['’]?s)?(?![\w%]|\.\d|\s?(?:sq|square|ft\b|feet|btu|hdd))")),
    ("age", re.compile(r"\b(?P<n>\d{2,3})[ -]?(?:years?|yrs?)[ -]?old\b")),
    ("permeance", re.compile(rf"(?P<n>{_N})[\s-]*(?:us )?perms?\b(?! (?:rating|value))")),
    ("item", re.compile(r"(?:(?<=^)|(?<=[\s(]))\(?(?:[1-9]|[a-d])[).](?=\s)")),
    ("length", re.compile(rf"\b(?P<h>half|quarter|three quarters?)(?: of)?(?: an?)?[ -]inch(?:es)?\b|\b(?:an? )?(?P<ui>inch|foot) and an? (?P<iq>half|quarter)\b|\b(?P<w>{_SPELLED_N})(?: and (?:a |one )?(?P<wh>half|quarter))?[ -](?:full )?(?P<wu>inch(?:es)?|in(?=\.|\s+(?:of|thick|[a-z]*(?:foam|board|xps|eps|iso|polyiso|gap)))\.?|mils?|feet|foot)\b(?! x)")),
    ("length", re.compile(r"(?P<i>\d+)\s+and\s+(?:a\s+)?(?P<f>half|quarter|\d/\d)\s*(?:-?\s?inch(?:es)?|in\.?|\")")),
    ("length", re.compile(rf"{wording.START}(?P<low>{_N})(?:(?:\s?{wording.LENGTH_UNIT})?\s*(?:\bto\b|\bor\b|-|–)\s*(?P<high>{_N}))?[\s-]{{0,2}}(?P<unit>{wording.LENGTH_UNIT})")),
    ("fraction", wording.BARE_FRACTION),
    ("mm", re.compile(r"(?<![\w./$-])(?P<n>(?:9\.5|11(?:\.\d)?|12(?:\.[57])?|15(?:\.[59])?|18(?:\.5)?|19(?:\.[05])?)(?=\s+(?:t&g\s+)?(?:ply|plywood|osb|gyp|gypsum|drywall|gwb|sheathing)\b)|0\.(?:10?|15|20?|25)(?=\s+(?:poly|polyethylene|pe|vapou?r)\b))")),
    ("coats", wording.COATS),
    ("layers", re.compile(r"\b(?P<n>two|double|three|triple|[1-4])[ -](?:layers?|sheets?|plies)\b(?! (?:of )?(?:grade|building|paper|mod|tar paper))(?: of\b)?")),
    ("gauge", wording.GAUGE),
    ("gauge", re.compile(r"(?<![\w./])[1-6]x(?=[\s-]+[a-z])")),
    ("gauge", wording.PLIES),
    ("gauge", re.compile(r"\b(?:[1-5]|one|two|three|four|five)[ -]ply(?=\s+(?:sbs|app|mod|modified|bur|built|torch|membrane|felt|roof|cap)\b)")),
    ("wythes", re.compile(r"\b(?P<n>single|double|triple|two|three|four|2|3|4)[ -]wythes?\b")),
    ("off", re.compile(rf"(?P<n>{_N})\s?(?P<u>{wording.LENGTH_UNIT})\s+(?:(?:off|away from|out from)(?=\s+(?:of\s+)?(?:the|my|our)\b)|off(?=\s*[,.;]))")),
    ("negation", re.compile(r"\bw/o\b|\bw\\o\b|\bwo/|\bn't\b")),
    ("with", re.compile(r"\bw/\s?|\bw\\\s?|(?<=\s)\+(?=\s)")),
    ("cooled", re.compile(r"\ba/c\b")),
    ("alternative", re.compile(r"(?<=[a-z])(?<!\bair)\s?/\s?(?=[a-z])|\bvs\.|\bv\.(?=\s)")),
    ("abbreviation", re.compile(r"\bb4\b|\b(?:e\.g\.|i\.e\.|etc\.|approx\.|incl\.)")),
)  # fmt: skip
_PRECHECK = re.compile(
    r"\d|[½¼¾⅛⅜⅝⅞⅓⅔#/@+]|inch|\bmils?\b|story|storey|feet|foot|coat|layer|percent|vs\.|joist|steel|metal|two|e\.g|i\.e|etc\."
)
_TOKEN = re.compile(
    r"#\d+|\d+(?:/\d+)?\s?(?:#|lbs?\b|pounds?\b)|[^\W\d_]+(?:[&'’.][^\W\d_]+)*|\d+(?:[.,/]\d+)*|[^\w\s]"
)
_JOINS = re.compile(
    r"(?:[\s\-'’\"()]|\.(?!\s)|(?<=\bext)\.|(?<=\bint)\.|(?<=\bmin)\.|(?<=\bmax)\.|(?<=\binsul)\.|(?<=\bgyp)\.)*|(?<=air)/"
)
_BY_WEIGHT = re.compile(r"\s?-?(?:lbs?\b|pounds?\b|#)")
_ENDS = re.compile(r"[?!;\n]+|\.(?=\s|$)|…|•")
_NOT_END = re.compile(
    r"(?:\b(?:ext|int|vs|approx|incl|o\.c|no|st|ft|mt|in|e\.g|i\.e|etc|min|max|insul|mr|mrs|dr)|\b[a-z])$"
)

_MEASURED = re.compile(r"\d\s?(?:in|ft|mm|cm|lb|o\.c|oz)$")
_CAPITALS = re.compile(r"\s*(?:[A-Z]{2,}\b|R-?\d)")


def sentences(text: str) -> list[tuple[int, int, str]]:
    """Start, end and closing mark (`?`, `.`, …) of each sentence."""
    found: list[tuple[int, int, str]] = []
    start = 0
    for m in _ENDS.finditer(text):
        if m[0] == ".":
            before = text[start : m.start()].casefold()
            following = text[m.end() :].lstrip()[:1]
            if _MEASURED.search(before) and _CAPITALS.match(text, m.end()):
                # `2 in. XPS`
                continue
            if (
                _NOT_END.search(before)
                and not following.isupper()
                and not re.search(r"(?<!\d)(?<!\d )\bin$", before)
            ):
                continue
            if re.search(r"\b(?:ext|int|vs|st|ft|mt|approx|e\.g|i\.e|mr|mrs|dr)$", before):
                continue
        if text[start : m.start()].strip():
            found.append((start, m.end(), "?" if "?" in m[0] else m[0][0]))
        elif found and "?" in m[0]:
            found[-1] = (found[-1][0], m.end(), "?")
        start = m.end()
    if text[start:].strip():
        found.append((start, len(text), ""))
    return found


_BETWEEN_LAYERS = re.compile(
    r"(?<![\d][ ])(?<!\bw)(?<!\ba)(?<!\bair)(?<!\bn)(?<=[a-z\d\"'.)])\s?/\s?(?=[a-z\d(])(?!\d+(?:\s|-|\"))(?!o\b)|(?<=\s)/(?=\s)"
)
_LISTED = 3
"""Slashes from which on they separate layers."""


def lowered(text: str) -> str:
    """In lower case, with one spelling of quotes, dashes and spaces; as long as the text."""
    low = text.lower()
    if len(low) != len(text):
        low = "".join(c.lower() if len(c.lower()) == 1 else c for c in text)
    low = low.translate(wording.ONE_FOR_ONE)
    slashes = list(_BETWEEN_LAYERS.finditer(low))
    if len(slashes) >= _LISTED:
        # `brick/gap/felt/OSB`: a list, not alternatives.
        for m in slashes:
            low = low[: m.start()] + low[m.start() : m.end()].replace("/", ",") + low[m.end() :]
    return low


def scan(text: str) -> list[Lexeme]:
    """Everything that a text says, in its order; spans do not overlap.

    >>> [(x.sort, x.reads) for x in scan("2x6 @ 24 with R-21 fiberglass in Duluth, MN") if x.sort != "word"]
    [('size', '2x6'), ('spacing', '24 in on center'), ('R', 'R-21'), ('material', 'glass fiber batt'), ('place', 'Duluth, MN')]
    """
    work = lowered(text)
    found: list[Lexeme] = []
    for spot in find_spots(text):
        found.append(
            Lexeme(spot.start, spot.end, text[spot.start : spot.end], "place", spot.place or spot.zone, spot.reads,
                   spot.confidence, spot=spot)
        )  # fmt: skip
        work = _covered(work, spot.start, spot.end)
    if _PRECHECK.search(work):
        for sort, pattern in _PATTERNS:
            for m in list(pattern.finditer(work)):
                lexeme = _quantity(sort, m, text)
                if lexeme is not None:
                    found.append(lexeme)
                    work = _covered(work, lexeme.start, lexeme.end)
    found += _phrases(work, text)
    return sorted(found, key=lambda x: x.start)


def _covered(work: str, start: int, end: int) -> str:
    return work[:start] + wording.MASK * (end - start) + work[end:]


def _figures(number: str) -> str:
    number = number.strip()
    for sign, figure in wording.FRACTIONS.items():
        number = number.replace(sign, f" {figure}")
    number = " ".join(number.split())
    return number.replace(" ", "-") if re.fullmatch(r"\d+ \d+/\d+", number) else number


_PARTS = {"half": "1/2", "quarter": "1/4", "three quarter": "3/4", "three quarters": "3/4"}


def _quantity(sort: str, m: re.Match[str], text: str) -> Lexeme | None:
    g = m.groupdict()
    value = reads = ""
    match sort:
        case "code":
            value = reads = f"{(g['c1'] or g['c2']).upper()} {g['y1'] or g['y2']}"
        case "R plus":
            value = f"R-{g['a']}|R-{g['b']}"
            reads = f"R-{g['a']} between the framing and R-{g['b']} continuous outside"
        case "R ci":
            value, reads, sort = f"R-{_figures(g['n'])}", f"R-{_figures(g['n'])} continuous", "R"
            return Lexeme(*m.span(), text[m.start() : m.end()], "R ci", value, reads)
        case "R per inch":
            value = reads = f"R-{_figures(g['n'])} per inch"
        case "R":
            kind = "RSI" if g["kind"] == "rsi" else "R"
            value = f"{kind}-{_figures(g['n'])}" + (f" to {kind}-{g['high']}" if g["high"] else "")
            reads = value
        case "size":
            words = {"two": 2, "four": 4, "six": 6, "eight": 8, "ten": 10, "twelve": 12}
            a, b = (words[g["aw"]], words[g["bw"]]) if "aw" in g else (int(g["a"]), int(g["b"]))
            if a in (19, 38, 64, 89) and b in (38, 64, 89, 114, 140, 184, 235, 286):
                value = reads = f"{a}x{b} mm"
            elif (a, b) in wording.LUMBER or (a == 1 and b in (2, 3, 4, 6, 8, 10)):
                value = reads = f"{a}x{b}"
            else:
                return None
        case "spacing":
            number, unit = (g["n1"], g["u1"]) if g["n1"] else (g["n2"], g["u2"])
            number = _figures(number)
            metric = not unit and number.isdigit() and int(number) >= 200
            value = f"{number} {_unit(unit) if unit else 'mm' if metric else 'in'}"
            reads = f"{value} on center"
        case "steel":
            number, unit = (g["n1"], g["u1"]) if g["n1"] else (g["n2"], g["u2"])
            value, sort = f"{_figures(number)} {_unit(unit) if unit else 'in'} steel studs", "steel"
            reads = value
        case "i joist":
            value = f"{_figures(g['n'])} in I-joists" if g["n"] else "11-7/8 in I-joists"
            reads = value
        case "humidity":
            value = f"{g['n'] or g['m']} %"
            if int(value[:-2]) > 100:
                return None
            reads = f"{value} relative humidity"
        case "wythes":
            count = {"single": 1, "double": 2, "triple": 3, "two": 2, "three": 3, "four": 4}.get(
                g["n"]
            ) or int(g["n"])
            value, reads, sort = f"{4 * count} in", f"{4 * count} in ({count} wythes)", "length"
        case "off":
            if _unit(g["u"]) == "ft":
                return None
            value = f"{_figures(g['n'])} {_unit(g['u'])} air space"
            reads, sort = value, "space"
        case "item":
            return Lexeme(*m.span(), text[m.start() : m.end()], "break", "", "")
        case "vent share":
            value, sort = f"vent area 1/{g['n']}", "building"
            reads = f"{value} of the ceiling"
        case "share" | "board size" | "coats" | "gauge" | "age" | "air":
            value = reads = m[0].strip()
        case "temperature":
            value, reads = f"{g['n']} F", f"{g['n']} °F"
        case "stories":
            value = _SPELLED.get(g["n"], g["n"])
            reads = f"{value} stories"
            if len(value) > 1:
                # A story and a half stands as high as two.
                value = str(int(value[0]) + 1)
        case "year":
            value, reads = g["y"], f"built {g['y']}"
        case "permeance":
            value = reads = f"{_figures(g['n'])} perm"
        case "length":
            value = _length(g)
            reads = value
        case "fraction" if _BY_WEIGHT.match(m.string, m.end()):
            # `1/2 lb foam` tells its density.
            return None
        case "fraction":
            value = reads = f"{_figures(m[0])} in"
            sort = "length"
        case "mm":
            # Canadian builders leave the unit out: `12.5 ply`, `0.15 poly`.
            value, sort = f"{g['n']} mm", "length"
            reads = value
        case "layers":
            value = reads = str(wording.COUNTS.get(g["n"]) or g["n"])
        case "negation":
            value, reads = "no", "without"
        case "with":
            return Lexeme(*m.span(), text[m.start() : m.end()], "word", "with", "")
        case "cooled":
            value, reads, sort = "cooled", "air-conditioned", "building"
        case "alternative":
            value, reads = "or", "or"
        case "abbreviation":
            return Lexeme(*m.span(), text[m.start() : m.end()], "word", "", "")
        case _:
            value = reads = m[0].strip()
    if not value:
        return None
    start, end = m.span()
    while end > start and text[end - 1].isspace():
        end -= 1
    return Lexeme(start, end, text[start:end], sort, value, reads)


def _unit(unit: str) -> str:
    unit = unit.strip(" .-")
    return {'"': "in", "''": "in", "inch": "in", "inches": "in", "'": "ft", "feet": "ft", "foot": "ft"}.get(
        unit, unit
    )


def _length(g: dict[str, str | None]) -> str:
    if g.get("h"):
        return f"{_PARTS[g['h'] or '']} in"
    if g.get("iq"):
        return f"1-{_PARTS[g['iq'] or '']} {'ft' if g['ui'] == 'foot' else 'in'}"
    if g.get("w"):
        number = _SPELLED[g["w"] or ""]
        if g.get("wh"):
            number += f"-{_PARTS[g['wh'] or '']}"
        unit = _unit(g["wu"] or "")
        return f"{number} {'mil' if unit.startswith('mil') else unit}"
    if g.get("i"):
        return f"{g['i']}-{_PARTS.get(g['f'] or '', g['f'] or '')} in"
    unit = _unit(g["unit"] or "")
    unit = "mil" if unit == "mils" else unit
    low = _figures(g["low"] or "")
    return f"{low} to {_figures(g['high'] or '')} {unit}" if g.get("high") else f"{low} {unit}"


@dataclass(slots=True)
class _Norm:
    """A word in normal form and where it stands."""

    word: str
    start: int
    end: int
    confidence: float = 1.0
    joined: bool = True
    """Nothing but spaces and hyphens between it and the word before."""
    unsure: tuple[str, ...] = ()
    """Other trade words that it is as near to."""


def _norms(work: str, text: str, words: Lexicon) -> list[_Norm]:
    ends = [end for _, end, _ in sentences(text)]
    tokens = [m for m in _TOKEN.finditer(work) if wording.MASK not in m[0]]

    def beside(before: int, after: int) -> bool:
        if _JOINS.fullmatch(work, before, after) is None:
            return False
        end = bisect_left(ends, before)
        return end == len(ends) or ends[end] > after

    close = [beside(a.end(), b.start()) for a, b in pairwise(tokens)]
    """Whether nothing but spaces and hyphens parts a token from the next, and no end of a sentence."""
    norms: list[_Norm] = []
    i = 0
    while i < len(tokens):
        token = tokens[i]
        joined = bool(norms) and close[i - 1]
        end = token.end()
        text = "" if token[0] in "/." else normal(token[0])
        for count in (2, 3):
            run = tokens[i : i + count]
            if len(run) == count and all(close[i : i + count - 1]):
                parts = [normal(t[0]) for t in run]
                merged = normal(" ".join(t[0] for t in run))
                # Of three words, only a phrase that needs all three: not `with rock wool` for `rock wool`.
                tail = normal(" ".join(t[0] for t in run[1:])) if count == 3 else ""
                if all(parts) and merged not in (" ".join(parts), f"{parts[0]} {tail}"):
                    text, end = merged, run[-1].end()
                    i += count - 1
                    break
        if not text:
            joins = token[0] == "/" and norms and norms[-1].word == "air"
            if token[0] not in "-'’\".()" and not joins:
                norms.append(_Norm("", token.start(), token.end(), joined=False))
            i += 1
            continue
        for k, word in enumerate(_respelled(text, token[0], words).split()):
            norms.append(_spelled(_Norm(word, token.start(), end, joined=joined or k > 0), words, token[0]))
        i += 1
    return norms


def _respelled(text: str, raw: str, words: Lexicon) -> str:
    """A misspelling of a word that the normal form turns into two: `fiberglas`."""
    if (
        " " in text
        or text in words.vocabulary
        or text in words.ordinary
        or text in words.english
        or not raw.isalpha()
        or len(raw) < 6
    ):
        return text
    for k in range(3, len(raw) - 2):
        # Two words written as one.
        both = normal(f"{raw[:k]} {raw[k:]}")
        if " " in both and both in words.phrases:
            return both
    near = near_words(raw)
    if near and near[0][1] >= SURELY:
        spelled = normal(near[0][0])
        return spelled if " " in spelled else text
    return text


def _spelled(norm: _Norm, words: Lexicon, raw: str) -> _Norm:
    word = norm.word
    if (
        "".join(c for c in raw if c.isalpha()) in words.vocabulary
        or word in words.vocabulary
        or word in words.ordinary
        or word in words.shorthand
        or word in words.english
        or not word.isalpha()
        or len(word) < 4
    ):
        return norm
    near = near_words(raw) if raw.isalpha() else near_words(word)
    if not near or near[0][1] < SURELY:
        return norm
    best = [n for n, c in near if c == near[0][1]]
    # A word of many phrases is meant before one of a single phrase.
    most = max(words.occurs[normal(n)] for n in best)
    best = [n for n in best if n in asking_words() or _SELDOM * words.occurs[normal(n)] >= most]
    # Of two words as near, the one that asks: `woud` is would, not wood.
    best = (
        [n for n in best if n in asking_words() and n in words.ordinary]
        or [n for n in best if n in words.phrases]
        or best
    )
    readings = {words.phrases[n][0] if n in words.phrases else Entry("part", n) for n in best}
    norm.confidence = near[0][1]
    norm.word = normal(best[0])
    if len(readings) > 1:
        norm.unsure = tuple(best)
    return norm


def _phrases(work: str, text: str) -> Iterator[Lexeme]:
    words = lexicon()
    norms = _norms(work, text, words)
    i = 0
    while i < len(norms):
        norm = norms[i]
        if not norm.word:
            yield Lexeme(norm.start, norm.end, text[norm.start : norm.end], "break", norm.word, "")
            i += 1
            continue
        reach = 1
        while i + reach < len(norms) and reach < 7 and norms[i + reach].word and norms[i + reach].joined:
            reach += 1
        hit = None
        most = max(words.longest.get(norm.word, 1), 4 if norm.word in words.of_many else 1)
        for size in range(min(reach, most), 0, -1):
            phrase = " ".join(n.word for n in norms[i : i + size])
            entries = words.phrases.get(phrase)
            if (
                entries is None
                and 2 <= size <= 4
                and (other := words.by_words.get(tuple(sorted(phrase.split()))))
            ):
                entries = words.phrases[other]
            if entries and _whole(norms, i, size):
                hit = size, entries
                break
        if hit is None:
            yield _single(norm, text, words)
            i += 1
            while i < len(norms) and norms[i].start < norm.end:
                i += 1
            continue
        size, entries = hit
        if norm.word == "old" and size > 1 and i + 1 < len(norms):
            # "old plaster and lath": what is old is the longer name.
            longer = _longest(norms, i + 1, words)
            if longer > size - 1:
                yield Lexeme(
                    norm.start, norm.end, text[norm.start : norm.end], "condition", "existing", "existing"
                )
                i += 1
                continue
        run = norms[i : i + size]
        start, end = run[0].start, max(n.end for n in run)
        unsure = [n for n in run if n.unsure]
        confidence = min(n.confidence for n in run)
        if unsure and size == 1:
            confidence = min(confidence, 0.6)
        entry, *others = sorted(entries, key=lambda e: words_order(e.sort))
        yield Lexeme(
            start,
            end,
            text[start:end],
            entry.sort,
            entry.value,
            reading_of(entry, words),
            confidence,
            tuple(others),
        )
        i += size


def _longest(norms: list[_Norm], i: int, words: Lexicon) -> int:
    """The number of words of the longest phrase that begins at a word."""
    for size in range(min(words.longest.get(norms[i].word, 1), len(norms) - i), 0, -1):
        run = norms[i : i + size]
        if (
            all(n.word and (n is run[0] or n.joined) for n in run)
            and " ".join(n.word for n in run) in words.phrases
        ):
            return size
    return 0


def _whole(norms: list[_Norm], i: int, size: int) -> bool:
    """Whether a run does not cut a token in two."""
    after = norms[i + size] if i + size < len(norms) else None
    return after is None or after.start >= norms[i + size - 1].end


def words_order(sort: str) -> int:
    order = ("space", "material", "loose", "kind", "role", "relation", "side", "negation", "alternative", "joints",
             "condition", "finding", "property", "concept", "indoor", "building", "climate", "referred")  # fmt: skip
    return order.index(sort) if sort in order else len(order)


def _single(norm: _Norm, text: str, words: Lexicon) -> Lexeme:
    shown = text[norm.start : norm.end]
    if norm.word.replace(".", "").replace("/", "").isdigit():
        return Lexeme(norm.start, norm.end, shown, "number", norm.word, "")
    if norm.word in words.shorthand and shown.islower():
        return Lexeme(norm.start, norm.end, shown, "word", words.shorthand[norm.word], "")
    if norm.word in words.trade and norm.confidence == 1.0:
        return Lexeme(norm.start, norm.end, shown, "part", norm.word, "")
    if norm.word in words.ordinary or (len(norm.word) < 3 and norm.word not in words.vocabulary):
        return Lexeme(norm.start, norm.end, shown, "word", norm.word, "")
    if norm.word in words.vocabulary and norm.confidence == 1.0:
        return Lexeme(norm.start, norm.end, shown, "part", norm.word, "")
    if norm.word in words.english:
        return Lexeme(norm.start, norm.end, shown, "other", norm.word, "")
    return Lexeme(norm.start, norm.end, shown, "unknown", norm.word, "", 0.5)


def reading_of(entry: Entry, words: Lexicon) -> str:
    """What a phrase was taken for, for people."""
    if entry.sort == "loose":
        loose = words.loose[int(entry.value)]
        return loose.takes or " or ".join(loose.decides)
    if entry.sort == "role":
        return words.roles[int(entry.value)].role
    if entry.sort == "referred":
        return words.professions[int(entry.value)].about
    if entry.sort == "kind":
        return entry.value.replace("/", ", ")
    return entry.value


def is_material(lexeme: Lexeme) -> bool:
    """Whether a lexeme stands for a layer."""
    return lexeme.sort in ("material", "loose", "space")


def material_of(lexeme: Lexeme) -> str:
    """Id of the material that a lexeme was taken for; empty for spaces and where it is open."""
    if lexeme.sort == "material":
        return lexeme.value if lexeme.value in load_materials() else ""
    return lexicon().loose[int(lexeme.value)].takes if lexeme.sort == "loose" else ""
