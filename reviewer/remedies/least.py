"""The least amount that clears, by each voice: code, rule of thumb, calculation.

The amount is laid on the steps that people read off a rule. Every coarse step is judged by the whole pipe, so a voice
that has its limits on both sides does not mislead; between the last step that fails and the first that passes the
answer is halved down to one step. So the result passes, and one step less does not: both were judged.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import reviewer
from reviewer.advice import FindingLine, HeatAnswer, LeastAdvice, LeastAnswer, Voice
from reviewer.facts.book import Book
from reviewer.facts.build import build
from reviewer.facts.requirements import ROUNDED
from reviewer.facts.resolve import Properties
from reviewer.model.section import Section
from reviewer.remedies.amounts import ATTICS, Subject, r_value, subject
from reviewer.remedies.changes import Draft, section_of
from reviewer.remedies.moves import made
from reviewer.remedies.parts import here_of
from reviewer.review import Units, judge, review
from reviewer.rules.findings import RawFinding
from reviewer.units import show
from reviewer.variants.judging import Judges

VOICES: tuple[Voice, ...] = ("code", "rule of thumb", "calculation", "all together")
COARSE = 48
"""Steps that are judged first, evenly over the range."""
_SPLIT = 8
"""Parts that what is left of a range is split into, in one batch."""
SUBJECT = {
    "code": "The code",
    "rule of thumb": "The rule of thumb",
    "calculation": "The calculation",
    "all together": "All together",
}


@dataclass(frozen=True, slots=True)
class _At:
    """One amount, judged."""

    findings: tuple[RawFinding, ...]
    """Serious ones and cautions."""
    layers: list[Properties]
    shares: tuple[float, float] | None
    """Share of R outboard of the plane that could condense, and the share that keeps it at the room's dew point in the
    coldest month; None where the room side holds the vapor back, or where one is not known."""
    table: tuple[bool, str] | None
    """Whether the energy code's table is met, and its clause; None where no table is held for such a section."""

    def by(self, voice: Voice) -> dict[str, RawFinding]:
        """The findings of a voice by rule, the first of each."""
        out: dict[str, RawFinding] = {}
        for f in self.findings:
            if voice in ("all together", f.part.voice):
                out.setdefault(f.rule.id, f)
        return out


def least(
    section: Section,
    what: str,
    judges: Judges,
    units: Units | None = None,
    progress: Callable[[int], None] = lambda n: None,
    sizes: bool = False,
) -> LeastAdvice:
    """The least of an amount that clears; with `sizes` only what is sold is judged, where the amount comes in sizes.
    Raises InputError: no such amount, no place for it, or as `review`."""
    before = review(section, judges.rules, edition=judges.edition, units=units)
    book, layers, _, anatomy, _ = build(section, judges.edition)
    s = subject(what, here_of(section, book, layers, anatomy), before.units)
    scale = _Scale(s, judges, progress, sizes)
    answers = [_answer(voice, scale, before.climate.edition) for voice in VOICES]
    heat = _for_heat(scale, before.climate.edition)
    return LeastAdvice(
        program=f"reviewer {reviewer.__version__}",
        section=before.section,
        climate=before.climate,
        units=before.units,
        disposition=before.disposition,
        what=s.what,
        varied=s.varied,
        dimension=s.dimension,
        now=s.now,
        answers=answers,
        heat=heat,
        cautions=before.cautions,
        summary=_summary(s, answers),
    )


class _Scale:
    """The amounts of a subject, judged as they are asked for."""

    def __init__(self, s: Subject, judges: Judges, progress: Callable[[int], None], sizes: bool):
        self.subject, self.judges, self.progress = s, judges, progress
        self.at: dict[int, _At] = {}
        last = len(s.amounts) - 1
        sold = [x.place for x in s.stock]
        self.sizes = sizes and bool(sold) and min(sold) >= 0
        steps = {0, *sold, last} if self.sizes else {round(last * n / COARSE) for n in range(COARSE + 1)}
        self.coarse = sorted(steps)
        self.judge(self.coarse)
        if self.sizes:
            self.stock = [self.at[n] for n in sold]
        else:
            self.stock = self._judged([made(s.start, x.changes) for x in s.stock])

    def judge(self, places: Sequence[int]) -> None:
        new = [n for n in dict.fromkeys(places) if n not in self.at]
        self.at.update(zip(new, self._judged([self.subject.draft(n) for n in new]), strict=True))
        self.progress(len(self.at))

    def _judged(self, drafts: Sequence[Draft]) -> list[_At]:
        out: list[_At] = []
        for book, layers, *_ in self.judges.build([section_of(d) for d in drafts]):
            judgment = judge(book, self.judges.rules)
            bad = tuple(f for f in judgment.findings if f.part.severity in ("serious", "caution"))
            out.append(
                _At(bad, layers, _shares(book) if self.subject.outboard else None, _table(book, layers))
            )
        return out

    def first(self, holds: Callable[[_At], bool], start: int = 0) -> int | None:
        """The first place from the coarse one on that holds, the one before it judged too; None: none does."""
        at = next((n for n, place in enumerate(self.coarse) if n >= start and holds(self.at[place])), None)
        if at is None or at == start:
            return None if at is None else self.coarse[start]
        low, high = self.coarse[at - 1], self.coarse[at]
        while high - low > 1 and not self.sizes:
            inner = sorted({low + round((high - low) * k / _SPLIT) for k in range(1, _SPLIT)} - {low, high})
            self.judge(inner)
            high = next((n for n in inner if holds(self.at[n])), high)
            low = max([low, *(n for n in inner if n < high)])
        return high

    def below(self, place: int) -> _At:
        """The last amount that was judged before a place."""
        return self.at[max(n for n in self.at if n < place)]

    def until(self, start: int, holds: Callable[[_At], bool]) -> int | None:
        """The last coarse place from `start` on up to which it holds; None where it holds to the end."""
        held = start
        for place in (n for n in self.coarse if n > start):
            if not holds(self.at[place]):
                return held
            held = place
        return None


def _shares(book: Book) -> tuple[float, float] | None:
    fields = next(r for r in book.records if r.kind == "section").fields
    has, needed = fields.get("share_outboard"), fields.get("share_needed")
    if fields.get("interior_class") not in ("III", "none"):
        return None
    return (has, needed) if isinstance(has, float) and isinstance(needed, float) else None


def _table(book: Book, layers: Sequence[Properties]) -> tuple[bool, str] | None:
    """Whether the energy code's table is met, and its clause. On attic floors by the R-value, which is what is bought there
    and what inspectors measure, not by the transmittance that may stand instead of it."""
    asked = (r.fields for r in book.records if r.kind == "requirement")
    f = next((f for f in asked if f.get("topic") == "prescriptive resistance"), None)
    if f is None:
        return None
    met, has, needed = f.get("met") == "yes", f.get("r_provided"), f.get("r_needed")
    if layers[-1].layer.space in ATTICS and isinstance(has, float) and isinstance(needed, float):
        met = met and has >= needed - ROUNDED
    return met, str(f.get("clause", ""))


def _for_heat(scale: _Scale, edition: str) -> HeatAnswer | None:
    """What the energy code's table asks for, a matter beside moisture; None where it is met with none of it, or by no
    amount, or where the amount is not one of insulation."""
    s = scale.subject
    tables = [t for n in scale.coarse if (t := scale.at[n].table) is not None]
    none = scale.at[scale.coarse[0]].table
    if not tables or (none is not None and none[0]) or s.dimension != "length":
        return None
    stock = next((n for n, at in enumerate(scale.stock) if at.table is not None and at.table[0]), None)
    if stock is not None and s.stock[stock].place >= 0:
        place, at, shown = s.stock[stock].place, scale.stock[stock], s.stock[stock].shown
    else:
        found = scale.first(lambda at: at.table is not None and at.table[0])
        if found is None:
            return None
        place, at, shown = found, scale.at[found], s.shown(s.amounts[found])
    return HeatAnswer(
        amount=round(s.amounts[place], 15),
        shown=shown,
        also=_also(s, at.layers).split(",", 1)[0],
        source=f"{edition} {tables[0][1]}, from memory",
    )


def _answer(voice: Voice, scale: _Scale, edition: str) -> LeastAnswer:
    s = scale.subject
    each = [set(scale.at[n].by(voice)) for n in scale.coarse]
    stays = set.intersection(*each)

    ratio = voice == "rule of thumb"

    def clear(at: _At) -> bool:
        warm = not ratio or at.shares is None or at.shares[0] >= at.shares[1]
        return warm and set(at.by(voice)) <= stays

    none, units = scale.at[scale.coarse[0]], s.units
    leaves = _lines([f for r, f in none.by(voice).items() if r in stays], units)
    place = scale.first(clear)
    if place is None:
        best = min(scale.coarse, key=lambda n: (len(scale.at[n].by(voice)), n))
        left = _lines(scale.at[best].by(voice).values(), units)
        says = f"{SUBJECT[voice]}: no amount in the range clears everything."
        if left:
            says += f" Fewest findings are left at {s.shown(s.amounts[best])}: {_titles(left)}."
        return LeastAnswer(
            voice=voice, asks=True, amount=None, shown="", clears=[], leaves=left, sources=[], says=says
        )
    if place == scale.coarse[0]:
        fails = next((n for n, at in enumerate(scale.coarse) if not clear(scale.at[at])), None)
        again = None if fails is None else scale.first(clear, fails)
        once = "" if again is None else s.shown(s.amounts[again])
        says = f"{SUBJECT[voice]} {'ask' if voice == 'all together' else 'asks'} for none."
        sources: list[str] = []
        if once:
            found = [f for r, f in scale.below(again).by(voice).items() if r not in stays] if again else []
            sources = _sources(found, edition)
            says += f" Once there is some, it has to be at least {once}: {_titles(_lines(found, units))}."
        elif fails is not None:
            at = scale.coarse[fails]
            found = [f for r, f in scale.at[at].by(voice).items() if r not in stays]
            says += f" From {s.shown(s.amounts[at])} on it finds fault: {_titles(_lines(found, units))}."
        if leaves:
            says += f" What it finds fault with does not hang on it: {_titles(leaves)}."
        return LeastAnswer(
            voice=voice,
            asks=False,
            amount=None,
            shown="",
            once=once,
            clears=[],
            leaves=leaves,
            sources=sources,
            says=says,
        )
    amount = s.amounts[place]
    below = scale.below(place)
    standing = [f for r, f in below.by(voice).items() if r not in stays]
    end = scale.until(place, clear)
    stock = next(
        (n for n, x in enumerate(s.stock) if clear(scale.stock[n]) and (x.place == -1 or x.place >= place)),
        None,
    )
    clears = _lines(standing, units)
    shown, also = s.shown(amount), _also(s, scale.at[place].layers)
    stock_shown = "" if stock is None else s.stock[stock].shown
    stock_also = "" if stock is None else _also(s, scale.stock[stock].layers)
    most = "" if end is None else s.shown(s.amounts[end])
    after = None if end is None else next(n for n in scale.coarse if n > end)
    beyond = [] if after is None else [f for r, f in scale.at[after].by(voice).items() if r not in stays]
    sources = _sources(standing, edition)
    criterion = ""
    if ratio and below.shares is not None and below.shares[0] < below.shares[1]:
        criterion = (
            f"{below.shares[1] * 100:.0f} % of the R-value outboard of the plane that could condense, which keeps it at "
            "the dew point of the room in the coldest month"
        )
        sources = list(dict.fromkeys([*sources, "common practice, no published source"]))
    return LeastAnswer(
        voice=voice,
        asks=True,
        amount=round(amount, 15),
        shown=shown,
        also=also,
        stock=stock_shown,
        stock_also=stock_also,
        most=most,
        clears=clears,
        leaves=leaves,
        criterion=criterion,
        sources=sources,
        says=_says(
            voice,
            s,
            shown,
            also,
            stock_shown,
            stock_also,
            most,
            _lines(beyond, units),
            criterion,
            clears,
            leaves,
            scale.sizes,
        ),
    )


def _says(
    voice: Voice,
    s: Subject,
    shown: str,
    also: str,
    stock: str,
    stock_also: str,
    most: str,
    beyond: list[FindingLine],
    criterion: str,
    clears: list[FindingLine],
    leaves: list[FindingLine],
    sizes: bool,
) -> str:
    more = f" ({also})" if also else ""
    down = s.dimension in ("permeance", "relative humidity")
    text = f"{SUBJECT[voice]}: {'at most' if down else 'at least'} {shown}{more}"
    if s.stock:
        bought = f"{stock} ({stock_also})" if stock_also else stock
        text += f"; sold as {bought}" if stock else "; no size sold does it"
    text += "."
    if most:
        text += f" Not {'below' if down else 'above'} {most}: there stands {_titles(beyond)}."
    if criterion:
        text += f" It goes by {criterion}."
    if clears and voice != "all together":
        short = "A size smaller, there" if sizes else f"Just {'above' if down else 'below'} it"
        text += f" {short} stands: {_titles(clears)}."
    if leaves:
        text += f" Whatever the amount: {_titles(leaves)}."
    return text


def _also(s: Subject, layers: Sequence[Properties]) -> str:
    found = r_value(layers, s.thick) if s.thick else None
    if found is None:
        return ""
    r, share = found
    return f"{show(r, 'thermal resistance', s.units)}, {share * 100:.0f} % of the insulation's R"


def _lines(findings: Iterable[RawFinding], units: Units) -> list[FindingLine]:
    return [
        FindingLine(
            rule=f.rule.id,
            severity=f.part.severity,  # type: ignore[arg-type]
            title=_capital(f.says(units)),
            layers=list(f.layers),
        )
        for f in findings
    ]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _titles(lines: Sequence[FindingLine]) -> str:
    return "; ".join(f"{f.title} [{f.rule}]" for f in lines)


def _sources(findings: Sequence[RawFinding], edition: str) -> list[str]:
    """Of the rules, those of the edition in force first asked for; every source once."""
    out: dict[str, None] = {}
    for f in findings:
        cites = f.rule.cites
        own = [c for c in cites if c.edition and edition == f"{c.document} {c.edition}"]
        out.update(dict.fromkeys(str(c) for c in own or cites))
    return list(out)


def _summary(s: Subject, answers: Sequence[LeastAnswer]) -> str:
    total = answers[-1]
    asked = [a for a in answers[:-1] if a.asks]
    if not asked:
        return f"No voice asks for {s.what} here."
    if total.amount is None:
        return f"No amount of {s.what} alone clears what is found fault with."
    deciding = [a.voice for a in asked if a.shown == total.shown]
    by = f", which {SUBJECT[deciding[0]].lower()} decides" if deciding else ""
    bought = f", sold as {total.stock}" if total.stock else ""
    most = "at most " if s.dimension in ("permeance", "relative humidity") else ""
    return f"{_capital(s.what)}: {most}{total.shown} clears all that hangs on it{by}{bought}."
