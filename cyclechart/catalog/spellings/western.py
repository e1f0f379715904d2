"""Tonic sol-fa, numbers and letters: spellings that leave no form of a tone open.

Curwen's letters (d r m, with de re fe se le for raised and ra ma la ta for lower ones) and the
movable syllables of class rooms (do di re ri mi …) are common practice, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from cyclechart.catalog.spellings.forms import readings
from cyclechart.catalog.spellings.marks import AFTER, BEFORE, octave_of, signs_on
from cyclechart.catalog.spellings.model import Known, Reading, SpelledTone, Spelling
from cyclechart.theory.spelling import NATURAL, Tonic
from cyclechart.theory.tones import DEGREES

_DOTS = "[\u0307\u0308\u0323\u0324]"
_SYLLABLES = {
    "do": 0, "doh": 0, "di": 1, "ra": 1, "re": 2, "ray": 2, "ri": 3, "me": 3, "mi": 4, "fa": 5,
    "fah": 5, "fi": 6, "se": 6, "so": 7, "sol": 7, "soh": 7, "si": 8, "le": 8, "la": 9, "lah": 9,
    "li": 10, "te": 10, "ti": 11,
}  # fmt: skip
_PLAIN_SYLLABLES = frozenset(
    ("do", "doh", "mi", "fa", "fah", "so", "sol", "soh", "la", "lah", "ti")
)
_CURWEN = {
    "d": 0, "de": 1, "ra": 1, "r": 2, "re": 3, "ma": 3, "m": 4, "f": 5, "fe": 6, "s": 7, "se": 8,
    "la": 8, "l": 9, "le": 10, "ta": 10, "t": 11,
}  # fmt: skip
_SUPERSCRIPT = r"(?P<super>[\u00b9\u00b2\u2081\u2082])?"
_OCTAVE_FIGURES = {"\u00b9": 1, "\u00b2": 2, "\u2081": -1, "\u2082": -2}


def _any_of(names: Sequence[str]) -> str:
    return "|".join(sorted(names, key=len, reverse=True))


_NOT_SOL = _any_of([name for name in _SYLLABLES if name != "sol"])
_SYLLABLE = re.compile(
    rf"{BEFORE}(?P<name>sol(?![aei])|{_NOT_SOL})(?P<dots>{_DOTS}*){AFTER}", re.IGNORECASE
)
_SOLFA_LETTER = re.compile(
    rf"{BEFORE}(?P<name>{_any_of([*_CURWEN])})(?P<dots>{_DOTS}*){_SUPERSCRIPT}{AFTER}"
)
_NUMBER = re.compile(
    rf"{BEFORE}(?P<sign>[#♯b♭])?(?P<name>[1-7])(?P<dots>{_DOTS}*)(?P<later>[#♯b♭](?![1-7]))?{AFTER}"
)
_LETTER = re.compile(
    rf"{BEFORE}(?P<name>[A-Ga-g])(?P<dots>{_DOTS}*)(?P<sign>[#♯♭b])?(?P<number>[0-8])?{AFTER}"
)


def _dots(match: re.Match[str]) -> int:
    signs = signs_on(match["dots"], can_rise=False)
    return signs[0] if signs else 0


def _match_syllable(text: str, at: int) -> tuple[int, SpelledTone] | None:
    match = _SYLLABLE.match(text, at)
    if match is None:
        return None
    name = match["name"].lower()
    octave = _dots(match) + octave_of(match)
    return match.end(), SpelledTone(name, octave=octave, pitch=_SYLLABLES[name])


def _resolve_syllables(tones: Sequence[SpelledTone], known: Known) -> list[Reading]:
    """Return the pitches; si is the seventh tone where no other name is of the class rooms."""
    names = {tone.degree for tone in tones}
    romance = "si" in names and not names & {"ti", "te", "le", "li", "di", "fi", "ri", "me", "se"}
    of_all = [
        tone._replace(pitch=11) if romance and tone.degree == "si" else tone for tone in tones
    ]
    return readings(of_all, known)


def _match_solfa_letter(text: str, at: int) -> tuple[int, SpelledTone] | None:
    match = _SOLFA_LETTER.match(text, at)
    if match is None:
        return None
    octave = _dots(match) + octave_of(match) + _OCTAVE_FIGURES.get(match["super"] or "", 0)
    return match.end(), SpelledTone(match["name"], octave=octave, pitch=_CURWEN[match["name"]])


def _match_number(text: str, at: int) -> tuple[int, SpelledTone] | None:
    match = _NUMBER.match(text, at)
    if match is None or (match["sign"] and match["later"]):
        return None
    sign = match["sign"] or match["later"]
    pitch = DEGREES[match["name"]] + {"b": -1, "♭": -1, "#": 1, "♯": 1}.get(sign or "", 0)
    return match.end(), SpelledTone(
        match["name"], octave=_dots(match) + octave_of(match), pitch=pitch
    )


def _match_letter(text: str, at: int) -> tuple[int, SpelledTone] | None:
    match = _LETTER.match(text, at)
    if match is None:
        return None
    alter = {"b": -1, "♭": -1, "#": 1, "♯": 1}.get(match["sign"] or "", 0)
    semitone = NATURAL[match["name"].upper()] + alter
    octave = _dots(match) + octave_of(match)
    number = match["number"]
    if number is not None:
        semitone += 12 * (int(number) + 1)
    return match.end(), SpelledTone(
        match["name"].upper(), octave=octave, pitch=semitone, placed=number is not None,
        small=match["name"].islower(),
    )  # fmt: skip


def _resolve_letters(tones: Sequence[SpelledTone], known: Known) -> list[Reading]:
    """Return the pitches against Sa; a letter without a figure lies in the octave from Sa up."""
    tonic = known.tonic or Tonic("C")
    if len({tone.placed for tone in tones}) > 1:
        return []
    pitches = []
    for tone in tones:
        assert tone.pitch is not None
        if tone.placed:
            pitches.append(tone.pitch - tonic.midi + 12 * tone.octave)
        else:
            pitches.append((tone.pitch - tonic.semitone) % 12 + 12 * tone.octave)
    return [Reading(tuple(pitches), (f"{tonic} is S",))]


SYLLABLES = Spelling(
    name="syllables",
    distinct=True,
    title="the syllables do re mi",
    match=_match_syllable,
    proves=lambda tones: bool({tone.degree for tone in tones} & _PLAIN_SYLLABLES),
    resolve=_resolve_syllables,
)
SOLFA = Spelling(
    name="sol-fa",
    title="tonic sol-fa, d r m f s l t",
    match=_match_solfa_letter,
    proves=lambda tones: len({tone.degree for tone in tones}) > 1,
    resolve=readings,
    signs=((":", " "), (".", "")),
)
NUMBERS = Spelling(
    name="numbers",
    title="numbers, 1 2 3",
    match=_match_number,
    proves=lambda tones: len({tone.degree for tone in tones}) > 1,
    resolve=readings,
    signs=(("0", "z"),),
)
LETTERS = Spelling(
    name="letters",
    title="letters, C D E",
    match=_match_letter,
    proves=lambda tones: (
        len({tone.small for tone in tones}) == 1 and len({tone.degree for tone in tones}) > 1
    ),
    resolve=_resolve_letters,
)
