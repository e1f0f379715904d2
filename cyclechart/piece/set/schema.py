"""The JSON Schema of a set list, for editors."""

from __future__ import annotations

from typing import Any

from cyclechart.piece.set.shape import BreakShape, SetlistShape, TuneShape
from cyclechart.text.shape_schema import schema_of


def schema() -> dict[str, Any]:
    """Return the JSON Schema of a set list, in words that draft-07 editors know."""
    return schema_of(SetlistShape, "A cyclechart set list", TuneShape, BreakShape)
