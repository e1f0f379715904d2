"""Brought pieces held against music21's own reading: each note's pitch, onset and length."""

from __future__ import annotations

import contextlib
import io
import re
import warnings
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

from cyclechart.catalog.library import Library
from cyclechart.catalog.search import ModeEntry
from cyclechart.piece.load import read_piece
from cyclechart.piece.model import Piece
from cyclechart.rules.judge import RULE_NAMES
from cyclechart.transcription.bring_tune import Brought, Wishes, bring_tune
from cyclechart.transcription.sources import tune_in


class Heard(NamedTuple):
    """A note: its key, where it starts and how long it is, in quarters."""

    key: int
    start: Fraction
    length: Fraction


def fully_brought(
    path: Path, number: str | None, library: Library, known: list[ModeEntry] | None = None
) -> tuple[Brought, list[Heard]]:
    """Return a tune of a file brought, and music21's reading of its first voice."""
    data = path.read_bytes()
    if number is not None:
        data = only_tune(data.decode("utf-8", "replace"), number).encode()
    brought = bring_tune(
        tune_in(data, path.name, library=library).tune, library, Wishes(), known=known
    )
    return brought, music21_notes(data, path.suffix)


def only_tune(text: str, number: str) -> str:
    """Return one tune of an ABC file by its number, with what stands before the first."""
    _, *tunes = re.split(r"^(?=X:)", text.replace("\r", ""), flags=re.MULTILINE)
    return next(tune for tune in tunes if tune[2:].split("\n")[0].strip() == number)


def music21_notes(data: bytes, suffix: str) -> list[Heard]:
    """Return the notes of the first voice as music21 flattens them, ties stripped."""
    from music21 import converter

    form = {".abc": "abc", ".mxl": "musicxml"}.get(suffix, "musicxml")
    with warnings.catch_warnings(), contextlib.redirect_stderr(io.StringIO()):
        warnings.simplefilter("ignore")
        if suffix == ".mxl":
            import zipfile

            with zipfile.ZipFile(io.BytesIO(data)) as packed:
                name = next(
                    one for one in packed.namelist()
                    if one.endswith(("xml",)) and not one.startswith("META-INF")
                )  # fmt: skip
                data = packed.read(name)
        text = (
            data.decode("utf-8", "replace")
            if data[:2] not in (b"\xff\xfe", b"\xfe\xff")
            else data.decode("utf-16")
        )
        score: Any = converter.parseData(text, format=form)
        scores = list(getattr(score, "scores", []))
        score = scores[0] if scores else score
        score.toSoundingPitch(inPlace=True)
        read = (list(_notes(part)) for part in score.parts)
        return next(notes for notes in read if notes)


def _notes(part: Any) -> Iterator[Heard]:
    """Yield the notes of the first voice of a part; of a chord the highest."""
    first = []
    for measure in list(part.getElementsByClass("Measure")) or [part]:
        voices = list(measure.voices)
        stream = voices[0] if voices else measure
        for note in stream.notes:
            first.append((Fraction(measure.offset) + Fraction(note.offset), note))
    joined: list[Heard] = []
    held: tuple[int, Fraction] | None = None
    for start, note in first:
        kind = type(note).__name__
        if kind in ("ChordSymbol", "NoChord", "Unpitched", "PercussionChord"):
            continue
        if note.duration.isGrace or not note.duration.quarterLength:
            continue
        if getattr(note.style, "noteSize", None) == "cue":
            continue
        top = note if kind == "Note" else max(note.notes, key=lambda one: one.pitch.ps)
        key, length = round(top.pitch.ps), Fraction(note.duration.quarterLength)
        tie = top.tie.type if top.tie is not None else ""
        if held == (key, start) and tie in ("stop", "continue"):
            last = joined[-1]
            joined[-1] = last._replace(length=last.length + length)
        else:
            joined.append(Heard(key, start, length))
        held = (key, start + length) if tie in ("start", "continue") else None
    yield from joined


def brought_piece(brought: Brought) -> Piece:
    """Return a brought piece as the loader reads it; it must have no error of reading."""
    loaded = read_piece("brought.yaml", brought.text.encode(), RULE_NAMES, Path.cwd())
    errors = [one for one in loaded.findings if one.severity == "error"]
    assert not errors and loaded.piece is not None, (errors, brought.text)
    return loaded.piece


def differences(brought: Brought, heard: list[Heard]) -> Iterator[str]:
    """Yield how a brought piece differs from what music21 reads."""
    piece = brought_piece(brought)
    ours = [
        (line.name, note.pitch, note.start, note.length)
        for line in piece.lines.values()
        for note in line.notes
    ]
    said = {one.what.split(" (")[0] for one in brought.losses}
    cut = "a note held over from one line into another is struck again" in said
    overlapping = {
        "a note ends where the next one begins", "of notes struck at once the top one is kept",
    } & said  # fmt: skip
    if cut or overlapping:
        return  # told; what is left is compared by the tests of these
    if len(ours) != len(heard):
        yield f"count: {len(ours)} notes, music21 has {len(heard)}"
        return
    sa = piece.tonic.midi
    scales = set()
    for at, ((line, pitch, start, length), note) in enumerate(zip(ours, heard, strict=True)):
        assert pitch is not None
        if pitch + sa != note.key and not any("octaves" in one for one in said):
            yield f"pitch: note {at} of {line} is {pitch + sa}, music21 has {note.key}"
            return
        scales.add(note.length / length)
        if at and ours[at - 1][0] == line:
            gone, theirs = start - ours[at - 1][2], note.start - heard[at - 1].start
            scales.add(theirs / gone)
    if not scales <= {Fraction(1), Fraction(1, 2), Fraction(1, 4), Fraction(1, 8)}:
        yield f"time: beats are {sorted(map(str, scales))} quarters long"
