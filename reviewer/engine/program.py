"""The interface of both engines: a compiled rulebook that runs on facts."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from types import TracebackType
from typing import ClassVar, NoReturn

from reviewer.engine.limits import MAX_FIRINGS, check_facts
from reviewer.engine.plan import Plan
from reviewer.engine.types import EngineError, Fact, Outcome, Rule
from reviewer.engine.working import WorkingMemory, enter_given


class Program(ABC):
    """A rulebook ready to run. It keeps nothing from one run to the next, may be used from several
    threads, and is closed with `close()` or a `with` block. It can't be pickled: another process
    compiles its own."""

    engine: ClassVar[str]
    """`rete` or `fixpoint`."""

    def __init__(self, rules: Sequence[Rule]):
        self.rules = tuple(rules)
        self._plan = Plan(self.rules)
        self._closed = False

    def run(self, facts: Sequence[Fact], max_firings: int = MAX_FIRINGS) -> Outcome:
        """What follows from the facts. The order of the facts does not matter.

        Raises `EngineError` for a malformed fact, for two facts with one id, and when rules fire
        more than `max_firings` times.
        """
        if self._closed:
            raise EngineError("this program is closed")
        given = check_facts(facts, self._plan.numbers)
        memory = WorkingMemory(self._plan, max_firings)
        enter_given(memory, given)
        self._drive(memory)
        return memory.outcome(self.engine)

    def close(self) -> None:
        """Gives back what the program holds; it can't run afterwards. Closing twice is fine."""
        self._closed = True

    @abstractmethod
    def _drive(self, memory: WorkingMemory) -> None:
        """Open every stage in turn and fire until nothing follows any more."""

    def __enter__(self) -> Program:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def __reduce__(self) -> NoReturn:
        raise TypeError("a program can't be pickled: compile the rules again in the other process")
