"""Workers, cache, cluster: the same report whatever does the work, and nothing lost, doubled or half-written."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path
from typing import Any

import pytest

from reviewer.gate.cache import Cache
from reviewer.gate.kept import Kept, unpack
from reviewer.gate.record import Record, Task
from reviewer.gate.run import Child, Workers, records

SABOTAGE = """
import os, re, signal, sys
if "reviewer.gate.worker" in " ".join(sys.orig_argv):
    import reviewer.gate.job as job
    plain = job.review_task
    def review_task(task):
        if b"hang in compiled code" in task.content:
            re.match("(a+)+$", "a" * 60 + "b")
        if b"crash" in task.content:
            os.kill(os.getpid(), signal.SIGSEGV)
        if b"once" in task.content:
            try:
                os.close(os.open(os.environ["ONCE"], os.O_CREAT | os.O_EXCL))
            except FileExistsError:
                pass
            else:
                os.kill(os.getpid(), signal.SIGKILL)
        return plain(task)
    job.review_task = review_task
"""


@pytest.fixture
def sabotage(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Worker processes hang, crash or die at sections that say so."""
    folder = tmp_path / "sabotage"
    folder.mkdir()
    (folder / "sitecustomize.py").write_text(textwrap.dedent(SABOTAGE), encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(folder), prepend=os.pathsep)
    monkeypatch.setenv("ONCE", str(folder / "once"))


def several(write: Any, texts: Any, n: int = 12) -> None:
    for i in range(n):
        body = texts.sheet if i % 3 else texts.good()
        write(f"d{i:02}.yaml", f"id: wall-{i}\n" + body.replace("1/2 in gypsum", f"{12 + i} mm gypsum"))


def test_reports_are_the_same_bytes_whatever_the_workers_and_the_hash_seed(
    gate: Any, write: Any, texts: Any, library: Path
) -> None:
    several(write, texts)
    formats = ("json", "sarif", "xml", "md", "html", "csv", "xlsx", "txt")
    seen = []
    for n, (jobs, seed) in enumerate((("0", "0"), ("1", "1"), ("3", "77"))):
        folder = library.parent / f"out{n}"
        folder.mkdir()
        outputs = [x for f in formats for x in ("-o", str(folder / f"r.{f}"))]
        command = [sys.executable, "-c", "from reviewer.cli import main; main()", "gate", ".", *outputs]
        command += ["-j", jobs, "--no-cache", "--today", "2027-01-15"]
        done = subprocess.run(command, env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True)
        assert done.returncode == 1, done.stderr
        seen.append([done.stdout, *((folder / f"r.{f}").read_bytes() for f in formats)])
    assert seen[0] == seen[1] == seen[2]


def test_a_section_that_hangs_or_crashes_is_told_and_the_rest_goes_on(
    gate: Any, write: Any, texts: Any, sabotage: None
) -> None:
    several(write, texts, 6)
    write("e-hangs.yaml", texts.good() + "notes: hang in compiled code\n")
    write("e-crashes.yaml", texts.good() + "notes: crash\n")
    ran = gate(".", "-j", "2", "--time-limit", "3", "--format", "json")
    said = json.loads(ran.out)
    assert ran.status == 2
    assert said["tally"]["reviewed"] == 6
    problems = {d["file"]: d["problems"][0] for d in said["details"] if d["status"] == "could not review"}
    assert problems == {
        "e-crashes.yaml": "e-crashes.yaml: its worker process ended twice (signal 11)",
        "e-hangs.yaml": "e-hangs.yaml: no verdict within the time limit of 3 s",
    }


def test_a_worker_killed_by_somebody_else_loses_nothing(
    gate: Any, write: Any, texts: Any, sabotage: None
) -> None:
    several(write, texts, 4)
    write("f.yaml", texts.good() + "notes: once\n")
    ran = gate(".", "-j", "2", "--format", "json")
    assert ran.status == 1
    assert json.loads(ran.out)["tally"]["reviewed"] == 5


def test_a_defect_in_one_section_is_a_record_not_a_crash(
    gate: Any, write: Any, texts: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: Any, **__: Any) -> None:
        raise ZeroDivisionError("by zero")

    monkeypatch.setattr("reviewer.gate.job.review", broken)
    write("a.yaml", texts.good())
    ran = gate(".")
    assert ran.status == 2
    assert "the review broke off (ZeroDivisionError: by zero)" in ran.out
    assert "Traceback" not in ran.out + ran.err


def test_closing_stops_the_workers() -> None:
    workers = Workers(2)
    workers.submit(0, Task(file="a.yaml", path="/a.yaml", content=b"kind: wall\nlayers: latex paint"))
    assert workers.take()[1].id == "a"
    processes = [child._process for child in workers._children if child._process]
    workers.close()
    assert [p.returncode for p in processes] == [-signal.SIGKILL]


class _Backwards:
    """A runner that is done in the wrong order."""

    capacity = 8

    def __init__(self) -> None:
        self.open: list[int] = []

    def submit(self, number: int, task: Task) -> None:
        self.open.append(number)

    def take(self) -> tuple[int, Record]:
        number = self.open.pop()
        return number, Record(file=str(number))

    def close(self) -> None:
        self.open.clear()


def test_records_come_in_the_order_of_the_tasks() -> None:
    tasks = [(Task(file=str(i), path="", content=b""), "") for i in range(100)]
    assert [r.file for r in records(tasks, _Backwards())] == [str(i) for i in range(100)]


# -- the cache -----------------------------------------------------------------------------------


def test_what_is_kept_is_not_reviewed_again_until_something_it_hangs_on_changes(
    gate: Any, write: Any, texts: Any, library: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from reviewer.gate import job

    reviewed: list[str] = []
    plain = job.review_task

    def counted(task: Task) -> Record:
        reviewed.append(task.file)
        return plain(task)

    monkeypatch.setattr(job, "review_task", counted)
    cache = ("--cache", str(library.parent / "kept"))
    several(write, texts, 3)
    first = gate(".", *cache)
    assert len(reviewed) == 3
    assert gate(".", *cache) == first
    assert len(reviewed) == 3
    write("d01.yaml", texts.good("Changed"))
    gate(".", *cache)
    assert reviewed[3:] == ["d01.yaml"]
    gate(".", *cache, "--edition", "IRC 2018")
    assert len(reviewed) == 7, "another edition"
    write(
        "packs/yard2/x.yaml",
        (texts.packs / "yard" / "basics.yaml").read_text(encoding="utf-8").replace("yard", "yard2"),
    )
    write("reviewer.yaml", texts.policy + "leave out: [packs]\n")
    gate(".", *cache, "--rules", "packs")
    assert len(reviewed) == 10, "another rulebook"
    monkeypatch.setattr("reviewer.gate.cache.program_digest", lambda: "another program or other data")
    gate(".", *cache)
    assert len(reviewed) == 13


@pytest.mark.parametrize(
    "policy",
    [
        "",
        "severities:\n  - {rule: yard/no-wrap, severity: serious, reason: seen to leak}\n",
        "severities:\n  - {rule: yard/polyethylene, severity: note, reason: dry houses}\n",
        "packs: [vapor-control]\n",
        "packs: [hazards]\n",
        "fail at: caution\n",
        "fail at: never\n",
        "fail on incomplete: yes\n",
        "never waive: [yard/*]\n",
        "office zones: [6A, 7]\n",
        "waivers:\n  - {rule: yard/polyethylene, section: d0*, reason: dry, by: A. Mason, until: 2027-06-30}\n",
        "waivers:\n  - {rule: yard/polyethylene, section: d0*, reason: dry, by: A. Mason, until: 2026-06-30}\n",
        "waivers:\n  - {rule: yard/no-wrap, section: nobody, reason: dry, by: A. Mason, until: 2027-06-30}\n",
    ],
)
@pytest.mark.parametrize("rest", [(), ("--baseline", "some.json")])
def test_what_is_kept_is_judged_as_if_it_were_reviewed(
    gate: Any, write: Any, texts: Any, library: Path, policy: str, rest: tuple[str, ...]
) -> None:
    several(write, texts, 3)
    write("bare.yaml", texts.good("Bare").replace("  - house wrap\n", ""))
    write("attic.yaml", texts.hazard)
    write("excused.yaml", texts.waived())
    write("open.yaml", texts.good("Open").replace("7/16 in oriented strand board", "? sheathing"))
    write("slip.yaml", "kind: wall\nlayers: nonsense here\n")
    if rest:
        gate("d00.yaml", "bare.yaml", *rest, "--write-baseline")
        gate("excused.yaml", "d01.yaml", *rest, "--write-baseline")
    kept = ("--cache", str(library.parent / "kept"))
    gate(".", *kept)
    head = f"root: yes\nrules: ['{texts.packs.as_posix()}']\n"
    write("reviewer.yaml", head + ("" if policy.startswith("packs") else "packs: [yard]\n") + policy)
    again = gate(".", "--format", "json", *rest, *kept)
    assert again == gate(".", "--format", "json", *rest)
    assert again.status == 2 and again.out, "the slip could not be reviewed, the rest was"


def test_corrupt_entries_are_ignored_and_written_anew(
    gate: Any, write: Any, texts: Any, library: Path
) -> None:
    folder = library.parent / "kept"
    several(write, texts, 4)
    first = gate(".", "--cache", str(folder))
    entries = sorted(folder.rglob("*.json"))
    whole = [path.read_bytes() for path in entries]
    assert len(entries) == 4
    entries[0].write_bytes(b"")
    entries[1].write_bytes(whole[1][: len(whole[1]) // 2])
    entries[2].write_bytes(whole[2].replace(b"wall", b"roof"))
    entries[3].write_bytes(os.urandom(300))
    assert gate(".", "--cache", str(folder)) == first
    assert [path.read_bytes() for path in entries] == whole


def test_runs_at_once_share_a_cache(write: Any, texts: Any, library: Path) -> None:
    several(write, texts, 6)
    command = [sys.executable, "-c", "from reviewer.cli import main; main()", "gate", ".", "-j", "0"]
    command += ["--cache", str(library.parent / "kept"), "--today", "2027-01-15"]
    runs = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(3)]
    said = [run.communicate() for run in runs]
    assert [run.returncode for run in runs] == [1, 1, 1]
    assert said[0] == said[1] == said[2]
    assert not list((library.parent / "kept").rglob(".new-*"))


def test_a_killed_run_leaves_cache_and_outputs_whole(
    gate: Any, write: Any, texts: Any, library: Path
) -> None:
    several(write, texts, 40)
    folder, out = library.parent / "kept", library.parent / "r.json"
    out.write_text("before", encoding="utf-8")
    command = [
        sys.executable,
        "-c",
        "from reviewer.cli import main; main()",
        "gate",
        ".",
        "-j",
        "0",
        "-o",
        str(out),
    ]
    run = subprocess.Popen(
        [*command, "--cache", str(folder)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    deadline = time.monotonic() + 60
    while len(list(folder.rglob("*.json"))) < 3 and time.monotonic() < deadline:
        time.sleep(0.02)
    run.kill()
    run.wait()
    assert out.read_text(encoding="utf-8") == "before"
    fresh = gate(".", "--format", "json")
    assert gate(".", "--format", "json", "--cache", str(folder)) == fresh


def test_a_record_without_a_verdict_is_not_kept(tmp_path: Path) -> None:
    task = Task(file="a", path="/a", content=b"x")
    cache = Cache(tmp_path)
    cache.write(task, "rules", Record(file="a", failed="it hung"))
    assert cache.read(task, "rules") is None


def test_a_weather_file_that_changed_is_read_again(tmp_path: Path) -> None:
    import hashlib

    weather = tmp_path / "w.epw"
    weather.write_bytes(b"one")
    (tmp_path / "kept").mkdir()
    task = Task(file="a.yaml", path=str(tmp_path / "a.yaml"), content=b"x")
    cache = Cache(tmp_path / "kept")
    child = Child()
    made = unpack(
        child.review(Task(file="a.yaml", path="/a.yaml", content=b"kind: wall\nlayers: latex paint"))
    )
    child.close()
    assert isinstance(made, Kept)
    record = made.record().model_copy(update={"reads": {"w.epw": hashlib.sha256(b"one").hexdigest()}})
    cache.write(task, "rules", record)
    kept = cache.read(task, "rules")
    assert isinstance(kept, Kept) and kept.record() == record
    weather.write_bytes(b"two")
    assert cache.read(task, "rules") is None


# -- the cluster ---------------------------------------------------------------------------------


def test_a_cluster_with_a_worker_killed_mid_run_loses_and_doubles_nothing(
    gate: Any, write: Any, texts: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    distributed = pytest.importorskip("distributed")
    several(write, texts, 30)
    alone = gate(".", "--format", "json")
    options = {"n_workers": 2, "threads_per_worker": 1, "processes": True, "dashboard_address": None}
    from reviewer.gate.cluster import Cluster

    taken: list[int] = []
    plain = Cluster.take
    with distributed.LocalCluster(**options) as cluster:
        victim = next(iter(cluster.workers.values())).process.process.pid

        def take(self: Cluster) -> tuple[int, Record | Kept]:
            number, record = plain(self)
            taken.append(number)
            if len(taken) == 5:
                os.kill(victim, signal.SIGKILL)
            return number, record

        monkeypatch.setattr(Cluster, "take", take)
        ran = gate(".", "--format", "json", "--cluster", cluster.scheduler_address)
    assert sorted(taken) == list(range(30))
    assert ran.out == alone.out
    assert ran.status == alone.status


def test_no_cluster_is_one_clear_message(
    gate: Any, write: Any, texts: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("reviewer.gate.cluster.CONNECT", 0.5)
    write("a.yaml", texts.good())
    ran = gate(".", "--cluster", "tcp://127.0.0.1:9")
    assert ran.status == 2
    assert 'no cluster answers at "tcp://127.0.0.1:9"' in ran.err
