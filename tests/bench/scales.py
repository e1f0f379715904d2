"""Judging movement against what a general library's scale classes can say of the same lines."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import partial
from itertools import pairwise

from music21 import pitch, scale
from music21.scale import ConcreteScale as Scale
from music21.scale import Direction
from table import Subject, Target
from timing import Contender, medians

from cyclechart.catalog.library import Library
from cyclechart.finding import Spot
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SEMITONE
from cyclechart.theory.turns import turns

OURS, TONES, NEXT = "ours", "music21 tones", "music21 moves"
NOTES = 300

ABOUT = f"""
Asavari and Marwa, which music21 has as RagAsawari and RagMarwa, with ascent and descent.
{TONES}: each note is looked up among the degrees of the direction that it is reached in, by
pitch class. {NEXT}: each move is asked of the scale (isNext). {OURS}: faults and turns.
'legal called wrong': of printed phrases and paths, and of {NOTES} notes of the mode's paths, up and
down through one octave or two at random (seed 1). 'wrong let pass': of lines that pass a tone which
the path leaves out, or skip a turn that it makes. Seconds are for one line of {NOTES} notes.
"""

# Sangeet Parichay II p. 37 and Sitar Malika p. 216 (Asavari), Sitar Malika p. 244 (Marwa).
PRINTED = {
    "asavari": ("m P d m P g", "R S", "S R m P d S'", "S' n d P m g R S"),
    "marwa": ("M G r", "N, D, r S", "N, r G M D N D S'", "S' N D M G r S"),
}
# Wrong by the printed paths: a tone that the ascent leaves out, a turn that it always makes.
WRONG = {
    "asavari": ("S R g m P", "m P d n S'", "P n S'"),
    "marwa": ("M D N S'", "D N S' r'", "G M D N S'"),
}
CLASSES = {"asavari": scale.RagAsawari, "marwa": scale.RagMarwa}


def _mode(name: str) -> Mode:
    found, _ = Library.beside(None).mode(name, Spot("bench", 1, 1))
    assert found is not None
    return found


def _path(text: str) -> list[int]:
    octave = {"'": 12, ",": -12}
    return [SEMITONE[word[0]] + sum(octave[mark] for mark in word[1:]) for word in text.split()]


def _to_and_fro(mode: Mode, count: int) -> list[int]:
    """The mode's own paths up and down, through one octave or two at random."""
    dice = random.Random(1)
    line: list[int] = [0]
    while len(line) < count:
        octaves = dice.choice((1, 2))
        up = [p + 12 * o for o in range(octaves) for p in mode.ascent]
        down = [p + 12 * o for o in reversed(range(octaves)) for p in mode.descent]
        line += [*up, *down]
    return line[:count]


def ours(mode: Mode, line: list[int]) -> int:
    """Return the number of notes of a line that our rules object to."""
    return len(list(judge_breath(mode, line))) + len(list(turns(mode, line)))


def tones(known: Scale, line: list[int]) -> int:
    """Return the number of notes that the scale class does not have in their direction."""
    return sum(
        known.getScaleDegreeFromPitch(
            _pitch(this), direction=_way(before, this), comparisonAttribute="pitchClass"
        )
        is None
        for before, this in _moves(line)
    )


def moves(known: Scale, line: list[int]) -> int:
    """Return the number of moves of a line that are no step of the scale class there."""
    return sum(
        not known.isNext(
            _pitch(this), _pitch(before), _way(before, this), comparisonAttribute="pitchClass"
        )
        for before, this in _moves(line)
    )


def _moves(line: list[int]) -> Iterator[tuple[int, int]]:
    return ((before, this) for before, this in pairwise(line) if before != this)


def _pitch(semitones: int) -> pitch.Pitch:
    return pitch.Pitch(60 + semitones)


def _way(before: int, this: int) -> Direction:
    return Direction.ASCENDING if this > before else Direction.DESCENDING


def subject() -> Subject:
    """The whole table."""
    rows = []
    ratios = []
    worst = 0
    for name, made in CLASSES.items():
        mode, known = _mode(name), made("C4")
        long = _to_and_fro(mode, NOTES)
        legal = [*map(_path, PRINTED[name]), long]
        wrong = [*map(_path, WRONG[name])]
        judges = {
            OURS: partial(ours, mode),
            TONES: partial(tones, known),
            NEXT: partial(moves, known),
        }
        timed = medians(
            [
                Contender(who, partial(judge, long), slow=who != OURS)
                for who, judge in judges.items()
            ],
            NOTES,
        )
        for who, judge in judges.items():
            called = sum(judge(line) > 0 for line in legal)
            passed = sum(judge(line) == 0 for line in wrong)
            worst = max(worst, called + passed) if who == OURS else worst
            rows.append(
                (
                    f"{name} {who}",
                    f"{called} of {len(legal)}",
                    f"{passed} of {len(wrong)}",
                    f"{timed[who]:.5f}",
                    f"{timed[who] / timed[OURS]:.1f}",
                )
            )
        ratios.append(timed[TONES] / timed[OURS])
    targets = (
        Target("our misjudged lines", worst, 0),
        Target("music21's time over ours, the smaller", min(ratios), 10, at_least=True),
    )
    head = ("mode  judge", "legal called wrong", "wrong let pass", "seconds", f"/ {OURS}")
    return Subject("Movement against scale classes", ABOUT, head, tuple(rows), targets)
