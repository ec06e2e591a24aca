"""What lies on the ground: a sheet over the soil of a crawl space, a slab without heat over it, how thick such a sheet is."""

from __future__ import annotations

import re
from dataclasses import replace

from reviewer.answers import phrases
from reviewer.answers.draft import Draft
from reviewer.answers.reading import Option, Reading, Subject
from reviewer.library.materials import load_materials
from reviewer.model.section import Indoor, Section
from reviewer.result import Assumption

_HEATED = re.compile(
    r"\b(?:heated|radiant)(?:[ -]\w+)?[ -](?:slabs?|floors?)\b|\b(?:in[ -]?floor|radiant) heat\w*|\bhydronic\b|\bpex\b"
)
_NOT_HEATED = re.compile(
    r"\b(?:no|not|never|without|isn'?t)\b(?: \w+){0,2} (?:heated|radiant|hydronic|pex|in[ -]?floor)\b"
)
_ON_SOIL = re.compile(
    r"\b(?:cover\w*|over|on|off|across|atop)\s(?:\w+\s){0,2}(?:soil|ground|dirt|earth)\b"
    r"|\b(?:ground|soil) cover\b"
)
_SHEET_ON_SOIL = re.compile(
    r"\b(?:plastic|poly|polyethylene|sheet\w*|vapou?r (?:barrier|retarder)|membrane)\b(?: \w+){0,3} (?:on|over|across|atop)"
    r"(?: \w+){0,2} (?:soil|ground|dirt|earth)\b"
)
_UNDER_FLOOR = re.compile(r"\b(?:joists?|floors?|subfloor|batts?)\b")
_LEFT_BARE = re.compile(
    r"\b(?:leave|leaving|left)\b(?: \w+){0,5} (?:soil|ground|dirt|earth)\b(?: \w+){0,3} (?:bare|exposed|uncovered|open)\b"
)
_GARAGE = re.compile(r"\b(?:garage|carport)s?\b")
_LIVED_IN = re.compile(
    r"\b(?:heat\w*|conv\w*|bedrooms?|living|gym|office|finish\w*|condition\w*|apartment|suite|over|above)\b"
)
_COLD_ROOM = r"(?:garages?|sheds?|barns?|carports?|storage|outbuildings?|workshops?|shops?|porch|porches)"
_COLD = (
    r"(?:unheated|unconditioned|(?:not|never|isn'?t|won'?t(?: be)?|no plans?)\b(?: \w+){0,4} heat(?:ed|ing|)"
    r"|(?:no|without)(?: any)? heat(?:ing)?(?! (?:loss|gain|tape|from|in (?:the |my )?(?:slab|floor|concrete))\b))"
)
_NO_HEAT = re.compile(rf"\b{_COLD}\b[^.?!]{{0,60}}\b{_COLD_ROOM}\b|\b{_COLD_ROOM}\b[^?!]{{0,80}}\b{_COLD}\b")
_WARM_ROOM = re.compile(rf"(?<!not )(?<!not a )(?<!never )\bheated (?:\w+ )?{_COLD_ROOM}\b")
_BARE = re.compile(
    r"\b(?:bare|plain|exposed|uncovered|open)\b(?:[ -]\w+){0,3}[ -](?:soil|dirt|clay|earth|ground|sand|mud)\b"
    r"|\b(?:dirt|earth|earthen|soil|mud|clay|sand)\b[ -](?:floor|bottom|crawl)"
    r"|\b(?:no|without(?: any| a)?|never had(?: any| a)?)\b(?: \w+){0,2} (?:plastic|poly|polyethylene|sheet\w*|vapou?r (?:barrier|retarder))"
    r"(?: \w+){0,3} (?:ground|soil|dirt|earth)\b|\bno (?:ground|soil) cover\b"
    r"|\b(?:soil|dirt|clay|earth|ground|sand|mud) (?:with |and )?(?:nothing|no cover)\b"
)
_COMES_IN = re.compile(
    r"\bweep(?:s|ing)?\b(?![ -]?(?:hole|screed|vent))|\bseep(?:s|ing|age)?\b|\bfloods?\b|\btrickl(?:es|ing)\b"
    r"|\bwater (?:comes?|runs?|gets?|pours?|coming|running|getting|leaks?|leaking) (?:in|through)\b"
    r"|\b(?:leaks|gets wet|is wet|runs wet)\b[^.?!]{0,25}\b(?:every|each|when it rains|after rain|in spring)\b"
)
_KEPT_OUT = re.compile(
    r"\b(?:no|not|never|without|n't|used to|stopped|until|fixed|cured|dried up|if|in case)\b[^.?!]{0,30}"
    r"\b(?:weep\w*|seep\w*|flood\w*|trickl\w*|water|leaks?|wet)\b|\b(?:dry|drains?) (?:now|since|for|in)\b|\bdry as a bone\b"
)
_FRESH = re.compile(
    r"\b(?:poured|placed|cast|put down|finished)\b[^.?!]{0,20}\b(?:yesterday|last (?:week|month)|(?:\d+|a|two|three|four|five|six|eight|few|couple of) (?:days|weeks?) ago"
    r"|this (?:week|month))\b|\bgreen (?:concrete|slab)\b|\b(?:concrete|slab) is (?:still )?(?:green|curing)\b"
)
_CRAWL = ("vented crawl space", "unvented crawl space")


def grounded(reading: Reading) -> tuple[Reading, list[Assumption]]:
    """The reading with what is told of the ground beside the layers, as statements of its sections; a sheet on the soil is
    one of them, and no layer of the floor. And what was taken for that."""
    said = (reading.whole or reading.text).lower()
    base = reading.base or (reading.options[0].section if reading.options else None)
    if base is None:
        return reading, []
    taken: list[Assumption] = []
    if base.indoor is not None and _denied(base.indoor.name or "", reading):
        reading = _indoors(reading, base.indoor.name or "")
        base = reading.base or reading.options[0].section
    if (
        base.kind in ("slab", "foundation wall")
        and "water entry" not in base.known
        and _lets_water_in(reading)
    ):
        reading = _stated(reading, "water entry", "seepage")
    if base.kind == "slab":
        if base.indoor is None and _NO_HEAT.search(said) and not _WARM_ROOM.search(said):
            taken.append(
                Assumption(what="an unheated room over the slab", why="it is told to be without heat")
            )
            return _without_heat(reading), taken
        if base.indoor is None and _GARAGE.search(said) and not _LIVED_IN.search(said):
            taken.append(
                Assumption(
                    what="an unheated room over the slab", why="garages are unheated as a rule; say so if not"
                )
            )
            return _without_heat(reading), taken
        if _FRESH.search(said):
            taken.append(Assumption(what="concrete that has yet to dry", why="it was poured not long ago"))
            reading = _fresh(reading)
        if "existing damage" not in base.known and (seen := _seen_damp(reading)):
            reading = _stated(reading, "existing damage", seen)
        if "floor heating" not in base.known and _is_heated(reading):
            taken.append(Assumption(what="pipes or cables in the slab", why="the slab is told to be heated"))
            reading = _stated(reading, "floor heating", "yes")
    if base.kind == "floor" and base.layers[-1].space in _CRAWL:
        if _BARE.search(said):
            reading = _stated(reading, "ground cover", "none")
        about = reading.subject.name if reading.subject is not None else ""
        asked = reading.intent in ("need", "leave out", "add") and _is_sheet(about)
        left_bare = about == "gypsum board" and _LEFT_BARE.search(reading.text.lower()) is not None
        if left_bare and len(reading.options) == 2:
            return _covered(reading), taken
        if (
            asked
            and len(reading.options) == 2
            and (_ON_SOIL.search(reading.text.lower()) or _same_on_soil(reading))
        ):
            return _covered(reading), taken
    return reading, taken


def _denied(condition: str, reading: Reading) -> bool:
    """Whether an indoor condition is one that the text says is not there: `no pool or kitchen`."""
    said = (reading.whole or reading.text).lower()
    words = [w.text.lower() for w in reading.words if w.sort == "indoor" and w.reads == condition]
    no = r"\b(?:no|not an?|without an?|isn'?t an?|never an?)\b(?: \w+){0,2}?"
    return bool(words) and all(re.search(rf"{no} {re.escape(w)}\b", said) for w in words)


def _indoors(reading: Reading, denied: str) -> Reading:
    """With the condition that is told beside the denied one, or with none."""
    others = [w.reads for w in reading.words if w.sort == "indoor" and w.reads != denied]

    def made(s: Section) -> Section:
        if s.indoor is None or s.indoor.name != denied:
            return s
        return replace(s, indoor=replace(s.indoor, name=others[-1]) if others else None)

    options = tuple(Option(o.label, made(o.section)) for o in reading.options)
    return replace(reading, base=None if reading.base is None else made(reading.base), options=options)


def _lets_water_in(reading: Reading) -> bool:
    """Whether water is told to come in still, where something is to be put on the wall or the slab that it would spoil."""
    said = (reading.whole or reading.text).lower()
    about = load_materials().get(reading.subject.name) if reading.subject is not None else None
    cures = about is not None and about.roles & {"drainage", "dampproofing", "capillary break"}
    if reading.intent not in ("safe here", "add") or cures or _KEPT_OUT.search(said):
        return False
    return _COMES_IN.search(said) is not None


def _fresh(reading: Reading) -> Reading:
    """With concrete slabs of which nothing is told as new ones."""

    def made(s: Section) -> Section:
        layers = tuple(
            replace(x, condition="new")
            if x.condition is None
            and x.material is not None
            and x.material.roles >= {"structure"}
            and "concrete" in x.material.flags
            else x
            for x in s.layers
        )
        return replace(s, layers=layers)

    options = tuple(Option(o.label, made(o.section)) for o in reading.options)
    return replace(reading, base=None if reading.base is None else made(reading.base), options=options)


def _same_on_soil(reading: Reading) -> bool:
    """Whether the sheet is only spoken of as one on the soil, and found no place in the floor."""
    if _SHEET_ON_SOIL.search((reading.whole or reading.text).lower()) and not _UNDER_FLOOR.search(
        reading.text.lower()
    ):
        return True
    layers = {x.name for o in reading.options for x in o.section.layers}
    about = reading.subject.name if reading.subject is not None else ""
    return about not in layers and _BARE.search((reading.whole or reading.text).lower()) is not None


def _is_sheet(name: str) -> bool:
    m = load_materials().get(name)
    return name in ("vapor control", "vapor retarder", "ground cover") or (
        m is not None and m.roles >= {"vapor control"} and "membrane" in m.flags
    )


def _is_heated(reading: Reading) -> bool:
    said = (reading.whole or reading.text).lower()
    return _HEATED.search(said) is not None and _NOT_HEATED.search(said) is None


_SALTS = ("efflorescence",)


def _seen_damp(reading: Reading) -> str:
    """What a slab is told to show of the water that comes up through it; empty where nothing is, or where it is denied."""
    base = reading.base or (reading.options[0].section if reading.options else None)
    first = base.layers[0].material if base is not None else None
    if reading.intent not in ("safe here", "add") or first is None or "flooring" not in first.roles:
        return ""
    said = (reading.whole or reading.text).lower()
    for w in reading.words:
        if w.sort == "finding" and w.reads in _SALTS:
            denied = rf"\b(?:no|not|never|without|free of)\b(?: \w+){{0,3}} {re.escape(w.text.lower())}"
            if not re.search(denied, said):
                return w.reads
    return ""


def _stated(reading: Reading, key: str, value: str) -> Reading:
    """With a statement in every section that has none about it."""

    def made(s: Section) -> Section:
        return s if key in s.known else replace(s, known={**s.known, key: value})

    options = tuple(Option(o.label, made(o.section)) for o in reading.options)
    return replace(reading, base=None if reading.base is None else made(reading.base), options=options)


def _without_heat(reading: Reading) -> Reading:
    indoor = Indoor(name="unheated", temperature=None, humidity=None, mark=None)

    def cold(s: Section) -> Section:
        return replace(s, indoor=indoor)

    base = None if reading.base is None else cold(reading.base)
    options = tuple(Option(o.label, cold(o.section)) for o in reading.options)
    return replace(reading, base=base, options=options)


def _covered(reading: Reading) -> Reading:
    bare = reading.options[0].section
    without, given = (
        replace(bare, known={**bare.known, "ground cover": cover}) for cover in ("none", "polyethylene")
    )
    options = (Option("without ground cover", without), Option("with ground cover", given))
    return replace(reading, base=without, options=options, subject=Subject("role", "ground cover"))


# -- how thick ----------------------------------------------------------------------------------------

_THICK = re.compile(r"\b(?:thick|thickness|mils?|gauge|heavy)\b")
_MILS = re.compile(r"\bmils?\b")
"""What nobody counts but sheets."""
_SHEETS = {
    ("slab", "US"): (
        "10 mil",
        "15 mil stands the work on it better",
        "IRC 2021 R506.2.3, from memory; editions before it ask for 6 mil",
    ),
    ("slab", "CA"): ("0.15 mm (6 mil)", "0.25 mm or more stands the work on it better", "NBC 2020 9.13.2, from memory"),
    ("floor", "US"): (
        "6 mil",
        "10 to 12 mil lasts where people crawl on it",
        "IRC 2021 R408.2 and R408.3 ask for a Class I sheet, from memory; the thickness is common practice",
    ),
    ("floor", "CA"): (
        "0.15 mm (6 mil)",
        "0.25 mm or more lasts where people crawl on it",
        "NBC 2020 9.18.6, from memory",
    ),
}  # fmt: skip


def is_sheet_thickness(reading: Reading, base: Section) -> bool:
    """Whether it is asked how thick a sheet under a slab or on the soil of a crawl space has to be."""
    about = reading.subject.name if reading.subject is not None else ""
    soil = base.kind == "slab" or (base.kind == "floor" and base.layers[-1].space in _CRAWL)
    thick = _THICK.search(reading.text.lower()) is not None
    return (
        soil
        and thick
        and (
            _is_sheet(about)
            or (not about and _MILS.search(reading.text.lower()) is not None)
            or (base.kind == "floor" and "ground cover" in reading.text.lower())
        )
    )


def answer_thickness(draft: Draft, base: Section, it: str) -> None:
    """How thick a sheet has to be: what the code says, which no calculation decides."""
    shown = draft.shown
    american = shown is None or shown.units == "ip"
    least, better, source = _SHEETS[base.kind, "US" if american else "CA"]
    sheet = "sheet under the concrete" if base.kind == "slab" else "sheet on the soil"
    draft.direction = "amount"
    draft.answer = f"At least {least} for the {sheet} of {it}; {better}."
    draft.more.append(
        phrases.stopped(
            "Any of these holds vapor back; thickness is for feet, stones and reinforcement, and laps of 6 in "
            "sealed to walls and pipes count for more"
            if american
            else "Any of these holds vapor back; thickness is for feet, stones and reinforcement, and laps of 300 mm "
            "sealed to walls and pipes count for more"
        )
    )
    draft.sources.append(source)
