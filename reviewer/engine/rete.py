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
* Rules are laid out in *banks* of few rules, nodes and fields: a network of the module each, built when
  it is first needed. A fact is sent to a bank once there is a fact for every pattern of one of its rules;
  most rules of a rulebook have none, and a session costs in proportion to its network. The rules that such
  facts were there for together, twice at the opening of a stage, get a bank of their own. However large the
  rulebook, a message stays below 256 properties and below 64 tests matched at once, and a condition
  below 512 children and 256 rules.
* The ids of messages are running numbers, without those whose 32-bit hash is taken.
* Every message waits in a node, so none may come back as unmatched; after each batch the number of
  stored messages is compared with the number sent.
* A first message that always fires initialises what deleting the session frees, and the sessions are
  deleted after every run.

The module keeps the interpreter lock and is not thread-safe in itself: one run at a time for each
program. A forked process builds its own networks.
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

_PRODUCTIONS_PER_BANK = 6
_NODES_PER_BANK = 56
_PATTERNS_PER_BANK = 200
_OWN_BANKS = 128
"""Banks for rules that are wanted together."""

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
    needs: frozenset[int]
    """`nodes` as a set: without a fact in each of them nothing can match."""
    stage: int
    number: int
    bank: int = -1


@dataclass(slots=True)
class _Bank:
    """Productions that share one message a fact."""

    stage: int
    number: int
    nodes: dict[int, int] = field(default_factory=dict)
    """Node number to its place in the bank."""
    productions: list[int] = field(default_factory=list)
    patterns: int = 0
    joined: set[tuple[str, str]] = field(default_factory=set)
    """(kind, field) of what its joins read."""
    fields: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """The same by kind, in order."""

    def takes(self, production: _Production) -> bool:
        """Whether there is room for one more."""
        joined = {name for _, name in self.joined | _joined_fields(production)}
        return (
            len(self.nodes.keys() | production.needs) <= _NODES_PER_BANK
            and self.patterns + len(production.nodes) <= _PATTERNS_PER_BANK
            and len(joined) <= MAX_JOINED_FIELDS
        )

    def add(self, production: _Production) -> None:
        for node in production.nodes:
            self.nodes.setdefault(node, len(self.nodes))
        self.productions.append(production.number)
        self.patterns += len(production.nodes)
        self.joined |= _joined_fields(production)
        self.fields = _by_kind(self.joined)


class ReteProgram(Program):
    """The engine whose joins run in C."""

    engine = "rete"
    _networks: dict[int, int] | None = None
    """Bank to the module's handle of its network."""

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
        self._networks = {}

    def close(self) -> None:
        self._adopt()
        with self._lock:
            super().close()
            self._discard()

    def __del__(self, ending: Callable[[], bool] = sys.is_finalizing) -> None:
        # When the interpreter ends, the modules are taken apart already, and the memory goes with it.
        if self._networks and not ending():
            self.close()

    def _adopt(self) -> None:
        """In a forked process: leave the parent's networks and lock alone and start without any."""
        if self._process != os.getpid():
            self._process = os.getpid()
            self._lock = threading.Lock()
            self._networks = {}

    def _network(self, bank: int) -> int:
        networks = self._networks
        assert networks is not None
        if bank not in networks:
            definition = self._layout.definition(bank)
            try:
                networks[bank] = self._module.create_ruleset(f"reviewer{next(_NAMES)}", definition)
            except self._module.error as error:
                raise EngineError(f"the Rete engine's C module refuses the rules: {error}") from error
        return networks[bank]

    def _discard(self) -> None:
        for handle in (self._networks or {}).values():
            self._module.delete_ruleset(handle)
        self._networks = {}

    def _drive(self, memory: WorkingMemory) -> None:
        self._adopt()
        with self._lock:
            if self._closed:
                raise EngineError("this program is closed")
            self._sessions += 1
            session = _Session(self._module, self._network, self._layout, self._sessions, memory)
            try:
                session.drive()
            except self._module.error as error:
                # Whatever state the module is in, the next run starts from new networks.
                session.abandon()
                self._networks = {}
                raise EngineError(f"the Rete engine's C module failed: {error}") from error
            finally:
                session.delete()


class _Layout:
    """Banks, the names they use and the definitions that the C module compiles."""

    def __init__(self, plan: Plan):
        self.plan = plan
        self.productions: list[_Production] = []
        self.single_by_node: list[list[Compiled]] = [[] for _ in plan.nodes]
        """Rules with one pattern, by its node."""
        self._collect()
        self.single = [(node, rules) for node, rules in enumerate(self.single_by_node) if rules]
        self.banks: list[_Bank] = []
        self._fill_banks()
        self._together: dict[tuple[int, ...], int | None] = {}
        """Productions wanted together when a stage opened: their own bank, None after the first time."""
        self._own = 0
        self.reading: list[list[_Production]] = [[] for _ in plan.nodes]
        """The productions that read a node."""
        self.by_stage: dict[int, list[_Production]] = defaultdict(list)
        for production in self.productions:
            self.by_stage[production.stage].append(production)
            for node in production.needs:
                self.reading[node].append(production)
        names = _names()
        self.boot = next(names)
        self._mark = next(names)
        self._tags = [next(names) for _ in range(_NODES_PER_BANK)]
        every = sorted({name for bank in self.banks for _, name in bank.joined})
        self._short = dict(zip(every, names, strict=False))
        self.mark = f',"{self._mark}":1'
        self.tags = [f',"{tag}":1' for tag in self._tags]
        self.short = {name: f',"{short}":' for name, short in self._short.items()}
        self.sources, self.constants = self._sources()

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
                needs = frozenset(rule.nodes)
                number = len(self.productions)
                self.productions.append(_Production(rule.nodes, joins, [], needs, rule.stage, number))
            self.productions[known[key]].rules.append(rule)

    def _fill_banks(self) -> None:
        current: dict[int, _Bank] = {}
        for production in self.productions:
            bank = current.get(production.stage)
            if bank is None or len(bank.productions) == _PRODUCTIONS_PER_BANK or not bank.takes(production):
                bank = current[production.stage] = _Bank(production.stage, len(self.banks))
                self.banks.append(bank)
            production.bank = bank.number
            bank.add(production)

    def together(self, productions: Sequence[_Production]) -> int | None:
        """A bank for just these, where there is or should be one."""
        wanted = tuple(production.number for production in productions)
        if len(wanted) < 2:
            return None
        if wanted not in self._together:
            if len(self._together) >= 16 * _OWN_BANKS:
                self._together = {key: own for key, own in self._together.items() if own is not None}
            self._together[wanted] = None
        elif self._together[wanted] is None and self._own < _OWN_BANKS:
            bank = _Bank(productions[0].stage, len(self.banks))
            for production in productions:
                if not bank.takes(production):
                    return None
                bank.add(production)
            self._own += 1
            self.banks.append(bank)
            self._together[wanted] = bank.number
        return self._together[wanted]

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

    def definition(self, number: int) -> str:
        """A bank's rules in the module's JSON. Nothing a rulebook's author wrote goes into it."""
        bank, mark = self.banks[number], self._mark
        parts = [f'"boot":{{"pri":0,"all":[{{"{_ALIASES[0]}":{{"{self.boot}":1}}}}]}}']
        for production_number in bank.productions:
            production = self.productions[production_number]
            conditions = []
            for position, node in enumerate(production.nodes):
                terms = [f'{{"{mark}":1}}', f'{{"{self._tags[bank.nodes[node]]}":1}}']
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


Messages = dict[int, list[str]]
"""By bank."""


class _Session:
    """One run in the C module."""

    def __init__(
        self,
        module: ModuleType,
        network: Callable[[int], int],
        layout: _Layout,
        number: int,
        memory: WorkingMemory,
    ):
        self._module = module
        self._network = network
        self._layout = layout
        self._sid = f"s{number}"
        self._memory = memory
        self._offsets: dict[int, int] = {}
        """Of the session in each bank that has one."""
        self._codes: dict[Value, int] | None = None
        self._sent: dict[str, Item] = {}
        self._count: dict[int, int] = defaultdict(int)
        """Messages sent to each bank."""
        self._open: dict[int, list[int]] = defaultdict(list)
        """By node, the banks that have been sent its facts, and are sent more as they enter."""
        self._home: dict[int, int] = {}
        """The bank that each production is run in."""
        self._ids = _ids(f"sid-{self._sid}")

    def drive(self) -> None:
        memory, layout = self._memory, self._layout
        for stage in layout.plan.stages:
            memory.open_stage(stage)
            new = self._fire_opened(stage)
            messages: Messages = defaultdict(list)
            self._open_stage(stage, messages)
            while new or messages:
                self._enter(new, stage, messages)
                new = [item for bank, texts in messages.items() for item in self._join(bank, texts)]
                messages = defaultdict(list)

    def delete(self) -> None:
        for bank in self._offsets:
            self._module.delete_state(self._network(bank), self._sid)

    def abandon(self) -> None:
        """Leave the sessions alone from now on."""
        self._offsets = {}

    def _fire_opened(self, stage: int) -> list[Item]:
        """Fire the one-pattern rules that open with the stage for the facts already there."""
        new = []
        for node, rules in self._layout.single:
            for rule in rules:
                if rule.stage == stage:
                    new += [self._memory.fire(rule, (item,)) for item in self._memory.nodes[node]]
        return [item for item in new if item is not None]

    def _open_stage(self, stage: int, messages: Messages) -> None:
        """Messages to the banks whose joins can match when the stage opens."""
        filled = {node for node, items in self._memory.nodes.items() if items}
        wanted = [p for p in self._layout.by_stage[stage] if p.needs <= filled]
        self._open_nodes(wanted, messages, self._layout.together(wanted))

    def _open_nodes(
        self, productions: Iterable[_Production], messages: Messages, own: int | None = None
    ) -> None:
        """Open the nodes that the productions read, in their banks or in one of their own: a message for every
        fact there and bank.

        A fact goes to a bank once more when another of its nodes opens: with the new node's tag only.
        """
        opened: dict[int, list[int]] = defaultdict(list)
        for production in productions:
            bank = self._home[production.number] = production.bank if own is None else own
            for node in production.nodes:
                if bank not in self._open[node]:
                    self._open[node].append(bank)
                    opened[bank].append(node)
        for number, nodes in opened.items():
            placed = self._layout.banks[number].nodes
            places: dict[Item, list[int]] = defaultdict(list)
            for node in nodes:
                for item in self._memory.nodes[node]:
                    places[item].append(placed[node])
            messages[number] += [self._message(number, item, where) for item, where in places.items()]

    def _enter(self, new: list[Item], stage: int, messages: Messages) -> None:
        """Enter conclusions, and what one-pattern rules conclude from them; messages to the banks."""
        layout, memory = self._layout, self._memory
        queue = deque(new)
        while queue:
            item = queue.popleft()
            places: dict[int, list[int]] = defaultdict(list)
            entered = memory.enter(item)
            for node in entered:
                for number in self._open.get(node, ()):
                    places[number].append(layout.banks[number].nodes[node])
                for rule in layout.single_by_node[node]:
                    if rule.stage <= stage:
                        concluded = memory.fire(rule, (item,))
                        if concluded is not None:
                            queue.append(concluded)
            for number, where in places.items():
                messages[number].append(self._message(number, item, where))
            # The first fact in a node may be the last that a production waited for.
            first = [node for node in entered if len(memory.nodes[node]) == 1]
            waiting = [p for node in first for p in layout.reading[node] if p.stage <= stage]
            self._open_nodes((p for p in waiting if all(memory.nodes[n] for n in p.needs)), messages)

    def _message(self, bank: int, item: Item, places: Iterable[int]) -> str:
        layout = self._layout
        ident = next(self._ids)
        self._sent[ident] = item
        self._count[bank] += 1
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
        return f'{{"id":{ident},"sid":"{self._sid}"{layout.mark}{tags}{values}}}'

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

    def _join(self, bank: int, messages: list[str]) -> list[Item]:
        """Send the messages, fire every match reported, return the new conclusions."""
        module, handle = self._module, self._network(bank)
        offset = self._offsets.get(bank)
        if offset is None:
            offset = self._boot(bank, handle)
        status, _ = module.assert_facts(handle, f"[{','.join(messages)}]")
        stored = module.get_facts(handle, self._sid).count('"id":')
        if status != 0 or stored != self._count[bank] + 1:
            raise EngineError(
                f"the Rete engine's C module kept {stored - 1} of {self._count[bank]} messages (status {status})"
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
            # Two messages of one fact may match together, which is no combination of facts; and a bank may have
            # been sent all that a rule waits for which runs in another.
            counts = len(set(bound)) == len(bound) and self._home.get(production.number) == bank
            for rule in production.rules if counts else ():
                concluded = self._memory.fire(rule, bound)
                if concluded is not None:
                    new.append(concluded)
            report = module.complete_and_start_action(handle, offset)
        return new

    def _boot(self, bank: int, handle: int) -> int:
        """Fire a rule that always fires: it initialises what `delete_state` frees."""
        text = f'{{"id":{next(self._ids)},"sid":"{self._sid}","{self._layout.boot}":1}}'
        _, offset = self._module.assert_fact(handle, text)
        self._offsets[bank] = offset
        self._module.start_action_for_state(handle, offset)
        self._module.complete_and_start_action(handle, offset)
        return offset


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
