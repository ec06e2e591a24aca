"""Run by a Python that has only the built wheel: reviews a case that the wheel carries.

Not collected by pytest: it must not see the checkout.
"""

import json
import subprocess
import sys
from pathlib import Path

import reviewer

home = Path(reviewer.__file__).parent
assert "site-packages" in str(home), f"not the installed package: {home}"
cases = sorted(p for p in (home / "_cases").glob("*/*.yaml") if p.parent.name != "questions")
assert len(cases) >= 24, f"{len(cases)} cases in the wheel"
command = [
    str(Path(sys.executable).parent / "reviewer"),
    "review",
    str(cases[0]),
    "--format",
    "json",
    "--fail-at",
    "never",
]
done = subprocess.run(command, capture_output=True, text=True, check=False)
assert done.returncode == 0, done.stderr
result = json.loads(done.stdout)
assert result["disposition"] and result["layers"] and result["findings"], result["disposition"]
listed = subprocess.run([command[0], "rules", "list"], capture_output=True, text=True, check=True).stdout
assert int(listed.splitlines()[-1].split()[0]) >= 40, listed
page, drawing = Path("page.html"), Path("section.svg")
subprocess.run([*command[:3], "-o", str(page), "--drawing", str(drawing), "--fail-at", "never"], check=True)
assert page.read_text(encoding="utf-8").endswith("</html>\n")
assert "</svg>" in drawing.read_text(encoding="utf-8")
print(f"the wheel reviews {cases[0].name}: {result['disposition']}; {listed.splitlines()[-1]}")
print("1 passed, 0 failed")
