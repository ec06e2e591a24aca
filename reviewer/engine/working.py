"""Working memory of one run: facts, the nodes they wait in, conclusions and their proofs."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence

from reviewer.engine.limits import ABSENT, MAX_COMBINATIONS
from reviewer.engine.plan import Absence, Compiled, Item, Node, Plan, shortened
from reviewer.engine.types import Derivation, EngineError, Fact, Outcome, Value

_FEW = 3
"""Facts in a node from which its rules are looked at: two in each make few combinations of even the
longest rule."""


class WorkingMemory:
    """The only state of a review. An engine enters facts, opens stages and reports firings."""

    def __init__(self, plan: Plan, max_firings: int):
        self._plan = plan
        self._max_firings = max_firings
        self._items: dict[str, Item] = {}
        self._memories: defaultdict[int, list[Item]] = defaultdict(list)
        self.nodes: defaultdict[int, list[Item]] = defaultdict(list)
        """The facts in each node, in the order in which they entered."""
        self.stage = -1
        self._verdicts: dict[tuple[int, int], bool] = {}
        self._proofs: dict[str, list[tuple[str, tuple[str, ...]]]] = {}
        self._concluded: list[Item] = []
        self._absences: dict[str, tuple[str, int, Item | None]] = {}
        self._firings = 0

    def new_item(self, ident: str, kind: str, fields: Mapping[str, Value]) -> Item:
        """Registers a fact; it takes part once it is entered."""
        item = Item(ident, kind, fields, len(self._items))
        self._items[ident] = item
        return item

    def items(self) -> Iterable[Item]:
        """Every fact registered so far."""
        return self._items.values()

    def enter(self, item: Item) -> list[int]:
        """Puts the fact into its nodes, as far as they are open, and returns their numbers."""
        network = self._plan.networks.get(item.kind)
        if network is None:
            return []
        entered: list[int] = []
        plain, gated = self._plan.plain_node, self._plan.gated_nodes
        for memory in network.memories(item.fields):
            self._memories[memory].append(item)
            node = plain[memory]
            if node is not None:
                self.nodes[node].append(item)
                entered.append(node)
            for other in gated[memory]:
                if other.stage <= self.stage and self._holds(other, item):
                    self.nodes[other.number].append(item)
                    entered.append(other.number)
        if self.stage >= 0:
            for number in entered:
                count = len(self.nodes[number])
                # Looking again each time that the facts of a node have doubled is soon enough.
                if count >= _FEW and count & (count - 1) == 0:
                    self._refuse_too_many(self._plan.joining[number])
        return entered

    def open_stage(self, stage: int) -> None:
        """Fills the nodes whose absences can be judged from now on: the kinds that the stage's
        rules negate are complete, because stratification puts every rule that concludes them
        below."""
        self.stage = stage
        for node in self._plan.gated_at.get(stage, ()):
            if node.memory in self._memories:
                self.nodes[node.number] = [i for i in self._memories[node.memory] if self._holds(node, i)]
        many = sorted(n for n, items in self.nodes.items() if len(items) >= _FEW)
        self._refuse_too_many({r.number: r for n in many for r in self._plan.joining[n]}.values())

    def _refuse_too_many(self, rules: Iterable[Compiled]) -> None:
        """Refuse to run a rule that would have to try an enormous number of combinations."""
        for rule in rules:
            if rule.stage > self.stage:
                continue
            count = 1
            for node in rule.nodes:
                count *= len(self.nodes[node])
            if count <= MAX_COMBINATIONS:
                continue
            count = 1
            for node, joins in zip(rule.nodes, rule.joins, strict=True):
                items = self.nodes[node]
                most = len(items)
                for join in joins:
                    if join.op == "==":
                        # An equality joins a fact with those only that have its value.
                        most = min(most, max(Counter(i.fields[join.field] for i in items).values()))
                count *= most
            if count > MAX_COMBINATIONS:
                raise EngineError(
                    f"rule {rule.name!r} would have to try more than {MAX_COMBINATIONS} combinations of facts"
                )

    def fire(self, rule: Compiled, bound: Sequence[Item]) -> Item | None:
        """Records that the facts match the rule; returns the concluded fact if it is a new one."""
        self._firings += 1
        if self._firings > self._max_firings:
            raise EngineError(f"more than {self._max_firings} firings; the last was of rule {rule.name!r}")
        parents = [item.id for item in bound]
        for n, (prefix, position) in enumerate(rule.absent):
            if position is None:
                ident = shortened(prefix)
                item = None
            else:
                item = bound[position]
                ident = shortened(prefix + item.id)
            parents.append(ident)
            if ident not in self._absences:
                self._absences[ident] = (rule.name, n, item)
        ident, fields = rule.head(bound)
        derivation = (rule.name, tuple(parents))
        derivations = self._proofs.get(ident)
        if derivations is not None:
            derivations.append(derivation)
            return None
        if ident in self._items:
            raise EngineError(f"rule {rule.name!r} concludes {ident!r}, which is the id of a given fact")
        self._proofs[ident] = [derivation]
        item = self.new_item(ident, rule.head.kind, fields)
        self._concluded.append(item)
        return item

    def outcome(self, engine: str) -> Outcome:
        facts = [Fact(item.id, item.kind, dict(item.fields)) for item in self._concluded]
        for ident, (rule, n, item) in self._absences.items():
            fields: dict[str, Value] = {"rule": rule, "pattern": float(n)}
            if item is not None:
                fields["beside"] = item.id
            facts.append(Fact(ident, ABSENT, fields))
        facts.sort(key=lambda fact: fact.id)
        proofs = {
            ident: tuple(Derivation(rule, parents) for rule, parents in sorted(self._proofs[ident]))
            for ident in sorted(self._proofs)
        }
        return Outcome(tuple(facts), proofs, self._firings, engine)

    def _holds(self, node: Node, item: Item) -> bool:
        return all(self._is_absent(absence, item) for absence in node.absences)

    def _is_absent(self, absence: Absence, item: Item) -> bool:
        if not absence.bound:
            return not self._memories[absence.memory]
        key = (absence.number, item.number)
        verdict = self._verdicts.get(key)
        if verdict is None:
            verdict = self._verdicts[key] = not self._is_there(absence, item)
        return verdict

    def _is_there(self, absence: Absence, item: Item) -> bool:
        wanted = []
        for field, holds, other_field in absence.joins:
            value = item.fields.get(other_field)
            if value is None:
                return False
            wanted.append((field, holds, value))
        return any(
            other is not item and all(holds(other.fields[field], value) for field, holds, value in wanted)
            for other in self._memories[absence.memory]
        )


def enter_given(memory: WorkingMemory, facts: Iterable[tuple[str, str, Mapping[str, Value]]]) -> None:
    """Enters the facts of the review, sorted by id, so that nothing depends on the caller's order."""
    for ident, kind, fields in sorted(facts, key=lambda fact: fact[0]):
        memory.enter(memory.new_item(ident, kind, fields))
