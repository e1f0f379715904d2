"""A part played from its MusicXML by the standard's rules: repeats, endings, ties, transposing.

It knows nothing of our package: what it plays is held against the timeline.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from lxml import etree

Element = etree._Element
NATURAL = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True)
class PlayedNote:
    """A note or chord as it is struck: when (quarters), which keys sound; () for unpitched.

    ``graces``: it has grace notes before it. ``slid``: a slide ends on it. ``head`` is the notehead
    of an unpitched one, or "".
    """

    start: Fraction
    keys: tuple[int, ...]
    graces: bool
    slid: bool
    head: str


def playing_order(measures: list[Element]) -> list[int]:
    """The measures in the order they are played: repeats with ``times``, endings by number."""
    played_notes: list[int] = []
    at = first = 0
    turn = 1
    endings = _endings(measures)
    while at < len(measures):
        if measures[at].find("direction/sound[@dalsegno]") is not None:
            back = measures[at].find("barline/repeat[@direction='backward']")
            if back is None or turn == int(back.get("times", "2")):
                return [*played_notes, at, *_from_sign(measures)]
        if measures[at].find("barline/repeat[@direction='forward']") is not None and at != first:
            first, turn = at, 1
        ending = endings[at]
        if ending is None or turn in ending:
            played_notes.append(at)
            back = measures[at].find("barline/repeat[@direction='backward']")
            if back is not None and turn < int(back.get("times", "2")):
                turn += 1
                at = first
                continue
            if back is not None and (ending is None or turn == int(back.get("times", "2"))):
                first, turn = at + 1, 1
        at += 1
    return played_notes


def _from_sign(measures: list[Element]) -> list[int]:
    """From the segno, repeats not taken and of endings the last, to the coda sign, then the coda;
    or to the fine."""

    def at_sound(name: str) -> int:
        return next(
            (i for i, m in enumerate(measures) if m.find(f"direction/sound[@{name}]") is not None),
            len(measures),
        )

    leaves = min(at_sound("tocoda"), at_sound("fine"))
    played_notes = []
    endings = _endings(measures)
    for at in range(at_sound("segno"), leaves + 1):
        ending = endings[at]
        ends = at
        while measures[ends].find("barline[@location='right']/ending") is None and ending:
            ends += 1
        closes = measures[ends].find("barline[@location='right']/ending[@type='stop']")
        if ending is None or closes is None:
            played_notes.append(at)
    coda = at_sound("coda")
    return played_notes + [coda + at for at in playing_order(measures[coda:])]


def _endings(measures: list[Element]) -> list[set[int] | None]:
    """For each measure the times that it is played in, where it stands under an ending."""
    found: list[set[int] | None] = []
    here: set[int] | None = None
    for measure in measures:
        endings = {str(one.get("type")): one for one in measure.iterfind("barline/ending")}
        if "start" in endings:
            here = {int(one) for one in str(endings["start"].get("number")).split(",")}
        found.append(here)
        if {"stop", "discontinue"} & set(endings):
            here = None
    return found


def played_notes(part: Element) -> tuple[list[PlayedNote], Fraction]:
    """Everything that is struck, cue notes apart, and how long all of it is, in quarters."""
    measures = list(part.iterfind("measure"))
    divisions = int(str(part.findtext("measure/attributes/divisions")))
    semitones = int(part.findtext("measure/attributes/transpose/chromatic", "0"))
    semitones += 12 * int(part.findtext("measure/attributes/transpose/octave-change", "0"))
    struck: list[PlayedNote] = []
    now = Fraction(0)
    for index in playing_order(measures):
        graces = False
        last = begin = now
        first = len(struck)
        for note in measures[index]:
            if note.tag == "backup":
                now -= Fraction(int(str(note.findtext("duration"))), divisions)
                assert now == begin
            if note.tag != "note":
                continue
            if note.find("grace") is not None:
                graces = True
                continue
            chord = note.find("chord") is not None
            start = last if chord else now
            key = _key(note, semitones)
            tied = note.find("tie[@type='stop']") is not None
            if note.find("rest") is None and note.find("cue") is None and not tied:
                keys = () if key is None else (key,)
                if chord:
                    before = struck.pop()
                    keys = tuple(sorted({*before.keys, *keys}))
                slid = note.find("notations/slide[@type='stop']") is not None
                struck.append(PlayedNote(start, keys, graces, slid, note.findtext("notehead", "")))
            if not chord:
                last = now
                now += Fraction(int(str(note.findtext("duration"))), divisions)
                graces = False
        if measures[index].find("backup") is not None:
            struck[first:] = _together(struck[first:])
    return struck, now


def _together(notes: list[PlayedNote]) -> list[PlayedNote]:
    """The notes of several voices in order of time, what they strike at once as one."""
    joined: dict[Fraction, PlayedNote] = {}
    for note in sorted(notes, key=lambda one: one.start):
        before = joined.get(note.start)
        if before is not None:
            keys = tuple(sorted({*before.keys, *note.keys}))
            note = replace(before, keys=keys, slid=before.slid or note.slid)
        joined[note.start] = note
    return list(joined.values())


def _key(note: Element, semitones: int) -> int | None:
    pitch = note.find("pitch")
    if pitch is None:
        return None
    alter = int(pitch.findtext("alter", "0"))
    octave = int(str(pitch.findtext("octave")))
    return 12 * (octave + 1) + NATURAL[str(pitch.findtext("step"))] + alter + semitones
