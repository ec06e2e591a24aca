"""JUnit XML, as continuous integration services read it: a test suite for each detail, a test case for each place.

There is no published standard; this keeps to the elements and attributes that are common to all readers.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from reviewer.gate.outputs import text
from reviewer.gate.record import Detail, Judged, LibraryRemark
from reviewer.gate.report import Report

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def render(report: Report) -> Iterator[str]:
    """Lines of the document. A finding is a failure where it fails the run; what is waived or known is told as output."""
    suites = [0, 0, 0]
    for detail in report.details():
        cases, failures, errors = _counts(detail)
        suites = [suites[0] + cases, suites[1] + failures, suites[2] + errors]
    whole = len(text.library(report)) + len(report.stale)
    tests, failures = suites[0] + whole, suites[1] + whole
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield f'<testsuites name="reviewer gate" tests="{tests}" failures="{failures}" errors="{suites[2]}">'
    for detail in report.details():
        yield from _suite(detail)
    if whole:
        yield f'  <testsuite name="library" tests="{whole}" failures="{whole}" errors="0" skipped="0">'
        for remark in text.library(report):
            yield from _library_case(remark)
        for entry in report.stale:
            name = _attribute(f"{entry.section}: {entry.rule}")
            yield f'    <testcase classname="baseline" name={name}>'
            yield f'      <failure type="baseline" message={_attribute("This baseline entry is no longer needed")}>{_escaped(entry.path)}</failure>'
            yield "    </testcase>"
        yield "  </testsuite>"
    yield "</testsuites>"


def _counts(detail: Detail) -> tuple[int, int, int]:
    if detail.status == "could not review":
        return 1, 0, 1
    groups = _groups(detail)
    return len(groups), sum(1 for _, found in groups if _live(found)), 0


def _groups(detail: Detail) -> list[tuple[str, list[Judged]]]:
    groups = [(v.at, v.findings) for v in detail.verdicts]
    return [*groups, ("waivers", detail.remarks)] if detail.remarks else groups


def _live(found: list[Judged]) -> list[Judged]:
    live = [f for f in found if f.state == "live" and f.severity in ("serious", "caution")]
    return sorted(live, key=lambda f: (text.ORDER[f.severity], f.line or 0, f.rule))


def _suite(detail: Detail) -> Iterator[str]:
    cases, failures, errors = _counts(detail)
    yield f'  <testsuite name={_attribute(detail.file)} tests="{cases}" failures="{failures}" errors="{errors}" skipped="0">'
    if detail.status == "could not review":
        message = detail.problems[0].split("\n")[0]
        yield f"    <testcase classname={_attribute(detail.file)} name={_attribute(detail.id or detail.file)}>"
        yield f'      <error type="could not review" message={_attribute(message)}>{_escaped(chr(10).join(detail.problems))}</error>'
        yield "    </testcase>"
    else:
        for at, found in _groups(detail):
            yield from _case(detail, at, found)
    yield "  </testsuite>"


def _case(detail: Detail, at: str, found: list[Judged]) -> Iterator[str]:
    name = f"{detail.id} {text.place(at)}".strip()
    head = f"    <testcase classname={_attribute(detail.file)} name={_attribute(name)}"
    live = _live(found)
    other = [f for f in found if f.state != "live"]
    if not live and not other:
        yield head + "/>"
        return
    yield head + ">"
    if live:
        more = f" (and {len(live) - 1} more)" if len(live) > 1 else ""
        body = "\n".join(_line(detail.file, f) for f in live)
        yield f"      <failure type={_attribute(live[0].severity)} message={_attribute(live[0].title + more)}>{_escaped(body)}</failure>"
    if other:
        body = "\n".join(f"{f.state}: {_line(detail.file, f)} {f.note}".rstrip() for f in other)
        yield f"      <system-out>{_escaped(body)}</system-out>"
    yield "    </testcase>"


def _library_case(remark: LibraryRemark) -> Iterator[str]:
    f = remark.finding
    yield f"    <testcase classname={_attribute(remark.file or 'library')} name={_attribute(f.rule)}>"
    yield f"      <failure type={_attribute(f.severity)} message={_attribute(f.title)}>{_escaped(f.explanation)}</failure>"
    yield "    </testcase>"


def _line(file: str, f: Judged) -> str:
    where = f"{file}:{f.line}" if f.line else file
    return f"{where}: {text.severity(f)}: {f.title} ({f.rule})"


def _escaped(words: str) -> str:
    return escape(_NOT_XML.sub(" ", words))


def _attribute(words: str) -> str:
    return quoteattr(_NOT_XML.sub(" ", words))
