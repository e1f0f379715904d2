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
    "mridanga",
    "damaru",
    "dupalli",
    "tripalli",
    "chaupalli",
    "speeds",
    "korvai",
    "nauhakka",
    "chakradar",
    "farmaishi",
    "kamali",
]


Yati = Literal["sama", "srotovaha", "gopuccha", "mridanga", "damaru"]
"""The shape of statements that follow each other: equal, growing like a river, shrinking like a
cow's tail, growing and then shrinking like a drum, shrinking and then growing like an hourglass."""

YATIS: tuple[Yati, ...] = ("sama", "srotovaha", "gopuccha", "mridanga", "damaru")


def shape_counts(times: int, *, turns: bool) -> tuple[int, ...]:
    """Return how many steps each of so many statements is from the first: 0 1 2, or 0 1 0."""
    counts = range(times)
    return tuple(min(count, times - 1 - count) for count in counts) if turns else tuple(counts)


def yati_counts(yati: Yati, times: int) -> tuple[int, ...]:
    """Return how many steps each of so many statements is shorter than the longest."""
    if yati == "sama":
        return (0,) * times
    counts = shape_counts(times, turns=yati in ("mridanga", "damaru"))
    if yati in ("gopuccha", "damaru"):
        return counts
    return tuple(max(counts) - count for count in counts)


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

    def without_front(self, beats: Fraction) -> Statement:
        """Return the statement without its first so many beats; its last stroke must be left."""
        left = tuple(onset - beats for onset in self.onsets if onset >= beats)
        onsets = left if self.written else tuple(dict.fromkeys((Fraction(0), left[-1])))
        return Statement(self.length - beats, onsets, self.written)

    @property
    def last(self) -> Fraction:
        """From its beginning to its last stroke."""
        return self.onsets[-1]

    @property
    def tail(self) -> Fraction:
        """From its last stroke to its end."""
        return self.length - self.last


@dataclass(frozen=True, slots=True)
class FirstPart:
    """The first part of a korvai: its phrases by their lengths, said once with a gap after each,
    the last included; a ``gap`` of None is to be found."""

    lengths: tuple[Fraction, ...]
    gap: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """The known parts of a cadence; a ``gap``, ``round_gap`` or ``begins`` of None is to be found.

    ``within``: at most so many cycles. ``early``: the last stroke falls so much before sam, or
    after it where that is below 0. ``lead``: beats said once, before the first round.
    ``step``: each statement of a round is so many beats longer than the one before, added (or,
    below 0, taken away) in front, so that its last stroke stays as far from its end; where it
    ``turns``, only up to the middle statement, and back from there. ``speeds``: how fast each
    statement of a round is said, () for all as written. ``first``: the first part of a korvai, said
    after the body. ``eduppu``: it comes home so many beats after sam. ``second_lead``: from the
    beginning of the second statement to its first stroke, where that is known.
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
    turns: bool = False
    speeds: tuple[Fraction, ...] = ()
    first: FirstPart | None = None
    eduppu: Fraction = Fraction(0)
    second_lead: Fraction | None = None

    @property
    def changes(self) -> tuple[Fraction, ...]:
        """By how much each statement of a round is longer than the first, before its speed."""
        return tuple(self.step * count for count in shape_counts(self.times, turns=self.turns))

    @property
    def rates(self) -> tuple[Fraction, ...]:
        """The speed of each statement of a round."""
        return self.speeds or (Fraction(1),) * self.times

    @property
    def lengths(self) -> tuple[Fraction, ...]:
        """The length of each statement of a round."""
        length = self.statement.length
        pairs = zip(self.changes, self.rates, strict=True)
        return tuple([(length + change) / rate for change, rate in pairs])

    @property
    def alike(self) -> bool:
        """Return whether all statements are of one length."""
        return not self.step and len(set(self.speeds)) < 2

    @property
    def longest(self) -> Fraction:
        """The length of the longest statement, as it is written: at no speed of its own."""
        return self.statement.length + max(self.changes)

    @property
    def sound(self) -> bool:
        """Return whether every statement still holds its last stroke, however much they shrink,
        and no more than two gaps are open."""
        if self.first is not None and self.first.gap is None and self.rounds > 1:
            return False
        return self.statement.last + min(self.changes) >= 0

    @property
    def gaps_said(self) -> bool:
        """Return whether no gap is to be found."""
        return (
            (self.times == 1 or self.gap is not None)
            and (self.rounds == 1 or self.round_gap is not None)
            and (self.first is None or self.first.gap is not None)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A cadence that lands.

    ``first_gap`` is the one after each phrase of a korvai's first part, None where it has none.
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
    first_gap: Fraction | None = None
    eduppu: Fraction = Fraction(0)

    def is_home(self, end: Fraction, beats: Fraction) -> bool:
        """Return whether a last stroke falls where the cadence comes home to: sam, or so much
        after it as its eduppu says."""
        return (end - 1 - self.eduppu) % beats == 0

    def early_ends(self, beats: Fraction) -> tuple[int, ...]:
        """Which statements before the last (from 0) also end on a first beat (or the eduppu) of a
        cycle of so many beats, and are not those that make a farmaishi chakradar."""
        times = len(self.ends) // self.rounds
        meant = {turn * times + turn for turn in range(self.rounds)}
        return tuple(
            number
            for number, end in enumerate(self.ends[:-1])
            if self.is_home(end, beats) and not (self.kind == "farmaishi" and number in meant)
        )

    @property
    def name(self) -> str:
        """The trade's name for it: ``damdar tihai``, ``farmaishi chakradar``."""
        times = len(self.ends) // self.rounds
        if self.kind in ("farmaishi", "kamali"):
            return f"{self.kind} chakradar"
        if self.kind in ("bedam", "damdar"):
            return f"{self.kind} tihai" if times == 3 else f"{self.kind}, {times} statements"
        names = {
            "single": "phrase said once",
            "mridanga": "mridanga yati",
            "damaru": "damaru yati",
            "speeds": f"{times} statements at different speeds",
        }
        return names.get(self.kind, self.kind)


@dataclass(frozen=True)
class Answers:
    """All answers, plainest first; ``stopped`` where the search was cut short, having looked at so
    many candidates."""

    found: tuple[Answer, ...]
    stopped: bool = False
    looked_at: int = 0
