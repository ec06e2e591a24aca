"""The Rete engine: the joins run in the C module of `durable_rules` 2.0.28.

Constant tests and absences are judged in Python while a fact enters working memory; the C module
gets a fact as the list of nodes it waits in and the values that joins read, joins it with the
others and reports each complete match. Rules with one pattern have nothing to join and fire as the
fact enters.

The C module is fast but unforgiving, so it sees one narrow shape of input only:

* Every value is a small whole number. Numbers are sent as their rank among all numbers of the run
  (which keeps order and equality), words as codes above them. So nothing depends on how it reads
  exponents, signs of zero, decimal points of the locale, escapes or long strings.
* A join reads a field only of facts that wait in a node which requires it. So no join meets a
  missing field.
* Every condition ends with a join that always holds: a false join in last place makes the module
  read beyond its array.
* Rules are laid out in *banks* of few nodes and fields. A fact is sent once to each bank it concerns,
  with the bank's mark tested first. However large the rulebook, a message stays below 256 properties
  and below 64 tests matched at once, and a condition below 512 children and 256 rules.
* The ids of messages are running numbers, without those whose 32-bit hash is taken.
* Every message waits in a node, so none may come back as unmatched; after each batch the number of
  stored messages is compared with the number sent.
* A first message that always fires initialises what deleting the session frees, and the session is
  deleted after every run.

The module keeps the interpreter lock and is not thread-safe in itself: one run at a time for each
program. A forked process builds its own network.
"""

from __future__ import annotations

import os
import re
import sys
import threading
from collections import defaultdict, deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import count
from types import ModuleType

from reviewer.engine.limits import MAX_JOINED_FIELDS
from reviewer.engine.plan import Compiled, Item, Plan
from reviewer.engine.program import Program
from reviewer.engine.types import EngineError, Rule, Value
from reviewer.engine.working import WorkingMemory

_NODES_PER_BANK = 56
_PATTERNS_PER_BANK = 200
_BANKS_PER_GROUP = 480

_OPERATORS = {"==": "", "!=": "$neq", "<": "$lt", "<=": "$lte", ">": "$gt", ">=": "$gte"}
_ALIASES = "abcdefghijklmnop"
"""Of the patterns of a rule, in order; their order as text is the order of the patterns."""
_NAMES = count()


@cache
def _module() -> tuple[ModuleType | None, str]:
    """The C module, or why it can't be used."""
    try:
        import durable_rules_engine  # pyright: ignore[reportMissingImports]
    except ImportError as error:
        if sys.version_info >= (3, 13):
            return None, "the Rete engine's package durable_rules can't be loaded by Python 3.13 and later"
        if isinstance(error, ModuleNotFoundError):
            return None, "the Rete engine's package durable_rules is not installed here"
        return None, f"the Rete engine's package durable_rules can't be loaded here: {error}"
    return durable_rules_engine, ""


def unavailable() -> str:
    """Why the Rete engine does not run here, a sentence; empty where it does."""
    return _module()[1]


@dataclass(slots=True)
class _Production:
    """Rules with the same patterns: one rule in the C module."""

    nodes: tuple[int, ...]
    joins: tuple[tuple[tuple[str, str, int, str], ...], ...]
    rules: list[Compiled]


@dataclass(slots=True)
class _Bank:
    """Productions that share one message a fact."""

    stage: int
    nodes: dict[int, int] = field(default_factory=dict)
    """Node number to its place in the bank."""
    productions: list[int] = field(default_factory=list)
    patterns: int = 0
    joined: set[tuple[str, str]] = field(default_factory=set)
    """(kind, field) of what its joins read."""
    fields: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """The same by kind, in order."""


class ReteProgram(Program):
    """The engine whose joins run in C."""

    engine = "rete"
    _handle: int | None = None

    def __init__(self, rules: Sequence[Rule]):
        module, reason = _module()
        if module is None:
            raise EngineError(reason)
        super().__init__(rules)
        self._module = module
        self._layout = _Layout(self._plan)
        self._lock = threading.Lock()
        self._process = os.getpid()
        self._sessions = 0
        self._handle = self._build()

    def close(self) -> None:
        self._adopt()
        with self._lock:
            super().close()
            self._discard()

    def __del__(self, ending: Callable[[], bool] = sys.is_finalizing) -> None:
        # When the interpreter ends, the modules are taken apart already, and the memory goes with it.
        if self._handle is not None and not ending():
            self.close()

    def _adopt(self) -> None:
        """In a forked process: leave the parent's network and lock alone and start without one."""
        if self._process != os.getpid():
            self._process = os.getpid()
            self._lock = threading.Lock()
            self._handle = None

    def _build(self) -> int:
        try:
            return self._module.create_ruleset(f"reviewer{next(_NAMES)}", self._layout.definition)
        except self._module.error as error:
            raise EngineError(f"the Rete engine's C module refuses the rules: {error}") from error

    def _discard(self) -> None:
        if self._handle is not None:
            self._module.delete_ruleset(self._handle)
        self._handle = None

    def _drive(self, memory: WorkingMemory) -> None:
        self._adopt()
        with self._lock:
            if self._closed:
                raise EngineError("this program is closed")
            if self._handle is None:
                self._handle = self._build()
            self._sessions += 1
            session = _Session(self._module, self._handle, self._layout, self._sessions, memory)
            try:
                session.drive()
            except self._module.error as error:
                # Whatever state the module is in, the next run starts from a new network.
                session.abandon()
                self._handle = None
                raise EngineError(f"the Rete engine's C module failed: {error}") from error
            finally:
                session.delete()


class _Layout:
    """Banks, the names they use and the definition that the C module compiles."""

    def __init__(self, plan: Plan):
        self.plan = plan
        self.productions: list[_Production] = []
        self.single_by_node: list[list[Compiled]] = [[] for _ in plan.nodes]
        """Rules with one pattern, by its node."""
        self._collect()
        self.single = [(node, rules) for node, rules in enumerate(self.single_by_node) if rules]
        self.banks: list[_Bank] = []
        self._fill_banks()
        self.places: list[list[tuple[int, int]]] = [[] for _ in plan.nodes]
        """(bank, place in it) of every node that joins read."""
        for number, bank in enumerate(self.banks):
            for node, place in bank.nodes.items():
                self.places[node].append((number, place))
        names = _names()
        self.boot = next(names)
        self._marks = [next(names) for _ in self.banks]
        self._groups = [next(names) for _ in range(0, len(self.banks), _BANKS_PER_GROUP)]
        self._tags = [next(names) for _ in range(_NODES_PER_BANK)]
        every = sorted({name for bank in self.banks for _, name in bank.joined})
        self._short = dict(zip(every, names, strict=False))
        self.marks = ["".join(f',"{mark}":1' for mark in self._path(n)) for n in range(len(self.banks))]
        self.tags = [f',"{tag}":1' for tag in self._tags]
        self.short = {name: f',"{short}":' for name, short in self._short.items()}
        self.sources, self.constants = self._sources()
        self.definition = self._definition()

    def _path(self, bank: int) -> list[str]:
        """The marks that lead to a bank: its own, after its group's if there are several groups."""
        groups = [self._groups[bank // _BANKS_PER_GROUP]] if len(self._groups) > 1 else []
        return [*groups, self._marks[bank]]

    def _collect(self) -> None:
        known: dict[object, int] = {}
        for rule in self.plan.rules:
            if len(rule.nodes) == 1:
                self.single_by_node[rule.nodes[0]].append(rule)
                continue
            joins = tuple(tuple((c.field, c.op, c.other, c.other_field) for c in cs) for cs in rule.joins)
            key = (rule.stage, rule.nodes, joins)
            if key not in known:
                known[key] = len(self.productions)
                self.productions.append(_Production(rule.nodes, joins, []))
            self.productions[known[key]].rules.append(rule)

    def _fill_banks(self) -> None:
        current: dict[int, _Bank] = {}
        for number, production in enumerate(self.productions):
            stage = production.rules[0].stage
            joined = _joined_fields(production)
            bank = current.get(stage)
            if (
                bank is None
                or len(bank.nodes.keys() | set(production.nodes)) > _NODES_PER_BANK
                or bank.patterns + len(production.nodes) > _PATTERNS_PER_BANK
                or len({name for _, name in bank.joined | joined}) > MAX_JOINED_FIELDS
            ):
                bank = current[stage] = _Bank(stage)
                self.banks.append(bank)
            for node in production.nodes:
                bank.nodes.setdefault(node, len(bank.nodes))
            bank.productions.append(number)
            bank.patterns += len(production.nodes)
            bank.joined |= joined
        for bank in self.banks:
            bank.fields = _by_kind(bank.joined)

    def _sources(self) -> tuple[dict[str, tuple[str, ...]], tuple[Value, ...]]:
        """The fields, by kind, whose values a join may read, directly or after rules copied them on,
        and the constants that rules conclude into such fields."""
        joined = _by_kind({pair for bank in self.banks for pair in bank.joined})
        sources = {kind: set(names) for kind, names in joined.items()}
        constants: set[Value] = set()
        grown = True
        while grown:
            grown = False
            for rule in self.plan.rules:
                read = sources.get(rule.head.kind)
                if not read:
                    continue
                constants.update(v for name, v in rule.head.constants.items() if name in read)
                for name, position, source in rule.head.copies:
                    if name in read and source not in sources.setdefault(rule.kinds[position], set()):
                        sources[rule.kinds[position]].add(source)
                        grown = True
        ordered = sorted(constants, key=lambda value: (isinstance(value, str), value))
        return {kind: tuple(sorted(names)) for kind, names in sources.items()}, tuple(ordered)

    def _definition(self) -> str:
        """The rules in the module's JSON. Nothing a rulebook's author wrote goes into it."""
        parts = [f'"boot":{{"pri":0,"all":[{{"{_ALIASES[0]}":{{"{self.boot}":1}}}}]}}']
        for number, bank in enumerate(self.banks):
            path = [f'{{"{mark}":1}}' for mark in self._path(number)]
            mark = self._marks[number]
            for production_number in bank.productions:
                production = self.productions[production_number]
                conditions = []
                for position, node in enumerate(production.nodes):
                    terms = [*path, f'{{"{self._tags[bank.nodes[node]]}":1}}']
                    for name, op, other, other_name in production.joins[position]:
                        right = f'{{"{_ALIASES[other]}":"{self._short[other_name]}"}}'
                        if _OPERATORS[op]:
                            terms.append(f'{{"{_OPERATORS[op]}":{{"{self._short[name]}":{right}}}}}')
                        else:
                            terms.append(f'{{"{self._short[name]}":{right}}}')
                    if production.joins[position]:
                        terms.append(f'{{"{mark}":{{"{_ALIASES[0]}":"{mark}"}}}}')
                    conditions.append(f'{{"{_ALIASES[position]}":{{"$and":[{",".join(terms)}]}}}}')
                parts.append(f'"p{production_number}":{{"pri":1,"all":[{",".join(conditions)}]}}')
        return "{" + ",".join(parts) + "}"


def _joined_fields(production: _Production) -> set[tuple[str, str]]:
    """(kind, field) of everything its joins read."""
    kinds = production.rules[0].kinds
    return {
        pair
        for position, joins in enumerate(production.joins)
        for name, _, other, other_name in joins
        for pair in ((kinds[position], name), (kinds[other], other_name))
    }


def _by_kind(pairs: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    fields: dict[str, list[str]] = defaultdict(list)
    for kind, name in sorted(pairs):
        fields[kind].append(name)
    return {kind: tuple(names) for kind, names in fields.items()}


_REPORTED = re.compile(r'"([a-p])":\{"id":(\d+)')


class _Session:
    """One run in the C module."""

    def __init__(self, module: ModuleType, handle: int, layout: _Layout, number: int, memory: WorkingMemory):
        self._module = module
        self._handle = handle
        self._layout = layout
        self._sid = f"s{number}"
        self._memory = memory
        self._offset: int | None = None
        self._codes: dict[Value, int] | None = None
        self._sent: dict[str, Item] = {}
        self._ids = _ids(f"sid-{self._sid}")

    def drive(self) -> None:
        memory, layout = self._memory, self._layout
        for stage in layout.plan.stages:
            memory.open_stage(stage)
            new = self._fire_opened(stage)
            messages = self._messages_opened(stage)
            while new or messages:
                messages += self._enter(new, stage)
                new = self._join(messages) if messages else []
                messages = []

    def delete(self) -> None:
        if self._offset is not None:
            self._module.delete_state(self._handle, self._sid)

    def abandon(self) -> None:
        """Leave the session alone from now on."""
        self._offset = None

    def _fire_opened(self, stage: int) -> list[Item]:
        """Fire the one-pattern rules that open with the stage for the facts already there."""
        new = []
        for node, rules in self._layout.single:
            for rule in rules:
                if rule.stage == stage:
                    new += [self._memory.fire(rule, (item,)) for item in self._memory.nodes[node]]
        return [item for item in new if item is not None]

    def _messages_opened(self, stage: int) -> list[str]:
        """A message for every fact that waits in a bank which opens with the stage."""
        messages = []
        for number, bank in enumerate(self._layout.banks):
            if bank.stage != stage:
                continue
            places: dict[Item, list[int]] = defaultdict(list)
            for node, place in bank.nodes.items():
                for item in self._memory.nodes[node]:
                    places[item].append(place)
            messages += [self._message(number, item, where) for item, where in places.items()]
        return messages

    def _enter(self, new: list[Item], stage: int) -> list[str]:
        """Enter conclusions, and what one-pattern rules conclude from them; a message for each bank."""
        layout = self._layout
        messages: list[str] = []
        queue = deque(new)
        while queue:
            item = queue.popleft()
            nodes = self._memory.enter(item)
            if not nodes:
                continue
            places: dict[int, list[int]] = defaultdict(list)
            for node in nodes:
                for number, place in layout.places[node]:
                    if layout.banks[number].stage <= stage:
                        places[number].append(place)
                for rule in layout.single_by_node[node]:
                    if rule.stage <= stage:
                        concluded = self._memory.fire(rule, (item,))
                        if concluded is not None:
                            queue.append(concluded)
            messages += [self._message(number, item, where) for number, where in places.items()]
        return messages

    def _message(self, bank: int, item: Item, places: Iterable[int]) -> str:
        layout = self._layout
        ident = next(self._ids)
        self._sent[ident] = item
        codes = self._codes
        if codes is None:
            codes = self._codes = self._rank()
        fields, short = item.fields, layout.short
        values = "".join(
            [
                f"{short[name]}{codes[value]}"
                for name in layout.banks[bank].fields.get(item.kind, ())
                if (value := fields.get(name)) is not None
            ]
        )
        tags = "".join([layout.tags[place] for place in places])
        return f'{{"id":{ident},"sid":"{self._sid}"{layout.marks[bank]}{tags}{values}}}'

    def _rank(self) -> dict[Value, int]:
        """A whole number for each value that a join may read in this run. Rules only copy values, so
        the given facts and the rules' constants hold them all."""
        values: set[Value] = set(self._layout.constants)
        sources = self._layout.sources
        for item in self._memory.items():
            fields = item.fields
            for name in sources.get(item.kind, ()):
                value = fields.get(name)
                if value is not None:
                    values.add(value)
        numbers = sorted(value for value in values if not isinstance(value, str))
        words = sorted(value for value in values if isinstance(value, str))
        return {value: code for code, value in enumerate([*numbers, *words])}

    def _join(self, messages: list[str]) -> list[Item]:
        """Send the messages, fire every match reported, return the new conclusions."""
        module, handle = self._module, self._handle
        if self._offset is None:
            self._boot()
        offset = self._offset
        status, _ = module.assert_facts(handle, f"[{','.join(messages)}]")
        stored = module.get_facts(handle, self._sid).count('"id":')
        if status != 0 or stored != len(self._sent) + 1:
            raise EngineError(
                f"the Rete engine's C module kept {stored - 1} of {len(self._sent)} messages (status {status})"
            )
        new: list[Item] = []
        started = module.start_action_for_state(handle, offset)
        report = started and started[1]
        while report:
            matched = sorted(_REPORTED.findall(report))
            production = self._layout.productions[int(report[3 : report.index('"', 3)])]
            if len(matched) != len(production.nodes):
                raise EngineError(f"the Rete engine's C module reported an incomplete match: {report[:80]}")
            bound = [self._sent[ident] for _, ident in matched]
            for rule in production.rules:
                concluded = self._memory.fire(rule, bound)
                if concluded is not None:
                    new.append(concluded)
            report = module.complete_and_start_action(handle, offset)
        return new

    def _boot(self) -> None:
        """Fire a rule that always fires: it initialises what `delete_state` frees."""
        text = f'{{"id":{next(self._ids)},"sid":"{self._sid}","{self._layout.boot}":1}}'
        _, self._offset = self._module.assert_fact(self._handle, text)
        self._module.start_action_for_state(self._handle, self._offset)
        self._module.complete_and_start_action(self._handle, self._offset)


def _hash(text: str) -> int:
    """The 32-bit hash (FNV-1a) by which the C module tells names and ids apart."""
    value = 0x811C9DC5
    for byte in text.encode():
        value = (value ^ byte) * 0x01000193 & 0xFFFFFFFF
    return value


def _names() -> Iterator[str]:
    """Property names whose hashes differ from each other and from those of the names always there."""
    taken = {_hash(name) for name in ("id", "sid", "$s")}
    for number in count():
        name = f"x{number}"
        if _hash(name) not in taken:
            taken.add(_hash(name))
            yield name


_KNOWN_IDS: list[tuple[str, int]] = []
_KNOWN_HASHES: set[int] = set()
_IDS_LOCK = threading.Lock()


def _ids(reserved: str) -> Iterator[str]:
    """Whole numbers as ids of messages, leaving out those whose hash is already taken."""
    taken = _hash(reserved)
    for place in count():
        if place >= len(_KNOWN_IDS):
            with _IDS_LOCK:
                _extend_ids(place + 1)
        ident, value = _KNOWN_IDS[place]
        if value != taken:
            yield ident


def _extend_ids(length: int) -> None:
    number = int(_KNOWN_IDS[-1][0]) + 1 if _KNOWN_IDS else 0
    while len(_KNOWN_IDS) < length:
        value = _hash(str(number))
        if value not in _KNOWN_HASHES:
            _KNOWN_HASHES.add(value)
            _KNOWN_IDS.append((str(number), value))
        number += 1
