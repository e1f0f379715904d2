"""Which notes of a line go on in the breath or bow of the note before, without an attack.

Winds, voices and bows go on within a breath: a note that follows at once, at another pitch, neither
accented nor marked short. Repeated notes are tongued, and the first of a phrase. A bow turns, and a
long breath is tongued again, after some seconds. Strings that are plucked go on only within a slur,
a glide or an ornament (a pull of the string); keys and mallets strike every note. What is slurred
on paper is one breath in all but these. (Common practice; the seconds are our choice.)
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from cyclechart.arrange.phrasing.played_notes import PlayedNote, PlayedNotes
from cyclechart.arrange.score import Sound
from cyclechart.arrange.timeline import Timeline

BREATH_SECONDS = {"woodwind": 10, "brass": 8, "voice": 10, "strings": 4}
"""The families of instruments that go on within a breath or bow, and for how many seconds."""
PLUCKED = frozenset(("frets", "plucked", "bass"))
"""The families that go on only within a slur, a glide or an ornament."""
ATTACKED = frozenset(("accent", "staccato", "tenuto"))
"""The marks of a note that is attacked, unless it is slurred."""


def joined_sounds(
    sounds: Sequence[Sound],
    owners: Sequence[int],
    played: PlayedNotes,
    family: str,
    timeline: Timeline,
) -> list[bool]:
    """Return of each sound whether it is joined to the one before it.

    ``owners``: the index among the notes ``played`` of each sound's note, or -1; the sounds are in
    order of time. ``family``: that of the player's instrument.
    """
    breath = BREATH_SECONDS.get(family, 0)
    if not breath and family not in PLUCKED:
        return [False] * len(sounds)
    joined: list[bool] = []
    seconds = Fraction(0)
    for at, sound in enumerate(sounds):
        goes_on = False
        if at and owners[at] >= 0 and owners[at - 1] >= 0 and _follows(sounds[at - 1], sound):
            before, note = played.notes[owners[at - 1]], played.notes[owners[at]]
            goes_on = _is_one_stroke(before, note) or (
                breath > seconds and not note.begins and not ATTACKED.intersection(note.note.marks)
            )
        seconds = Fraction(0) if not goes_on else seconds
        if breath:
            seconds += sound.length * 60 / timeline.at(sound.start).tempo_at(sound.start)
        joined.append(goes_on)
    return joined


def _follows(before: Sound, sound: Sound) -> bool:
    """Return whether a sound begins as the one before it ends, at another pitch."""
    return (
        before.start + before.length == sound.start
        and (before.pitch, before.base) != (sound.pitch, sound.base)
        and before.voice == sound.voice
    )


def _is_one_stroke(before: PlayedNote, note: PlayedNote) -> bool:
    """Return whether two sounds belong to one note, or to notes that are slurred or glide."""
    return before is note or note.slurred or before.note.glides
