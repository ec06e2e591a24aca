"""Where a section stands, as a question says it: cities, states, ZIP codes and code zones inside running text."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache

from reviewer.answers.lexicon import data, lexicon, listed, near_words, normal
from reviewer.errors import InputError
from reviewer.library import places as library
from reviewer.library import ziplist
from reviewer.library.names import PROVINCES, REGIONS, plain, region_code
from reviewer.library.zones import counties, parse_zone
from reviewer.model.section import ZONES


@dataclass(frozen=True, slots=True)
class Spot:
    """A place or zone in a text, characters `start` to `end`."""

    start: int
    end: int
    place: str = ""
    """As `find_place` finds it; empty for a zone or where it is not one place."""
    zone: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    """Where it may be several: what each is called, and the place or zone (`zone 6A`) of it."""
    reads: str = ""
    confidence: float = 1.0
    note: str = ""
    """Why this one was taken, where that was a choice."""


_ABBREVIATED = {"minn": "MN", "wisc": "WI", "mich": "MI", "mass": "MA", "conn": "CT", "calif": "CA", "colo": "CO",
                "fla": "FL", "penn": "PA", "ont": "ON", "wash": "WA", "ore": "OR", "tenn": "TN", "ariz": "AZ",
                "tex": "TX", "alta": "AB", "sask": "SK", "man": "MB", "que": "QC"}  # fmt: skip
_BEFORE = r"(?:in|near|at|around|outside|outside of|for|from|here in|up in|down in|over in|out in)"
_WORD = r"[^\W\d_][^\W\d_.'’-]*(?:['’.-][^\W\d_]+)*\.?"
_ZONE = re.compile(
    r"\b(?:(?:climate|iecc|doe|ashrae|code)\s+)*(?:zone|cz|zn)s?[\s#-]*(?:(?P<marine>marine)\s*)?(?P<n>[0-8]|one|two|three|four|five|six|seven|eight)"
    r"(?:\s?-?(?P<letter>[abc](?![a-z])|marine\b|\(marine\)))?"
    r"|\bmarine\s*(?:zone\s*)?(?P<m>4)\b(?:\s*c\b)?"
    r"|\b(?:in|for|at)\s+(?P<bare>[1-8][abc])\b|\bz(?P<z>[4-8][abc]?)\b|(?<![\w.])(?P<alone>[2-6][AaBb]|4[Cc]|5[Cc])(?=\s*(?:[,.?;]|$|wall\b|roof\b|climate\b|house\b|home\b|basement\b))",
    re.I,
)
_ZIP = re.compile(r"\b(?:zip(?: code)?:?\s*)?(?P<zip>\d{5})(?:-\d{4})?\b(?!\s*(?:sq|ft|btu|\$|feet))", re.I)
_COORDINATES = re.compile(r"(?<![\w.])(-?\d{1,2}\.\d+)\s*[,/]\s*(-?\d{2,3}\.\d+)\b")
_CAPITALS = re.compile(rf"(?<![\w'’])({_WORD}(?:[ ]+{_WORD}){{0,3}}),?[ ]+([A-Z]{{2}})\b(?![-'’\w])")
_LEFT = re.compile(
    r"\b(?:from|unlike(?: in)?|(?:practi[cs]e|practi[cs]ed|trained|train|learned|studied|apprenticed|usually (?:work|build)|used to (?:work|build)) in"
    r"|(?:architect|engineer|designer|consultant|draftsman|boss|head office|supplier|professor|lender|insurer) (?:up |down |back |over |out )?(?:in|from)"
    r"|(?:cousin|sister|brother|friend|uncle|aunt|parents?|son|daughter|relative|buddy) in|lake|mount|grew up in|raised in|lived in|\d+ (?:yrs?|years) in|not|not in|made in|sold in|about|guide for|book for)\s+$",
    re.I,
)
"""Before a place where the section does not stand."""
_LEFT_AFTER = re.compile(r",?\s+where (?:i|we|he|she|they|my|poly|it)\b(?! (?:are|live|build|am)\b)", re.I)
"""After one: `in Houston, where I trained`."""
_PARTS_OF = frozenset(("upstate", "northern", "southern", "western", "eastern", "central", "rural"))
"""Words before a state that is a city's name too."""
_SITES = frozenset(("site", "house", "job", "project", "building", "cabin", "place", "location"))
"""What stands somewhere: `the site is Leadville`."""
_STANDS = frozenset(("wall", "walls", "roof", "house", "basement", "slab", "attic", "crawlspace", "crawl"))
"""Words after which a city may follow without an `in`."""
_NUMBERS = {
    "one": "1",
    "two": "2",
    "three": "3",
    "four": "4",
    "five": "5",
    "six": "6",
    "seven": "7",
    "eight": "8",
}
_SENTENCE_ENDS = re.compile(r"[^\W\d_]{5,}\.\Z")
"""A stop after a word that is no abbreviation."""
_RISKY = frozenset(["in", "or", "me", "hi", "ok", "oh", "id", "la", "ma", "pa", "de", "al", "co", "on"])
"""Codes of states that are English words or syllables when they are not in capitals."""


@cache
def names() -> dict[str, dict[str, str]]:
    """Plain name of every place of the table to the regions that have one, and its name there."""
    found: dict[str, dict[str, str]] = {}
    for row in library._table().splitlines():
        if row:
            key, region, _, name, _ = row.split(",", 4)
            found.setdefault(key, {}).setdefault(region, name)
    return found


@lru_cache(maxsize=8192)
def plain_word(text: str) -> str:
    """`plain`, remembered."""
    return plain(text)


@cache
def _region_words() -> frozenset[str]:
    """The first words of regions' names, their codes and short forms."""
    names_ = (plain(n).split()[0] for n in REGIONS.values())
    return frozenset(
        (
            *names_,
            *(c.casefold() for c in REGIONS),
            *_ABBREVIATED,
            "pei",
            "newfoundland",
            "labrador",
            "washington",
            "d",
        )
    )


@cache
def _region_names() -> frozenset[str]:
    """States and provinces that towns elsewhere are called after, but those that a city is better known by."""
    return frozenset(plain(n) for n in REGIONS.values()) - {"new york", "washington", "quebec"}


@cache
def meant() -> dict[str, str]:
    """Plain name to the region that is meant where none is said."""
    return {name: region for region, all_ in data("wording.yaml")["meant"].items() for name in listed(all_)}


@cache
def _abroad() -> frozenset[str]:
    return frozenset(listed(data("wording.yaml")["abroad"]))


@cache
def state_zones(region: str) -> tuple[str, ...]:
    """The code zones (2021 and later editions) of a state, that of most counties first."""
    zones = [z21 for (state, _), (_, z21) in counties().items() if state == region]
    return tuple(sorted(set(zones), key=lambda z: (-zones.count(z), z)))


def find_spots(text: str) -> list[Spot]:
    """Every place and zone of a text, in its order; they do not overlap."""
    spots: list[Spot] = []

    def free(start: int, end: int) -> bool:
        return all(end <= s.start or start >= s.end for s in spots)

    for finder in (_zones, _codes, _coordinates, _with_region, _nicknames, _region_first, _alone, _regions):
        for spot in finder(text):
            if free(spot.start, spot.end):
                spots.append(spot)
    ordered = [_in_state_told(_part_of_a_name(s, text), text) for s in sorted(spots, key=lambda s: s.start)]
    ordered = _told_by_the_nearest(ordered, text)
    ordered = [s for s in ordered if not _ABROAD.match(text[s.end :])]
    here = [s for s in ordered if not _LEFT.search(text[: s.start]) and not _LEFT_AFTER.match(text[s.end :])]
    return here or ordered


_ABROAD = re.compile(
    r"(?:,\s*|\s+)(?:the )?(?:u\.?k\b|united kingdom|england|scotland|wales|northern ireland|ireland|eire|germany|france|austria|switzerland|italy|spain|"
    r"portugal|netherlands|holland|belgium|denmark|sweden|norway|finland|iceland|poland|czechia|hungary|romania|greece|turkey|russia|"
    r"ukraine|australia|new zealand|japan|china|korea|india|south africa|brazil|argentina|chile|peru|colombia|mexico)\b",
    re.I,
)
"""A country after a place: it is none of the towns here that bear its name, and no climate of it is known."""


def abroad(text: str) -> str:
    """A place of a text in a country of which no climate is known, as it is written; empty where there is none.

    >>> abroad("In Berlin, Germany: brick. Safe?"), abroad("In Berlin, NH: brick. Safe?")
    ('Berlin, Germany', '')
    """
    m = re.search(
        rf"(?P<city>(?!(?:In|At|Near|New)\b)[A-Z]\w+(?:[ -][A-Z]\w+){{0,2}})(?P<country>(?i:{_ABROAD.pattern}))",
        text,
    )
    return f"{m['city']}, {m['country'].lstrip(' ,')}" if m else ""


_NEAR_IT = re.compile(
    r"\W{0,3}(?:which is |that'?s |just |right |(?:about |some )?[\w-]+ (?:minutes|miles|min|km|mi) )*"
    r"(?:by|near|outside(?: of)?|next to|close to|from|(?:north|south|east|west)\w* of)\W{1,2}",
    re.I,
)
"""Between a place and the larger one that tells where it is."""


def _told_by_the_nearest(spots: list[Spot], text: str) -> list[Spot]:
    """The places without those that only tell where the one before lies, which is told with its state: `Woodbury, MN (by
    St. Paul)`. A small place without one is taken as the city that it is near."""
    out: list[Spot] = []
    for spot in spots:
        first = out[-1] if out else None
        if (
            first is not None
            and first.place
            and spot.place
            and _NEAR_IT.fullmatch(text, first.end, spot.start)
        ):
            city = first.place.rpartition(", ")[0]
            if len(plain(text[first.start : first.end])) > len(plain(city)):
                out[-1] = replace(first, end=spot.end)
                continue
        out.append(spot)
    return out


_LANDS = re.compile(
    r"\s(?:Valley|Hole|County|Island|Islands|Peninsula|Banks|Range|Mountains|Shore|Coast|Basin|Plateau|Desert|Highlands|Keys|Country)\b"
)
"""Words that make a region, and another place, of a city's name."""


def _part_of_a_name(spot: Spot, text: str) -> Spot:
    """`Hudson Valley` is no Hudson: where such a region lies is asked."""
    m = _LANDS.match(text, spot.end)
    if m is None or not spot.place or "," in text[spot.start : spot.end]:
        return spot
    shown = text[spot.start : m.end()]
    return Spot(spot.start, m.end(), reads=f"{shown}, a region that is not known here", confidence=0.5)


def _zones(text: str) -> Iterator[Spot]:
    for m in _ZONE.finditer(text):
        number = m["n"] or m["m"] or m["bare"] or m["z"] or m["alone"]
        number = _NUMBERS.get(number.casefold(), number)
        letter = m["letter"] or ""
        marine = m["marine"] or m["m"] or "marine" in letter.casefold()
        written = f"{number}{'C' if marine else letter.upper()}".upper()
        start, end = m.start("bare") if m["bare"] else m.start(), m.end()
        try:
            system, zone = parse_zone(written)
        except InputError:
            yield Spot(start, m.end(), reads=f"no code zone is called {written}", confidence=0.4)
            continue
        if zone == "4" and not system:
            choices = (("zone 4A", "zone 4A"), ("zone 4C, marine", "zone 4C"))
            yield Spot(start, end, choices=choices, reads="zone 4, marine or not", confidence=0.5)
            continue
        note = ""
        if (not system and zone not in ZONES) or zone in ("4", "5", "6"):
            note = f"zone {zone} was taken as {zone}A (moist), where most buildings of it stand"
            zone += "A"
        if zone not in ZONES:
            yield Spot(start, m.end(), reads=f"no code zone is called {written}", confidence=0.4)
            continue
        yield Spot(start, m.end(), zone=zone, reads=f"zone {zone}", note=note)


def _codes(text: str) -> Iterator[Spot]:
    for m in _ZIP.finditer(text):
        found = _found(m["zip"])
        if found:
            yield Spot(m.start(), m.end(), m["zip"], reads=found)
        else:
            yield Spot(m.start(), m.end(), reads="no ZIP code that is known", confidence=0.4)


def _coordinates(text: str) -> Iterator[Spot]:
    for m in _COORDINATES.finditer(text):
        name = f"{m[1]}, {m[2]}"
        found = _found(name)
        if found:
            yield Spot(m.start(), m.end(), name, reads=found)


def _found(name: str) -> str:
    try:
        return library.find_place(name).name
    except InputError:
        return ""


def _with_region(text: str) -> Iterator[Spot]:
    """`Duluth, MN`, `duluth mn`, `Duluth, Minnesota`."""
    for m in _CAPITALS.finditer(text):
        ended = m[2].lower() in _RISKY and _SENTENCE_ENDS.search(m[1]) is not None
        if m[2] in REGIONS and not ended and (spot := _city_in(text, m.start(1), m.end(1), m.end(2), m[2])):
            yield spot
    words = list(re.finditer(_WORD, text))
    for i, w in enumerate(words):
        if i == 0:
            continue
        if plain_word(w[0]) not in _region_words():
            continue
        for count in (3, 2, 1):
            run = words[i : i + count]
            if (
                len(run) < count
                or text[w.start() : run[-1].end()].count(",")
                or "\n" in text[w.start() : run[-1].end()]
            ):
                continue
            written = " ".join(r[0] for r in run)
            region = region_code(written) or _ABBREVIATED.get(plain(written), "")
            between = text[words[i - 1].end() : w.start()]
            if not region or not re.fullmatch(r",?\s{1,2}|,", between):
                continue
            if written.lower() in _RISKY and _SENTENCE_ENDS.search(words[i - 1][0]):
                # `… in Cleveland. OK?`
                continue
            if len(written) == 2 and written != written.upper():
                after = text[run[-1].end() :].lstrip()
                ends = not after or after[0] in ".,?!;)"
                named = ends and region in names().get(plain(words[i - 1][0]), ())
                if (
                    plain(written) in _RISKY
                    and not named
                    and ("," not in between or (after and after[0] not in ".,?!;)"))
                ):
                    continue
            spot = _city_in(text, 0, words[i - 1].end(), run[-1].end(), region)
            if spot:
                yield spot
                break


def _city_in(text: str, start: int, city_end: int, end: int, region: str) -> Spot | None:
    """The longest name before a region that is a place there."""
    before = text[max(start, city_end - 60) : city_end]
    words = list(re.finditer(_WORD, before))
    offset = city_end - len(before)
    own = words[-4:]
    for k in range(len(own)):
        name = before[own[k].start() :]
        if "," in name or "\n" in name or re.search(r"[^\w\s.'’-]", name):
            continue
        if listed_name := names().get(plain(name), {}).get(region):
            place = f"{listed_name}, {region}"
            return Spot(offset + own[k].start(), end, place, reads=place)
    # Small places and misspelt ones: only where the name is written as one.
    capitals = []
    for w in reversed(own):
        if not w[0][0].isupper() or before[w.end() :].count(","):
            break
        capitals.insert(0, w)
    for k in range(len(capitals)):
        name = before[capitals[k].start() :]
        if plain(name) in ("in", "at", "near", "for"):
            continue
        if region not in PROVINCES and ziplist.by_city(name, region):
            found = f"{_title(name)}, {region}"
            return Spot(offset + capitals[k].start(), end, found, reads=found)
        if region in PROVINCES and (found := _found(f"{_title(name)}, {region}")):
            return Spot(offset + capitals[k].start(), end, found, reads=found)
    for k in range(max(len(own) - 2, 0), len(own)):
        name = plain(before[own[k].start() :])
        near = _misspelt(name, region)
        if near:
            return Spot(
                offset + own[k].start(), end, near[0], reads=near[0], confidence=near[1],
                note=f'"{before[own[k].start() :]}" was read as {near[0]}',
            )  # fmt: skip
    return None


def _title(name: str) -> str:
    return " ".join(w[:1].upper() + w[1:] for w in name.split())


def _misspelt(name: str, region: str) -> tuple[str, float] | None:
    """The one place of a region that a name of five letters or more is a misspelling of, with the confidence."""
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    if len(name) < 5:
        return None
    keys = [k for k, regions in names().items() if not region or region in regions]
    allowed = 1 if len(name) < 8 else 2
    hits = process.extract(name, keys, scorer=OSA.distance, score_cutoff=allowed, limit=3)
    hits = [h for h in hits if h[0][0] == name[0]]
    if not hits or (len(hits) > 1 and hits[0][1] == hits[1][1]):
        return None
    key, distance, _ = hits[0]
    regions = names()[key]
    if region:
        return f"{regions[region]}, {region}", 1.0 - 0.08 * distance
    sure = meant().get(key) or (next(iter(regions)) if len(regions) == 1 else "")
    return (f"{regions[sure]}, {sure}", 1.0 - 0.11 * distance) if sure else None


def _region_first(text: str) -> Iterator[Spot]:
    """`the coast of Oregon, Astoria`."""
    for m in _region_pattern().finditer(text):
        code = region_code(m[0])
        after = re.match(rf",\s+({_WORD}(?:[ ]{_WORD}){{0,2}})", text[m.end() :])
        if not code or after is None:
            continue
        words = after[1].rstrip(".").split(" ")
        for count in range(len(words), 0, -1):
            name = " ".join(words[:count]).rstrip(".,")
            listed_name = names().get(plain(name), {}).get(code)
            if listed_name and name[0].isupper():
                start = m.end() + after.start(1)
                place = f"{listed_name}, {code}"
                yield Spot(m.start(), start + len(name), place, reads=place)
                break


def _in_state_told(spot: Spot, text: str) -> Spot:
    """A city that stands in several states is that of the one that the text names elsewhere."""
    if ("," not in spot.reads and not spot.choices) or not (spot.choices or spot.note):
        return spot
    shown = text[spot.start : spot.end]
    regions = names().get(plain(shown), {}) or {
        p.rpartition(", ")[2]: p.rpartition(", ")[0] for p, _ in spot.choices
    }
    told = {
        region_code(m[0])
        for m in _region_pattern().finditer(text)
        if m.start() >= spot.end or m.end() <= spot.start
    }
    own = sorted(told & set(regions))
    if len(own) != 1 or plain(shown) in {plain(n) for n in REGIONS.values()}:
        return spot
    place = f"{regions[own[0]]}, {own[0]}"
    return Spot(spot.start, spot.end, place, reads=place, note=f"{REGIONS[own[0]]} is named elsewhere")


def _alone(text: str) -> Iterator[Spot]:
    """A city without a state: after a word such as `in`, or in capitals."""
    words = list(re.finditer(_WORD, text))
    known = names()
    trade = lexicon()
    done = -1
    for i, w in enumerate(words):
        if i <= done:
            continue
        introduced = i > 0 and re.fullmatch(_BEFORE, words[i - 1][0].casefold()) is not None
        introduced |= i > 1 and words[i - 1][0] == "is" and words[i - 2][0].casefold() in _SITES
        capital = w[0][0].isupper()
        if (
            not capital
            and i > 0
            and words[i - 1][0].casefold() in _STANDS
            and text[words[i - 1].end() : w.start()] == " "
        ):
            introduced = True
        owned = (
            i > 0
            and words[i - 1][0].casefold() in ("my", "our", "the", "a", "this", "his", "her")
            and i + 1 < len(words)
            and words[i + 1][0].casefold().rstrip(".,?") in _STANDS
            and len(w[0]) > 4
        )
        if not introduced and not capital and not owned and w.start() > 0 and not _item(text, w):
            continue
        for count in (3, 2, 1):
            run = words[i : i + count]
            inner = re.sub(r"\b(?:st|ste|ft|mt)\.", "", text[w.start() : run[-1].end() - 1], flags=re.I)
            if len(run) < count or re.search(r"[,.;:?!\n(]", inner):
                continue
            name = text[w.start() : run[-1].end()].rstrip(".")
            key = plain(name)
            before = words[i - 1][0].casefold() if i else ""
            if key in ("new york", "washington") and before in _PARTS_OF:
                done = i + count - 1
                break
            if key not in known or key in _region_names():
                continue
            ordinary = all(x in trade.ordinary or x in trade.vocabulary for x in key.split())
            named = count > 1 and all(x[0][0].isupper() for x in run)
            heads = (
                w.start() == 0
                and count > 1
                and re.match(r"[.,:;]|\s[-–]\s", text[run[-1].end() - (run[-1][0][-1] == ".") :])
            )
            if ordinary and not (introduced and w[0][0].isupper()) and not named and not heads:
                continue
            if len(key) < 4 and not w[0][0].isupper():
                continue
            yield _city(name, key, w.start(), w.start() + len(name))
            done = i + count - 1
            break
        else:
            if introduced and w[0][0].isupper() and w[0] != w[0].upper():
                run = [w]
                while (
                    i + len(run) < len(words)
                    and len(run) < 3
                    and words[i + len(run)][0][0].isupper()
                    and text[run[-1].end() : words[i + len(run)].start()] == " "
                ):
                    run.append(words[i + len(run)])
                name = text[w.start() : run[-1].end()].rstrip(".")
                spot = _unlisted(name, w.start(), w.start() + len(name))
                if spot:
                    yield spot
                    done = i + len(run) - 1
            elif introduced and len(w[0]) > 5 and not _known_word(plain(w[0])):
                near = _misspelt(plain(w[0]), "")
                if near:
                    yield Spot(w.start(), w.end(), near[0], reads=near[0], confidence=near[1],
                               note=f'"{w[0]}" was read as {near[0]}')  # fmt: skip
                    done = i


def _item(text: str, w: re.Match[str]) -> bool:
    """Whether a word in lower case stands alone between commas, or at the end of a phrase and is no English word, and is a
    city that can be meant without its state."""
    ends = re.match(r"\s*(?:[,;:)\n]|\.(?:\s|$)|$)", text[w.end() - (w[0][-1] == ".") :]) is not None
    begins = re.search(r"(?:^|[,;:(\n]|\.\s)\s*$", text[: w.start()]) is not None
    if not ends or not (begins or plain(w[0].rstrip(".")) not in lexicon().english):
        return False
    key = plain(w[0].rstrip("."))
    regions = names().get(key, {})
    ours = any(x in lexicon().vocabulary or x in lexicon().ordinary for x in (key, normal(key)))
    return len(key) > 4 and not ours and (len(regions) == 1 or key in meant())


def _known_word(word: str) -> bool:
    """Whether a word is no place but one that has a meaning here, or a misspelling of one."""
    trade = lexicon()
    return any(
        x in trade.vocabulary or x in trade.ordinary or x in trade.english for x in (word, normal(word))
    ) or bool(near_words(word) and near_words(word)[0][1] >= _SURELY)


_SURELY = 0.75
"""Confidence from which on a word is a misspelling of a trade word."""


def _unlisted(name: str, start: int, end: int) -> Spot | None:
    """A name in capitals after `in` that the table doesn't hold: a small place, a misspelling, or none known."""
    words = plain(name).split()
    trade = lexicon()
    if (
        not words
        or any(x in trade.vocabulary or x in trade.ordinary for w in words for x in (w, normal(w)))
        or region_code(name)
    ):
        return None
    if plain(name) in {plain(r) for r in REGIONS.values()}:
        return None
    near = _misspelt(plain(name), "")
    if near:
        return Spot(
            start, end, near[0], reads=near[0], confidence=near[1], note=f'"{name}" was read as {near[0]}'
        )
    states = sorted({a.state for a in ziplist.by_city(name)})
    if len(states) == 1:
        place = f"{_title(name)}, {states[0]}"
        return Spot(start, end, place, reads=place, confidence=0.9, note=f'"{name}" was taken as {place}')
    choices = tuple((f"{_title(name)}, {s}", f"{_title(name)}, {s}") for s in states[:4])
    reads = f"{_title(name)} in {' or '.join(states[:4])}" if states else "a place that is not known"
    return Spot(start, end, choices=choices, reads=reads, confidence=0.5 if states else 0.4)


@cache
def _nickname_pattern() -> re.Pattern[str]:
    words = sorted(data("wording.yaml")["nicknames"], key=len, reverse=True)
    return re.compile(r"\b(?:" + "|".join(map(re.escape, words)) + r")\b", re.I)


def _nicknames(text: str) -> Iterator[Spot]:
    known = data("wording.yaml")["nicknames"]
    for m in _nickname_pattern().finditer(text):
        place = known[m[0].casefold()]
        region = re.match(rf",?\s+({_WORD}(?: {_WORD})?)", text[m.end() :])
        words = region[1].rstrip(".").split(" ") if region else []
        own = [
            w for w in (" ".join(words[:2]), *words[:1]) if w and region_code(w) == place.rpartition(", ")[2]
        ]
        end = m.end() + text[m.end() :].index(own[0]) + len(own[0]) if own else m.end()
        yield Spot(m.start(), end, place, reads=place, confidence=0.95, note=f"{m[0]} was taken as {place}")


_MOST = 6
"""Places of one name that are asked about."""


def _city(name: str, key: str, start: int, end: int) -> Spot:
    found = names()[key]
    regions = sorted(found)
    shown = found[regions[0]]
    if key in _abroad():
        choices = tuple((f"{found[r]}, {r}", f"{found[r]}, {r}") for r in regions[:3])
        return Spot(start, end, choices=choices, reads=f"{shown}, here or abroad", confidence=0.5)
    if len(regions) == 1:
        return Spot(start, end, f"{shown}, {regions[0]}", reads=f"{shown}, {regions[0]}")
    if key in meant():
        region = meant()[key]
        place = f"{found[region]}, {region}"
        others = ", ".join(r for r in regions if r != region)
        note = f"by far the largest place called {shown} ({others} has one too)"
        return Spot(start, end, place, reads=place, confidence=0.9, note=note)
    choices = tuple((f"{found[r]}, {r}", f"{found[r]}, {r}") for r in regions[:_MOST])
    return Spot(start, end, choices=choices, reads=f"{shown} in {' or '.join(regions)}", confidence=0.5)


def _regions(text: str) -> Iterator[Spot]:
    """A state or province alone: its zone where it has one only, else a choice of its zones."""
    for m in _region_pattern().finditer(text):
        code = region_code(m[0])
        if code:
            yield _state(code, m.start(), m.end())
    for m in re.finditer(rf"\b(?:{_BEFORE}|northern|southern|western|eastern|upstate|central|coastal|interior)\s+([A-Z]{{2}})\b(?![-'’\w])", text):  # fmt: skip
        if m[1] in REGIONS:
            yield _state(m[1], m.start(1), m.end(1))


@cache
def _region_pattern() -> re.Pattern[str]:
    long = sorted((n for n in REGIONS.values()), key=len, reverse=True)
    return re.compile(
        r"\b(?:" + "|".join(map(re.escape, long)) + r"|PEI|Newfoundland)\b(?! (?:stone|slate|pine|fir))", re.I
    )


def _state(code: str, start: int, end: int) -> Spot:
    name = REGIONS[code]
    zones = [z for z in state_zones(code) if z in ZONES]
    if len(zones) == 1:
        return Spot(start, end, zone=zones[0], reads=f"{name}, zone {zones[0]}", confidence=0.95,
                    note=f"all of {name} lies in zone {zones[0]}")  # fmt: skip
    if not zones:
        from reviewer.library.places import list_places

        cities = [p.name for p in list_places() if p.region == code][:3]
        return Spot(
            start, end, choices=tuple((c, c) for c in cities), reads=f"{name}, no place in it", confidence=0.5
        )
    choices = tuple((f"zone {z}", f"zone {z}") for z in zones[:4])
    return Spot(start, end, choices=choices, reads=f"{name}, zone {' or '.join(zones[:4])}", confidence=0.5)
