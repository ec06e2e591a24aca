"""Conditions in words, for rule pages, explanations and messages."""

from __future__ import annotations

from reviewer.document import one_of
from reviewer.facts.vocabulary import KINDS, Field
from reviewer.rules.language import Condition, FieldTest
from reviewer.rules.template import show_value
from reviewer.rules.values import KNOWN, Comparison, Reference

NOUNS = {
    "section": "the section",
    "climate": "the climate",
    "indoor": "the indoor climate",
    "layer": "a layer",
    "joint": "a joint between layers",
    "pair": "a pair of layers",
    "requirement": "a code requirement",
    "statement": "a statement of the user",
    "leakage": "the air leakage",
    "sun": "the sun on the outer side",
    "rain": "the rain on the wall",
    "simulation": "the hourly simulation",
    "simulated_joint": "a joint in the hourly simulation",
    "simulated_layer": "a layer in the hourly simulation",
    "concluded": "a conclusion",
}
OPERATORS_IN_WORDS = {
    "==": "is",
    "!=": "is not",
    "<": "is below",
    "<=": "is at most",
    ">": "is above",
    ">=": "is at least",
}
_PLACES = {"<": "lies inboard of", ">": "lies outboard of", "==": "is", "!=": "is not"}

_VERBS = (
    "is", "has", "holds", "stores", "lets", "opens", "controls", "breaks", "drains", "corrodes", "needs",
    "loses", "may", "lies",
)  # fmt: skip
"""What the meaning of a yes-or-no field starts with when it says something of "it"."""


def condition_in_words(condition: Condition, system: str | None = None) -> str:
    """A condition as a phrase; quantities as the rule writes them, or in a unit system.

    `there is a layer "inner" whose permeance when damp is at most 1 perm`
    """
    noun = NOUNS.get(condition.kind, f"a {condition.kind}")
    if condition.negated:
        noun = noun.replace("the ", "", 1).replace("a ", "", 1)
        head = f"there is no {noun}"
    else:
        head = noun if KINDS[condition.kind].single else f"there is {noun}"
    if condition.alias and condition.alias != condition.kind:
        head += f" “{condition.alias}”"
    if not condition.tests:
        return head
    tests = [value_test_in_words(condition.kind, test, system) for test in condition.tests]
    joined = tests[0] if len(tests) == 1 else ", ".join(tests[:-1]) + " and " + tests[-1]
    link = ": " if KINDS[condition.kind].single and not condition.negated else " where "
    return head + link + joined


def value_test_in_words(kind: str, test: FieldTest, system: str | None = None) -> str:
    """`permeance when damp is at most 1 perm`."""
    field = KINDS[kind].fields[test.field]
    if _is_yes_no(field):
        return _yes_no(field, test)
    parts = test.alternatives
    if test.field == "index" and all(isinstance(c.operand, Reference) for p in parts for c in p):
        return "it " + " or ".join(
            " and ".join(comparison_in_words(c, field, system) for c in p) for p in parts
        )
    if len(parts) > 1 and all(len(p) == 1 and p[0].op == "==" for p in parts):
        return f"{field.meaning} is {one_of(_operand(p[0], field, system) for p in parts)}"
    phrases = [" and ".join(comparison_in_words(c, field, system) for c in part) for part in parts]
    return f"{field.meaning} " + " or ".join(phrases)


def comparison_in_words(c: Comparison, field: Field, system: str | None = None) -> str:
    """`is at most 1 perm`, `lies outboard of “inner”`."""
    if c.op == KNOWN:
        return "is known"
    places = field.dimension == "index" and isinstance(c.operand, Reference)
    word = (_PLACES.get(c.op) if places else None) or OPERATORS_IN_WORDS[c.op]
    return f"{word} {_operand(c, field, system)}"


def _operand(c: Comparison, field: Field, system: str | None) -> str:
    if isinstance(c.operand, Reference):
        if c.operand.field == "index":
            return f"“{c.operand.alias}”"
        if field.dimension == "index":
            return f"the {_meaning(c.operand)} of “{c.operand.alias}”"
        return f"that of “{c.operand.alias}” ({_meaning(c.operand)})"
    if system is None or field.dimension in ("word", "text", "index"):
        return c.text
    return show_value(c.operand, field.dimension, system)


def _meaning(reference: Reference) -> str:
    """What a field means; fields of one name mean one thing, whatever kind the alias is of."""
    kinds = [k for k in (reference.alias, *KINDS) if k in KINDS and reference.field in KINDS[k].fields]
    return KINDS[kinds[0]].fields[reference.field].meaning if kinds else reference.field


def _is_yes_no(field: Field) -> bool:
    return field.words == ("yes", "no")


def _yes_no(field: Field, test: FieldTest) -> str:
    words = {
        c.operand if c.op == "==" else {"yes": "no", "no": "yes"}.get(str(c.operand), c.op)
        for part in test.alternatives
        for c in part
        if not isinstance(c.operand, Reference)
    }
    verb = field.meaning.split()[0] in _VERBS
    if words == {"yes"}:
        return f"it {field.meaning}" if verb else f"“{field.meaning}” holds"
    if words == {"no"}:
        if field.meaning.startswith("is "):
            return f"it is not {field.meaning.removeprefix('is ')}"
        return f"“{field.meaning}” does not hold"
    return f"“{field.meaning}” is {test.text}"
