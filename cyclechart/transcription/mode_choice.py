"""Sa and the mode of a tune: Sa from its key and its last note, the mode by how lines fit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

from cyclechart.catalog.definitions import FEWEST_TONES
from cyclechart.catalog.fitting import by_line
from cyclechart.catalog.search import ModeEntry, ModeMatch, is_bare, letters
from cyclechart.piece.heading import read_tonic
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.likeness import hear
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import TONICS, Tonic
from cyclechart.theory.tones import show_path
from cyclechart.transcription.tune import KeyMark, Tune, TuneNote

BREATH = Fraction(1)
"""Silence of so many units ends a breath."""
MOST_NOTES = 1500
"""The notes of a tune that modes are compared with, from its beginning."""
_FILLING = (7, 5, 2, 9, 4)
"""The tones that are added where there are too few for a mode."""
_SIGNS = {-1: "b", 0: "", 1: "#"}


class Sa(NamedTuple):
    """The letter of Sa as it is written in a piece, and why it is that."""

    letter: str
    tonic: Tonic
    reason: str


class ModeChoice(NamedTuple):
    """The mode of a tune: its name ("" where it is written out), its text in a piece (YAML), why,
    and the names of the next best."""

    name: str
    written: str
    reason: str
    others: tuple[str, ...]


def guessed_sa(tune: Tune, notes: Sequence[TuneNote]) -> Sa:
    """Return Sa from the key that the source names and the last note."""
    last = notes[-1].pitch % 12 if notes else 0
    key = tune.keys[0] if tune.keys else None
    if key is not None and key.final is not None and key.scale not in ("", "major"):
        return _sa(key.final, key, f"the key is {key.scale}")
    if key is not None:
        major = key.sharps * 7 % 12
        if key.final is not None and last not in (major, (major + 9) % 12):
            return _sa(major, key, "of the key signature, taken as major")
        if last in {(major + step) % 12 for step in (0, 2, 4, 5, 7, 9, 11)}:
            how = "the last note, which the key signature has"
            return _sa(last, key, how)
        return _sa(major, key, "of the key signature, taken as major")
    return _sa(last, None, "the last note")


def letter_of(pitch_class: int, keys: Sequence[KeyMark]) -> str:
    """Return a pitch class as a letter for Sa: sharp where the key signature has sharps."""
    tonic = TONICS[pitch_class % 12]
    if tonic.alter < 0 and keys and keys[0].sharps > 0:
        tonic = Tonic(TONICS[(pitch_class - 1) % 12].letter, 1)
    return f"{tonic.letter}{_SIGNS[tonic.alter]}"


def _sa(pitch_class: int, key: KeyMark | None, reason: str) -> Sa:
    letter = letter_of(pitch_class, () if key is None else (key,))
    tonic = read_tonic(letter)
    assert tonic is not None
    return Sa(letter, tonic, reason)


def guessed_mode(
    entries: Iterable[ModeEntry], lines: Iterable[Sequence[TuneNote]], sa: int, title: str
) -> ModeChoice:
    """Return the mode in which the lines of a tune move best; it holds all of their tones."""
    breaths = list(_breaths(lines, sa))
    heard = hear(breaths)
    tones = frozenset(heard.shares)
    known = [entry for entry in entries if tones <= entry.mode.tones]
    found = sorted(by_line(known, heard), key=lambda match: -match.score)
    clean = [one for one in found if not _faults(one.mode, heard.breaths)]
    plain = [ModeMatch(one.key, one.mode, 0.0, ()) for one in _bare(known)]
    best = [*clean, *(one for one in found if one not in clean), *plain]
    if not best:
        return _own_mode(tones, title)
    others = tuple(dict.fromkeys(one.key for one in best[1:] if one.key != best[0].key))[:3]
    reasons = "; ".join(best[0].reasons[:3]) or "has all of its tones"
    return ModeChoice(best[0].key, best[0].key, reasons, others)


def _bare(known: Iterable[ModeEntry]) -> list[ModeEntry]:
    return [entry for entry in known if is_bare(entry.mode)]


def _faults(mode: Mode, breaths: Iterable[Sequence[int]]) -> bool:
    """Return whether any breath has a fault in a mode."""
    return any(True for breath in breaths for _ in judge_breath(mode, breath))


def _breaths(lines: Iterable[Sequence[TuneNote]], sa: int) -> Iterable[list[tuple[int, Fraction]]]:
    """Yield the notes of lines as (semitones above Sa, length), breath by breath."""
    left = MOST_NOTES
    for notes in lines:
        breath: list[tuple[int, Fraction]] = []
        end: Fraction | None = None
        for note in notes[:left]:
            if breath and end is not None and note.start - end >= BREATH:
                yield breath
                breath = []
            breath.append((note.pitch - sa, note.length))
            end = note.end
        left -= len(notes[:left])
        if breath:
            yield breath


def _own_mode(tones: frozenset[int], title: str) -> ModeChoice:
    """Return a mode of just these tones, written out."""
    held = set(tones) | {0}
    for tone in _FILLING:
        if len(held) < FEWEST_TONES:
            held.add(tone)
    rising = sorted(held)
    ascent = show_path((*rising, 12))
    descent = show_path((12, *reversed(rising)))
    # In double quotes: the paths have octave marks.
    written = f'{{name: "Tones of {_clean(title)}", ascent: "{ascent}", descent: "{descent}"}}'
    return ModeChoice("", written, f"no mode of the catalogue has {letters(tones)}", ())


def _clean(title: str) -> str:
    return (
        "".join(sign for sign in title if sign.isalnum() or sign in " -'")[:60].strip() or "a tune"
    )
