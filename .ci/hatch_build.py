"""Put the shipped rulebook into the wheel as it is read, so that not even the first review reads YAML."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class RulebookHook(BuildHookInterface):
    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if version == "editable":
            return
        sys.path.insert(0, self.root)
        from reviewer.rules.ruleset import COMPILED, dump, load_ruleset

        path = self._path = Path(self.directory) / COMPILED
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(dump(load_ruleset(keep=False)))
        build_data["force_include"][str(path)] = f"reviewer/_rulesets/{COMPILED}"

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        if version != "editable":
            self._path.unlink(missing_ok=True)
