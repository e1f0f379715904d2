"""Our own MusicXML and MIDI brought back: what each melody player plays, before and after."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.unroller import unroll
from cyclechart.catalog.library import Library
from cyclechart.catalog.search import ModeEntry
from cyclechart.piece.model import Piece
from cyclechart.transcription.bring_tune import Brought, Wishes, bring_tune
from cyclechart.transcription.sources import tune_in
from cyclechart.write.midi.file import midi_with_report
from cyclechart.write.musicxml.document import score_xml


class Played(NamedTuple):
    """A note: semitones from the first, beats from the first, and how long it is."""

    pitch: int
    start: Fraction
    length: Fraction


def brought_from(
    data: bytes, name: str, voice: str | None, library: Library, known: list[ModeEntry]
) -> Brought:
    """Return a file of ours brought; its Sa and cycle are found again."""
    tune = tune_in(data, name, library=library).tune
    return bring_tune(tune, library, Wishes(voice=voice), known=known)


def midi_of(piece: Piece) -> bytes:
    """Return the MIDI file of a piece."""
    return midi_with_report(arrange(piece))[0]


def first_melody_player(piece: Piece) -> str | None:
    """Return the first player who has a melody; None where nobody has."""
    melodic = {player.name for player in piece.players if player.role.name == "melody"}
    for placed in unroll(piece).placed_lines:
        if placed.line.kind == "melody" and placed.line.notes:
            for player in placed.players:
                if player in melodic:
                    return player
    return None


def played_by(piece: Piece, player: str) -> list[Played]:
    """Return what a player plays in the whole form, from their first note on: a new line cuts off
    the one before."""
    found: list[Played] = []
    for placed in unroll(piece).placed_lines:
        if placed.line.kind != "melody" or player not in placed.players:
            continue
        fresh = []
        for note in placed.line.notes:
            start, length = placed.start_of(note), placed.length_of(note)
            if placed.until is not None and start >= placed.until:
                break
            if placed.since is not None and start < placed.since:
                continue
            if placed.until is not None:
                length = min(length, placed.until - start)
            assert note.pitch is not None
            pitch = note.pitch + placed.state.tonic.midi
            fresh.append(Played(pitch, start, length))
        if fresh:
            first = fresh[0].start
            found = [one for one in found if one.start < first]
            if found and found[-1].start + found[-1].length > first:
                last = found[-1]
                found[-1] = last._replace(length=first - last.start)
        found += fresh
    if not found:
        return []
    low, early = found[0].pitch, found[0].start
    return [Played(one.pitch - low, one.start - early, one.length) for one in found]


def lead_sheet_of(piece: Piece) -> bytes:
    """Return the MusicXML of the lead sheet."""
    return score_xml(sheet_of(piece))


def lines_of(piece: Piece) -> list[list[Played]]:
    """Return the melody lines of a piece as they are written, in order."""
    return [
        [Played(note.pitch + piece.tonic.midi, note.start - line.notes[0].start, note.length)
         for note in line.notes if note.pitch is not None]
        for line in piece.lines.values() if line.kind == "melody" and line.notes
    ]  # fmt: skip


SILENCE = Fraction(1)
"""A silence of so many beats parts what is compared: steps may be further apart, or nearer."""


def first_difference(
    ours: list[Played], brought: list[Played], near: Fraction = Fraction(0)
) -> int | None:
    """Return the index of the first note that differs; None for the same lines.

    Pitches and lengths are held against one another, and starts against the note before where no
    silence is between them; times may be ``near`` (a tick of a grid that is not exact).
    """
    if len(ours) != len(brought):
        return min(len(ours), len(brought))
    for at, (one, other) in enumerate(zip(ours, brought, strict=True)):
        last = at + 1 == len(ours)
        silent = not at or one.start - ours[at - 1].start - ours[at - 1].length >= SILENCE
        apart = abs(one.start - ours[at - 1].start - other.start + brought[at - 1].start) <= near
        if one.pitch != other.pitch or not (apart or silent):
            return at
        # The last note rings on to the end of its cycle.
        if abs(one.length - other.length) > near and not last:
            return at
    return None
