"""The rulebook as read, kept between runs: reading some ten thousand lines of YAML again for every
review would take longer than the review.

A kept rulebook is JSON lines, data only: a checksum, then the head, then one rule a line (read when
it is needed). Its name holds a digest of all that it was made from, so a stale one is never read,
and whatever is wrong with a file only means that the YAML is read again.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

from reviewer import units
from reviewer.citations import Citation
from reviewer.engine.types import Fact, Head, Join, Pattern, Test
from reviewer.engine.types import Rule as EngineRule
from reviewer.errors import Mark
from reviewer.facts import vocabulary
from reviewer.rules import language, template, values

FOLDER_VARIABLE = "REVIEWER_CACHE_DIR"
"""Environment variable: where to keep rulebooks; empty to keep none."""
KEPT = 8
"""Rulebooks kept in the folder; the oldest ones go first."""

_CLASSES: dict[str, Any] = {
    c.__name__: c
    for c in (
        Citation,
        Fact,
        Head,
        Join,
        Mark,
        Pattern,
        Test,
        language.Alternative,
        language.Conclusion,
        language.Condition,
        language.Example,
        language.FieldTest,
        language.FindingPart,
        language.Remedy,
        language.Rule,
        language.RuleReference,
        language.Topic,
        template.Slot,
        template.Template,
        values.Comparison,
        values.Reference,
    )
} | {"EngineRule": EngineRule}
_NAMES = {c: name for name, c in _CLASSES.items()}
_FIELDS = {c: tuple(f.name for f in fields(c)) for c in _NAMES if is_dataclass(c)}


def encode(value: Any) -> Any:
    """Language values as JSON values: a dataclass is [name, field, …], a tuple ["", item, …].

    >>> encode((values.Reference("a", "b"), 1.0))
    ['', ['Reference', 'a', 'b'], 1.0]
    """
    if value is None or isinstance(value, (str, float, int, bool)):
        return value
    if isinstance(value, (tuple, list)):
        return ["" if isinstance(value, tuple) else "[", *(encode(v) for v in value)]
    if isinstance(value, Mapping):
        return {str(k): encode(v) for k, v in value.items()}
    if type(value) is Mark:
        return ["Mark", value.file, value.line, value.column, value.length, ""]
    return [_NAMES[type(value)], *(encode(getattr(value, name)) for name in _FIELDS[type(value)])]


def decode(value: Any) -> Any:
    """The inverse of `encode`; of a mark, the source line is lost.

    >>> decode(['', ['Reference', 'a', 'b'], 1.0])
    (Reference(alias='a', field='b'), 1.0)
    """
    if type(value) is list:
        name = value[0]
        items = [decode(v) for v in value[1:]]
        if not name:
            return tuple(items)
        return items if name == "[" else _CLASSES[name](*items)
    if type(value) is dict:
        return {k: decode(v) for k, v in value.items()}
    return value


def digest_of(sources: Iterable[tuple[str, bytes]]) -> str:
    """A digest of ruleset files (name, content) and of the code that gives them their meaning."""
    total = hashlib.sha256()
    modules = (units, vocabulary, language, template, values, sys.modules[__name__])
    here = [Path(module.__file__ or "") for module in modules]
    here += [here[2].with_name("load.py"), here[2].with_name("compile.py")]
    for path in here:
        with contextlib.suppress(OSError):
            total.update(path.read_bytes())
    for name, content in sources:
        total.update(f"\0{name}\0{len(content)}\0".encode())
        total.update(content)
    return total.hexdigest()


def folder() -> Path | None:
    """Where rulebooks are kept; None when nothing is to be kept."""
    given = os.environ.get(FOLDER_VARIABLE)
    if given is not None:
        return Path(given) if given else None
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
    elif sys.platform == "darwin":
        base = os.path.expanduser("~/Library/Caches")
    else:
        base = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    return Path(base) / "reviewer" if base and os.path.isabs(base) else None


def file_name(digest: str) -> str:
    return f"rulebook-{digest[:32]}.jsonl"


def dump(head: Any, rules: Mapping[str, Any]) -> bytes:
    """A rulebook as the bytes of a file."""

    def line(value: Any) -> str:
        return json.dumps(encode(value), ensure_ascii=False, separators=(",", ":"), allow_nan=False)

    body = "\n".join([line(head), *(line(rule) for rule in rules.values())]).encode()
    return hashlib.sha256(body).hexdigest().encode() + b"\n" + body


def parse(data: bytes) -> tuple[Any, list[bytes]] | None:
    """The head, decoded, and the rules' lines; None when the bytes are not as they were written."""
    checksum, _, body = data.partition(b"\n")
    if hashlib.sha256(body).hexdigest().encode() != checksum:
        return None
    first, *rest = body.split(b"\n")
    try:
        return decode(json.loads(first)), rest
    except (ValueError, TypeError, LookupError):
        return None


def read(path: Path) -> tuple[Any, list[bytes]] | None:
    try:
        return parse(path.read_bytes())
    except OSError:
        return None


def write(path: Path, data: bytes) -> None:
    """Put a rulebook in the folder, whole or not at all. A folder that can't be written is no error."""
    import tempfile

    name = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".rulebook-")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.replace(name, path)
        old = sorted(path.parent.glob("rulebook-*.jsonl"), key=lambda p: p.stat().st_mtime_ns)
        for stale in old[:-KEPT]:
            stale.unlink(missing_ok=True)
    except OSError:
        if name:
            with contextlib.suppress(OSError):
                os.unlink(name)
