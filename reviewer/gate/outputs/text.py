"""What the outputs share: how a finding, a count or a place is worded."""

from __future__ import annotations

from reviewer.gate.change import NONE
from reviewer.gate.record import Detail, Judged, LibraryRemark, Move, Tally
from reviewer.gate.report import Report
from reviewer.report.words import clean

ORDER = {"serious": 0, "caution": 1, "note": 2, "credit": 3}


def count(n: int, noun: str, several: str = "") -> str:
    """A number with its noun.

    >>> count(1, "detail"), count(2, "detail"), count(0, "entry", "entries")
    ('1 detail', '2 details', '0 entries')
    """
    return f"{n} {noun if n == 1 else several or noun + 's'}"


def shown(detail: Detail) -> list[tuple[str, Judged]]:
    """The findings of a detail that a reader must see, worst first: those that count, without what holds."""
    found = [(at, f) for at, f in detail.findings() if f.state == "live" and f.severity != "credit"]
    return sorted(found, key=lambda item: (ORDER[item[1].severity], item[1].line or 0, item[1].rule, item[0]))


def library(report: Report) -> list[LibraryRemark]:
    """The findings about the library that count."""
    return [remark for remark in report.library if remark.finding.state == "live"]


def name(detail: Detail) -> str:
    """What a detail is called: its title, else its id, else its file.

    >>> name(Detail(file="a/b.yaml", id="b", title="", kind="wall", claims=[], status="reviewed"))
    'b'
    """
    return clean(detail.title or detail.id or detail.file)


def place(at: str) -> str:
    return "" if at in ("", "as written") else at


def moved(move: Move) -> str:
    """What a change did to the verdict at one place.

    >>> moved(Move(at="zone 5A", before="none", after="incomplete", appeared=[], gone=[], because=[]))
    'first reviewed: incomplete'
    """
    if move.before == move.after:
        return f"the verdict stays: {move.after}"
    if move.before == NONE:
        return f"first reviewed: {move.after}"
    if move.after == NONE:
        return f"no longer reviewed: was {move.before}"
    return f"{move.before} became {move.after}"


def severity(f: Judged) -> str:
    return f"{f.severity}, hazard" if f.hazard else f.severity


def headline(tally: Tally, change: str = "") -> str:
    """`3 details reviewed: 1 revise and resubmit, 2 no exceptions taken; 1 could not be reviewed`."""
    text = f"{count(tally.reviewed, 'detail')} reviewed"
    if change:
        text = f"{count(tally.reviewed, 'changed detail')} reviewed"
    verdicts = [f"{n} {d}" for d, n in tally.verdicts.items() if n]
    text += ": " + ", ".join(verdicts) if verdicts else ""
    if tally.could_not_review:
        text += f"; {tally.could_not_review} could not be reviewed"
    return text


def counts(tally: Tally) -> str:
    """`2 serious, 1 caution, 3 notes; 1 waived, 4 known from the baseline`."""
    parts = [count(tally.live[s], noun, several) for s, noun, several in _NOUNS if tally.live[s]]
    other = [
        f"{n} {what}"
        for n, what in (
            (tally.waived, "waived"),
            (tally.known, "known from the baseline"),
            (tally.there_before, "there before the change"),
        )
        if n
    ]
    return "; ".join(filter(None, [", ".join(parts) or "no findings that count", ", ".join(other)]))


_NOUNS = (("serious", "serious", "serious"), ("caution", "caution", "cautions"), ("note", "note", "notes"))


def outcome(report: Report) -> str:
    """How the run ends, in one sentence."""
    tally = report.tally
    if tally.could_not_review:
        return f"Could not review {count(tally.could_not_review, 'file')}: exit status 2."
    if tally.failing:
        stale = count(tally.stale, "baseline entry", "baseline entries")
        of_stale = f", {stale} no longer needed among them" if tally.stale else ""
        return f"Fails for {count(tally.failing, 'reason')}{of_stale}."
    return "Passes."
