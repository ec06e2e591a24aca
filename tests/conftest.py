"""Shared settings: Hypothesis without deadlines, since two busy cores are slow now and then; and tests that need a
program of the machine (`@pytest.mark.needs("poppler")`), which run where it is found and are otherwise said to be left
out. REVIEWER_BROWSER=required, as in continuous integration, makes a missing program an error.
"""

import os
import shutil

import pytest
from hypothesis import settings

settings.register_profile("reviewer", deadline=None, print_blob=True)
settings.load_profile("reviewer")

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
FOUND = {
    "chromium": CHROMIUM is not None,
    "poppler": all(map(shutil.which, ("pdftotext", "pdfinfo", "pdftoppm"))),
}
MISSING = sorted(name for name, found in FOUND.items() if not found)


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "needs(program): runs where the program is installed")
    if MISSING and os.environ.get("REVIEWER_BROWSER") == "required":
        raise pytest.UsageError(f"not found on this machine: {', '.join(MISSING)}")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    left = [i for i in items if any(m.args[0] in MISSING for m in i.iter_markers("needs"))]
    if left:
        items[:] = [i for i in items if i not in left]
        config.hook.pytest_deselected(items=left)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for name in MISSING:
        terminalreporter.write_line(f"left out, since {name} is not found: the tests that need it")
