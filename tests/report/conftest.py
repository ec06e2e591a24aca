"""Results at the edges, for every format: the ordinary, the empty, the enormous and the hostile one."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from reviewer.model.parse import load_section, parse_section
from reviewer.report import as_json
from reviewer.report.letterhead import Letterhead, parse_letterhead
from reviewer.report.paper import Paper
from reviewer.report.review_paper import review_paper
from reviewer.result import Finding, Result
from reviewer.review import review

CASES = Path(__file__).parents[2] / "cases"

HOSTILE = (
    '=1+1 #panic("x") $x$ [*b*] _i_ `c` \\u{202e} <b onload="x">&amp;</b> {{7*7}} ](http://a.example) '
    "@ref <label> // comment /* */ ~tilde~ | cell | \u202eevil\u202c \u200b \x1b[31m \x00 \x07 ‘’ “”"
)
"""What somebody may write into a title to reach a reader's program: markup of every format, control characters,
characters that turn the direction of writing."""

LETTER = """
firm: Lantern Row Enclosure Office
address: [14 Lantern Row, "Duluth, MN 55802"]
contact: [218 555 0142, office@lanternrow.example]
date: 2026-03-02
project: Mill Street addition
reference: 26-114
client: [Lantern Row Housing Cooperative, 2 Mill Street]
reviewer: {name: A. Okafor, title: Enclosure consultant, license: PE 00000}
"""


@pytest.fixture(scope="session")
def letterhead() -> Letterhead:
    return parse_letterhead(LETTER)


KEPT = Path(__file__).parent / "kept"
"""Results as they once were: reports of them change only when reports do, not with every rule."""


def _kept(name: str, fresh: Callable[[], Result]) -> Result:
    path = KEPT / f"{name}.json"
    if os.environ.get("REVIEWER_WRITE_KEPT"):
        KEPT.mkdir(exist_ok=True)
        here = f"{CASES.parent}/"
        path.write_text(as_json.render([fresh()]).replace(here, ""), encoding="utf-8")
    return Result.model_validate_json(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def ordinary() -> Result:
    """The README's section."""
    return _kept(
        "ordinary", lambda: review(load_section(CASES / "vapor-control" / "mill-street-shut-in.yaml"))
    )


@pytest.fixture(scope="session")
def empty(ordinary: Result) -> Result:
    """Nothing found, nothing known, nothing calculated."""
    nothing: dict[str, list[object]] = {
        name: [] for name in ("layers", "findings", "assumptions", "not_evaluated", "cautions")
    }
    return ordinary.model_copy(
        update={
            **nothing,
            "calculations": {},
            "disposition": "no exceptions taken",
            "summary": "Nothing was found that calls for a change.",
            "section": ordinary.section.model_copy(update={"title": "", "id": "empty"}),
        }
    )


@pytest.fixture(scope="session")
def enormous(ordinary: Result) -> Result:
    """60 layers, 100 findings."""
    layers = "\n".join(
        f"  - {name}" for name in ["1/2 in gypsum board", "1 in mineral wool board", "1/2 in plywood"] * 20
    )
    text = f"title: sixty layers\nkind: wall\nplace: Duluth, MN\nindoor: home\nlayers:\n{layers}\n"
    made = _kept(
        "sixty-layers",
        lambda: review(parse_section(text.encode(), "sixty.yaml")).model_copy(
            update={"findings": [], "not_evaluated": []}
        ),
    )
    some = [f for f in ordinary.findings if not f.symptoms]
    findings = [
        some[n % len(some)].model_copy(
            update={"rule": f"own/number-{n}", "title": f"Finding {n} of a hundred"}
        )
        for n in range(100)
    ]
    findings.sort(key=lambda f: ("serious", "caution", "note", "credit").index(f.severity))
    return made.model_copy(update={"findings": findings, "disposition": "revise and resubmit"})


@pytest.fixture(scope="session")
def hostile(ordinary: Result) -> Result:
    """The ordinary result with a hostile text wherever somebody's text can stand."""
    f = ordinary.findings[0]
    waived = {"by": HOSTILE, "until": "2030-01-01", "reason": HOSTILE}
    finding = f.model_copy(
        update={
            "title": HOSTILE,
            "explanation": HOSTILE,
            "reason": HOSTILE,
            "margin": HOSTILE,
            "waived": waived,
            "remedies": [f.remedies[0].model_copy(update={"text": HOSTILE})],
            "evidence": [
                f.evidence[0].model_copy(update={"label": HOSTILE, "how": HOSTILE, "source": HOSTILE})
            ],
            "citations": [f.citations[0].model_copy(update={"document": HOSTILE, "clause": HOSTILE})],
        }
    )
    return ordinary.model_copy(
        update={
            "section": ordinary.section.model_copy(update={"title": HOSTILE, "id": HOSTILE}),
            "climate": ordinary.climate.model_copy(update={"place": HOSTILE, "source": [HOSTILE]}),
            "summary": HOSTILE,
            "layers": [x.model_copy(update={"text": HOSTILE, "name": HOSTILE}) for x in ordinary.layers],
            "findings": [finding, *ordinary.findings[1:]],
            "assumptions": [
                a.model_copy(update={"what": HOSTILE, "why": HOSTILE}) for a in ordinary.assumptions
            ],
            "cautions": [HOSTILE],
        }
    )


@pytest.fixture(scope="session")
def held() -> Result:
    """The README's section with all proofs."""
    case = CASES / "vapor-control" / "mill-street-shut-in.yaml"
    return _kept("proven", lambda: review(load_section(case), proof=True))


@pytest.fixture(scope="session")
def held_enormous(held: Result) -> Result:
    """The same with its layers over and over to 60, its joints to 59 and its findings, each with its proof, to 100."""

    def numbered(f: Finding, n: int) -> Finding:
        return f.model_copy(
            update={"rule": f"own/number-{n}", "title": f"{f.title}, {n} of a hundred", "symptoms": []}
        )

    layers = [held.layers[n % 8].model_copy(update={"index": n}) for n in range(60)]
    findings = [numbered(held.findings[n % len(held.findings)], n + 1) for n in range(100)]
    findings.sort(key=lambda f: ("serious", "caution", "note", "credit").index(f.severity))
    monthly = held.calculations["monthly"]
    joints = [monthly["joints"][n % 7] | {"inner": n, "outer": n + 1} for n in range(59)]
    calculations = held.calculations | {"monthly": monthly | {"joints": joints}}
    return held.model_copy(update={"layers": layers, "findings": findings, "calculations": calculations})


# Papers of all that has one.


def _spoilt(value: object) -> object:
    """The same with a hostile text at the end of every sentence of anybody's."""
    if isinstance(value, str):
        return f"{value} {HOSTILE}" if len(value) > 25 and " " in value else value
    if isinstance(value, dict):
        return {k: _spoilt(v) for k, v in value.items()}
    return [_spoilt(v) for v in value] if isinstance(value, list) else value


@pytest.fixture(scope="session")
def advised() -> dict[str, tuple[Any, Callable[..., Paper]]]:
    """Results other than a review, with what makes papers of them."""
    from reviewer.answers import asking
    from reviewer.remedies.command import least, remedy
    from reviewer.report.compare_paper import compare_paper
    from reviewer.report.least_paper import least_paper
    from reviewer.report.reach_paper import reach_paper
    from reviewer.report.remedy_paper import remedy_paper
    from reviewer.report.reply_paper import reply_paper
    from reviewer.variants.compare import climates_of, compare
    from reviewer.variants.judging import Judges
    from reviewer.variants.reach import reach

    judges = Judges()
    one = CASES / "vapor-control" / "mill-street-shut-in.yaml"
    other = CASES / "codes" / "mill-street-foam-short.yaml"
    sections = [load_section(one), load_section(other)]
    question = "Do I need a vapor barrier in a 2x6 wall with R-21 fiberglass in Duluth, MN?"
    return {
        "remedies": (remedy(str(one), most_changes=2, most_candidates=200), remedy_paper),
        "least": (least(str(other), "exterior insulation"), least_paper),
        "reach": (reach(sections[0], judges), reach_paper),
        "comparison": (compare(sections, judges, climates_of(["4A"], [])), compare_paper),
        "replies": (asking.ask(question, asking.desk_for((), "", None)), reply_paper),
    }


@pytest.fixture(
    params=[
        *("ordinary", "empty", "enormous", "hostile"),
        *("remedies", "least", "reach", "comparison", "replies"),
        *("remedies, hostile", "least, hostile", "reach, hostile", "comparison, hostile", "replies, hostile"),
    ]
)
def paper(request: pytest.FixtureRequest, letterhead: Letterhead) -> Paper:
    name = request.param
    if name in ("ordinary", "empty", "enormous", "hostile"):
        return review_paper(request.getfixturevalue(name), letterhead)
    found, build = request.getfixturevalue("advised")[name.partition(",")[0]]
    if "hostile" in name:
        found = type(found).model_validate(_spoilt(found.model_dump(mode="json", by_alias=True)))
    return build(found, letterhead)
