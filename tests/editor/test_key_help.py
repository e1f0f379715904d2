"""Every key of a piece has its help, and no other."""

from __future__ import annotations

import pytest

from cyclechart.catalog.shapes import CycleShape, ModeShape
from cyclechart.editor.key_help import key_help
from cyclechart.piece import key_schemas
from cyclechart.piece.shape import (
    CadenceShape,
    FirstPartShape,
    LibertyShape,
    LineShape,
    PieceShape,
    StepShape,
)
from cyclechart.text.shapes import Shape


@pytest.mark.parametrize(
    ("place", "shape"),
    [
        ("piece", PieceShape),
        ("line", LineShape),
        ("cadence", CadenceShape),
        ("first", FirstPartShape),
        ("step", StepShape),
        ("liberty", LibertyShape),
        ("mode", ModeShape),
        ("cycle", CycleShape),
    ],
)
def test_the_keys_of_a_shape_have_their_help(place: str, shape: type[Shape]) -> None:
    assert set(key_help()[place]) == set(shape.keys)


def test_the_keys_of_players_have_their_help() -> None:
    forms = key_schemas.FORMS["players"]["anyOf"]
    assert isinstance(forms, list)
    player = forms[1]["additionalProperties"]["anyOf"][2]["properties"]
    assert set(key_help()["player"]) == set(player)
    assert set(key_help()["reads"]) == set(player["reads"]["properties"])


def test_every_help_is_a_sentence_with_an_example() -> None:
    for keys in key_help().values():
        for key, (meaning, example) in keys.items():
            assert meaning.endswith(".")
            assert key in example
