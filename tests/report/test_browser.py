"""Pages in a browser: silent, alone with their file, accessible, readable at every width, on paper and without script.

Accessibility is checked by axe-core (Deque, MPL 2.0) with its rules for WCAG 2.0 to 2.2, levels A and AA, and its best
practices.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright
from pypdf import PdfReader

from reviewer import cli
from reviewer.answers import asking
from reviewer.model.parse import load_section
from reviewer.remedies import command as remedies
from reviewer.report import html, html_compare, html_reach, html_remedy, html_reply
from reviewer.report.drawing import standalone
from reviewer.result import Result
from reviewer.review import load_rules, review
from reviewer.rules.page import rule_page
from reviewer.variants import command as variants

pytestmark = pytest.mark.needs("chromium")

ROOT = Path(__file__).parents[2]
CASES = ROOT / "cases"
QUESTION = "Do I need a vapor retarder in a 2x6 wall in Duluth with vinyl siding?"
WIDTHS = (360, 820, 1280)
AXE: dict[str, Any] = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],
}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))))
    with sync_playwright() as p:
        # Containers run as root, where Chromium's sandbox can't start.
        started = p.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="module")
def pages(
    tmp_path_factory: pytest.TempPathFactory,
    held: Result,
    empty: Result,
    held_enormous: Result,
    hostile: Result,
) -> dict[str, Path]:
    """Every sort of page as a file."""
    folder = tmp_path_factory.mktemp("pages")
    wall = str(CASES / "vapor-control" / "mill-street-kraft-wall.yaml")
    shut_in = str(CASES / "vapor-control" / "mill-street-shut-in.yaml")
    roof = review(load_section(CASES / "roof" / "orchard-loft-cathedral.yaml"), proof=True, work=True)
    basement = review(load_section(CASES / "foundation" / "old-dairy-rubble.yaml"), proof=True)
    rules = load_rules()
    texts = {
        "wall": html.render([held]),
        "roof": html.render([roof]),
        "basement": html.render([basement]),
        "empty": html.render([empty]),
        "enormous": html.render([held_enormous]),
        "hostile": html.render([hostile]),
        "several": html.render([held, roof]),
        "reach": html_reach.render(variants.reach(wall)),
        "compare": html_compare.render(variants.compare([wall, shut_in], zones=["4A,6A"])),
        "remedy": html_remedy.render(remedies.remedy(shut_in, most_candidates=60)),
        "ask": html_reply.render(asking.ask(QUESTION, asking.desk_for((), "", None), None)),
        "rule": rule_page(rules.rules["vapor-control/shut-in-between"], rules, "html"),
    }
    for name, text in texts.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    found = {name: folder / f"{name}.html" for name in texts}
    found["gate"] = folder / "gate.html"
    shelves = [str(CASES / name) for name in ("foundation", "roof", "vapor-control")]
    with pytest.raises(SystemExit):
        cli.app(["gate", *shelves, "--no-cache", "--jobs", "0", "-o", str(found["gate"])])
    return found


class Watched:
    """A page opened on one file, with all that it said and asked for."""

    def __init__(
        self, browser: Browser, path: Path, width: int = 1280, scheme: str = "light", **options: Any
    ):
        self.context = browser.new_context(
            viewport={"width": width, "height": 900},
            color_scheme=scheme,  # type: ignore[arg-type]
            **options,
        )
        self.page: Page = self.context.new_page()
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda m: self.said.append(m.text))
        self.page.on("pageerror", lambda e: self.said.append(str(e)))
        self.page.on("request", lambda r: self.asked.append(r.url))
        self.page.goto(path.as_uri())
        self.own = path.as_uri()

    def __enter__(self) -> Watched:
        return self

    def __exit__(self, *exception: object) -> None:
        self.context.close()


SORTS = (
    *("wall", "roof", "basement", "empty", "enormous", "hostile", "several"),
    *("reach", "compare", "remedy", "ask", "rule", "gate"),
)


SQUEEZED = (
    "[...document.querySelectorAll('caption, p, li, th, td, h1, h2, h3, h4, dd, .chip')].filter(e =>"
    " e.checkVisibility() && !e.closest('svg') && e.textContent.trim().length > 12"
    " && e.getBoundingClientRect().width < 60).map(e => e.outerHTML.slice(0, 120))"
)
"""Boxes that hold words and are not wide enough for one, so that letters stand below one another."""


@pytest.mark.parametrize("name", SORTS)
def test_a_page_is_silent_alone_with_its_file_and_no_wider_than_a_phone(
    browser: Browser, pages: dict[str, Path], name: str
) -> None:
    with Watched(browser, pages[name], width=360) as w:
        assert w.said == []
        assert w.asked == [w.own]
        # 1.4.10: 320 CSS px is a window of 1280 at 400 %.
        for width in (360, 320):
            w.page.set_viewport_size({"width": width, "height": 900})
            assert w.page.evaluate("document.documentElement.scrollWidth") <= width
            assert w.page.evaluate(SQUEEZED) == []


def violations(page: Page) -> list[str]:
    found = Axe().run(page, options=AXE)
    return [f"{v['id']}: {v['nodes'][0]['html'][:200]}" for v in found.response["violations"]]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_review_is_accessible_at_every_width_in_light_and_dark(
    browser: Browser, pages: dict[str, Path], width: int, scheme: str
) -> None:
    with Watched(browser, pages["wall"], width, scheme) as w:
        assert violations(w.page) == []


def test_what_unfolds_is_accessible_too(browser: Browser, pages: dict[str, Path]) -> None:
    with Watched(browser, pages["basement"]) as w:
        w.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        assert violations(w.page) == []


@pytest.mark.parametrize(
    ("name", "width", "scheme"),
    [
        *((name, 360, "dark") for name in ("roof", "reach", "compare", "remedy", "ask", "rule", "gate")),
        *((name, 1280, "light") for name in ("empty", "hostile", "several")),
    ],
)
def test_every_sort_of_page_is_accessible(
    browser: Browser, pages: dict[str, Path], name: str, width: int, scheme: str
) -> None:
    with Watched(browser, pages[name], width, scheme) as w:
        assert violations(w.page) == []


def test_axe_notices_what_is_wrong(browser: Browser, tmp_path: Path) -> None:
    """So that silence means something."""
    bad = tmp_path / "bad.html"
    bad.write_text(
        '<html><body style="color:#bbb;background:#fff"><h1>x</h1><h4>y</h4><p>some words</p><img src="data:,"></body></html>'
    )
    with Watched(browser, bad) as w:
        found = {v.split(":")[0] for v in violations(w.page)}
    assert {"html-has-lang", "color-contrast", "image-alt", "heading-order", "document-title"} <= found


def test_everything_is_reached_with_the_keyboard_and_seen_when_it_is(
    browser: Browser, pages: dict[str, Path]
) -> None:
    with Watched(browser, pages["wall"]) as w:
        wanted = w.page.evaluate(
            "[...document.querySelectorAll('a, summary, [tabindex=\"0\"]')].filter(e => e.checkVisibility()).length"
        )
        w.page.evaluate(
            "document.querySelectorAll('a, summary, [tabindex=\"0\"]').forEach((e, n) => e.dataset.n = n)"
        )
        seen: list[str] = []
        while True:
            w.page.keyboard.press("Tab")
            n, outline = w.page.evaluate(
                "[document.activeElement.dataset.n, getComputedStyle(document.activeElement).outlineStyle]"
            )
            if n is None or n in seen:
                break
            assert outline != "none"
            seen.append(n)
        assert len(seen) == wanted
        assert seen == sorted(seen, key=int)


def test_a_proof_unfolds_with_the_keyboard(browser: Browser, pages: dict[str, Path]) -> None:
    with Watched(browser, pages["wall"], java_script_enabled=False) as w:
        proof = w.page.locator("details.proof").first
        assert not proof.locator("li").first.is_visible()
        proof.locator("summary").focus()
        w.page.keyboard.press("Enter")
        assert proof.locator("li").first.is_visible()


def test_a_page_is_read_without_script(browser: Browser, pages: dict[str, Path]) -> None:
    with Watched(browser, pages["wall"], java_script_enabled=False) as w:
        for text in ("Revise and resubmit", "From", "What was assumed", "Cautions"):
            assert w.page.get_by_text(text).first.is_visible()
        assert w.page.locator("figure svg").first.is_visible()
        assert w.page.locator("a.skip").get_attribute("href") == "#section"


def test_dark_paper_is_dark_and_drawings_follow(browser: Browser, pages: dict[str, Path]) -> None:
    def colors(scheme: str) -> list[str]:
        with Watched(browser, pages["wall"], scheme=scheme) as w:
            return w.page.evaluate(
                "[getComputedStyle(document.documentElement).backgroundColor,"
                "getComputedStyle(document.querySelector('svg .vapor')).stroke,"
                "getComputedStyle(document.querySelector('svg.word')).fill]"
            )

    assert colors("light") == ["rgb(255, 253, 248)", "rgb(26, 95, 168)", "rgb(34, 38, 46)"]
    assert colors("dark") == ["rgb(23, 26, 31)", "rgb(130, 188, 255)", "rgb(236, 233, 226)"]


def test_a_drawing_by_itself_follows_the_reader_s_light(
    browser: Browser, held: Result, tmp_path: Path
) -> None:
    path = tmp_path / "section.svg"
    path.write_text(standalone(held), encoding="utf-8")
    for scheme, ink in (("light", "rgb(34, 38, 46)"), ("dark", "rgb(236, 233, 226)")):
        with Watched(browser, path, scheme=scheme) as w:
            assert w.said == []
            assert w.asked == [w.own]
            assert w.page.evaluate("getComputedStyle(document.documentElement).fill") == ink


@pytest.mark.parametrize("name", ["wall", "gate"])
def test_wider_spacing_of_text_breaks_nothing(browser: Browser, pages: dict[str, Path], name: str) -> None:
    """1.4.12, with the distances that it names (from memory)."""
    spacing = "* { line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important } p { margin-bottom: 2em !important }"
    with Watched(browser, pages[name], width=360) as w:
        w.page.add_style_tag(content=spacing)
        assert w.page.evaluate("document.documentElement.scrollWidth") <= 360


def test_nothing_is_lost_at_twice_the_size(browser: Browser, pages: dict[str, Path]) -> None:
    """1.4.4: a window of 1280 at 200 % is one of 640 CSS px; no text is cut or covered."""
    cut = (
        "[...document.querySelectorAll('p, li, h1, h2, h3, h4, figcaption, dd, .chip')].filter(e => e.checkVisibility()"
        " && getComputedStyle(e).overflow !== 'visible' && e.scrollWidth > e.clientWidth + 1).length"
    )
    with Watched(browser, pages["wall"], width=640, device_scale_factor=2) as w:
        assert w.page.evaluate("document.documentElement.scrollWidth") <= 640
        assert w.page.evaluate(cut) == 0


@pytest.mark.parametrize("name", ["wall", "enormous"])
def test_a_review_prints_on_a4_with_every_proof_unfolded(
    browser: Browser, pages: dict[str, Path], name: str, held: Result, tmp_path: Path
) -> None:
    with Watched(browser, pages[name]) as w:
        w.page.pdf(path=tmp_path / "p.pdf", prefer_css_page_size=True)
    printed = PdfReader(tmp_path / "p.pdf")
    assert 8 <= len(printed.pages) <= (20 if name == "wall" else 120)
    for sheet in printed.pages:
        # ISO 216: 210 by 297 mm.
        assert float(sheet.mediabox.width) == pytest.approx(210 / 25.4 * 72, abs=1)
        assert float(sheet.mediabox.height) == pytest.approx(297 / 25.4 * 72, abs=1)
    if name == "enormous":
        return
    text = "".join(sheet.extract_text() for sheet in printed.pages)
    bare = "".join(text.split())
    step = next(s for f in held.findings for s in f.proof if s.because).because[0]
    assert "".join(step.says.split()) in bare
    assert "Vaporpressureatsaturation" in bare
    assert "Onthispage" not in bare


def test_the_filters_of_the_gate_work_without_script(browser: Browser, pages: dict[str, Path]) -> None:
    with Watched(browser, pages["gate"], java_script_enabled=False) as w:
        rows = w.page.locator(".index tbody tr")
        every = rows.count()
        assert rows.filter(visible=True).count() == every
        w.page.get_by_label("roof", exact=True).check()
        roofs = rows.filter(visible=True)
        assert 0 < roofs.count() < every
        assert {c.inner_text() for c in roofs.locator("td").nth(0).all()} == {"roof"}
        w.page.get_by_label("revise and resubmit", exact=True).check()
        w.page.get_by_label("5A", exact=True).check()
        shown = rows.filter(visible=True)
        assert 0 < shown.count() < roofs.count() + every
        for n in range(shown.count()):
            row = shown.nth(n)
            assert row.locator("td").first.inner_text() == "roof"
            assert "revise and resubmit" in row.inner_text()
            assert "5A" in str(row.get_attribute("data-zone")).split()
        # The choice moves with the arrow keys, too.
        w.page.get_by_label("roof", exact=True).focus()
        w.page.keyboard.press("ArrowLeft")
        assert (
            rows.filter(visible=True).count() != shown.count()
            or not w.page.get_by_label("roof", exact=True).is_checked()
        )
