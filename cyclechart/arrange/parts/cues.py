"""Cues: after long rests what another plays before an entry, small, in the reader's letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.part_notes import Written
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.bar_fragments import Fragment
from cyclechart.arrange.parts.repeats import Fold
from cyclechart.piece.player import Player

LONG_REST = 4
"""After so many cycles of rest an entry is led to by a cue."""

MIDDLE_LINE = {
    "treble": 71, "treble-8vb": 59, "alto": 60, "tenor": 57, "bass": 50, "percussion": 71,
}  # fmt: skip
"""The key of the middle line of each clef."""


class Cues:
    """The cues of one player, asked for passage after passage."""

    def __init__(self, band: Band, player: Player) -> None:
        self.band = band
        self.player = player
        self.fragments = band.fragments[player.name]
        self.silent_for = Fraction(0)
        """Cycles of rest since the player last had anything."""

    def led(self, folds: list[Fold], first: int) -> list[Fold]:
        """Long rests before an entry lose their last bar to a cue."""
        made: list[Fold] = []
        for one in folds:
            made.append(one)
            if not one.rests:
                self.silent_for = Fraction(0)
                continue
            self.silent_for += one.rests
            last = one.at + one.rests - 1
            enters = first + last + 1
            entry = enters < len(self.fragments) and bool(self.fragments[enters])
            if self.silent_for >= LONG_REST and entry and self.cue(first + last):
                made[-1:] = [replace(one, rests=one.rests - 1)] if one.rests > 1 else []
                made.append(Fold(last, cue=True))
        return made

    def cue(self, index: int) -> tuple[Fragment, ...]:
        """What another melody player has in a bar: the one who has most, of equals the first."""
        if not self.player.role.reads_pitches or self.fragments[index]:
            return ()
        led: tuple[Fragment, ...] = ()
        octave, leader = 0, ""
        for other in self.band.piece.players:
            theirs = self.band.fragments[other.name][index]
            if other.role.plays_melody and other.name != self.player.name:
                sounded = tuple(one for one in theirs if not one.slash)
                if len(sounded) > len(led):
                    led, octave, leader = sounded, other.octave, other.name
        octave -= self.player.octave_of_lines
        pitches = [one.note.pitch + 12 * octave for one in led if one.note.pitch is not None]
        octave += self.toward_staff(pitches, index)
        small = [_small(one.note, 12 * octave) for one in led]
        return tuple(
            Fragment(replace(note, says="" if at else leader)) for at, note in enumerate(small)
        )

    def toward_staff(self, pitches: Sequence[int], index: int) -> int:
        """By how many octaves a cue of these pitches lies better on the player's staff."""
        if not pitches:
            return 0
        stretch = self.band.bars[index].stretch
        key = self.band.key(self.player, stretch.tonic, stretch.mode)
        mean = key.tonic.midi + key.shift + sum(pitches) // len(pitches)
        return round((MIDDLE_LINE[self.player.instrument.clef] - mean) / 12)


def _small(note: Written, shift: int) -> Written:
    pitch = None if note.pitch is None else note.pitch + shift
    return replace(
        note,
        pitch=pitch,
        head="cue",
        marks=(),
        grace=(),
        word="",
        under=(),
        origin=(-1, -1),
        tied_in=False,
        tied_out=False,
    )
