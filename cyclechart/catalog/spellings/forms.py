"""Which form of its degree each tone of a text is: by its signs, by capitals, else by the mode."""

from __future__ import annotations

from collections.abc import Sequence

from cyclechart.catalog.spellings.model import Form, Known, Reading, SpelledTone
from cyclechart.theory.mode import Mode

_NATURAL = {"S": 0, "R": 2, "G": 4, "M": 5, "P": 7, "D": 9, "N": 11}
DEGREES = "SRGMPDN"
_STEP = {"lower": -1, "natural": 0, "raised": 1}
_LEAST_LISTED = 4
TWO_FORMS = "RGDN"
"""The degrees with a lower form; M has a raised one."""


def pitch_of(degree: str, form: Form) -> int:
    """Return the semitone of a degree in one of its forms."""
    return _NATURAL[degree] + _STEP[form]


def only_form(mode: Mode | None, degree: str) -> Form | None:
    """Return the one form of a degree that a mode has; None for both, neither or no mode."""
    if mode is None or degree in "SP":
        return None
    other: Form = "raised" if degree == "M" else "lower"
    forms: tuple[Form, ...] = ("natural", other)
    has = [form for form in forms if pitch_of(degree, form) in mode.tones]
    return has[0] if len(has) == 1 else None


def readings(tones: Sequence[SpelledTone], known: Known) -> list[Reading]:
    """Return the readings of tones, the likeliest first.

    Commas after all but the last may be the octave below, or separate the tones: Sa, Re, Ga, Ma.
    """
    *listed, last = tones
    if len(listed) >= _LEAST_LISTED and not last.comma and all(tone.comma for tone in listed):
        plain = [tone._replace(octave=tone.octave + tone.comma) for tone in tones]
        separated = _readings(plain, known)
        said = [
            one._replace(reasons=(*one.reasons, "commas separate the tones")) for one in separated
        ]
        return _readings(tones, known) + said
    return _readings(tones, known)


def _readings(tones: Sequence[SpelledTone], known: Known) -> list[Reading]:
    signs = _Signs(tones, known.mode)
    by_mode = signs.reading(against_mode=True)
    plain = signs.reading(against_mode=False)
    found = [by_mode] if by_mode.pitches == plain.pitches else [by_mode, plain]
    if signs.open_fourth:
        raised = signs.reading(against_mode=True, fourth="raised")
        found += [raised] * (raised.pitches != by_mode.pitches)
    return found


class _Signs:
    """The forms of tones that the signs and the capitals of a whole text name."""

    def __init__(self, tones: Sequence[SpelledTone], mode: Mode | None) -> None:
        self.tones, self.mode = tones, mode
        self.marked = any(tone.form is not None for tone in tones)
        capitals = {tone.small for tone in tones}
        self.by_case = False in capitals and any(
            tone.small for tone in tones if tone.degree in TWO_FORMS
        )
        fourths = [tone for tone in tones if tone.degree == "M" and tone.form is None]
        self.both_fourths = self.by_case and {tone.small for tone in fourths} == {True, False}
        self.tick_raises = self._tick_raises(fourths)
        self.open_fourth = (
            self.by_case
            and not self.both_fourths
            and not self.marked
            and only_form(mode, "M") is None
            and any(tone.small is False for tone in fourths)
        )

    def _tick_raises(self, fourths: Sequence[SpelledTone]) -> bool:
        ticked = [tone for tone in fourths if tone.tick]
        if not ticked or any(tone.form == "raised" for tone in self.tones):
            return False
        if any(tone.octave > 0 and tone not in ticked for tone in self.tones):
            return False
        return self.mode is None or only_form(self.mode, "M") == "raised"

    def reading(self, *, against_mode: bool, fourth: Form | None = None) -> Reading:
        """Return the pitches, with tones that no sign decides as the mode has them, or natural."""
        pitches: list[int] = []
        taken: set[str] = set()
        for tone in self.tones:
            octave = tone.octave
            if tone.pitch is not None:
                pitches.append(tone.pitch + 12 * octave)
                continue
            form = self.form(tone)
            if tone.degree == "M" and tone.tick and tone.form is None and self.tick_raises:
                octave -= 1
            if form is None and fourth is not None and tone.degree == "M":
                form = fourth
            if form is None and against_mode:
                form = only_form(self.mode, tone.degree)
                if form not in (None, "natural"):
                    taken.add(tone.degree)
            pitches.append(pitch_of(tone.degree, form or "natural") + 12 * octave)
        return Reading(tuple(pitches), tuple(self.reasons(taken, fourth)))

    def form(self, tone: SpelledTone) -> Form | None:
        """Return the form that the text itself says, or None where it leaves it open."""
        if tone.form is not None or tone.degree in "SP":
            return tone.form or "natural"
        if tone.degree == "M":
            if tone.tick and self.tick_raises:
                return "raised"
            if self.both_fourths:
                return "natural" if tone.small else "raised"
            return "natural" if self.marked or (self.by_case and tone.small) else None
        if self.by_case and tone.small:
            return "lower"
        return "natural" if self.marked or self.by_case else None

    def reasons(self, taken: set[str], fourth: Form | None) -> list[str]:
        """Return why the tones are these, in words."""
        said: list[str] = []
        if self.by_case:
            said.append("a small initial is the lower tone")
        if self.tick_raises:
            said.append("' after Ma is the sign of the raised fourth")
        if taken and self.mode is not None:
            letters = " ".join(degree for degree in "RGMDN" if degree in taken)
            said.append(f"{letters} as {self.mode.name} has {_them(taken)}")
        if fourth == "raised":
            said.append("Ma with a capital is the raised fourth")
        elif not taken and not self.marked and not self.by_case and self.leaves_open:
            said.append("without signs every tone is the natural one")
        return said

    @property
    def leaves_open(self) -> bool:
        return any(tone.pitch is None and tone.degree not in "SP" for tone in self.tones)


def _them(taken: set[str]) -> str:
    return "them" if len(taken) > 1 else "it"
