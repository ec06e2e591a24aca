"""SARIF 2.1.0 (OASIS Standard, 27 March 2020): findings for tools that show them beside the text of a file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote

from reviewer.gate.outputs import text
from reviewer.gate.record import Detail, Judged, State
from reviewer.gate.report import Report

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
LEVELS = {"serious": "error", "caution": "warning", "note": "note"}
_BASELINE: dict[State, str] = {"known": "unchanged", "there before": "unchanged"}


def render(report: Report) -> Iterator[str]:
    """Lines of a log with one run. Waived findings are suppressed results; known ones have their baseline state."""
    index = {rule: n for n, rule in enumerate(report.rules)}
    version = report.program.rpartition(" ")[2]
    driver = {
        "name": "reviewer",
        "semanticVersion": version,
        "rules": [_rule(rule, *said) for rule, said in report.rules.items()],
    }
    yield "{" + f'"$schema": "{SCHEMA}", "version": "2.1.0", "runs": [{{'
    yield f'"tool": {_json({"driver": driver})},'
    yield '"columnKind": "unicodeCodePoints",'
    yield '"results": ['
    first = True
    with_state = bool(report.baseline or report.change)
    notifications: list[dict[str, Any]] = []
    for detail in report.details():
        notifications += [_notification(detail, problem) for problem in detail.problems]
        for at, f in detail.findings():
            if f.severity == "credit":
                continue
            yield ("" if first else ",") + _json(_result(detail.file, detail.id, at, f, index, with_state))
            first = False
    for remark in report.library:
        yield ("" if first else ",") + _json(_result(remark.file, "", "", remark.finding, index, with_state))
        first = False
    yield "],"
    invocation = {
        "executionSuccessful": report.tally.could_not_review == 0,
        "exitCode": report.status,
        "toolExecutionNotifications": notifications,
    }
    yield f'"invocations": [{_json(invocation)}]'
    yield "}]}"


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _rule(rule: str, title: str, severity: str, authority: str) -> dict[str, Any]:
    described: dict[str, Any] = {
        "id": rule,
        "shortDescription": {"text": title or rule},
        "defaultConfiguration": {"level": LEVELS.get(severity, "none")},
    }
    if authority:
        described["help"] = {"text": authority}
    return described


def _result(
    file: str, section: str, at: str, f: Judged, index: dict[str, int], with_state: bool
) -> dict[str, Any]:
    place = f" In {at}." if text.place(at) else ""
    result: dict[str, Any] = {
        "ruleId": f.rule,
        "ruleIndex": index[f.rule],
        "level": LEVELS[f.severity],
        "message": {"text": f"{f.title}.{place} {f.explanation}".strip()},
        "locations": [_location(file, section, f)],
        "partialFingerprints": {"structuralPath/v1": f.fingerprint},
        "properties": {"hazard": f.hazard, "authority": f.authority, "at": at, "state": f.state},
    }
    if f.waived is not None:
        kind = "inSource" if f.waived["in"] == "section" else "external"
        result["suppressions"] = [{"kind": kind, "status": "accepted", "justification": f.note}]
    if with_state:
        result["baselineState"] = _BASELINE.get(f.state, "new")
    return result


def _location(file: str, section: str, f: Judged) -> dict[str, Any]:
    logical = [
        {"name": section, "kind": "section", "fullyQualifiedName": "/".join(filter(None, [section, f.path]))}
    ]
    location: dict[str, Any] = {}
    if file:
        location["physicalLocation"] = {
            "artifactLocation": {"uri": _uri(file)},
            "region": {"startLine": f.line or 1},
        }
    if section:
        location["logicalLocations"] = logical
    return location


def _uri(file: str) -> str:
    """A relative reference with what is no URI character escaped; absolute paths as file URIs."""
    path = quote(file, safe="/.-_~")
    return f"file://{path}" if path.startswith("/") else path


def _notification(detail: Detail, problem: str) -> dict[str, Any]:
    return {
        "level": "error",
        "message": {"text": problem},
        "locations": [{"physicalLocation": {"artifactLocation": {"uri": _uri(detail.file)}}}],
    }
