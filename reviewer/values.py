"""What all values that the program gives back rest on: frozen, nothing unknown let in."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict

Severity = Literal["serious", "caution", "note", "credit"]
Disposition = Literal["no exceptions taken", "make corrections noted", "revise and resubmit", "incomplete"]


class Value(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")
