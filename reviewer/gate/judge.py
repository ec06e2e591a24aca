"""A record under the policy: severities, waivers, baseline, and what fails."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from reviewer.gate.baseline import Baseline, Entry
from reviewer.gate.change import moves_between
from reviewer.gate.policy import FAIL_AT, Policy
from reviewer.gate.record import (
    Detail,
    Judged,
    JudgedVerdict,
    LibraryRemark,
    Record,
    State,
    Tally,
    Verdict,
    WaiverLine,
)
from reviewer.gate.rulebook import gate_rules
from reviewer.gate.waivers import covers, expired, protected
from reviewer.result import Severity, verdict

if TYPE_CHECKING:
    from reviewer.gate.kept import Kept


def structural_key(rule: str, at: str, path: str) -> tuple[str, str]:
    """What a finding is known by within its section: the rule, and the place and path in names.

    >>> structural_key("a/b", "zone 5A", "gypsum board")
    ('a/b', 'zone 5A: gypsum board')
    """
    return rule, f"{at}: {path}" if path else at


def fingerprint(section: str, rule: str, path: str) -> str:
    """A short digest that stays as long as rule, section and structural path do."""
    return hashlib.sha256("\0".join((rule, section, path)).encode()).hexdigest()[:32]


def fails(severity: str, fail_at: str) -> bool:
    """Whether a live finding of this severity fails a run with this threshold.

    >>> fails("caution", "serious"), fails("caution", "note"), fails("serious", "never")
    (False, True, False)
    """
    return fail_at != "never" and severity in FAIL_AT[: FAIL_AT.index(fail_at) + 1]


class Judge:
    """Judges records one after the other and counts; what is about the whole run is asked for at its end."""

    def __init__(self, today: date, baseline: Baseline | None = None, writing: bool = False):
        self.today = today
        self.baseline = baseline
        self.writing = writing
        """Whether a baseline is written after the run: what goes into it is known already."""
        self.entries: Counter[Entry] = Counter()
        """What a baseline written after the run holds: everything that counts or is known, hazards and the like left out."""
        self.guarded = 0
        """Findings left out of it because they may not be waived."""
        self.sections: dict[str, list[str]] = {}
        """Id to the files of every section reviewed: several only where they share an id."""
        self._counts: Counter[str] = Counter()
        self._live: Counter[str] = Counter()
        self._verdicts: Counter[str] = Counter()
        self._policy_waivers: dict[WaiverLine, list[bool]] = {}
        """Of each waiver of a policy: for every section it is about, whether it waived something there."""

    def detail(self, record: Record, policy: Policy, before: Record | None = None) -> Detail:
        """A record under its policy. `before` is the record of the same section before a change: what was
        found there as well is shown, and fails nothing."""
        self._counts["details"] += 1
        if record.refused or record.failed:
            self._counts["could_not_review"] += 1
            return Detail(
                file=record.file,
                id=record.id,
                title=record.title,
                kind=record.kind,
                claims=record.claims,
                status="could not review",
                problems=record.refused or [f"{record.file}: {record.failed}"],
            )
        self._counts["reviewed"] += 1
        self.sections.setdefault(record.id, []).append(record.file)
        waivers = [(w, False) for w in record.waivers]
        waivers += [(w, True) for w in policy.waivers if not w.problem and covers(w, record.id)]
        used: set[WaiverLine] = set()
        refused: dict[WaiverLine, str] = {}
        known_before = _keys(before) if before is not None else Counter[tuple[str, str]]()
        verdicts = [
            self._verdict(
                v, record, policy, [w for w, _ in waivers if not w.problem], used, refused, known_before
            )
            for v in record.verdicts
        ]
        for waiver, of_policy in waivers:
            if of_policy:
                self._policy_waivers.setdefault(waiver, []).append(waiver in used or waiver in refused)
        remarks = self._about_waivers(
            [w for w, of_policy in waivers if not of_policy], record, policy, used, refused
        )
        detail = Detail(
            file=record.file,
            id=record.id,
            title=record.title,
            kind=record.kind,
            claims=record.claims,
            status="reviewed",
            verdicts=verdicts,
            remarks=remarks,
            moves=moves_between(self._under(before, policy), self._under(record, policy))
            if before is not None
            else [],
        )
        failing = self._count(detail, policy)
        return detail.model_copy(update={"fails": True}) if failing else detail

    def _under(self, record: Record, policy: Policy) -> Record:
        """A record with the findings that count under a policy: what verdicts are compared by."""
        waivers = [w for w in record.waivers if not w.problem]
        waivers += [w for w in policy.waivers if not w.problem and covers(w, record.id)]
        accepted = {w.rule for w in waivers if not expired(w, self.today)}
        verdicts = []
        for v in record.verdicts:
            found = [
                f.model_copy(update={"severity": _severity(f.rule, f.severity, f.hazard, policy)[0]})
                for f in v.findings
                if policy.counts(f.rule)
                and (f.rule not in accepted or protected(f.rule, f.hazard, policy.never_waive))
            ]
            undecided = any(policy.counts(rule) for rule in v.undecided)
            disposition = verdict({f.severity for f in found}, undecided)
            verdicts.append(v.model_copy(update={"findings": found, "disposition": disposition}))
        return record.model_copy(update={"verdicts": verdicts})

    def kept(self, kept: Kept, policy: Policy) -> bytes | None:
        """The detail of a record kept from an earlier run, written out; None where the policy or the baseline
        bears on it, so that it must be judged in full."""
        if (
            self.writing
            or (self.baseline is not None and self.baseline.knows_of(kept.id))
            or not policy.severities.keys().isdisjoint(kept.rules)
            or not all(map(policy.counts, (*kept.rules, *kept.undecided)))
            or any(not w.problem and covers(w, kept.id) for w in policy.waivers)
        ):
            return None
        self._counts["details"] += 1
        self._counts["reviewed"] += 1
        self._counts["hazards"] += kept.hazards
        self.sections.setdefault(kept.id, []).append(kept.file)
        self._verdicts.update(kept.dispositions)
        self._live.update(kept.live)
        failing = sum(n for severity, n in kept.live.items() if fails(severity, policy.fail_at))
        failing += policy.fail_on_incomplete * kept.dispositions.count("incomplete")
        self._counts["failing"] += failing
        return kept.detail(failing > 0)

    def removed(self, record: Record) -> Detail:
        """A section that was there before a change and is no more."""
        return Detail(
            file=record.file,
            id=record.id,
            title=record.title,
            kind=record.kind,
            claims=record.claims,
            status="removed",
        )

    def remark(
        self, rule: str, section: str, says: str, path: str, line: int | None, policy: Policy
    ) -> Judged:
        """A finding of the gate itself."""
        of_gate = gate_rules()[rule]
        severity, note = _severity(rule, of_gate.severity, False, policy)
        where = path or rule.split("/")[0]
        return Judged(
            rule=rule,
            severity=severity,
            hazard=False,
            title=says,
            explanation=of_gate.explanation,
            path=where,
            line=line,
            authority="common practice, no published source",
            remedies=[of_gate.remedy],
            note=note,
            fingerprint=fingerprint(section, rule, where),
        )

    def policy_remarks(self, policies: Iterable[Policy], covered: Sequence[Path]) -> list[tuple[str, Judged]]:
        """What is to be said of the waivers of the policies used, with the file each stands in."""
        found: list[tuple[str, Judged]] = []
        seen: set[WaiverLine] = set()
        for policy in policies:
            for waiver in policy.waivers:
                if waiver in seen:
                    continue
                seen.add(waiver)
                name = f"{waiver.section} {waiver.rule}"
                if waiver.problem:
                    says = f"A waiver is malformed: {waiver.problem}"
                    found.append(
                        (waiver.file, self.remark("waivers/malformed", name, says, "", waiver.line, policy))
                    )
                    continue
                uses = self._policy_waivers.get(waiver)
                folder = Path(waiver.file).absolute().parent
                whole = any(folder == c or c in folder.parents for c in covered)
                if (uses is not None and not any(uses)) or (uses is None and whole):
                    says = f"The waiver of {waiver.rule} for {waiver.section} has no finding"
                    found.append(
                        (waiver.file, self.remark("waivers/unused", name, says, "", waiver.line, policy))
                    )
        return found

    def settle(self, remarks: Iterable[LibraryRemark], policy: Policy) -> list[LibraryRemark]:
        """Findings about the library, counted; those that the baseline knows marked so."""
        settled = []
        for remark in remarks:
            f = remark.finding
            if f.rule.startswith("library/") and not protected(f.rule, False, policy.never_waive):
                state = self._known(Entry(f.rule, remark.section, f.path))
                f = f.model_copy(update={"state": state})
            if f.state == "live":
                self._live[f.severity] += 1
                self._counts["failing"] += fails(f.severity, policy.fail_at)
            else:
                self._counts[f.state] += 1
            settled.append(remark.model_copy(update={"finding": f}))
        return settled

    def _known(self, entry: Entry) -> State:
        self.entries[entry] += 1
        if self.writing or (self.baseline is not None and self.baseline.takes(entry)):
            return "known"
        return "live"

    def total(self, stale: int) -> Tally:
        """The counts of the run."""
        c = self._counts
        order = ("revise and resubmit", "incomplete", "make corrections noted", "no exceptions taken")
        return Tally(
            details=c["details"],
            reviewed=c["reviewed"],
            could_not_review=c["could_not_review"],
            verdicts={d: self._verdicts[d] for d in order},
            live={s: self._live[s] for s in ("serious", "caution", "note", "credit")},
            hazards=c["hazards"],
            waived=c["waived"],
            known=c["known"],
            there_before=c["there before"],
            stale=stale,
            failing=c["failing"] + stale,
        )

    def _verdict(
        self,
        found: Verdict,
        record: Record,
        policy: Policy,
        waivers: list[WaiverLine],
        used: set[WaiverLine],
        refused: dict[WaiverLine, str],
        before: Counter[tuple[str, str]],
    ) -> JudgedVerdict:
        judged = []
        for f in found.findings:
            if not policy.counts(f.rule):
                continue
            key = structural_key(f.rule, found.at, f.path)
            severity, note = _severity(f.rule, f.severity, f.hazard, policy)
            state: State = "live"
            waived: dict[str, str] | None = None
            if severity != "credit":
                guarded = protected(f.rule, f.hazard, policy.never_waive)
                waiver = next((w for w in waivers if w.rule == f.rule), None)
                if waiver is not None and guarded:
                    refused[waiver] = f.title
                elif waiver is not None:
                    used.add(waiver)
                    if not expired(waiver, self.today):
                        state = "waived"
                        note = f"by {waiver.by} until {waiver.until}: {waiver.reason}"
                        waived = {
                            "by": waiver.by,
                            "until": waiver.until,
                            "reason": waiver.reason,
                            "in": "policy" if waiver.section else "section",
                        }
                if state == "live" and before[key] > 0:
                    before[key] -= 1
                    state = "there before"
                elif state == "live" and guarded:
                    self.guarded += severity != "credit"
                elif state == "live" and severity != "credit":
                    state = self._known(Entry(f.rule, record.id, key[1]))
            judged.append(
                Judged(
                    **{**f.model_dump(), "severity": severity, "rests_on": []},
                    state=state,
                    note=note,
                    waived=waived,
                    fingerprint=fingerprint(record.id, *key),
                )
            )
        undecided = [rule for rule in found.undecided if policy.counts(rule)]
        live = {j.severity for j in judged if j.state != "waived"}
        return JudgedVerdict(
            at=found.at,
            place=found.place,
            zone=found.zone,
            edition=found.edition,
            units=found.units,
            disposition=verdict(live, bool(undecided)),
            undecided=undecided,
            u_value=found.u_value,
            r_value=found.r_value,
            findings=judged,
        )

    def _about_waivers(
        self,
        waivers: list[WaiverLine],
        record: Record,
        policy: Policy,
        used: set[WaiverLine],
        refused: dict[WaiverLine, str],
    ) -> list[Judged]:
        found = []
        for w in waivers:
            if w.problem:
                rule, says = "waivers/malformed", f"A waiver is malformed: {w.problem}"
            elif w in refused:
                rule, says = "waivers/not-allowed", f"{w.rule} may not be waived: {refused[w]}"
            elif w not in used:
                rule, says = "waivers/unused", f"The waiver of {w.rule} has no finding"
            elif expired(w, self.today):
                rule, says = "waivers/expired", f"The waiver of {w.rule} expired after {w.until}"
            else:
                continue
            found.append(self.remark(rule, record.id, says, w.rule, w.line, policy))
        return found

    def _count(self, detail: Detail, policy: Policy) -> bool:
        failing = 0
        for found in detail.verdicts:
            self._verdicts[found.disposition] += 1
            failing += found.disposition == "incomplete" and policy.fail_on_incomplete
        for _, f in detail.findings():
            if f.state == "live":
                self._live[f.severity] += 1
                self._counts["hazards"] += f.hazard
                failing += fails(f.severity, policy.fail_at)
            else:
                self._counts[f.state] += 1
        self._counts["failing"] += failing
        return failing > 0


def _keys(record: Record) -> Counter[tuple[str, str]]:
    return Counter(structural_key(f.rule, v.at, f.path) for v in record.verdicts for f in v.findings)


def _severity(rule: str, severity: Severity, hazard: bool, policy: Policy) -> tuple[Severity, str]:
    """The severity under the policy, and why it is another one. What may not be waived can't be lowered either."""
    change = policy.severities.get(rule)
    if change is None or severity == "credit" or change.severity == severity:
        return severity, ""
    lower = FAIL_AT.index(change.severity) > FAIL_AT.index(severity)
    if lower and protected(rule, hazard, policy.never_waive):
        return (
            severity,
            f"stays {severity}: the policy lets nobody waive it, so it can't be lowered ({change.origin})",
        )
    word = "lowered" if lower else "raised"
    return change.severity, f"{word} from {severity}: {change.reason} ({change.origin})"  # type: ignore[return-value]
