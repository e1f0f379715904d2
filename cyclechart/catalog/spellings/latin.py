"""The seven names in Latin letters: Sa Re Ga, S R G with signs, s r g m, and the sixteen of the
South."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from cyclechart.catalog.spellings.forms import readings
from cyclechart.catalog.spellings.marks import (
    AFTER,
    BEFORE,
    COMBINING,
    SIGN,
    WORD_AFTER,
    WORD_BEFORE,
    form_of_words,
    is_tick,
    octave_of,
    signs_on,
)
from cyclechart.catalog.spellings.model import Form, SpelledTone, Spelling
from cyclechart.theory.tones import SOLFA16

_DEGREES = {
    "sa": "S", "re": "R", "ri": "R", "ray": "R", "ga": "G", "ma": "M", "pa": "P", "dha": "D",
    "da": "D", "ni": "N",
}  # fmt: skip


def _with_marks(name: str) -> str:
    return "".join(f"{letter}{COMBINING}*" for letter in name)


_LONGEST_FIRST = sorted(_DEGREES, key=len, reverse=True)
_NAME = f"(?P<name>{'|'.join(_with_marks(name) for name in _LONGEST_FIRST)})"
_LETTER = f"(?P<name>[srgmpdn]{COMBINING}*)"
_NAMED = re.compile(BEFORE + WORD_BEFORE + _NAME + SIGN + WORD_AFTER + AFTER, re.IGNORECASE)
_LETTERED = re.compile(BEFORE + WORD_BEFORE + _LETTER + SIGN + WORD_AFTER + AFTER, re.IGNORECASE)
_SMALL = re.compile(BEFORE + f"(?P<name>[srgmpdn]{COMBINING}*)" + AFTER)
_SIXTEEN = re.compile(
    BEFORE
    + f"(?P<name>(?:{'|'.join(map(_with_marks, _LONGEST_FIRST))})|[srgmpdn]{COMBINING}*)"
    + r"(?P<figure>[123\u2081-\u2083\u00b9\u00b2\u00b3])?"
    + AFTER,
    re.IGNORECASE,
)
_FIGURES = dict(zip("123\u2081\u2082\u2083\u00b9\u00b2\u00b3", "123" * 3, strict=True))


class _Name:
    """A matched name: its letters and the signs on them."""

    def __init__(self, written: str) -> None:
        self.letters = "".join(sign for sign in written if sign.isalpha() and sign.isascii())
        self.marks = "".join(
            sign
            for before, sign in pairwise(written)
            if not sign.isascii() and not (sign == "\u0304" and before in "aeiAEI")
        )

    @property
    def degree(self) -> str:
        low = self.letters.lower()
        return _DEGREES.get(low) or low.upper()

    @property
    def small(self) -> bool:
        return self.letters[0].islower()


def _tone(match: re.Match[str], said: Form | None) -> tuple[int, SpelledTone] | None:
    name = _Name(match["name"])
    signs = signs_on(name.marks, can_rise=name.degree == "M")
    if signs is None:
        return None
    octave, drawn = signs
    form = said or drawn
    if form is not None and not _fits(name.degree, form):
        return None
    return match.end(), SpelledTone(
        name.degree,
        form,
        octave + octave_of(match),
        name.small,
        tick=is_tick(match),
        comma=match["marks"] == ",",
    )


def _fits(degree: str, form: Form) -> bool:
    if degree in "SP":
        return form == "natural"
    return form == "natural" or (form == "raised") == (degree == "M")


def _match_name(text: str, at: int) -> tuple[int, SpelledTone] | None:
    match = _NAMED.match(text, at)
    return _tone(match, form_of_words(match)) if match else None


def _match_letter(text: str, at: int) -> tuple[int, SpelledTone] | None:
    match = _LETTERED.match(text, at)
    return _tone(match, form_of_words(match)) if match else None


def _match_small(text: str, at: int) -> tuple[int, SpelledTone] | None:
    match = _SMALL.match(text, at)
    found = _tone(match, None) if match else None
    return None if found is None else (found[0], found[1]._replace(tick=False))


def _match_sixteen(text: str, at: int) -> tuple[int, SpelledTone] | None:
    match = _SIXTEEN.match(text, at)
    if match is None:
        return None
    name = _Name(match["name"])
    signs = signs_on(name.marks, can_rise=False)
    figure = _FIGURES.get(match["figure"] or "", "")
    pitch = SOLFA16.get(name.degree + figure)
    if signs is None or signs[1] is not None or (pitch is None and figure):
        return None
    octave = signs[0] + octave_of(match)
    return match.end(), SpelledTone(name.degree, None, octave, pitch=pitch)


def _is_marked(tones: Sequence[SpelledTone]) -> bool:
    return any(tone.form is not None for tone in tones)


NAMES = Spelling(
    name="names",
    distinct=True,
    title="the names Sa Re Ga Ma",
    match=_match_name,
    proves=lambda tones: len({tone.degree for tone in tones}) > 1,
    resolve=readings,
    signs=(("S", "-"), ("s", "-"), ("\u093d", "-")),
)
MARKED = Spelling(
    name="marked",
    title="S R G with a sign for each lower or raised tone",
    match=_match_letter,
    proves=_is_marked,
    resolve=readings,
)
SMALL = Spelling(
    name="small",
    title="small letters, s r g m",
    match=_match_small,
    proves=lambda tones: any(tone.degree in "SP" for tone in tones),
    resolve=readings,
)
SIXTEEN = Spelling(
    name="sixteen",
    distinct=True,
    title="the sixteen names of the South, R1 R2 G3 M1",
    match=_match_sixteen,
    proves=lambda tones: any(tone.pitch is not None and tone.degree not in "SP" for tone in tones),
    resolve=readings,
)
