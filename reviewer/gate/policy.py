"""The policy: what an office asks of its details, in files named `reviewer.yaml` from the outermost folder inwards.

Nearer files win over outer ones, key by key. Three things only ever add up, so that a folder can't excuse
itself: what may not be waived, waivers, and folders of rules.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, fields, replace
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any, Final

from reviewer.document import Node, Reader, one_of, read_document
from reviewer.errors import InputError, Problem, nearest
from reviewer.gate.record import WaiverLine
from reviewer.gate.waivers import read_waivers
from reviewer.model.schema import CODE, RULE_ID
from reviewer.model.section import ZONES

FILE_NAME: Final = "reviewer.yaml"
FAIL_AT: Final = ("serious", "caution", "note", "never")
SEVERITIES: Final = ("serious", "caution", "note")
OF_FOLDER: Final = (
    *("packs", "edition", "units", "hourly", "zones", "fail at", "fail on incomplete", "severities"),
)
"""Keys that a single folder may have."""
OF_FILE: Final = (
    *("root", "rules", "leave out", "office zones", "never waive", "waivers", "baseline", "folders"),
    *OF_FOLDER,
)


@dataclass(frozen=True, slots=True)
class SeverityChange:
    severity: str
    reason: str
    origin: str


@dataclass(frozen=True, slots=True)
class Policy:
    """What holds for the sections of one folder."""

    rules: tuple[str, ...] = ()
    """Absolute paths of folders with own packs."""
    packs: tuple[str, ...] = ()
    """Packs whose findings count; empty: all."""
    edition: str = ""
    units: str | None = None
    hourly: bool = False
    zones: tuple[str, ...] = ()
    office_zones: tuple[str, ...] = ()
    fail_at: str = "serious"
    fail_on_incomplete: bool = False
    severities: Mapping[str, SeverityChange] = field(default_factory=dict)
    never_waive: tuple[str, ...] = ("hazards",)
    waivers: tuple[WaiverLine, ...] = ()
    leave_out: tuple[tuple[str, str], ...] = ()
    """Folder that the pattern starts from, and the pattern."""
    baseline: str = ""
    origins: Mapping[str, str] = field(default_factory=dict)
    """Key to the file and line that it comes from; keys that aren't there are defaults."""

    def counts(self, rule: str) -> bool:
        """Whether findings of this rule count: it is of a pack that the policy names, or of the gate itself."""
        pack = rule.split("/")[0]
        return not self.packs or pack in self.packs or pack in ("library", "waivers")

    def leaves_out(self, path: Path) -> bool:
        """Whether a file or folder is none of the library's."""
        for folder, pattern in self.leave_out:
            try:
                inside = path.relative_to(folder).as_posix()
            except ValueError:
                continue
            if _matches(inside, pattern):
                return True
        return False


def _matches(path: str, pattern: str) -> bool:
    """A pattern with a slash is about the whole path from the policy's folder, one without about any name in it.

    >>> _matches("drafts/a.yaml", "drafts"), _matches("a/drafts/b.yaml", "drafts/*"), _matches("a/b.yaml", "a/**")
    (True, False, True)
    """
    pattern = pattern.rstrip("/")
    if "/" not in pattern:
        return any(fnmatchcase(part, pattern) for part in path.split("/"))
    parts = path.split("/")
    return any(fnmatchcase("/".join(parts[:n]), pattern) for n in range(1, len(parts) + 1))


@dataclass(frozen=True, slots=True)
class _Layer:
    """One policy file: its own keys, and the keys of single folders."""

    folder: Path
    root: bool
    own: Mapping[str, tuple[Any, str]]
    folders: tuple[tuple[Path, Mapping[str, tuple[Any, str]]], ...]


class Policies:
    """The policy of every folder, each file read once.

    `chosen` takes the place of all files found upwards. `rules_of` tells the ids of rules in the given
    folders beside the shipped ones, so that a misspelt id is an error and not a rule that never fires.
    """

    def __init__(
        self,
        rules_of: Callable[[tuple[str, ...]], Collection[str]],
        chosen: Path | None = None,
        given: Mapping[str, Any] | None = None,
    ):
        self._rules_of = rules_of
        self._chosen = chosen
        self._given = dict(given or {})
        """Fields of the policy that the command line sets over all files."""
        self._layers: dict[Path, _Layer] = {}
        self._composed: dict[Path, Policy] = {}

    def of_folder(self, folder: Path) -> Policy:
        """The policy for the sections in a folder (an absolute path).

        Raises InputError: a policy file that can't be used.
        """
        found = self._composed.get(folder)
        if found is None:
            found = self._composed[folder] = self._compose(folder)
        return found

    def files(self, folder: Path) -> list[Path]:
        """The policy files that hold for a folder, outermost first."""
        return [
            layer.folder / FILE_NAME if self._chosen is None else self._chosen
            for layer in self._chain(folder)
        ]

    def _chain(self, folder: Path) -> list[_Layer]:
        if self._chosen is not None:
            return [self._layer(self._chosen)]
        layers: list[_Layer] = []
        for above in (folder, *folder.parents):
            path = above / FILE_NAME
            if path in self._layers or os.path.isfile(path):
                layers.append(self._layer(path))
                if layers[-1].root:
                    break
        return layers[::-1]

    def _layer(self, path: Path) -> _Layer:
        found = self._layers.get(path)
        if found is None:
            found = self._layers[path] = _read(path)
        return found

    def _compose(self, folder: Path) -> Policy:
        policy = Policy()
        for n, layer in enumerate(self._chain(folder)):
            policy = _apply(policy, layer.own, outermost=n == 0)
            for inner, keys in layer.folders:
                if folder == inner or inner in folder.parents:
                    policy = _apply(policy, keys)
        self._check_rules(policy)
        if self._given:
            origins = {**policy.origins, **dict.fromkeys(map(_key, self._given), "the command line")}
            rules = (*policy.rules, *self._given.get("rules", ()))
            policy = replace(policy, **{**self._given, "rules": rules}, origins=origins)
        return policy

    def _check_rules(self, policy: Policy) -> None:
        known = self._rules_of(policy.rules)
        packs = {rule.split("/")[0] for rule in known}
        problems = [
            Problem(f'{where}: there is no rule "{rule}"', None, "the id of a rule", nearest(rule, known))
            for rule, where in [
                *((r, c.origin) for r, c in policy.severities.items()),
                *((w.rule, f"{w.file}:{w.line}") for w in policy.waivers if not w.problem),
                *((r, policy.origins.get("never waive", "")) for r in policy.never_waive if _is_rule(r)),
            ]
            if rule not in known
        ]
        named = [(p, policy.origins.get("packs", "")) for p in policy.packs]
        named += [
            (w[:-2], policy.origins.get("never waive", "")) for w in policy.never_waive if w.endswith("/*")
        ]
        problems += [
            Problem(f'{where}: there is no pack "{pack}"', None, one_of(sorted(packs)), nearest(pack, packs))
            for pack, where in named
            if pack not in packs
        ]
        if problems:
            raise InputError(problems)


def _is_rule(text: str) -> bool:
    return "/" in text and not text.endswith("/*")


def _key(name: str) -> str:
    return name.replace("_", " ")


def _apply(policy: Policy, keys: Mapping[str, tuple[Any, str]], outermost: bool = False) -> Policy:
    changes: dict[str, Any] = {}
    for name, (value, _) in keys.items():
        attribute = name.replace(" ", "_")
        before = getattr(policy, attribute)
        if name in ("rules", "waivers", "leave out"):
            changes[attribute] = (*before, *(v for v in value if v not in before))
        elif name == "severities":
            changes[attribute] = {**before, **value}
        elif name == "never waive" and not outermost:
            changes[attribute] = (*before, *(v for v in value if v not in before))
        else:
            changes[attribute] = value
    origins = {**policy.origins, **{name: origin for name, (_, origin) in keys.items()}}
    return replace(policy, **changes, origins=origins)


# -- reading -------------------------------------------------------------------------------------


def _read(path: Path) -> _Layer:
    """One policy file. Raises InputError with everything that is wrong in it."""
    node = read_document(path)
    reader = _PolicyReader(path)
    given = reader.map(node, OF_FILE, "a policy")
    own = reader.keys(node, {k: v for k, v in given.items() if k not in ("root", "folders")})
    folders = reader.folders(given.get("folders"))
    root = reader.flag(given.get("root"), "root") or False
    reader.finish()
    return _Layer(path.parent, root, own, folders)


class _PolicyReader(Reader):
    __slots__ = ("folder", "path")

    def __init__(self, path: Path):
        super().__init__()
        self.path = path
        self.folder = path.parent

    def keys(self, node: Node, given: Mapping[str, Node]) -> dict[str, tuple[Any, str]]:
        read = {}
        for name, value in given.items():
            found = self.value(name, value)
            if found is not None:
                read[name] = (found, f"{_shown(self.path)}:{node.key_mark(name).line}")
        return read

    def folders(self, node: Node | None) -> tuple[tuple[Path, dict[str, tuple[Any, str]]], ...]:
        read = []
        for name, inner in self.map(node, None, "`folders`").items():
            folder = Path(os.path.normpath(self.folder / name))
            if not folder.is_dir():
                assert node is not None
                self.problem(
                    node.key_mark(name), f'there is no folder "{name}"', f"a folder in {_shown(self.folder)}"
                )
            read.append((folder, self.keys(inner, self.map(inner, OF_FOLDER, f"the folder {name}"))))
        return tuple(sorted(read, key=lambda item: len(item[0].parts)))

    def value(self, name: str, node: Node) -> Any:
        match name:
            case "rules":
                return tuple(os.path.normpath(self.folder / text) for text in self.texts(node, "`rules`"))
            case "leave out":
                return tuple((str(self.folder), text) for text in self.texts(node, "`leave out`"))
            case "baseline":
                text = self.text(node, "`baseline`")
                return None if text is None else os.path.normpath(self.folder / text)
            case "packs":
                return tuple(self.texts(node, "`packs`"))
            case "never waive":
                return tuple(self.protected(node))
            case "edition":
                text = self.text(node, "the edition")
                if text is not None and not re.match(CODE, text):
                    self.problem(node, f'"{text}" is not a code and its edition', "such as IRC 2021")
                return text
            case "units":
                return self.choice(node, ("ip", "si"), "`units`")
            case "hourly" | "fail on incomplete":
                return self.flag(node, f"`{name}`")
            case "zones" | "office zones":
                items = [node] if node.kind == "scalar" else self.list(node, f"`{name}`")
                zones = [self.choice(item, ZONES, "climate zone") for item in items]
                return tuple(sorted({z for z in zones if z is not None}))
            case "fail at":
                return self.choice(node, FAIL_AT, "`fail at`")
            case "severities":
                return self.severities(node)
            case _:
                return tuple(read_waivers(node, _shown(self.path), of_policy=True))

    def protected(self, node: Node) -> list[str]:
        texts = []
        for item in [node] if node.kind == "scalar" else self.list(node, "`never waive`"):
            text = self.text(item, "`never waive`")
            if text is None:
                continue
            if text != "hazards" and not re.match(RULE_ID, text) and not re.fullmatch(r"[a-z0-9-]+/\*", text):
                self.problem(
                    item, f'"{text}" is nothing that can be waived', "hazards, the id of a rule, or pack/*"
                )
            texts.append(text)
        return texts

    def severities(self, node: Node) -> dict[str, SeverityChange]:
        read: dict[str, SeverityChange] = {}
        needed = ("rule", "severity", "reason")
        for item in self.list(node, "`severities`"):
            given = self.map(item, needed, "a changed severity", needed)
            rule = self.text(given.get("rule"), "the rule")
            severity = self.choice(given.get("severity"), SEVERITIES, "severity")
            reason = self.text(given.get("reason"), "the reason")
            if rule is not None and rule in read:
                self.problem(given["rule"], f"a second severity of {rule}", "one severity for a rule")
            if rule and severity and reason:
                read[rule] = SeverityChange(severity, reason, f"{_shown(self.path)}:{item.mark.line}")
        return read


def _shown(path: Path) -> str:
    """A path as people write it: from the folder they are in, where it lies below."""
    try:
        return path.relative_to(Path.cwd()).as_posix() or "."
    except ValueError:
        return path.as_posix()


# -- showing -------------------------------------------------------------------------------------


def show(policy: Policy, where: str) -> str:
    """The policy as a policy file would say it, each key with the place it comes from."""
    out = [f"# policy for {where}"]
    for f in fields(Policy):
        if f.name == "origins":
            continue
        name, value = _key(f.name), getattr(policy, f.name)
        origin = policy.origins.get(name, "default")
        for n, line in enumerate(_lines(name, value)):
            out.append(f"{line:<48} # {origin}" if n == 0 else line)
    return "\n".join(out) + "\n"


def _lines(name: str, value: Any) -> list[str]:
    if name == "severities":
        items = [{"rule": r, "severity": c.severity, "reason": c.reason} for r, c in value.items()]
    elif name == "waivers":
        items = [
            {"section": w.section, "rule": w.rule, "reason": w.reason, "by": w.by, "until": w.until}
            for w in value
        ]
    else:
        return [f"{name}: {_scalar(name, value)}"]
    if not items:
        return [f"{name}: []"]
    body = [f"  - {{{', '.join(f'{k}: {_quoted(v)}' for k, v in item.items())}}}" for item in items]
    return [f"{name}:", *body]


def _scalar(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name == "packs" and not value:
        return "[]   # all of them"
    if name == "leave out":
        return f"[{', '.join(_quoted(pattern) for _, pattern in value)}]"
    if name == "rules":
        return f"[{', '.join(_quoted(_shown(Path(v))) for v in value)}]"
    if name == "baseline":
        return _quoted(_shown(Path(value))) if value else "~"
    if isinstance(value, tuple):
        return f"[{', '.join(_quoted(v) for v in value)}]"
    return _quoted(str(value)) if value else "~"


def _quoted(text: str) -> str:
    if re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9 ._/-]*(?<! )", text) and text.lower() not in (
        "yes",
        "no",
        "null",
    ):
        return text
    import json

    return json.dumps(text, ensure_ascii=False)
