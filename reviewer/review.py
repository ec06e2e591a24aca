"""The pipeline for one section: facts, rules, findings, disposition, result."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

import reviewer
from reviewer.facts.anatomy import Anatomy
from reviewer.facts.book import Book, Record
from reviewer.facts.build import Built, build
from reviewer.facts.monthly import LIMITS, MOLD_YEARS, Year
from reviewer.facts.resolve import Properties
from reviewer.facts.site import Site
from reviewer.facts.vocabulary import KINDS
from reviewer.humidity import dew_point, saturation_pressure
from reviewer.library.types import MONTHS
from reviewer.model.section import Section
from reviewer.names import shown_name
from reviewer.physics import mold
from reviewer.physics.condensation import NEGLIGIBLE
from reviewer.result import (
    Assumption,
    CitationLine,
    ClimateHead,
    Disposition,
    Evidence,
    Finding,
    FramingLine,
    LayerLine,
    NotEvaluated,
    Remedy,
    Result,
    SectionHead,
    Step,
    Work,
    verdict,
)
from reviewer.units import DIMENSIONS

if TYPE_CHECKING:
    from pathlib import Path

    from reviewer.engine.types import Outcome
    from reviewer.rules.evaluate import NotJudged
    from reviewer.rules.findings import RawFinding
    from reviewer.rules.ruleset import Ruleset

Units = Literal["ip", "si"]

CAUTIONS: tuple[str, ...] = (
    "This is a screening review of one section. It is no substitute for the building code in force, for the "
    "manufacturers' instructions, or for the judgment of a licensed professional who has seen the building.",
    "Joints, corners, openings and workmanship decide as much as the layers do, and are not in a section.",
)
HAZARD_CAUTION = "A hazard was flagged. Have it looked at by a person licensed for it before any work covers or disturbs it."
WOOD_LIMITS = {
    "caution": mold.CAUTION_MOISTURE,
    "decay": mold.DECAY_MOISTURE,
    "source": "USDA Wood Handbook ch. 14 (from memory of the document)",
}
MEMORY_CAUTION = (
    "A code table used here was transcribed from memory of the document, not from the document: check the clause in the "
    "adopted edition before relying on it."
)


@lru_cache(maxsize=4)
def _shipped() -> Ruleset:
    from reviewer.rules.ruleset import load_ruleset

    return load_ruleset()


def load_rules(extra: Sequence[str | Path] = ()) -> Ruleset:
    """The shipped rulebook, with a user's own packs beside it. Raises InputError."""
    if not extra:
        return _shipped()
    from reviewer.rules.child import load_with_user_packs

    return load_with_user_packs(list(extra))


def review(
    section: Section,
    ruleset: Ruleset | None = None,
    *,
    edition: str = "",
    units: Units | None = None,
    proof: bool = False,
    hourly: bool = False,
    work: bool = False,
    brief: bool = False,
) -> Result:
    """Review one section.

    `edition` ("IRC 2018") overrides the section's code; `units` default to inch-pound in the United
    States and SI elsewhere; `proof` adds the whole proof of each finding; `hourly` runs the hourly
    simulation too; `work` adds every calculation with its numbers; `brief` leaves out the evidence and the
    calculations joint by joint. Raises InputError when the place, weather file or code can't be found.
    """
    rules = ruleset if ruleset is not None else load_rules()
    built = build(section, edition, hourly=hourly)
    judged = judge(built[0], rules)
    return report(section, built, judged, rules, units=units, proof=proof, work=work, brief=brief)


def review_all(
    sections: Sequence[Section],
    ruleset: Ruleset | None = None,
    *,
    edition: str = "",
    units: Units | None = None,
    proof: bool = False,
    hourly: bool = False,
    work: bool = False,
) -> list[Result]:
    """Review sections, calculated and simulated together: what `review` gives for each alone."""
    from reviewer.facts.batch import build_all

    rules = ruleset if ruleset is not None else load_rules()
    return [
        report(section, built, judge(built[0], rules), rules, units=units, proof=proof, work=work)
        for section, built in zip(sections, build_all(sections, edition, hourly=hourly), strict=True)
    ]


def report(
    section: Section,
    built: Built,
    judged: Judgment,
    rules: Ruleset,
    *,
    units: Units | None = None,
    proof: bool = False,
    work: bool = False,
    brief: bool = False,
) -> Result:
    """The result of a review from a section's facts and what the rules made of them; arguments as of `review`."""
    book, layers, site, anatomy, year = built
    outcome, missing, disposition = judged.outcome, judged.missing, judged.disposition
    system: Units = units or ("ip" if site.climate is None or site.climate.country == "US" else "si")
    # Evidence is told from the records of its facts.
    records = {} if brief else book.by_id()
    findings = [_finding(f, rules, outcome, records, section, system, proof) for f in judged.findings]
    return Result(
        program=f"reviewer {reviewer.__version__}",
        engine=outcome.engine,
        section=SectionHead(id=section.id, title=section.title, kind=section.kind, file=section.file),
        climate=_climate(site),
        units=system,
        disposition=disposition,
        summary=_summary(disposition, findings, missing),
        layers=_layers(section, layers, anatomy, site, year),
        findings=findings,
        calculations=_calculations(layers, anatomy, site, None if brief else year, book),
        assumptions=[Assumption(what=a.what, why=a.why, affects=a.affects) for a in book.assumptions],
        not_evaluated=missing,
        cautions=_cautions(findings),
        work=_work(section, book, layers, site, anatomy, year) if work else [],
    )


@dataclass(frozen=True, slots=True)
class Judgment:
    """What the rules make of a section's facts, before it is put into words."""

    outcome: Outcome
    findings: list[RawFinding]
    missing: list[NotEvaluated]
    disposition: Disposition


def judge(book: Book, rules: Ruleset) -> Judgment:
    """Run the rules on the facts: what `review` reports, without the report."""
    from reviewer.rules.evaluate import not_judged
    from reviewer.rules.findings import findings_from

    facts = book.facts()
    outcome = rules.run(facts)
    findings = findings_from(outcome, rules, facts)
    missing = _missing(not_judged(rules, facts, book.unknown(), outcome), book.unknown())
    live = {f.part.severity for f in findings}
    return Judgment(outcome, findings, missing, verdict(live, any(m.decisive for m in missing)))


def _work(
    section: Section, book: Book, layers: list[Properties], site: Site, anatomy: Anatomy, year: Year | None
) -> list[Work]:
    from reviewer.facts.work import show_work

    return show_work(section, book, layers, site, anatomy, year)


def _summary(disposition: Disposition, findings: Sequence[Finding], missing: Sequence[NotEvaluated]) -> str:
    # A cause is named before its symptoms.
    hung = {rule for f in findings for rule in f.symptoms}
    live = sorted((f for f in findings if f.waived is None), key=lambda f: f.rule in hung)
    serious = [f for f in live if f.severity == "serious"]
    cautions = [f for f in live if f.severity == "caution"]
    if disposition == "revise and resubmit":
        rest = f", and {_count(len(serious) - 1, 'more serious finding')}" if len(serious) > 1 else ""
        return f"{serious[0].title}{rest}."
    if disposition == "incomplete":
        n = sum(m.decisive for m in missing)
        return (
            f"Too little is known to judge: {_count(n, 'rule')} that could decide the verdict had no answer."
        )
    if disposition == "make corrections noted":
        rest = f", and {_count(len(cautions) - 1, 'more caution')}" if len(cautions) > 1 else ""
        return f"It works if this is put right: {cautions[0].title}{rest}."
    return "Nothing found that would harm it, under the assumptions listed."


def _count(n: int, noun: str) -> str:
    return f"{n} {noun}" + ("" if n == 1 else "s")


def _climate(site: Site) -> ClimateHead:
    c = site.climate
    code = f"{site.code} {site.edition}" if site.edition else "none"
    if c is None:
        return ClimateHead(place="not stated", zone=site.zone, edition=code, source=[])
    return ClimateHead(
        place=c.place,
        zone=site.zone,
        edition=code,
        source=[str(s) for s in c.sources],
        latitude=c.latitude,
        longitude=c.longitude,
        elevation=c.elevation,
        hdd18=c.hdd18,
    )


def _layers(
    section: Section, layers: list[Properties], a: Anatomy, site: Site, year: Year | None
) -> list[LayerLine]:
    lines = []
    for p in layers:
        i = p.layer.index
        inside = year is not None and i < a.end
        t = h = None
        wet = False
        if year is not None and inside:
            t = float(year.thermal.t[site.coldest, i + 1])
            h = float(year.rh[:, i + 1].max())
            wet = bool(year.balance.peak[i + 1] > NEGLIGIBLE)
        lines.append(
            LayerLine(
                index=i,
                text=p.layer.text,
                name=p.shown,
                thickness=p.thickness,
                r_value=p.r,
                permeance_dry=p.permeance_dry,
                permeance_wet=p.permeance_wet,
                roles=sorted(p.roles),
                family=p.material.family if p.material else (p.layer.space or ""),
                framed=p.layer.framing is not None,
                framing=_framing(p),
                ventilated=p.ventilated,
                unknown=p.layer.unknown,
                temperature_outer=_rounded(t),
                humidity_outer=_rounded(h),
                condensing=wet,
                line=p.layer.mark.line if p.layer.mark.line else None,
                sources={k: o.source for k, o in sorted(p.origins.items()) if o.source},
            )
        )
    del section
    return lines


def _framing(p: Properties) -> FramingLine | None:
    f = p.layer.framing
    if f is None:
        return None
    return FramingLine(material=shown_name(f.material.id), width=f.width, spacing=f.spacing)


def _rounded(value: float | None, places: int = 6) -> float | None:
    """Six decimals: printed values don't hang on the last bit of a platform's arithmetic."""
    return None if value is None else round(value, places) + 0.0


def _series(values: Any, places: int = 4) -> list[float]:
    return [round(v, places) + 0.0 for v in values.tolist()]


def _calculations(
    layers: list[Properties], a: Anatomy, site: Site, year: Year | None, book: Book
) -> dict[str, Any]:
    head = next(r for r in book.records if r.kind == "section")
    out: dict[str, Any] = {"limits": LIMITS, **book.calculations}
    for name in (
        "u_value",
        "r_total",
        "r_nominal",
        "r_exterior",
        "share_outboard",
        "share_needed",
        "temperature_factor",
        "temperature_factor_needed",
    ):
        value = head.fields.get(name)
        if isinstance(value, float):
            out["r_value" if name == "r_total" else name] = round(value, 5)
    out["method"] = {"u_value": head.origin("u_value").how, "source": head.origin("u_value").source}
    if year is None or site.p_in is None or site.t_in is None or site.t_out is None or site.p_out is None:
        return out
    k, b, t = site.coldest, year.balance, year.thermal.t
    dew = dew_point(site.p_in)
    joints = [
        {"inner": j - 1, "outer": j, "name": f"{layers[j - 1].shown} / {layers[j].shown}"}
        for j in range(1, a.end)
    ]
    out["dew_point"] = {
        "month": MONTHS[k],
        "indoor": _rounded(float(dew[k]), 3),
        "joints": [
            {
                **joint,
                "temperature": _rounded(float(t[k, j]), 3),
                "margin": _rounded(float(t[k, j] - dew[k]), 3),
                **({"design_day": _rounded(float(year.t_design[j]), 3)} if year.t_design is not None else {}),
            }
            for j, joint in enumerate(joints, 1)
        ],
    }
    saturation = saturation_pressure(t)
    out["monthly"] = {
        "months": list(MONTHS),
        "outdoor": {"temperature": _series(site.t_out, 2), "vapor_pressure": _series(site.p_out, 1)},
        "outer_side": {
            "temperature": _series(year.thermal.t_ext, 2),
            "vapor_pressure": _series(year.thermal.p_ext, 1),
        },
        "indoor": {"temperature": _series(site.t_in, 2), "vapor_pressure": _series(site.p_in, 1)},
        "surfaces": {
            "inner": _series(t[:, 0], 2),
            "outer": _series(t[:, -1], 2),
            **{
                f"{side}_{name}": _series(values[:, j], places)
                for side, j in (("inner", 0), ("outer", -1))
                for name, values, places in (
                    ("vapor_pressure", year.p, 1),
                    ("saturation", saturation, 1),
                    ("humidity", year.rh, 3),
                )
            },
        },
        "joints": [
            {
                **joint,
                "temperature": _series(t[:, j], 2),
                "vapor_pressure": _series(year.p[:, j], 1),
                "saturation": _series(saturation[:, j], 1),
                "humidity": _series(year.rh[:, j], 3),
                "condensation": _series(b.rate[:, j], 5),
                "held": _series(b.stock[:, j], 5),
            }
            for j, joint in enumerate(joints, 1)
        ],
    }
    out["drying"] = {
        "condenses": bool(b.condenses),
        "start": MONTHS[int(b.start)] if int(b.start) >= 0 else "",
        "peak": _rounded(float(b.total_peak)),
        "left": _rounded(float(b.left.sum())),
        "dries_within_year": bool(b.dries),
        "accumulates": bool(b.accumulates),
    }
    out["wood_moisture"] = [
        {"layer": i, "name": layers[i].shown, "monthly": _series(year.wood[:, i], 4)}
        for i in range(a.end)
        if not np.isnan(year.wood[:, i]).any()
    ]
    out["wood_limits"] = WOOD_LIMITS
    out["mold"] = {
        "limit": mold.LIMIT,
        "source": "ASHRAE 160 2016 6.1 (from memory of the document)",
        "years": MOLD_YEARS,
        "joints": [
            {**joint, "index": _series(year.mold_course[:, j], 3)}
            for j, joint in enumerate(joints, 1)
            if year.mold[j] > 0.0
        ],
    }
    return out


def _finding(
    f: RawFinding,
    rules: Ruleset,
    outcome: Outcome,
    records: Mapping[str, Record],
    section: Section,
    system: Units,
    proof: bool,
) -> Finding:
    part = f.part
    line = next((section.layers[i].mark.line for i in f.layers if i < len(section.layers)), None)
    return Finding(
        rule=f.rule.id,
        severity=part.severity,  # type: ignore[arg-type]
        hazard=part.hazard,
        title=sentences(f.says(system)),
        explanation=sentences(" ".join(f.explanation(system).split())),
        reason=part.reason,
        confidence=part.confidence,
        layers=list(f.layers),
        line=line,
        evidence=_evidence(f, rules, records),
        citations=[
            CitationLine(
                document=c.document, edition=c.edition, clause=c.clause, kind=c.kind, certainty=c.certainty
            )
            for c in f.rule.cites
        ],
        remedies=[Remedy(text=text, change=change) for text, change in f.remedies(system)],
        margin=f.margin(system),
        voice=part.voice,
        symptoms=list(f.symptoms),
        defeated=[d.rule for d in f.defeated],
        proof=_proof(f, rules, outcome, records, system) if proof else [],
    )


_START = re.compile(r"(?:^|(?<=[.!?] ))[a-z]")


def sentences(text: str) -> str:
    """A rule's text, whose sentences start with a capital even where the name of a material comes first.

    >>> sentences("plywood gets wet. oriented strand board does, too")
    'Plywood gets wet. Oriented strand board does, too'
    """
    return _START.sub(lambda m: m[0].upper(), text)


def _evidence(f: RawFinding, rules: Ruleset, records: Mapping[str, Record]) -> list[Evidence]:
    """Every value that the rule's conditions rest on, each once, in the order of the conditions."""
    lines: dict[tuple[str, str], Evidence] = {}
    for firing in f.firings:
        rule = rules.by_engine_name[firing.derivation.rule].engine
        for pattern, parent in zip(rule.patterns, firing.derivation.parents, strict=False):
            names = dict.fromkeys([t.field for t in pattern.tests] + [j.field for j in pattern.joins])
            for name in names:
                if name in ("index", "inner", "outer", "topic", "about") or (parent, name) in lines:
                    continue
                line = evidence(parent, name, f, records)
                if line is not None:
                    lines[parent, name] = line
    return list(lines.values())


def evidence(fact_id: str, name: str, f: RawFinding, records: Mapping[str, Record]) -> Evidence | None:
    """One value with its origin; None when the fact lacks it."""
    record = records.get(fact_id)
    if record is None:
        fact = f.facts.get(fact_id)
        if fact is None or name not in fact.fields or fact.kind != "concluded":
            return None
        return Evidence(
            fact=f"{fact_id} {name}",
            label="conclusion",
            value=fact.fields[name],
            unit="",
            dimension="text",
            origin="concluded",
            how="by a rule",
            source="",
        )
    if name not in record.fields:
        return None
    spec, origin = KINDS[record.kind].fields[name], record.origin(name)
    value = record.fields[name]
    dimension = DIMENSIONS.get(spec.dimension)
    return Evidence(
        fact=f"{fact_id} {name}".replace(":", " "),
        label=f"{record.label}: {spec.meaning}",
        value=round(value, 15) if isinstance(value, float) else value,
        unit=dimension.si if dimension else "",
        dimension=spec.dimension,
        origin=origin.origin,  # type: ignore[arg-type]
        how=origin.how,
        source=origin.source,
    )


def _proof(
    f: RawFinding, rules: Ruleset, outcome: Outcome, records: Mapping[str, Record], system: Units
) -> list[Step]:
    from reviewer.rules.explain import proof_of

    return proof_of(f, rules, outcome, lambda fact, name: evidence(fact, name, f, records), system)


def _missing(found: Iterable[NotJudged], unknown: Mapping[str, Mapping[str, str]]) -> list[NotEvaluated]:
    return [
        NotEvaluated(
            rule=n.rule.id,
            title=n.rule.title,
            severity=n.rule.severity,
            missing=n.text,
            settle="; ".join(dict.fromkeys(unknown[fact][field] for fact, field in n.missing)),
            decisive=n.rule.severity == "serious",
        )
        for n in found
    ]


def _cautions(findings: Sequence[Finding]) -> list[str]:
    out = list(CAUTIONS)
    if any(f.hazard for f in findings):
        out.append(HAZARD_CAUTION)
    if any(c.certainty == "memory" and c.kind == "code" for f in findings for c in f.citations):
        out.append(MEMORY_CAUTION)
    return out
