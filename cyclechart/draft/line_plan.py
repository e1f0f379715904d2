"""The plan of a drafted line: the mode, the cycle, the tempo, the players' common range."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from cyclechart.draft.line_cells import DraftNote, rows_of
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.leaning import PA, SA
from cyclechart.theory.mode import Mode

OCTAVE = 12
LONGEST_TO_HOLD = 32
"""The beats of the longest cycle through which a landing is held."""
LONGEST_PICKUP = 5
"""The beats of the longest last section that a pickup takes."""
FEWEST_WITH_PICKUP = 6
"""The beats of the shortest cycle whose head has a pickup."""
TAR_REACH, MANDRA_REACH = 5, 5
"""By how many semitones a line goes beyond the upper Sa, and below the lower."""


class LinePlan(NamedTuple):
    """``lowest`` and ``highest`` are pitches that all who play the lines have in comfort."""

    mode: Mode
    cycle: Cycle
    tempo: Fraction
    lowest: int
    highest: int
    begins_early: bool = False
    """True if the head begins with a pickup, where the cycle has room for one."""

    @property
    def pickup(self) -> Fraction:
        """The beats of the head's pickup, the cycle's last section; 0 for none."""
        size = self.cycle.sections[-1]
        has_room = 2 <= size <= LONGEST_PICKUP and self.cycle.beats >= FEWEST_WITH_PICKUP
        return size if self.begins_early and has_room else Fraction(0)

    @property
    def cycles(self) -> int:
        """The cycles of a line: two to four, more of very short ones, one of very long ones."""
        beats = self.cycle.beats
        if beats <= 4:
            return 8
        if beats <= 8:
            return 4
        return 2 if beats <= LONGEST_TO_HOLD else 1

    @property
    def lands(self) -> bool:
        """True if the head has a cycle for its landing: a very long one would be silence."""
        return self.cycle.beats <= LONGEST_TO_HOLD

    @property
    def home(self) -> int:
        """The Sa that lines come home to: the middle one, or one that the players have."""
        return next(sa for sa in (0, OCTAVE, -OCTAVE) if self.lowest <= sa <= self.highest)

    @property
    def lives_high(self) -> bool:
        """True if the mode lives in the upper half of the octave."""
        return self.mode.register in ("uttarang", "tar")

    @property
    def home_is_high(self) -> bool:
        """True if the players have more room below that Sa than above it."""
        return self.home - self.lowest > self.highest - self.home

    @property
    def lower(self) -> tuple[int, int]:
        """The lower of the two ranges of a piece: around the lower Sa, or up to a high one."""
        if self.home_is_high:
            return max(self.lowest, self.home - OCTAVE), min(self.highest, self.home + 2)
        bottom = max(self.lowest, self.home - MANDRA_REACH)
        return bottom, min(self.highest, self.home + OCTAVE)

    @property
    def upper(self) -> tuple[int, int]:
        """The upper one, around the Sa above; where the players have none, below the lower Sa."""
        if self.home_is_high:
            return max(self.lowest, self.home - MANDRA_REACH), self.highest
        top = self.home + OCTAVE
        if self.highest >= top:
            return max(self.lowest, self.home + 3), min(self.highest, top + TAR_REACH)
        return max(self.lowest, self.home - OCTAVE), min(self.highest, self.home + PA)

    def chief_in(self, lowest: int, highest: int) -> list[int]:
        """Return the pitches of Sa and of the mode's vadi and samvadi in a range."""
        tones = {SA, *(tone for tone in (self.mode.vadi, self.mode.samvadi) if tone is not None)}
        return [pitch for pitch in range(lowest, highest + 1) if pitch % 12 in tones]


class DraftedLine(NamedTuple):
    """A line that is found: its notes, where it ends, how good it is."""

    notes: tuple[DraftNote, ...]
    end: Fraction
    score: float

    @property
    def begins(self) -> Fraction:
        """The position of the first note, below 0 where it has a pickup."""
        return self.notes[0].start

    def rows(self, cycle: Cycle) -> tuple[str, ...]:
        """Return its text."""
        return rows_of(self.notes, cycle, self.end)
