"""The JSON Schema of a piece file: it takes what `check` takes, and marks what has a wrong form.

Read by jsonschema's Draft7Validator, as an editor would.
"""

from __future__ import annotations

import re
from typing import Any

import jsonschema
import pytest
import yaml
from support.band_pieces import band_piece, spoiled
from support.making import DEMO_BOOK, HEADING, ROOT, load_text

from cyclechart.piece.schema import schema

EDITOR = jsonschema.Draft7Validator(schema())
README = (ROOT / "README.md").read_text("utf-8")
WHOLE: dict[str, Any] = {**HEADING, "lines": {"head": {"sargam": "S R G m"}}}


class _Editor(yaml.SafeLoader):
    """YAML as an editor reads it: dates are texts."""


_Editor.add_constructor("tag:yaml.org,2002:timestamp", lambda loader, node: node.value)


def as_editor(text: str) -> Any:
    return yaml.load(text, _Editor)


def marked(document: Any) -> list[str]:
    """What an editor marks."""
    return [f"{list(one.absolute_path)}: {one.message}" for one in EDITOR.iter_errors(document)]


def rows(heading: str) -> list[list[str]]:
    """The rows of the tables under a heading of the README, cell by cell."""
    below = README.split(f"\n#### {heading}\n", 1)[1].split("\n#### ", 1)[0]
    return [
        [cell.strip().replace("\\|", "|") for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
        for line in below.splitlines()
        if line.startswith("| `")
    ]


def examples(cells: list[str]) -> list[str]:
    """The examples in the cells of a row: ``key: value``."""
    return [one for cell in cells for one in re.findall(r"`([a-z0-9-]+: [^`]+)`", cell)]


PIECE = [one for row in rows("Keys of a piece") for one in examples(row[1:2])]
LINE = [one for row in rows("Keys of a line") for one in examples(row[1:2])]
DERIVED = [one for row in rows("Lines from lines") for one in examples(row[1:2])]
STEP = [one for name in ("Form", "Riffs, hits and words") for row in rows(name)
        for one in examples(row[:1])]  # fmt: skip
VERBS = ("play", "solo", "trade", "free", "groove")


def test_it_is_a_schema_that_draft_07_knows() -> None:
    jsonschema.Draft7Validator.check_schema(schema())
    assert schema()["$schema"].startswith("http://json-schema.org/draft-07/")


def test_every_key_of_the_tables_is_looked_at() -> None:
    assert len(PIECE) > 15
    assert len(LINE) > 15
    assert len(DERIVED) > 6
    assert len(STEP) > 12


@pytest.mark.parametrize("example", PIECE)
def test_the_readmes_examples_of_a_piece_are_taken(example: str) -> None:
    assert marked({**WHOLE, **as_editor(example)}) == []


@pytest.mark.parametrize("example", [*LINE, *DERIVED])
def test_the_readmes_examples_of_a_line_are_taken(example: str) -> None:
    assert marked({**WHOLE, "lines": {"head": as_editor(example)}}) == []


@pytest.mark.parametrize("example", STEP)
def test_the_readmes_examples_of_a_step_are_taken(example: str) -> None:
    assert marked({**WHOLE, "form": [{"play": "head", **as_editor(example)}]}) == []


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_the_demo_book_is_taken(path: Any) -> None:
    assert marked(as_editor(path.read_text("utf-8"))) == []


@pytest.mark.parametrize("seed", range(24))
def test_what_check_takes_an_editor_takes(seed: int) -> None:
    for text in (band_piece(seed), *(spoiled(band_piece(seed), seed + n) for n in range(3))):
        if not load_text(text).findings:
            assert marked(as_editor(text)) == [], text


@pytest.mark.parametrize(
    "step",
    [
        {"under": "riff"}, {"under": ["riff"]}, {"under": {"bass": {}}}, {"under": {"bass": []}},
        {"hits": ["figures"]}, {"hits": {"by": "kit"}}, {"hits": {"line": "a", "stops": True}},
        {"note": ["brushes"]}, {"note": {"kit": ["brushes"]}}, {"swing": {}}, {"swing": True},
        {"octave": 1}, {"octave": {"flute": []}}, {"fermata": []}, {"break": "line"},
        {"dynamics": "loud"}, {"tempo": {"at": 3}}, {"play": ["head"]}, {"trade": "flute"},
        {"by": {}}, {"mode": 3},
    ],
    ids=str,
)  # fmt: skip
def test_a_wrong_form_on_a_step_is_marked(step: dict[str, Any]) -> None:
    assert marked({**WHOLE, "form": [{"play": "head", **step}]})


@pytest.mark.parametrize(
    "key",
    [
        {"under": "riff"}, {"swing": []}, {"players": ["flute"]},
        {"players": {"flute": {"play": "melody"}}}, {"players": {"flute": {"plays": "tune"}}},
        {"players": {"flute": {"reads": {"clef": "green"}}}},
        {"players": {"flute": {"reads": {"size": 3}}}},
        {"lines": {"head": {"sargam": "S", "words": {"a": "b"}}}},
        {"lines": {"head": {"sargam": "S", "chords": ["C7"]}}},
    ],
    ids=str,
)  # fmt: skip
def test_a_wrong_form_elsewhere_is_marked(key: dict[str, Any]) -> None:
    assert marked({**WHOLE, **key})
