"""Questions for a figure of a section: how cold a layer gets, how much condenses on it, how damp it gets, where the dew
point lies."""

from __future__ import annotations

import re
from typing import Any

from reviewer.answers import phrases
from reviewer.answers.draft import Draft, checks, command, holds, reasons
from reviewer.answers.figures import COLD, DAMP, DEW_POINT, WATER
from reviewer.names import shown_name
from reviewer.result import LayerLine, Result
from reviewer.units import show

_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December")  # fmt: skip
_SOURCE = "ISO 13788 2012 clauses 5 and 6, monthly means (from memory of the document)"
_BY_JOB = {
    "sheathing": "sheathing",
    "siding": "cladding",
    "cladding": "cladding",
    "drywall": "interior finish",
}
"""Words of a question for the layers that have a job."""


def answer_measured(draft: Draft) -> None:
    """The figure, by the monthly calculation that the review rests on (ISO 13788)."""
    reading, desk = draft.reading, draft.desk
    section = reading.base or reading.options[0].section
    result = draft.shown = desk.result(section)
    where = phrases.spoken(section.kind, phrases.place(desk.judged([section])[0]))
    what = reading.subject.name if reading.subject is not None else COLD
    said = {COLD: _cold, WATER: _water, DAMP: _damp, DEW_POINT: _dew_point}[what](
        result, reading.text.lower()
    )
    if not said:
        draft.direction = "explanation"
        draft.answer = (
            f"That can't be computed of {where}: what its layers are made of is not known well enough."
        )
        draft.more.append(
            "Take the layers that are not known apart in a section file, each as the range it may be."
        )
    else:
        draft.direction = "amount" if what != DEW_POINT else "explanation"
        draft.answer = f"In {where}, {phrases.decapitalized(said[0])}."
        draft.more += said[1:]
        draft.sources += [_SOURCE, "common practice, no published source"]
    draft.reasons = [*reasons(result), *holds(result)][:3]
    draft.check = checks(draft, result)
    draft.commands = [command(desk, section), *draft.commands]


def _coldest(result: Result) -> int:
    c = result.calculations
    return list(c["monthly"]["months"]).index(c["dew_point"]["month"])


def _joints(result: Result) -> list[dict[str, Any]]:
    c = result.calculations
    return list(c["monthly"]["joints"]) if "monthly" in c and "dew_point" in c else []


def _meant(result: Result, text: str) -> LayerLine | None:
    """The layer that a question names, by its job or by its name; else the coldest that can get wet."""
    by_job = next((role for word, role in _BY_JOB.items() if re.search(rf"\b{word}\b", text)), "")
    found = [x for x in result.layers if by_job and by_job in x.roles]
    found = found or [x for x in result.layers if x.name in text or x.name.rpartition(" ")[2] in text.split()]
    inner = [x for x in result.layers if "thermal control" in x.roles]
    beyond = [x for x in result.layers if inner and x.index > inner[0].index]
    return next(iter(found or beyond), None)


def _cold(result: Result, text: str) -> list[str]:
    layer, joints = _meant(result, text), _joints(result)
    face = next((j for j in joints if layer is not None and j["outer"] == layer.index), None)
    if layer is None or face is None:
        return []
    k, c, units = _coldest(result), result.calculations, result.units
    at = face["temperature"][k]
    outdoors = c["monthly"]["outdoor"]["temperature"][k]
    dew_point = c["dew_point"]["indoor"]
    wets = (
        "below it, so room air that gets there condenses"
        if at < dew_point
        else "above it, so room air stays dry there"
    )
    return [
        f"The inner face of the {shown_name(layer.name)} gets down to {show(at, 'temperature', units)} in "
        f"{_MONTHS[k]}, as the mean of the coldest month",
        f"Outdoors it is {show(outdoors, 'temperature', units)} on average then. The room's dew point is "
        f"{show(dew_point, 'temperature', units)}; the face is {wets}.",
        "Single nights are colder: the face follows the outdoor air almost degree for degree outside of the insulation.",
    ]


def _water(result: Result, text: str) -> list[str]:
    d = result.calculations.get("drying")
    joints = _joints(result)
    if not d or not joints:
        return []
    if not d["condenses"]:
        return [
            "None by diffusion: no plane falls below the dew point of what reaches it at monthly means",
            "Air that leaks in brings more than diffusion does; how much hangs on its joints, which are not in a section.",
        ]
    worst = max(joints, key=lambda j: max(j["held"]))
    month = _MONTHS[max(range(12), key=lambda n: worst["held"][n])]
    dries = "It dries within the year" if d["dries_within_year"] else "It does not dry within the year"
    return [
        f"At most {show(d['peak'], 'area density', result.units)} by diffusion, at the end of {month}, between "
        f"{phrases.joined([shown_name(result.layers[worst[side]].name) for side in ('inner', 'outer')])}",
        f"{dries}, by monthly means.",
        "Air that leaks in brings more; how much hangs on its joints, which are not in a section.",
    ]


def _damp(result: Result, text: str) -> list[str]:
    wood = result.calculations.get("wood_moisture", [])
    layer = _meant(result, text)
    named = [w for w in wood if layer is not None and w["name"] == layer.name]
    if not wood:
        return []
    most = max(named or wood, key=lambda w: max(w["monthly"]))
    month = _MONTHS[max(range(12), key=lambda n: most["monthly"][n])]
    return [
        f"The {shown_name(most['name'])} reaches {show(max(most['monthly']), 'wood moisture', result.units)} in "
        f"{month}, by monthly means"
    ]


def _dew_point(result: Result, text: str) -> list[str]:
    joints = _joints(result)
    if not joints:
        return []
    k, units = _coldest(result), result.units
    dew_point = result.calculations["dew_point"]["indoor"]
    cold = next((j for j in joints if j["temperature"][k] < dew_point), None)
    air = f"The room's dew point in {_MONTHS[k]} is {show(dew_point, 'temperature', units)}"
    if cold is None:
        return [f"{air}, and no joint of the layers gets that cold"]
    inner, outer = (shown_name(result.layers[cold[side]].name) for side in ("inner", "outer"))
    return [
        f"{air}, which is reached within the {inner}, or at its outer face",
        f"What condenses does so on the first face beyond: that of the {outer}, at "
        f"{show(cold['temperature'][k], 'temperature', units)}. Where the temperature passes the dew point inside of fiber "
        "nothing gets wet; it is that face that counts, and how much vapor reaches it.",
    ]
