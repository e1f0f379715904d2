"""Tones for a drafted rhythm: a beam search over the lines that a mode allows.

Each tone is judged by the mode's own movement as soon as the notes around it are known. Among the
legal lines those are kept that move in the mode's own phrases, lean on its chief tones, rest where
it rests, rise to one height and come home, and do not run or rock for long. The weights are ours.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from random import Random
from typing import NamedTuple

from cyclechart.draft.rhythms import Beat
from cyclechart.theory.grammar import around_of
from cyclechart.theory.leaning import LONG, PA, SA, chief_tones, tones_to_end_on
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Around
from cyclechart.theory.ways import runs_of

BEAM = 28
"""The lines that are kept at each note."""
SAME_END = 3
"""The most of them that end alike."""
WIDEST = 9
"""The widest step in semitones; wider ones only where the mode's own ways make them."""
MOST_PLACES = 4
"""The most places of the scale that it goes."""
EASY = 5
"""After a wider step, in semitones, a line turns back."""
_SKIPS = (0.0, 0.0, 0.2, 0.6, 1.0, 1.4, 1.8, 2.2)
"""The costs of a step by the places of the scale that it goes."""
LONGEST_RUN = 4
"""The notes in one direction after which a line should turn."""
TAIL = 9
"""The last notes of a breath that are remembered."""


class Contour(NamedTuple):
    """The heights (pitches) that a line heads for: at its beginning, its peak and its end."""

    start: int
    peak: int
    end: int
    peak_at: float = 0.62
    """The place of the peak, as a part of the line."""
    pull: float = 0.07
    """The cost of each semitone away from it."""

    def at(self, place: float) -> float:
        """Return the height at a place from 0 to 1."""
        if place <= self.peak_at:
            return self.start + (self.peak - self.start) * place / self.peak_at
        return self.peak + (self.end - self.peak) * (place - self.peak_at) / (1 - self.peak_at)


class _Held(NamedTuple):
    """A note of the rhythm: its length for the sums, and whether a line must be at rest on it."""

    length: float
    rests: bool
    beat: Beat


class Sung(NamedTuple):
    """A line that is found: a pitch for each note, and how good it is."""

    pitches: tuple[int, ...]
    score: float


@dataclass(frozen=True, slots=True)
class _Path:
    """A line so far. ``breath``: the pitches of its breath, repeats left out."""

    score: float
    pitches: tuple[int, ...]
    breath: tuple[int, ...]
    run: int
    used: frozenset[int]


class MelodySearch:
    """Searches lines in one mode between two pitches."""

    def __init__(self, mode: Mode, lowest: int, highest: int) -> None:
        self.mode = mode
        self.moves = mode.moves
        self.range = [p for p in range(lowest, highest + 1) if p % 12 in mode.tones]
        scale = [p for p in range(lowest, highest + 1) if p % 12 in mode.up | mode.down]
        self.places = {p: bisect_left(scale, p) for p in self.range}
        self.resting = tones_to_end_on(mode) or frozenset(mode.tones)
        self.chief = chief_tones(mode) or (SA, PA)
        self.weak = frozenset(mode.weak)
        phrases = [tuple(p for _, p in runs_of(phrase)) for phrase in mode.phrases]
        self.phrases = {
            (phrase[0] % 12, *_steps(phrase)): number
            for number, phrase in enumerate(phrases)
            if len(phrase) > 2
        }
        self.phrase_ends = {
            (phrase[-2] % 12, phrase[-1] - phrase[-2]) for phrase in phrases if phrase[1:]
        }
        self.sizes = sorted({len(phrase) for phrase in self.phrases})
        self.own_threes = _threes(phrases)
        self.own_twos = {(a % 12, b - a) for phrase in phrases for a, b in pairwise(phrase)}
        ways = [tuple(p for _, p in runs_of(way)) for way in mode.ways]
        self.path_threes = _threes(ways)
        self._legal: dict[Around, bool] = {}
        self._next: dict[int, list[int]] = {}

    def lines(
        self,
        beats: Sequence[Beat],
        contour: Contour,
        chance: Random,
        *,
        last: Sequence[int],
        first: Sequence[int] = (),
        said_again: bool = False,
        many: int = 4,
    ) -> list[Sung]:
        """Return the best lines of a rhythm whose last pitch is one of ``last``.

        ``first``: the pitches to begin with, any without them. ``said_again``: after its last note
        it may be said once more in the same breath, which must be legal as well.
        """
        noise = [chance.random() for _ in range(64)]
        paths = [_Path(0.0, (), (), 0, frozenset())]
        total = float(beats[-1].start - beats[0].start) or 1.0
        for number, beat in enumerate(beats):
            final = number == len(beats) - 1
            height = contour.at(float(beat.start - beats[0].start) / total)
            opens = number == 0 or beats[number - 1].breath
            held = _Held(
                float(beat.length), beat.closes or beat.breath or beat.length >= LONG, beat
            )
            following: list[_Path] = []
            for path in paths:
                for pitch in self._candidates(path, first if number == 0 else ()):
                    if final and pitch not in last:
                        continue
                    spice = 0.5 * noise[(number * 7 + pitch * 5) % 64]
                    grown = self._grown(
                        path, pitch, held, spice - contour.pull * abs(pitch - height), opens
                    )
                    if grown is None:
                        continue
                    if (final or beat.breath) and not self._ends_well(grown.breath):
                        continue
                    following.append(grown)
            paths = _best(following)
        if said_again:
            paths = [path for path in paths if self.is_legal(path.pitches * 2)]
        return [Sung(path.pitches, path.score) for path in paths[:many]]

    def _candidates(self, path: _Path, first: Sequence[int]) -> Sequence[int]:
        if not path.pitches:
            return first or self.range
        before = path.pitches[-1]
        found = self._next.get(before)
        if found is None:
            found = self._next[before] = [
                pitch
                for pitch in self.range
                if self._is_near(before, pitch)
                or (before % 12, pitch - before) in self.moves.ways.steps
            ]
        return found

    def _is_near(self, before: int, pitch: int) -> bool:
        far = abs(self.places[pitch] - self.places[before]) > MOST_PLACES
        return abs(pitch - before) <= WIDEST and not far

    def _grown(
        self, path: _Path, pitch: int, held: _Held, score: float, opens: bool
    ) -> _Path | None:
        """Return a line with one note more, None where the mode is against it."""
        tone = pitch % 12
        length, rests, beat = held
        if rests and (tone not in self.resting or tone in self.weak):
            return None
        before = path.pitches[-1] if path.pitches else None
        same = before == pitch
        breath = (pitch,) if opens else path.breath if same else (*path.breath, pitch)
        if not same and not opens and not self._is_legal_so_far(breath):
            return None
        if tone in self.chief:
            score += (0.22 if tone == self.chief[0] else 0.12) * min(length, 3.0)
        if rests:
            score += 0.5 if tone == self.chief[0] else 0.3 if tone in self.chief else 0.0
        if tone in self.weak and length >= 1:
            score -= 0.4
        if beat.accent == 2 and tone in (*self.chief, SA):
            score += 0.35
        if beat.like is not None and path.pitches[beat.like] == pitch:
            score += 0.9
        score += self._step_score(path, before, pitch, opens)
        run = self._run(path, before, pitch)
        if run > LONGEST_RUN:
            score -= 0.5 * (run - LONGEST_RUN)
        used, more = self._phrase_said(path, breath, same)
        return _Path(
            path.score + score + more,
            (*path.pitches, pitch),
            breath[-TAIL:],
            run,
            used,
        )

    def _step_score(self, path: _Path, before: int | None, pitch: int, opens: bool) -> float:
        if before is None:
            return 0.0
        step = pitch - before
        if step == 0:
            twice = len(path.pitches) > 1 and path.pitches[-2] == pitch
            return -2.5 if twice else -0.7
        score = 0.0
        own = (before % 12, step) in self.own_twos
        skipped = abs(self.places[pitch] - self.places[before])
        score -= _SKIPS[min(skipped, len(_SKIPS) - 1)] * (0.5 if opens or own else 1.0)
        if opens or len(path.breath) < 2:
            return score
        older = path.breath[-2]
        three = (older % 12, before - older, step)
        if three in self.own_threes:
            score += 0.55
        elif three in self.path_threes:
            score += 0.15
        # After a leap a line turns back.
        if abs(before - older) > EASY and (step > 0) == (before > older):
            score -= 0.6
        if older == pitch and len(path.breath) > 2 and path.breath[-3] == before:
            score -= 1.6  # it rocks to and fro
        return score

    @staticmethod
    def _run(path: _Path, before: int | None, pitch: int) -> int:
        if before is None or before == pitch:
            return path.run
        rises = pitch > before
        rose = len(path.breath) > 1 and path.breath[-1] > path.breath[-2]
        fell = len(path.breath) > 1 and path.breath[-1] < path.breath[-2]
        return path.run + 1 if (rises and rose) or (not rises and fell) else 1

    def _phrase_said(
        self, path: _Path, breath: tuple[int, ...], same: bool
    ) -> tuple[frozenset[int], float]:
        """Return the phrases that a line has said, and the worth of one that it just ended."""
        if same or len(breath) < 3:
            return path.used, 0.0
        if (breath[-2] % 12, breath[-1] - breath[-2]) not in self.phrase_ends:
            return path.used, 0.0
        worth = 0.0
        used = path.used
        for size in self.sizes:
            if size > len(breath):
                break
            tail = breath[-size:]
            number = self.phrases.get((tail[0] % 12, *_steps(tail)))
            if number is not None:
                worth += 0.45 * size if number not in used else 0.25
                used = used | {number}
        return used, worth

    def _is_legal_so_far(self, breath: tuple[int, ...]) -> bool:
        """Return whether the note that now has two notes after it, and the one that has one, can
        stand."""
        count = len(breath)
        if count >= 3 and not self._is_legal(around_of(breath, count - 3)):
            return False
        _, before, this, after, _ = around = around_of(breath, count - 2)
        fault = self.moves.fault(before, this, after)
        return fault is None or self.moves.is_own(around)

    def _ends_well(self, breath: tuple[int, ...]) -> bool:
        """Return whether the last notes of a breath that ends here can stand."""
        count = len(breath)
        return all(self._is_legal(around_of(breath, at)) for at in range(max(0, count - 3), count))

    def is_legal(self, breath: Sequence[int]) -> bool:
        """Return whether the mode has nothing against a breath."""
        path = tuple(pitch for _, pitch in runs_of(breath))
        return all(self._is_legal(around_of(path, number)) for number in range(len(path)))

    def _is_legal(self, around: Around) -> bool:
        known = self._legal.get(around)
        if known is None:
            moves = self.moves
            known = self._legal[around] = not (
                moves.fault_at(around)
                or moves.turns_on_left_out(around)
                or moves.skips_turn(around)
            )
        return known


def _steps(path: Sequence[int]) -> tuple[int, ...]:
    return tuple(b - a for a, b in pairwise(path))


def _threes(paths: Sequence[Sequence[int]]) -> set[tuple[int, int, int]]:
    """Return every three notes of some paths, octave-free: a tone and the two steps after it."""
    return {
        (path[at] % 12, path[at + 1] - path[at], path[at + 2] - path[at + 1])
        for path in paths
        for at in range(len(path) - 2)
    }


def _best(paths: list[_Path]) -> list[_Path]:
    """Return the best lines, not too many of them with the same end."""
    paths.sort(key=lambda path: (-path.score, path.pitches))
    kept: list[_Path] = []
    ends: dict[tuple[int, ...], int] = {}
    for path in paths:
        end = path.pitches[-4:]
        if ends.get(end, 0) < SAME_END:
            ends[end] = ends.get(end, 0) + 1
            kept.append(path)
            if len(kept) == BEAM:
                break
    return kept
