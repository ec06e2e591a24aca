"""Tasks to records: from the cache, in this process, in worker processes, or on a cluster; always in order."""

from __future__ import annotations

import contextlib
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from typing import Final, Protocol

from reviewer.gate.cache import Cache
from reviewer.gate.kept import Kept, pack, unpack
from reviewer.gate.record import Record, Task
from reviewer.gate.worker import encode

WINDOW: Final = 4096
"""Records that may wait for an earlier one: what bounds the memory when one section takes long."""


class Runner(Protocol):
    """Something that reviews tasks, several at a time."""

    capacity: int
    """Tasks it takes before it must be asked for a record."""

    def submit(self, number: int, task: Task) -> None: ...

    def take(self) -> tuple[int, Record | Kept]:
        """The next record that is done, and the number of its task; waits for it."""
        ...

    def close(self) -> None: ...


def records(
    tasks: Iterable[tuple[Task, str] | Record],
    runner: Runner,
    cache: Cache | None = None,
    tick: Callable[[int], None] = lambda done: None,
) -> Iterator[Record | Kept]:
    """A record for each task, in the order of the tasks, whatever the order they are done in.

    A task comes with the digest of its rulebook; what can't be a task comes as the record that says so.
    """
    upcoming = iter(tasks)
    running: dict[int, tuple[Task, str]] = {}
    waiting: dict[int, Record | Kept] = {}
    head = taken = 0
    more = True
    while more or running or waiting:
        while more and len(running) < runner.capacity and taken - head < WINDOW and head not in waiting:
            item = next(upcoming, None)
            if item is None:
                more = False
                break
            number, taken = taken, taken + 1
            if isinstance(item, Record):
                waiting[number] = item
                continue
            task, rulebook = item
            kept = cache.read(task, rulebook) if cache is not None else None
            if kept is not None:
                waiting[number] = kept
            else:
                running[number] = item
                runner.submit(number, task)
        if head in waiting:
            record = waiting.pop(head)
            head += 1
            tick(head)
            yield record
        elif running:
            number, record = runner.take()
            task, rulebook = running.pop(number)
            if cache is not None:
                cache.write(task, rulebook, record)
            waiting[number] = record


class Here:
    """Reviews in this process: nothing to start, and nothing that stops a section from hanging."""

    capacity = 1

    def __init__(self) -> None:
        self._done: list[tuple[int, Record | Kept]] = []

    def submit(self, number: int, task: Task) -> None:
        from reviewer.gate.job import review_task

        self._done.append((number, unpack(pack(review_task(task), task.facts))))

    def take(self) -> tuple[int, Record | Kept]:
        return self._done.pop()

    def close(self) -> None:
        self._done.clear()


class Child:
    """One worker process, started when it is first needed and again when it died."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._closed = False

    def review(self, task: Task) -> bytes:
        """The packed record of a task; of one that kills its worker twice or passes the time limit, a record that
        says so. Twice, because a worker can also be killed by somebody else."""
        why = "the run was stopped"
        for _ in range(2):
            if self._closed:
                break
            process = self._process = self._process or _start()
            began = time.monotonic()
            answer = _ask(process, task)
            if answer:
                return answer
            took = time.monotonic() - began
            self._end()
            if process.returncode == 1 and took >= task.limit:
                why = f"no verdict within the time limit of {task.limit:g} s"
                break
            why = f"its worker process ended twice ({_ending(process.returncode)})"
        return pack(Record(file=task.file, failed=why), False)

    def close(self) -> None:
        self._closed = True
        self._end()

    def _end(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                with contextlib.suppress(OSError):
                    stream.close()


def _start() -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "reviewer.gate.worker"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )


def _ask(process: subprocess.Popen[bytes], task: Task) -> bytes:
    """The worker's answer, or nothing when it died over the question."""
    assert process.stdin is not None and process.stdout is not None
    try:
        process.stdin.write(encode(task))
        process.stdin.flush()
        size = int(process.stdout.readline() or 0)
        answer = process.stdout.read(size)
    except OSError:
        return b""
    return answer if len(answer) == size else b""


def _ending(status: int | None) -> str:
    if status is not None and status < 0:
        return f"signal {-status}"
    return f"exit status {status}"


class Workers:
    """Worker processes on this machine, each with an engine of its own."""

    def __init__(self, jobs: int):
        self.jobs = jobs
        self.capacity = 2 * jobs
        self._tasks: queue.SimpleQueue[tuple[int, Task] | None] = queue.SimpleQueue()
        self._done: queue.SimpleQueue[tuple[int, bytes]] = queue.SimpleQueue()
        self._children: list[Child] = []
        self._threads: list[threading.Thread] = []
        self._open = 0

    def submit(self, number: int, task: Task) -> None:
        self._open += 1
        if len(self._threads) < min(self.jobs, self._open):
            child = Child()
            thread = threading.Thread(target=self._serve, args=(child,), daemon=True)
            self._children.append(child)
            self._threads.append(thread)
            thread.start()
        self._tasks.put((number, task))

    def take(self) -> tuple[int, Record | Kept]:
        number, packed = self._done.get()
        self._open -= 1
        return number, unpack(packed)

    def close(self) -> None:
        for _ in self._threads:
            self._tasks.put(None)
        for child in self._children:
            child.close()

    def _serve(self, child: Child) -> None:
        while (item := self._tasks.get()) is not None:
            number, task = item
            try:
                packed = child.review(task)
            except Exception as error:
                # Whatever happens here must become a record, or the run would wait for it for ever.
                why = f"no worker process could be used ({error})"
                packed = pack(Record(file=task.file, failed=why), False)
            self._done.put((number, packed))


def default_jobs() -> int:
    """A worker for each processor that this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:
        return os.cpu_count() or 1
