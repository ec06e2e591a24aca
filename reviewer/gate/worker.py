"""A worker process: takes tasks from standard input, gives records to standard output.

Each task is a line of JSON and the bytes of the file; each record a line with its size, and so many bytes. The engine and the rulebook
are loaded once. A worker that takes longer than the time limit over one section ends itself, even while it hangs in
compiled code, and one whose starter is gone ends at the end of its input.
"""

from __future__ import annotations

import faulthandler
import json
import os
import signal
import sys
from typing import BinaryIO

from reviewer.gate.record import Record, Task

FIELDS = ("file", "path", "zones", "edition", "units", "hourly", "rules", "facts", "limit")


def encode(task: Task) -> bytes:
    """A task as it is sent to a worker."""
    head = {name: getattr(task, name) for name in FIELDS}
    line = json.dumps({**head, "size": len(task.content)})
    return line.encode() + b"\n" + task.content


def decode(stream: BinaryIO) -> Task | None:
    """The next task; None at the end.

    >>> import io
    >>> sent = Task(file="a.yaml", path="/a.yaml", content=b"kind: wall", zones=("5A",))
    >>> decode(io.BytesIO(encode(sent))) == sent
    True
    """
    line = stream.readline()
    if not line:
        return None
    head = json.loads(line)
    size = head.pop("size")
    content = stream.read(size)
    if len(content) < size:
        return None
    tuples = {name: tuple(head[name]) for name in ("zones", "rules")}
    return Task(content=content, **{**head, **tuples})


def main() -> None:
    """Serve until the input ends."""
    # The starter decides when to stop; Ctrl-C reaches the whole group of processes.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    # What anything else prints must not get between the records.
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, sys.stdout.fileno())
    from reviewer.errors import InputError
    from reviewer.gate.job import review_task
    from reviewer.gate.kept import pack
    from reviewer.gate.rulebook import rulebook

    tasks = sys.stdin.buffer
    with open(os.devnull, "w") as nowhere:
        while (task := decode(tasks)) is not None:
            try:
                _ = rulebook(task.rules).program
                faulthandler.dump_traceback_later(task.limit, exit=True, file=nowhere)
                packed = pack(review_task(task), task.facts)
            except InputError as error:
                packed = pack(Record(file=task.file, refused=[p.render() for p in error.problems]), False)
            finally:
                faulthandler.cancel_dump_traceback_later()
            answers.write(b"%d\n" % len(packed) + packed)
            answers.flush()


if __name__ == "__main__":
    main()
