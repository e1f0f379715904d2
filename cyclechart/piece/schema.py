"""The JSON Schema of a piece file, for editors."""

from __future__ import annotations

from typing import Any

from cyclechart.catalog.shapes import CycleShape, ModeShape
from cyclechart.piece.key_schemas import FORMS
from cyclechart.piece.shape import PieceShape
from cyclechart.text.shape_schema import schema_of


def schema() -> dict[str, Any]:
    """Return the JSON Schema of a piece file, in words that draft-07 editors know."""
    return schema_of(PieceShape, "A cyclechart piece", ModeShape, CycleShape, forms=FORMS)
