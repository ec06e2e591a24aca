"""Records as workers give them and as they are kept between runs, with what most runs make of them.

A policy that neither waives a section's findings nor changes their severities judges it as no policy would. So a
packed record holds the detail that comes of it then, written out, and the counts that go with it: a run copies it,
and only what its policy or baseline bears on is read in full and judged.
"""

from __future__ import annotations

import json
from collections import Counter
from datetime import date
from typing import Any, Final

from reviewer.gate.judge import Judge
from reviewer.gate.policy import Policy
from reviewer.gate.record import Override, Record

_END: Final = b'"fails":false}'
_ADDED: Final = ("state", "note", "waived", "fingerprint")
"""What a finding has under a policy and not before."""


class Kept:
    """A packed record, nothing of it validated anew: this program made it."""

    __slots__ = (
        "_detail",
        "_head",
        "body",
        "claims",
        "file",
        "id",
        "kind",
        "placed",
        "reads",
        "sameness",
        "title",
    )

    def __init__(self, body: bytes):
        self.body = body
        """As packed."""
        line, _, self._detail = body.partition(b"\n")
        self._head: dict[str, Any] = json.loads(line)
        record = self._head["record"]
        self.file: str = record["file"]
        self.id: str = record["id"]
        self.title: str = record["title"]
        self.kind: str = record["kind"]
        self.claims: list[str] = record["claims"]
        self.sameness: str = record["sameness"]
        self.reads: dict[str, str] = record["reads"]
        self.placed: bool = self._head["placed"]

    @property
    def rules(self) -> dict[str, list[str]]:
        """Rules that found something: id to title, severity, and who says so."""
        return self._head["rules"]

    @property
    def live(self) -> dict[str, int]:
        """Findings by severity."""
        return self._head["live"]

    @property
    def hazards(self) -> int:
        return self._head["hazards"]

    @property
    def dispositions(self) -> list[str]:
        return self._head["dispositions"]

    @property
    def undecided(self) -> list[str]:
        return self._head["undecided"]

    @property
    def overrides(self) -> list[Override]:
        return [Override.model_construct(**o) for o in self._head["record"]["overrides"]]

    def detail(self, fails: bool) -> bytes:
        """The detail under a policy that changes nothing, a line of JSON."""
        return self._detail[: -len(_END)] + b'"fails":true}' if fails else self._detail

    def record(self) -> Record:
        """The whole record."""
        verdicts = json.loads(self._detail)["verdicts"]
        for verdict in verdicts:
            for finding in verdict["findings"]:
                for name in _ADDED:
                    del finding[name]
        return Record.model_validate({**self._head["record"], "verdicts": verdicts})


def pack(record: Record, facts: bool) -> bytes:
    """A record in bytes: a line of JSON, and the detail where a run may copy it. Records with `facts`, with waivers
    of their own or without a verdict stay whole."""
    if facts or record.waivers or not record.verdicts:
        return record.model_dump_json().encode() + b"\n"
    detail = Judge(date.min).detail(record, Policy())
    found = [f for _, f in detail.findings()]
    rules: dict[str, list[str]] = {}
    for f in found:
        rules.setdefault(f.rule, [f.title, f.severity, f.authority])
    head = {
        "record": record.model_dump(mode="json", exclude={"verdicts"}),
        "placed": record.placed,
        "rules": rules,
        "live": Counter(f.severity for f in found),
        "hazards": sum(f.hazard for f in found),
        "dispositions": [v.disposition for v in detail.verdicts],
        "undecided": [rule for v in detail.verdicts for rule in v.undecided],
    }
    line = detail.model_copy(update={"fails": False}).model_dump_json().encode()
    assert line.endswith(_END)
    return json.dumps(head, ensure_ascii=False).encode() + b"\n" + line


def unpack(data: bytes) -> Record | Kept:
    """What `pack` made. Raises ValueError or KeyError for anything else."""
    return Record.model_validate_json(data) if data.endswith(b"\n") else Kept(data)
