"""The rule engine: facts and rules in, conclusions and their proofs out. It knows no buildings.

Two engines stand behind one interface and give the same outcome for the same facts, byte for byte:
`rete`, whose joins run in the C module of `durable_rules`, and `fixpoint`, plain Python.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from reviewer.engine.fixpoint import FixpointProgram
from reviewer.engine.program import Program
from reviewer.engine.types import (
    Derivation,
    EngineError,
    Fact,
    Head,
    Join,
    Outcome,
    Pattern,
    Rule,
    Test,
    Value,
)

__all__ = [
    "Derivation",
    "EngineError",
    "Fact",
    "Head",
    "Join",
    "Outcome",
    "Pattern",
    "Program",
    "Rule",
    "Test",
    "Value",
    "available",
    "compile_program",
    "why_not_rete",
]


def available() -> tuple[str, ...]:
    """The engines that run here, the one that `auto` takes first."""
    return ("fixpoint",) if why_not_rete() else ("rete", "fixpoint")


def why_not_rete() -> str:
    """Why the Rete engine does not run here, a sentence; empty where it does."""
    from reviewer.engine import rete

    return rete.unavailable()


def compile_program(
    rules: Sequence[Rule], *, engine: Literal["auto", "rete", "fixpoint"] = "auto"
) -> Program:
    """A program for the rules. `auto` takes the Rete engine where it runs, else the fixpoint engine.

    Raises `EngineError` for a malformed rule, a limit passed, cyclic negation, and when the engine
    asked for does not run here.

    >>> rule = Rule("tight", (Pattern("layer", (Test("permeance", "<=", 1.0),)),), Head("finding", "tight"))
    >>> program = compile_program([rule], engine="fixpoint")
    >>> outcome = program.run([Fact("layer 1", "layer", {"permeance": 0.5})])
    >>> [(fact.id, outcome.proofs[fact.id]) for fact in outcome.facts]
    [('finding:tight', (Derivation(rule='tight', parents=('layer 1',)),))]
    """
    if engine not in ("auto", "rete", "fixpoint"):
        raise EngineError(f"unknown engine {engine!r}, expected auto, rete or fixpoint")
    if engine == "fixpoint":
        return FixpointProgram(rules)
    reason = why_not_rete()
    if reason and engine == "rete":
        raise EngineError(reason)
    if reason:
        return FixpointProgram(rules)
    from reviewer.engine.rete import ReteProgram

    return ReteProgram(rules)
