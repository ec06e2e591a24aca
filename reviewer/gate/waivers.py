"""Waivers: a finding accepted by somebody, for a reason, until a day. That day is the last one included.

A waiver that is malformed or past its day waives nothing, and one without a finding is told to go: a list of
exceptions that nobody needs hides the next finding of the same rule.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from fnmatch import fnmatchcase
from typing import Final

from reviewer.document import Node, Reader
from reviewer.gate.record import WaiverLine
from reviewer.model.schema import RULE_ID, WAIVER

_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_OF_POLICY: Final = ("section", *WAIVER)


def read_waivers(node: Node, file: str, of_policy: bool = False) -> list[WaiverLine]:
    """Every waiver of a list; what is wrong with one is told in its `problem`.

    >>> from reviewer.document import parse_document
    >>> (w,) = read_waivers(parse_document("[{rule: a/b, reason: dry, by: J. Doe, until: 2027-02-30}]"), "f")
    >>> w.problem
    '"2027-02-30" is not a date; expected year-month-day, such as 2027-06-30'
    """
    reader = Reader()
    items = reader.list(node, "`waivers`")
    read = [_waiver(item, file, of_policy) for item in items]
    if reader.problems:
        read.append(_malformed(node, file, reader))
    seen: set[tuple[str, str]] = set()
    for n, waiver in enumerate(read):
        key = (waiver.section, waiver.rule)
        if waiver.rule and key in seen and not waiver.problem:
            read[n] = waiver.model_copy(update={"problem": f"a second waiver of {waiver.rule}"})
        seen.add(key)
    return read


def _waiver(item: Node, file: str, of_policy: bool) -> WaiverLine:
    reader = Reader()
    keys = _OF_POLICY if of_policy else tuple(WAIVER)
    given = reader.map(item, keys, "a waiver", keys)
    texts = {name: reader.text(given.get(name), f"`{name}`") or "" for name in keys}
    rule, until = texts["rule"], texts["until"]
    if rule and not re.match(RULE_ID, rule):
        reader.problem(given["rule"], f'"{rule}" is not the id of a rule', "pack/name-of-the-rule")
    if until and day(until) is None:
        reader.problem(given["until"], f'"{until}" is not a date', "year-month-day, such as 2027-06-30")
    if reader.problems:
        return _malformed(item, file, reader, texts)
    return WaiverLine(**texts, file=file, line=item.mark.line)


def _malformed(item: Node, file: str, reader: Reader, texts: dict[str, str] | None = None) -> WaiverLine:
    said = "; ".join(p.message + (f"; expected {p.expected}" if p.expected else "") for p in reader.problems)
    known = {"rule": "", "reason": "", "by": "", "until": "", **(texts or {})}
    return WaiverLine(**known, file=file, line=item.mark.line, problem=said)


def day(text: str) -> date | None:
    """A day as year-month-day, or None.

    >>> day("2027-06-30"), day("2027-6-30"), day("20270630")
    (datetime.date(2027, 6, 30), None, None)
    """
    if not _DAY.fullmatch(text):
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def expired(waiver: WaiverLine, today: date) -> bool:
    """Whether its last day is over.

    >>> w = WaiverLine(rule="a/b", reason="r", by="b", until="2027-06-30", file="f", line=1)
    >>> expired(w, date(2027, 6, 30)), expired(w, date(2027, 7, 1))
    (False, True)
    """
    last = day(waiver.until)
    return last is None or today > last


def covers(waiver: WaiverLine, section: str) -> bool:
    """Whether a policy's waiver is about this section."""
    return not waiver.section or fnmatchcase(section, waiver.section)


def protected(rule: str, hazard: bool, never_waive: Iterable[str]) -> bool:
    """Whether the policy lets nobody waive this: hazards, a rule, or a pack.

    >>> protected("hazards/vermiculite", True, ["hazards"]), protected("radon/no-vent", False, ["radon/*"])
    (True, True)
    """
    pack = rule.split("/")[0]
    return any((w == "hazards" and hazard) or w in (rule, f"{pack}/*") for w in never_waive)
