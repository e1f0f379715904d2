"""A line that is worked out from another: from which, by what, and in which mode it then is."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from cyclechart.text.line_tree import SPEEDS
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_pitch


@dataclass(frozen=True, kw_only=True)
class Derivation:
    """The operations by which a line comes from its ``source``, in the order they are done.

    ``part``: the first and the last of its cycles, a pickup being cycle 0. ``turned``: the pitch
    that it is mirrored about. ``move``: steps along the mode. ``mode``: the mode whose degrees it
    takes. ``speed``: how many times as fast it goes.
    """

    source: str
    part: tuple[int, int] | None = None
    reversed: bool = False
    turned: int | None = None
    move: int = 0
    mode: Mode | None = None
    speed: Fraction = Fraction(1)
    beside: frozenset[str] = frozenset()
    """The keys that stand beside it in the file."""

    @property
    def changes_pitches(self) -> bool:
        """Return whether it needs tones: a melody's, or the roots of chords."""
        return self.turned is not None or bool(self.move) or self.mode is not None

    @property
    def changes_times(self) -> bool:
        """Return whether its rhythm is no more that of its source."""
        return self.part is not None or self.reversed or self.speed != 1

    @property
    def changes_nothing(self) -> bool:
        """Return whether it is its source under another name."""
        return not self.changes_pitches and not self.changes_times

    def __str__(self) -> str:
        """It in the words of the piece: ``head, part 3-4, move -2``."""
        words = [self.source]
        if self.part is not None:
            first, last = self.part
            words.append(f"part {first}" if first == last else f"part {first}-{last}")
        if self.reversed:
            words.append("reversed")
        if self.turned is not None:
            words.append(f"turned about {show_pitch(self.turned)}")
        if self.move:
            words.append(f"move {self.move}")
        if self.mode is not None:
            words.append(f"in {self.mode.name}")
        if self.speed != 1:
            named = next((word for word, speed in SPEEDS.items() if speed == self.speed), None)
            words.append(f"speed {named or show_exact(self.speed)}")
        return ", ".join(words)
