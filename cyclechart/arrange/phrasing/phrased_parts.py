"""Parts as their players phrase them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from cyclechart.arrange.phrasing.accompaniment import AccompanimentLifts
from cyclechart.arrange.phrasing.joined_notes import joined_sounds
from cyclechart.arrange.phrasing.note_lifts import MARKED_ROOM, ROOM
from cyclechart.arrange.phrasing.played_notes import PlayedLines, PlayedNote, PlayedNotes
from cyclechart.arrange.phrasing.vibrato import vibrato_curve
from cyclechart.arrange.pitch_curves import Curve
from cyclechart.arrange.roles.line_levels import SLURRED
from cyclechart.arrange.score import Hit, Part, Sound
from cyclechart.arrange.timeline import Timeline
from cyclechart.catalog.roles import LineKind
from cyclechart.piece.player import Player

_MELODY: tuple[LineKind, ...] = ("melody",)
_DRUMS: tuple[LineKind, ...] = ("strokes", "kit")

STILL = frozenset(("plain", "staccato", "gamak", "andolan", "trill", "mordent"))
"""The marks of a note without vibrato."""


class Phrasing:
    """The phrasing of a timeline, for each of its players."""

    def __init__(self, timeline: Timeline) -> None:
        self.timeline = timeline
        self.lines = PlayedLines(timeline)
        self.figures = AccompanimentLifts(timeline, weighted=False)
        self.strokes = AccompanimentLifts(timeline, weighted=True)

    def part(self, part: Part, player: Player) -> Part:
        """Return a part with the levels, joined notes, swells and vibrato of its player; no time
        and no pitch is moved."""
        if part.role.is_drone:
            return part
        if part.hits:
            return replace(part, hits=tuple(self._hits(part.hits, player)))
        return replace(part, sounds=self._sounds(part.sounds, player))

    def _hits(self, hits: Sequence[Hit], player: Player) -> Iterator[Hit]:
        played = PlayedNotes(self.lines, player.name, _DRUMS)
        own = {note.start: note.lift for note in played.notes}
        for hit in hits:
            lift = own.get(hit.start) if own else None
            lift = self.strokes.at(hit.start) if lift is None else lift
            yield replace(hit, velocity=_velocity(hit.velocity + lift)) if lift else hit

    def _sounds(self, sounds: Sequence[Sound], player: Player) -> tuple[Sound, ...]:
        played = PlayedNotes(self.lines, player.name, _MELODY)
        owners = [played.index_at(sound.start) for sound in sounds]
        joined = joined_sounds(sounds, owners, played, player.instrument.family, self.timeline)
        found: list[Sound] = []
        for sound, owner, goes_on in zip(sounds, owners, joined, strict=True):
            if owner < 0:
                lift = self.figures.at(sound.start)
                louder = replace(sound, velocity=_velocity(sound.velocity + lift))
                found.append(louder if lift else sound)
                continue
            note = played.notes[owner]
            room = MARKED_ROOM if note.marked else ROOM
            lift = max(note.lift, SLURRED - room) if note.slurred else note.lift
            found.append(
                replace(
                    sound,
                    velocity=_velocity(sound.velocity + lift),
                    joined=goes_on,
                    swell=note.swell if sound.start == note.start else 0,
                    curve=sound.curve or _vibrato(sound, note, self.timeline, player),
                )
            )
        return tuple(_hairpins_kept(found, owners, played))


def _vibrato(sound: Sound, note: PlayedNote, timeline: Timeline, player: Player) -> Curve:
    if not player.instrument.vibrato or STILL.intersection(note.note.marks):
        return ()
    tempo = timeline.at(sound.start).tempo_at(sound.start)
    seconds = float(sound.length * 60 / tempo)
    return vibrato_curve(sound.length, seconds, f"{player.name} {sound.start}")


def _hairpins_kept(
    sounds: Sequence[Sound], owners: Sequence[int], played: PlayedNotes
) -> list[Sound]:
    """Return the sounds, those under a hairpin never against it: rounding may be off by one."""

    def hairpin_of(index: int) -> int:
        return played.notes[owners[index]].hairpin if owners[index] >= 0 else -1

    found = list(sounds)
    for hairpin, indices in groupby(range(len(found)), hairpin_of):
        if hairpin < 0:
            continue
        reached = None
        for at in indices:
            note = played.notes[owners[at]]
            # Accents and slurs stand apart; a grace is softer than its note.
            if "accent" in note.note.marks or note.slurred or not found[at].text:
                continue
            velocity = found[at].velocity
            if reached is not None:
                velocity = (max if note.louder else min)(velocity, reached)
            reached = velocity
            if velocity != found[at].velocity:
                found[at] = replace(found[at], velocity=velocity)
    return found


def _velocity(velocity: int) -> int:
    return max(1, min(127, velocity))
