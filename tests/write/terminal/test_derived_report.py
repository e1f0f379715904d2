"""The report on lines from lines: what it prints reads back to the same notes."""

from __future__ import annotations

import json
from pathlib import Path

from click.testing import CliRunner
from support.making import piece_of, with_heading

from cyclechart.commands.check import check
from cyclechart.write.terminal import derived_lines

TEXT = """
mode: yaman
cycle: jhaptal
lines:
  head: {begins: 9, sargam: "S, {R}G || [G M D]x3/2 N S'~N D - P | M G R/2 -/2 z || S"}
  low: {from: head, move: -2}
  beat: {strokes: "dha dhin dhage na tin na ka dhin dhi na"}
  echo: {from: head, part: 1-2, reversed: true, speed: 3/2, lands: free}
  back: {from: beat, reversed: true}
"""


def test_each_line_is_printed_as_it_can_be_written() -> None:
    piece = piece_of(TEXT)
    rows = derived_lines.as_text(piece).splitlines()
    places = [row.split(": ")[0] for row in rows if row.endswith("line from a line")]
    assert len(places) == 3
    for name in ("low", "echo", "back"):
        line = piece.lines[name]
        at = next(n for n, row in enumerate(rows) if row.startswith(f"  {name}: "))
        key, _, text = rows[at + 1].strip().partition(": ")
        again = piece_of(
            TEXT + f'  again: {{begins: {line.begins}, lands: free, {key}: "{text}"}}\n'
        ).lines["again"]
        assert [
            (n.start, n.length, n.pitch, n.syllable, n.grace, n.marks, n.glides)
            for n in again.notes
        ] == [
            (n.start, n.length, n.pitch, n.syllable, n.grace, n.marks, n.glides) for n in line.notes
        ]
        assert again.length == line.length


def test_it_says_from_which_by_what_and_where() -> None:
    rows = derived_lines.as_text(piece_of(TEXT)).splitlines()
    assert "  low: head, move -2; 14 beats, from beat 9" in rows
    assert any(row.startswith("  echo: head, part 1-2, reversed, speed adi; ") for row in rows)


def _checked(folder: Path, text: str, *options: str) -> str:
    path = folder / "piece.yaml"
    path.write_text(with_heading(text), "utf-8")
    return CliRunner().invoke(check, [str(path), *options]).output


def test_check_prints_them_as_text_and_as_json(tmp_path: Path) -> None:
    assert "  low: head, move -2; " in _checked(tmp_path, TEXT)
    report = json.loads(_checked(tmp_path, TEXT, "--format", "json"))
    assert list(report) == ["pieces", "findings", "derived"]
    assert [one["name"] for one in report["derived"]] == ["low", "echo", "back"]
    assert report["derived"][0]["from"] == "head"
    assert report["derived"][2]["text"] == "na dhi | dhin ka na | tin na | ge.dha dhin dha"


def test_a_piece_without_any_has_the_report_it_had(tmp_path: Path) -> None:
    plain = "lines:\n  head: {sargam: S R G m P d n P m G || S}\n"
    assert list(json.loads(_checked(tmp_path, plain, "--format", "json"))) == ["pieces", "findings"]
    assert "line from a line" not in _checked(tmp_path, plain)
