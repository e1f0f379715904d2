"""The question that a cadence puts, and its answers, as values. All lengths are exact beats."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

CadenceKind = Literal[
    "single",
    "bedam",
    "damdar",
    "srotovaha",
    "gopuccha",
    "nauhakka",
    "chakradar",
    "farmaishi",
    "kamali",
]


@dataclass(frozen=True, slots=True)
class Statement:
    """A statement of a cadence: its length as written and the onsets of its strokes, in beats.

    ``written`` is whether the strokes are known; of a phrase by its beats only the last one is.
    """

    length: Fraction
    onsets: tuple[Fraction, ...]
    written: bool = field(default=True, compare=False)

    @classmethod
    def of_beats(cls, beats: Fraction) -> Statement:
        """A phrase known only by its beats: its last stroke fills the last one."""
        last = max(Fraction(0), beats - 1)
        return cls(beats, (Fraction(0), last) if last else (Fraction(0),), written=False)

    @property
    def last(self) -> Fraction:
        """From its beginning to its last stroke."""
        return self.onsets[-1]

    @property
    def tail(self) -> Fraction:
        """From its last stroke to its end."""
        return self.length - self.last


@dataclass(frozen=True, slots=True)
class Question:
    """The known parts of a cadence; a ``gap``, ``round_gap`` or ``begins`` of None is to be found.

    ``within``: at most so many cycles. ``early``: the last stroke falls so much before sam, or
    after it where that is below 0. ``lead``: beats said once, before the first round.
    ``step``: each statement of a round is so many beats longer than the one before, added (or,
    below 0, taken away) in front, so that its last stroke stays as far from its end.
    """

    statement: Statement
    times: int = 3
    gap: Fraction | None = None
    begins: Fraction | None = None
    body: Fraction = Fraction(0)
    rounds: int = 1
    round_gap: Fraction | None = None
    within: int = 4
    early: Fraction = Fraction(0)
    step: Fraction = Fraction(0)
    lead: Fraction = Fraction(0)

    @property
    def lengths(self) -> tuple[Fraction, ...]:
        """The length of each statement of a round."""
        return tuple(self.statement.length + turn * self.step for turn in range(self.times))

    @property
    def sound(self) -> bool:
        """Return whether every statement still holds its last stroke, however much they shrink."""
        return self.statement.last + (self.times - 1) * min(self.step, Fraction(0)) >= 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A cadence that lands.

    ``ends`` counts each last stroke, the first beat of the cycle it begins in being 1;
    ``silence`` is the rest between (the first two) statements: a last stroke counts as one beat, or
    as what its statement has left where that is less. ``apart``: from a last stroke to the next
    statement's first. ``phrase`` is the first statement's length; ``phrases`` are all of a round
    where they differ, else empty. ``ends`` come round by round, as many in each.
    """

    begins: Fraction
    gap: Fraction
    round_gap: Fraction | None
    phrase: Fraction
    cycles: int
    ends: tuple[Fraction, ...]
    kind: CadenceKind
    lands: Literal["sam", "anagat", "atit"]
    silence: Fraction
    apart: Fraction
    phrases: tuple[Fraction, ...] = ()
    rounds: int = 1

    def early_ends(self, beats: Fraction) -> tuple[int, ...]:
        """Which statements before the last (from 0) also end on a first beat of a cycle of so
        many beats, and are not those that make a farmaishi chakradar."""
        times = len(self.ends) // self.rounds
        meant = {turn * times + turn for turn in range(self.rounds)}
        return tuple(
            number
            for number, end in enumerate(self.ends[:-1])
            if (end - 1) % beats == 0 and not (self.kind == "farmaishi" and number in meant)
        )

    @property
    def name(self) -> str:
        """The trade's name for it: ``damdar tihai``, ``farmaishi chakradar``."""
        times = len(self.ends) // self.rounds
        if self.kind in ("farmaishi", "kamali"):
            return f"{self.kind} chakradar"
        if self.kind in ("bedam", "damdar"):
            return f"{self.kind} tihai" if times == 3 else f"{self.kind}, {times} statements"
        return "phrase said once" if self.kind == "single" else self.kind


@dataclass(frozen=True)
class Answers:
    """All answers, plainest first; ``stopped`` where the search was cut short, having looked at so
    many candidates."""

    found: tuple[Answer, ...]
    stopped: bool = False
    looked_at: int = 0
