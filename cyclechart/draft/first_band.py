"""The band of a drafted piece: who plays what, in which octave, and the range that they share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from cyclechart.catalog.instruments import Instrument
from cyclechart.catalog.roles import MELODY, Role
from cyclechart.draft.piece_text import DraftKey
from cyclechart.piece.player import Player
from cyclechart.piece.players import MOST_OCTAVES
from cyclechart.theory.spelling import TONICS, Tonic

WISHED = (-5, 17)
"""The range that lines would like to have: from the low Pa to the high Ma."""
NEEDED = 9
"""The semitones that a melody needs at the least."""
_USUAL = (2, 0, 7, 10, 3, 5, 9, 4, 8, 11, 1, 6)
"""The places of Sa in semitones above C, the usual ones first."""


class Member(NamedTuple):
    """A player; ``octave`` is None while it may be chosen."""

    name: str
    instrument: Instrument
    role: Role
    octave: int | None = None

    @property
    def is_melodic(self) -> bool:
        """True if they play the melodies."""
        return self.role.plays_melody


class Band(NamedTuple):
    """The members, or the ensemble of the band's own that they are."""

    members: tuple[Member, ...]
    ensemble: str = ""

    @property
    def melodic(self) -> list[Member]:
        """Those who play melodies."""
        return [member for member in self.members if member.is_melodic]


class Placed(NamedTuple):
    """A band on a Sa: its members in their octaves, and the pitches that all of them share."""

    band: Band
    lowest: int
    highest: int

    @property
    def room(self) -> int:
        """The semitones of the wished range that they share."""
        return min(self.highest, WISHED[1]) - max(self.lowest, WISHED[0])


def band_of(instruments: Iterable[Instrument]) -> Band:
    """Return a band of some instruments, each in its usual role; where none of them plays melodies
    by its usual role, the first does that can."""
    members: list[Member] = []
    for on in instruments:
        count = sum(member.instrument == on for member in members)
        members.append(Member(f"{on.name}-{count + 1}" if count else on.name, on, on.roles[0]))
    if not any(member.is_melodic for member in members):
        for number, member in enumerate(members):
            if MELODY in member.instrument.roles:
                members[number] = member._replace(role=MELODY)
                break
    return Band(tuple(members))


def ensemble_of(name: str, players: Sequence[Player]) -> Band:
    """Return a band of players who are written out already, in their own octaves."""
    return Band(
        tuple(Member(one.name, one.instrument, one.role, one.octave) for one in players), name
    )


def placed(band: Band, tonic: Tonic) -> Placed | None:
    """Return a band in the octaves that leave its lines most room on a Sa; None where the players
    of melodies share too little."""
    lowest, highest = WISHED
    members: list[Member] = []
    for member in band.members:
        if not member.is_melodic:
            members.append(member)
            continue
        octaves = range(-MOST_OCTAVES, MOST_OCTAVES + 1)
        choices = [member.octave] if member.octave is not None else sorted(octaves, key=abs)
        windows = {octave: _window(member.instrument, tonic, octave) for octave in choices}
        best = max(choices, key=lambda octave: _shared(windows[octave], WISHED))
        low, high = windows[best]
        lowest, highest = max(lowest, low), min(highest, high)
        members.append(member._replace(octave=best))
    has_sa = any(pitch % 12 == 0 for pitch in range(lowest, highest + 1))
    if highest - lowest < NEEDED or not has_sa:
        return None
    return Placed(Band(tuple(members), band.ensemble), lowest, highest)


def best_tonic(band: Band) -> Tonic:
    """Return the usual Sa on which a band's melodies have most room."""
    usual = [TONICS[semitone] for semitone in _USUAL]

    def room(tonic: Tonic) -> int:
        found = placed(band, tonic)
        return -1 if found is None else found.room

    return max(usual, key=room)


def _window(on: Instrument, tonic: Tonic, octave: int) -> tuple[int, int]:
    """Return the pitches that an instrument has in comfort, with Sa on a tonic in an octave."""
    sa = tonic.midi + 12 * octave
    return on.low - sa, on.high - sa


def _shared(one: tuple[int, int], other: tuple[int, int]) -> int:
    return min(one[1], other[1]) - max(one[0], other[0])


_DOES = {
    "melody": "plays the lines",
    "voicings": "chords from the tones of the mode",
    "pedal": "holds Sa and its fifth below",
    "theka": "keeps the cycle",
    "drone": "sounds Sa throughout",
}


def player_keys(band: Band) -> tuple[DraftKey, ...]:
    """Return the rows of the band under ``players:``."""
    rows = []
    for member in band.members:
        said = f"plays: {member.role.name}"
        if member.name != member.instrument.name:
            said += f", instrument: {member.instrument.name}"
        if member.octave and member.is_melodic:
            said += f", octave: {member.octave}"
        does = _DOES.get(member.role.name, "")
        if member.octave and member.is_melodic:
            octaves = "an octave" if abs(member.octave) == 1 else f"{abs(member.octave)} octaves"
            does += f", {octaves} {'above' if member.octave > 0 else 'below'} what is written"
        rows.append(DraftKey(member.name, f"{{{said}}}", does, ready=True))
    return tuple(rows)
