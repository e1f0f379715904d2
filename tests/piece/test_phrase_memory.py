"""Texts that were read before have the same music as ones that are read anew."""

from __future__ import annotations

import random

import pytest
from support.making import FEW_PIECE_SEEDS, load_text, random_piece, with_heading

from cyclechart.piece import line_text
from cyclechart.piece.phrase_memory import MOST_NOTES, PhraseMemory


@pytest.fixture(autouse=True)
def memory(monkeypatch: pytest.MonkeyPatch) -> PhraseMemory:
    """A memory of the test's own."""
    mine = PhraseMemory()
    monkeypatch.setattr(line_text, "_MEMORY", mine)
    return mine


def read_anew(text: str, monkeypatch: pytest.MonkeyPatch) -> str:
    with monkeypatch.context() as here:
        here.setattr(line_text, "_MEMORY", PhraseMemory())
        return repr(load_text(text))


@pytest.mark.parametrize("seed", FEW_PIECE_SEEDS)
def test_a_text_that_is_changed_again_and_again(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Rows are put in, left out, moved and spoiled; places must be those of the text as it is."""
    dice = random.Random(seed)
    text = random_piece(seed)
    for _ in range(12):
        rows = text.split("\n")
        at = dice.randrange(5, len(rows))
        change = dice.randrange(5)
        if change == 0:
            rows.insert(at, dice.choice(["", "# a comment", "  "]))
        elif change == 1 and not rows[at].strip():
            del rows[at]
        elif change == 2:
            rows[at] = rows[at].replace("S", "G", 1).replace("dha", "ta", 1)
        elif change == 3:
            rows[at] = rows[at].replace("P", "X", 1)
        else:
            rows = [row.replace("tonic: C", "tonic: D") for row in rows]
        text = "\n".join(rows)
        assert repr(load_text(text)) == read_anew(text, monkeypatch)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("a: {sargam: S R}", "a: {strokes: S R}"),
        ("a: {letters: D E}", "a:  {letters: D E}"),
        ("a: {sargam: 'S'' R'}", 'a: {sargam: "S\' R"}'),
        ("a:\n    sargam: |\n      S X", "b:\n    sargam: |\n      S X"),
        ("a:\n    sargam: |\n      S R", "a:\n    sargam: |\n       S R"),
        ("a:\n    sargam: |2\n        S R", "a:\n    sargam: |4\n        S R"),
        ("a: {sargam: - S}", "a: {sargam: '- S'}"),
    ],
)
def test_texts_that_are_nearly_alike(one: str, other: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for tonic in ("D", "E"):
        for text in (one, other):
            piece = with_heading(f"lines:\n  {text}\n", tonic=tonic)
            assert repr(load_text(piece)) == read_anew(piece, monkeypatch)


def test_only_what_changed_is_read(memory: PhraseMemory, monkeypatch: pytest.MonkeyPatch) -> None:
    lines = "".join(f"  line-{n}:\n    sargam: |\n      S R G {n % 3 * 'm'}P\n" for n in range(40))
    text = with_heading(f"lines:\n{lines}")
    load_text(text)
    read: list[str] = []
    plain = line_text._read_phrase

    def counted(*args: object, **more: object) -> object:
        read.append(str(args[-1]))
        return plain(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(line_text, "_read_phrase", counted)
    rows = text.split("\n")
    rows[14] = rows[14].replace("G", "M")
    load_text("\n".join(rows))
    assert len(read) == 1
    rows.insert(6, "  # a row more")
    load_text("\n".join(rows))
    assert len(read) == 1


def test_what_is_remembered_has_a_limit(memory: PhraseMemory) -> None:
    for number in range(8):
        row = " ".join(["SRGmPdnS'"] * 2000)
        load_text(with_heading(f"lines:\n  head:\n    sargam: |\n      {row} {'S ' * number}\n"))
    assert 0 < memory.notes <= MOST_NOTES
    assert memory.notes == sum(len(one.phrase.notes) for one in memory.known.values())
