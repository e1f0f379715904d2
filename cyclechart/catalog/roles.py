"""The roles a player may have in a band, with the facts that any room may ask of one.

What a role sounds and what its player reads are functions: ``arrange.roles.registry`` has those.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import cycle
from typing import Literal, NamedTuple

LineKind = Literal["melody", "strokes", "chords", "kit"]
"""The kinds of lines of a piece: notes, drum syllables, chord symbols, the drums of a kit."""
PageRole = Literal["melody", "voicings", "pedal", "drone", "drums", "count"]
"""The roles that the rehearsal page tells apart."""


class Speaker(NamedTuple):
    """How a player differs on a loudspeaker: by the dB of their level, by the dB of the shelf that
    raises upper partials, and by the dB of partials added to the low end (None for none)."""

    level: float = 0.0
    shelf: float = 0.0
    partials: float | None = None


AS_ELSEWHERE = Speaker()


class UnknownRole(LookupError):
    """A role that is not registered: our mistake, for a piece's reader lets none through."""


@dataclass(frozen=True, kw_only=True)
class Role:
    """The facts about one role; two roles of one name are the same."""

    name: str
    """The name that ``plays:`` takes."""

    # What its player does
    lines: LineKind | None = None
    """The kind of lines it plays; None for a role that makes up all it plays."""
    keeps_time: bool = False
    """True if it keeps the cycle: its solo gets claps, and it is silent in another timekeeper's."""
    is_drone: bool = False
    """True for the drone: the strings of Sa that sound through everything."""
    is_count: bool = False
    """True for the claps and waves, which nobody in the band plays."""
    tunes_to_sa: bool = False
    """Its instrument, but for a drum kit, is tuned again where Sa moves."""
    no_solo: str = ""
    """The reason why its player takes no solo, to follow the player's name; "" where they may."""

    # What its player reads
    staff: Literal["pitched", "drums"] | None
    """The notation it reads; None for a role that reads no staff."""
    plays_roots: bool = False
    """True for the bass: of a line of chords it plays the roots."""
    plays_chords: bool = False
    """True if it plays chords: on two staves, where its instrument has them, or in the clef that
    needs fewer ledger lines."""

    # How it sounds
    by_hand: bool = False
    """Its drum sounds, but for a drum kit's, are those of the hand drums in ``strokes.yaml``."""
    level: float
    """dB in the mix."""
    room: float
    """dB sent into the room."""
    pans: tuple[float, ...]
    """The positions of its players in turn: -1 left, 1 right."""
    speaker: Speaker = AS_ELSEWHERE
    """How it differs in the balance for loudspeakers; a drum kit has values of its own."""
    tuning_rank: int
    """The rank where MIDI channels run out: the role of the lowest gives up its tuning first."""
    on_page: PageRole
    """The kind that the rehearsal page counts it as."""

    def __eq__(self, other: object) -> bool:
        return self.name == other.name if isinstance(other, Role) else NotImplemented

    def __hash__(self) -> int:
        return hash(self.name)

    def __repr__(self) -> str:
        # Keys of files that are kept are made from it: a further fact must not change them.
        return f"Role({self.name!r})"

    @property
    def plays_melody(self) -> bool:
        """True if it plays the melodies of a piece."""
        return self.lines == "melody"

    @property
    def waits_for_lines(self) -> bool:
        """True if it plays lines and nothing between them."""
        return self.lines is not None and not self.keeps_time

    @property
    def reads_staff(self) -> bool:
        """True if its player reads a staff at all."""
        return self.staff is not None

    @property
    def reads_pitches(self) -> bool:
        """True if its player reads notes with pitches."""
        return self.staff == "pitched"


# Levels (our choice, measured): bass and chords come to some 7 LU below a melody, the drone to 9,
# and what counts in is as loud as what it leads to. For loudspeakers so that through a high-pass of
# 450 Hz hand drums lie within 8 and the drone within 10 LU of the melody.
MELODY = Role(
    name="melody", lines="melody", staff="pitched",
    level=0.0, room=-13.0, pans=(-0.25, 0.3, -0.5, 0.55, 0.0), tuning_rank=5, on_page="melody",
)  # fmt: skip
VOICINGS = Role(
    name="voicings", staff="pitched", plays_chords=True,
    level=-1.0, room=-13.0, pans=(-0.45, 0.5), tuning_rank=2, on_page="voicings",
    speaker=Speaker(level=1.0, shelf=2.0),
)  # fmt: skip
PEDAL = Role(
    name="pedal", staff="pitched", plays_roots=True,
    level=1.0, room=-24.0, pans=(0.0,), tuning_rank=0, on_page="pedal",
    speaker=Speaker(level=2.0, shelf=6.0, partials=-9.0),
)  # fmt: skip
THEKA = Role(
    name="theka", lines="strokes", keeps_time=True, tunes_to_sa=True, staff="drums", by_hand=True,
    level=0.5, room=-17.0, pans=(0.2, -0.35, 0.45, -0.1), tuning_rank=4, on_page="drums",
    speaker=Speaker(level=4.0, shelf=4.0),
)  # fmt: skip
DRONE = Role(
    name="drone", is_drone=True, tunes_to_sa=True, staff=None,
    no_solo="plays the drone and takes no solo",
    level=-2.5, room=-15.0, pans=(0.0, -0.3, 0.3), tuning_rank=1, on_page="drone",
    speaker=Speaker(level=1.5, shelf=0.5),
)  # fmt: skip
COUNT = Role(
    name="count", is_count=True, staff=None,
    level=8.0, room=-30.0, pans=(0.0,), tuning_rank=3, on_page="count",
)  # fmt: skip
"""The claps and waves: no player of a band has it."""

ROLES: dict[str, Role] = {role.name: role for role in (MELODY, VOICINGS, PEDAL, THEKA, DRONE)}
"""The roles that a player may have, by name, in the order in which they are listed."""


def role_named(name: str) -> Role:
    """The role of a name.

    Raises UnknownRole where there is none.
    """
    if name not in ROLES:
        raise UnknownRole(f"there is no role '{name}'; there are {', '.join(ROLES)}")
    return ROLES[name]


def pans_in_turn(roles: Sequence[Role]) -> list[float]:
    """Return the pan of each player of a band by their roles: those of one role take turns in its
    pans."""
    turns = {role: cycle(role.pans) for role in roles}
    return [next(turns[role]) for role in roles]
