"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from reviewer.errors import InputError, Problem


def write_whole(path: Path, content: str | bytes | Iterable[str]) -> None:
    """Write beside the target, then move into place, so that no reader meets half a file. A content in parts
    need not fit into memory.

    Raises InputError when the folder is missing or can't be written.
    """
    parts = (content,) if isinstance(content, (str, bytes)) else content
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as f:
                for part in parts:
                    f.write(part if isinstance(part, bytes) else part.encode())
            os.chmod(name, 0o644)
            os.replace(name, path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as e:
        raise InputError(
            Problem(
                f'"{path}" can\'t be written: {e.strerror}', None, "a folder that exists and may be written"
            )
        ) from None
