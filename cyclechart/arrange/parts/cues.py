"""Cues: small notes of another player before an entry after long rests, in the reader's key."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.bar_fragments import Fragment
from cyclechart.arrange.parts.repeats import WrittenBar
from cyclechart.catalog.instruments import MIDDLE_KEYS
from cyclechart.piece.player import Player
from cyclechart.text.display import player_title

LONG_REST = 4
"""Cycles of rest after which an entry has a cue."""

LEGIBLE = 14
"""The semitones from the middle line to the second ledger line, the farthest that a cue goes."""


class Cues:
    """The cues of one player; to be asked passage by passage, in order."""

    def __init__(self, band: Band, player: Player) -> None:
        self.band = band
        self.player = player
        self.fragments = band.fragments[player.name]
        self.cycles_of_rest = Fraction(0)
        """Cycles of rest since the player's last note."""

    def with_cues(self, bars: list[WrittenBar], first: int) -> list[WrittenBar]:
        """Return the written bars with a cue in place of the last bar of a long rest.

        ``first`` is the index of the passage's first bar.
        """
        written: list[WrittenBar] = []
        repeated = False
        for bar in bars:
            written.append(bar)
            repeated = repeated or bar.repeat_start
            in_repeat = repeated or bool(bar.ending)
            repeated = repeated and not bar.times
            # What others play in a repeat may differ from time to time.
            if in_repeat or not bar.rests:
                self.cycles_of_rest = Fraction(0)
                continue
            self.cycles_of_rest += bar.rests
            last = bar.at + bar.rests - 1
            enters = first + last + 1
            entry = enters < len(self.fragments) and bool(self.fragments[enters])
            if self.cycles_of_rest >= LONG_REST and entry and self.cue(first + last):
                written[-1:] = [replace(bar, rests=bar.rests - 1)] if bar.rests > 1 else []
                written.append(WrittenBar(last, cue=True))
        return written

    def cue(self, index: int) -> tuple[Fragment, ...]:
        """Return the cue for a bar: the notes of the melody player who has most there, or ()."""
        if not self.player.role.reads_pitches or self.fragments[index]:
            return ()
        cue: tuple[Fragment, ...] = ()
        octave, leader = 0, ""
        for other in self.band.piece.players:
            theirs = self.band.fragments[other.name][index]
            if other.role.plays_melody and other.name != self.player.name:
                sounding = tuple(one for one in theirs if one.note.head not in ("slash", "rhythm"))
                if len(sounding) > len(cue):
                    cue, octave, leader = sounding, other.octave, player_title(other.name)
        octave -= self.player.octave_of_lines
        pitches = [
            fragment.note.pitch + 12 * octave for fragment in cue if fragment.note.pitch is not None
        ]
        moved = self.octaves_to_staff(pitches, index)
        text = cue_text(leader, moved)
        notes = [_cue_note(fragment.note, 12 * (octave + moved)) for fragment in cue]
        return tuple(
            Fragment(replace(note, text="" if at else text)) for at, note in enumerate(notes)
        )

    def octaves_to_staff(self, pitches: Sequence[int], index: int) -> int:
        """Return the fewest octaves that bring sounding pitches onto the reader's staff, its first
        ledger lines included: 0 where they can be read as they sound."""
        if not pitches:
            return 0
        stretch = self.band.bars[index].stretch
        key = self.band.key(self.player, stretch.tonic, stretch.mode)
        middle = MIDDLE_KEYS[self.player.as_read.clef] - key.tonic.midi - key.shift
        low, high = min(pitches) - middle, max(pitches) - middle

        def beyond(octaves: int) -> int:
            return max(0, high + 12 * octaves - LEGIBLE, -LEGIBLE - low - 12 * octaves)

        return min(range(-4, 5), key=lambda octaves: (beyond(octaves), abs(octaves)))


def cue_text(player: str, octaves: int) -> str:
    """Return the words over a cue: whose notes they are and, where the cue stands so many octaves
    above (below) what sounds, where they sound."""
    if not octaves:
        return player
    count = "8ve" if abs(octaves) == 1 else f"{abs(octaves)} 8ves"
    return f"{player} (sounds {count} {'lower' if octaves > 0 else 'higher'})"


def _cue_note(note: PartNote, shift: int) -> PartNote:
    pitch = None if note.pitch is None else note.pitch + shift
    return replace(
        note,
        pitch=pitch,
        head="cue",
        marks=(),
        grace=(),
        word="",
        verses=(),
        under=(),
        chord=None,
        origin=(-1, -1),
        tied_in=False,
        tied_out=False,
        slurred=False,
        words="",
    )
