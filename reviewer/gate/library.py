"""Findings about a library as a whole: what no review of a single detail can see."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from reviewer.gate.judge import Judge
from reviewer.gate.kept import Kept
from reviewer.gate.policy import Policy
from reviewer.gate.record import LibraryRemark, Override, Record


class _Line(NamedTuple):
    """What is kept of a record until the end of a run."""

    file: str
    id: str
    title: str
    kind: str
    claims: tuple[str, ...]
    placed: bool
    sameness: str


class Library:
    """Gathers what the library-level rules need of each record; small, since a library can be large."""

    def __init__(self) -> None:
        self._lines: list[_Line] = []
        self._values: dict[tuple[str, str, float | None], dict[str, tuple[int, str, str, int | None]]] = {}
        """Material, property and thickness to each value as shown: how often, and where first (file, id, line)."""

    def add(self, record: Record | Kept, zones: Sequence[str] = ()) -> None:
        """Take a record in. `zones` are those that the policy asks for: claimed as good as if the detail said so."""
        if isinstance(record, Record) and (record.refused or record.failed):
            return
        claims = tuple(sorted({*record.claims, *zones}))
        self._lines.append(
            _Line(record.file, record.id, record.title, record.kind, claims, record.placed, record.sameness)
        )
        for override in record.overrides:
            self._add_value(record, override)

    def _add_value(self, record: Record | Kept, o: Override) -> None:
        values = self._values.setdefault((o.material, o.property, o.thickness), {})
        count, file, section, line = values.get(o.shown, (0, record.file, record.id, o.line))
        values[o.shown] = (count + 1, file, section, line)

    def remarks(self, judge: Judge, policy: Policy, whole: bool) -> list[LibraryRemark]:
        """All findings about the library, by file. What is missing is only told when the run saw `whole` folders."""
        found = [
            *self._duplicates(judge, policy),
            *self._same(judge, policy),
            *self._values_at_odds(judge, policy),
        ]
        if whole and policy.office_zones:
            found += [*self._zones_without(judge, policy), *self._for_no_zone(judge, policy)]
        return sorted(found, key=lambda r: (r.file, r.finding.line or 0, r.finding.rule, r.finding.title))

    def _duplicates(self, judge: Judge, policy: Policy) -> Iterable[LibraryRemark]:
        for section, lines in _grouped((line.id, line) for line in self._lines):
            for line in lines[1:]:
                says = f'The id "{section}" is that of {lines[0].file}, too'
                yield _remark(judge, policy, "library/duplicate-id", line, says)

    def _same(self, judge: Judge, policy: Policy) -> Iterable[LibraryRemark]:
        for _, lines in _grouped((line.sameness, line) for line in self._lines):
            first = lines[0]
            for line in lines[1:]:
                says = f'"{line.title or line.id}" is the same as "{first.title or first.id}" ({first.file}) but for names'
                yield _remark(judge, policy, "library/same-but-for-name", line, says)

    def _zones_without(self, judge: Judge, policy: Policy) -> Iterable[LibraryRemark]:
        for kind, lines in sorted(_by_kind(line for line in self._lines if line.claims)):
            claimed = {zone for line in lines for zone in line.claims}
            for zone in policy.office_zones:
                if zone not in claimed:
                    says = f"No {kind} is claimed for zone {zone}, where the office builds"
                    path = f"{kind}: zone {zone}"
                    finding = judge.remark("library/zone-without-detail", "", says, path, None, policy)
                    yield LibraryRemark(file=_file_of(policy), section="", finding=finding)

    def _for_no_zone(self, judge: Judge, policy: Policy) -> Iterable[LibraryRemark]:
        for line in self._lines:
            if not line.placed and not set(line.claims) & set(policy.office_zones):
                zones = ", ".join(policy.office_zones)
                says = f'"{line.title or line.id}" is claimed for none of the zones that the office builds in ({zones})'
                yield _remark(judge, policy, "library/detail-for-no-zone", line, says)

    def _values_at_odds(self, judge: Judge, policy: Policy) -> Iterable[LibraryRemark]:
        for (material, name, thickness), values in sorted(
            self._values.items(), key=lambda item: (item[0][0], item[0][1], item[0][2] or 0.0)
        ):
            if len(values) < 2:
                continue
            # The value that most details agree on is least likely to be the slip.
            ranked = sorted(values.items(), key=lambda item: (-item[1][0], item[1][1], item[0]))
            usual, (_, usual_file, _, _) = ranked[0]
            of = f" at {thickness * 1000:.4g} mm" if thickness is not None else ""
            for shown, (_, file, section, line) in ranked[1:]:
                says = f"{material}{of}: {name} is {shown} here and {usual} in {usual_file}"
                path = f"{material}: {name}"
                finding = judge.remark("library/inconsistent-material", section, says, path, line, policy)
                yield LibraryRemark(file=file, section=section, finding=finding)


def _remark(judge: Judge, policy: Policy, rule: str, line: _Line, says: str) -> LibraryRemark:
    finding = judge.remark(rule, line.id, says, "", 1, policy)
    return LibraryRemark(file=line.file, section=line.id, finding=finding)


def _grouped(pairs: Iterable[tuple[str, _Line]]) -> Iterable[tuple[str, list[_Line]]]:
    groups: dict[str, list[_Line]] = {}
    for key, line in pairs:
        groups.setdefault(key, []).append(line)
    return ((key, lines) for key, lines in groups.items() if len(lines) > 1)


def _by_kind(lines: Iterable[_Line]) -> Iterable[tuple[str, list[_Line]]]:
    groups: dict[str, list[_Line]] = {}
    for line in lines:
        groups.setdefault(line.kind, []).append(line)
    return groups.items()


def _file_of(policy: Policy) -> str:
    return policy.origins.get("office zones", "").rpartition(":")[0]
