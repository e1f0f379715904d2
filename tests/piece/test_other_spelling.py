"""A line in another spelling has one finding, whose edits write it as sargam in its place."""

from __future__ import annotations

import random
import textwrap
import time

import pytest
import yaml
from support import other_spellings as writers
from support.making import DEMO_BOOK, findings_of, with_heading
from support.other_spellings import random_cells, written

from cyclechart.finding import Finding
from cyclechart.piece.load import read_piece
from cyclechart.text.edits import with_edits
from cyclechart.text.source import Source

BHAIRAVI = (0, 1, 3, 5, 7, 8, 10)


def _piece(line: str, mode: str = "bhairavi") -> str:
    return with_heading(f"lines:\n  head:\n{textwrap.indent(line, '    ')}\n", mode=mode)


def _found(text: str) -> list[Finding]:
    return [one for one in findings_of(text) if one.rule == "other-spelling"]


def _mended(text: str, number: int = 0) -> str:
    (finding,) = _found(text)
    edits = finding.suggestions[number].edits
    assert edits
    return with_edits(Source.of("piece.yaml", text), edits)


def _pitches(text: str) -> list[int | None]:
    loaded = read_piece("piece.yaml", text.encode())
    assert loaded.piece is not None
    assert not [one for one in loaded.findings if one.severity == "error"]
    return [note.pitch for note in loaded.piece.lines["head"].notes]


@pytest.mark.parametrize(
    ("line", "mended"),
    [
        ("sargam: sa re ga ma", "sargam: S r g m"),
        ("sargam: 'Sa re Sa''' # low", "sargam: 'S r S''' # low"),
        ('sargam: "Sa re Ga" # why', 'sargam: "S r G" # why'),
        ("sargam: — Sa re", 'sargam: "- S r"'),
        ("{sargam: .Ni Sa re}", '{sargam: "N, S r"}'),
        (
            "sargam: |\n  सा रे॒ ग॒ |\n  # a remark\n  म प - -",
            "sargam: |\n  S r g |\n  # a remark\n  m P - -",
        ),
        ("sargam: S R2 G2 M1", "solfa16: S R2 G2 M1"),
        ("sargam: C Eb F Bb", "letters: C Eb F Bb"),
        ("sargam: 1 b2 b3 4 5", "degrees: 1 b2 b3 4 5"),
        ("strokes: S r g m", "sargam: S r g m"),
        ("sargam: dha dhin na tin", "strokes: dha dhin na tin"),
        ("degrees: Sa re ga", "sargam: S r g"),
        ("cadence:\n  sargam: sa re ga\n  times: 3", "cadence:\n  sargam: S r g\n  times: 3"),
    ],
)
def test_the_edits_write_the_line(line: str, mended: str) -> None:
    text = _piece(line)
    assert [one.rule for one in findings_of(text) if one.severity == "error"] == ["other-spelling"]
    assert _mended(text) == _piece(mended)


def test_the_line_is_shown_whole() -> None:
    (finding,) = _found(_piece("sargam: |\n  sa re ga |\n  ma pa - -"))
    assert finding.tries[0] == "sargam: |\n  S r g |\n  m P - -"
    assert "Bhairavi" in finding.message
    assert (finding.spot.line, finding.spot.column, finding.spot.width) == (9, 7, 10)


def test_a_text_of_ours_under_a_wrong_key_is_offered_as_sargam_too() -> None:
    text = _piece("sargam: S R1 G2 M1")
    (finding,) = _found(text)
    assert "solfa16" in finding.message
    assert finding.tries == ("solfa16: S R1 G2 M1", "sargam: S r g m")
    assert _mended(text, 1) == _piece("sargam: S r g m")


@pytest.mark.parametrize(
    "written_as",
    [
        "sargam: {}",
        "sargam: '{}'",
        'sargam: "{}"',
        "sargam: |\n  {}",
        "sargam: >-\n  {}",
        "{{sargam: {}, begins: 1}}",
    ],
)
def test_edits_hold_in_every_style_of_yaml(written_as: str) -> None:
    chance = random.Random(written_as)
    for _ in range(12):
        cells = [[0], *random_cells(list(BHAIRAVI), chance), [1, 7]]
        named = written(cells, writers.named, hold="–").replace("|", "")
        if written_as.startswith("{{"):
            named = named.replace(",", "\u201a")
        text = _piece(written_as.format(named))
        plain = written(cells, writers.sargam).replace("|", "")
        assert _pitches(_mended(text)) == _pitches(_piece("sargam: |\n  " + plain))


def test_signs_as_charts_print_them_are_no_fault() -> None:
    text = _piece("sargam: \u1e60 n d P \u2013 m\u2019 g r S \u1e46", "natabhairavi")
    loaded = read_piece("piece.yaml", text.encode())
    assert not [one for one in loaded.findings if one.severity == "error"]
    assert loaded.piece is not None
    assert [note.pitch for note in loaded.piece.lines["head"].notes] == [
        12, 10, 8, 7, 17, 3, 1, 0, -1,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        ("sargam: S r X m P", "bad-cell"),
        ("sargam: S r g p", "bad-cell"),
        ("sargam: '[S r g'", "unclosed"),
        ("chords: Dm7 G7 H", "bad-cell"),
        ("strokes: dha dhin xyz", "bad-cell"),
        ("degrees: 1 2 8", "bad-cell"),
    ],
)
def test_a_slip_in_a_text_of_ours_stays_a_slip(line: str, rule: str) -> None:
    rules = {one.rule for one in findings_of(_piece(line))}
    assert rule in rules
    assert "other-spelling" not in rules


def test_no_line_of_the_demo_book_is_taken_for_another_spelling_even_with_a_slip() -> None:
    count = 0
    for path in DEMO_BOOK:
        piece = yaml.safe_load(path.read_text("utf-8"))
        for line in piece["lines"].values():
            text = line.get("sargam")
            if not text:
                continue
            for slip in ("", " X", " s", " ?"):
                block = textwrap.indent(text.rstrip() + slip, "  ")
                loaded = read_piece("piece.yaml", _piece(f"sargam: |\n{block}").encode())
                rules = {one.rule for one in loaded.findings}
                assert "other-spelling" not in rules, (path.name, text, slip)
                count += 1
    assert count > 40


def test_many_lines_in_other_spellings_are_quick() -> None:
    rows = "".join(f"  l{number}:\n    sargam: {'Sa Re Ga ' * 60}\n" for number in range(200))
    hard = "".join(f"  k{number}:\n    sargam: {'((' * 400}Q\n" for number in range(200))
    text = with_heading("lines:\n" + rows + hard)
    start = time.process_time()
    read_piece("piece.yaml", text.encode())
    assert time.process_time() - start < 6
