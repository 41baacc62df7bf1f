"""Records of any room as plain data for other programs."""

from __future__ import annotations

import dataclasses
import math
from enum import Enum
from typing import Any

from templater.boat.solved import Side
from templater.findings import Finding


def side_word(side: Side) -> str:
    """Return ``port`` or ``starboard``."""
    return side.name.lower()


def plain(value: Any) -> Any:
    """Return a record as plain data for JSON: dicts, lists, text, numbers; sides by name, endless as null."""
    if isinstance(value, Side):
        return side_word(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Finding):
        where = value.where
        return {
            "code": value.code, "severity": value.severity.value, "key": value.key, "text": value.text,
            "file": where.file if where else None, "line": where.line if where else None,
            "column": where.column if where else None,
        }  # fmt: skip
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return plain(value._asdict())
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, float):
        return round(value, 6) + 0.0 if math.isfinite(value) else None
    return value
