"""The standing of a line in its cycle: pickup and body, landing and looping, handing over.

Every position is in beats from the first beat of the cycle the line begins in.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Shape = Literal["lands", "loops", "early", "late", "misses", "empty"]

NEAR = Fraction(1)
"""Within so many beats of a first beat a last stroke is anagat or atit, not a miss."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """``first`` is the position of the first beat of the cycle that the line's body begins in: at
    that first beat, or ``eduppu`` beats after it, where the line comes home. ``last`` is that of
    its last struck note, ``end`` of its written end; ``short`` and ``over`` are the beats from the
    last stroke to where it comes home next, and from where it did before.
    """

    shape: Shape
    begin: Fraction
    first: Fraction
    last: Fraction
    end: Fraction
    short: Fraction
    over: Fraction
    hands_over: Fraction
    eduppu: Fraction = Fraction(0)

    @property
    def home(self) -> Fraction:
        """The position where its body begins."""
        return self.first + self.eduppu

    @property
    def pickup(self) -> Fraction:
        """Beats before the first beat of the cycle its body begins in; none where it begins after
        that."""
        return max(self.first - self.begin, Fraction(0))

    @property
    def offset(self) -> Fraction:
        """From that first beat to its beginning, below 0 for a pickup."""
        return self.begin - self.first


def stand(
    onsets: tuple[Fraction, ...],
    length: Fraction,
    begins: Fraction,
    beats: Fraction,
    *,
    early: Fraction | None = None,
    late: Fraction | None = None,
    eduppu: Fraction = Fraction(0),
) -> Standing:
    """Return the standing in a cycle of a line with these onsets (from its beginning) and length.

    ``begins`` is the beat (from 1) on which it begins, ``beats`` the cycle's length. ``early`` and
    ``late`` are what the line says itself: its last stroke falls so many beats before (anagat) or
    after (atit) a first beat. Said and true, it is believed whatever its size; untrue, it says
    nothing. ``eduppu``: it comes home so many beats after a first beat, which stands for the first
    beat in all of this; it still hands over on a first beat.
    """
    eduppu %= beats
    begin = begins - 1 - eduppu  # all positions count from where it comes home
    end = begin + length
    first = _ceil(begin, beats)
    if not onsets:
        return Standing(
            shape="empty",
            begin=begin + eduppu,
            first=first,
            last=begin + eduppu,
            end=end + eduppu,
            short=Fraction(0),
            over=Fraction(0),
            hands_over=_ceil(end, beats),
            eduppu=eduppu,
        )
    last = begin + onsets[-1]
    over = last % beats
    short = (-last) % beats
    body = end - first
    whole = body > 0 and (body % beats == 0 or length % beats == 0)
    meant: Shape | None = "early" if early == short else "late" if late == over else None
    if over == 0:
        shape: Shape = "lands"
    elif whole and any(begin + onset == first for onset in onsets):
        shape = "loops"
    else:
        shape = meant or _shape_near(short, over)
    aims = {"lands": last, "early": last + short}
    aim = aims.get("early" if meant == "early" else shape)
    hands_over = _hand_over(aim, end, beats)
    if shape == "lands" and last == begin == first:
        # It lands as it begins, and no pickup has taken any time: it holds the cycle it opens.
        hands_over = max(hands_over, first + beats)
    return Standing(
        shape=shape,
        begin=begin + eduppu,
        first=first,
        last=last + eduppu,
        end=end + eduppu,
        short=short,
        over=over,
        hands_over=hands_over,
        eduppu=eduppu,
    )


def _shape_near(short: Fraction, over: Fraction) -> Shape:
    """Return the shape of a line whose last stroke is so far from the first beats around it."""
    if short <= NEAR and short <= over:
        return "early"
    if over <= NEAR:
        return "late"
    return "early" if short <= NEAR else "misses"


def _hand_over(aim: Fraction | None, end: Fraction, beats: Fraction) -> Fraction:
    """The first beat it aims at, or after whole cycles beyond it the last one not after its end.

    A line that aims at none hands over at the first beat at or after its end.
    """
    if aim is None:
        return _ceil(end, beats)
    return end // beats * beats if end - aim >= beats else aim


def _ceil(position: Fraction, beats: Fraction) -> Fraction:
    return -(-position // beats) * beats
