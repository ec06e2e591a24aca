"""The same job on a Dask cluster, for libraries that one machine takes too long over.

Every Dask worker keeps one worker process of its own for each of its threads, the same as on one machine, so that a
section that hangs or crashes takes nothing else along. When a machine is lost, the cluster gives its sections to others.
"""

from __future__ import annotations

import threading
from typing import Any, Final

from reviewer.errors import InputError, Problem
from reviewer.gate.cache import program_digest
from reviewer.gate.kept import Kept, pack, unpack
from reviewer.gate.record import Record, Task
from reviewer.gate.run import Child
from reviewer.gate.worker import decode, encode

PER_THREAD: Final = 4
"""Tasks on their way for each thread of the cluster, so that no thread waits for the network."""
CONNECT: Final = 15.0
"""s."""

_own = threading.local()


def review_remotely(sent: bytes, program: str) -> bytes:
    """What runs on the cluster: one task, as it is sent to a worker process; its packed record."""
    import io

    task = decode(io.BytesIO(sent))
    assert task is not None
    if program_digest() != program:
        why = "the program or its data on the cluster are not those of the machine that asks"
        return pack(Record(file=task.file, failed=why), False)
    child: Child | None = getattr(_own, "child", None)
    if child is None:
        child = _own.child = Child()
    return child.review(task)


class Cluster:
    """Reviews on the cluster whose scheduler is at an address, such as `tcp://10.0.0.5:8786`."""

    def __init__(self, address: str):
        try:
            from distributed import Client, as_completed
        except ImportError:
            raise InputError(
                Problem("--cluster needs the package distributed", None, "pip install 'reviewer[cluster]'")
            ) from None
        try:
            self._client: Any = Client(address, timeout=CONNECT, set_as_default=False)
            threads = sum(self._client.nthreads().values())
        except (OSError, ValueError, TimeoutError) as error:
            said = " ".join(str(error).split())[:200]
            raise InputError(
                Problem(f'no cluster answers at "{address}": {said}', None, "the address of a Dask scheduler")
            ) from None
        self.capacity = PER_THREAD * max(threads, 1)
        self._program = program_digest()
        self._numbers: dict[str, tuple[int, str]] = {}
        self._done: Any = as_completed(loop=self._client.loop)

    def submit(self, number: int, task: Task) -> None:
        future = self._client.submit(
            review_remotely,
            encode(task),
            self._program,
            key=f"section-{id(self)}-{number}",
            pure=False,
        )
        self._numbers[future.key] = (number, task.file)
        self._done.add(future)

    def take(self) -> tuple[int, Record | Kept]:
        future = next(self._done)
        number, file = self._numbers.pop(future.key)
        try:
            return number, unpack(future.result())
        except Exception as error:
            # Lost workers, an unpickled answer: whatever the cluster says, the run goes on without this section.
            return number, Record(
                file=file, failed=f"the cluster gave no verdict ({' '.join(str(error).split())[:200]})"
            )

    def close(self) -> None:
        self._done.clear()
        self._client.close(timeout=CONNECT)
