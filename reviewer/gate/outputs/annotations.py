"""Findings as the plain-text lines that continuous integration services turn into annotations.

Formats as their services document them: workflow commands (GitHub Actions), logging commands (Azure Pipelines),
service messages (TeamCity). From memory of the documents.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from reviewer.gate.outputs import text
from reviewer.gate.record import Judged
from reviewer.gate.report import Report
from reviewer.report.words import clean

SERVICES: Final = ("github", "azure", "teamcity")
_SIGNS: Final = {"github": "GITHUB_ACTIONS", "azure": "TF_BUILD", "teamcity": "TEAMCITY_VERSION"}


def service(environment: Mapping[str, str]) -> str:
    """The service that a run is in, by the variable each documents; empty when in none.

    >>> service({"TF_BUILD": "True"}), service({})
    ('azure', '')
    """
    return next((name for name in SERVICES if environment.get(_SIGNS[name])), "")


def render(report: Report, service: str) -> Iterator[str]:
    """A line for each finding that counts, and for each file that could not be reviewed."""
    if service == "teamcity":
        for rule in report.rules:
            yield _message("inspectionType", id=rule, name=rule, category="reviewer", description=rule)
    for detail in report.details():
        for problem in detail.problems:
            message = " ".join(problem.split())
            yield _line(service, "error", detail.file, 1, "could not review", message)
        for at, f in text.shown(detail):
            yield _finding(service, detail.file, at, f)
    for remark in text.library(report):
        yield _finding(service, remark.file, "", remark.finding)


def _finding(service: str, file: str, at: str, f: Judged) -> str:
    place = f"{text.place(at)}: " if text.place(at) else ""
    level = {"serious": "error", "caution": "warning"}.get(f.severity, "notice")
    return _line(service, level, file, f.line or 1, f.rule, f"{place}{clean(f.title)}")


def _line(service: str, level: str, file: str, line: int, rule: str, message: str) -> str:
    if service == "github":
        given = (
            f"file={_github(file)},line={line},title={_github(rule)}" if file else f"title={_github(rule)}"
        )
        return f"::{level} {given}::{_percent(message)}"
    if service == "azure":
        kind = "error" if level == "error" else "warning"
        where = f"sourcepath={_azure(file)};linenumber={line};" if file else ""
        return f"##vso[task.logissue type={kind};{where}code={_azure(rule)}]{_percent(message)}"
    severity = {"error": "ERROR", "warning": "WARNING"}.get(level, "WEAK WARNING")
    return _message("inspection", typeId=rule, message=message, file=file, line=str(line), SEVERITY=severity)


def _percent(words: str) -> str:
    return words.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _github(words: str) -> str:
    """A property's value: commas and colons end it.

    >>> _github("a:b,c%")
    'a%3Ab%2Cc%25'
    """
    return _percent(words).replace(":", "%3A").replace(",", "%2C")


def _azure(words: str) -> str:
    return (
        words.replace("%", "%AZP25")
        .replace(";", "%3B")
        .replace("]", "%5D")
        .replace("\n", "%0A")
        .replace("\r", "%0D")
    )


def _message(kind: str, /, **values: str) -> str:
    """A service message.

    >>> _message("x", a="it's [50|60]")
    "##teamcity[x a='it|'s |[50||60|]']"
    """
    return f"##teamcity[{kind} " + " ".join(f"{key}='{_bars(value)}'" for key, value in values.items()) + "]"


def _bars(words: str) -> str:
    out = words
    for c, e in (("|", "||"), ("'", "|'"), ("[", "|["), ("]", "|]"), ("\n", "|n"), ("\r", "|r")):
        out = out.replace(c, e)
    return "".join(c if ord(c) < 128 else _unit(c) for c in out)


def _unit(c: str) -> str:
    raw = c.encode("utf-16-be")
    return "".join(f"|0x{raw[i : i + 2].hex().upper()}" for i in range(0, len(raw), 2))
