"""The scripts that a line can be written in.

A script has a pattern for the tone of one element, and reads and writes its value: semitones above
the middle Sa, a drum syllable, a chord symbol, or the drums of a kit that are struck at once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.spelling import NATURAL, Tonic
from cyclechart.theory.tones import DEGREES, SARGAM, SEMITONE, SOLFA16, show_pitch

MAX_OCTAVES = 3
MARKS = r"(?:'{1,9}|,{1,9})?"

Value = int | str | ChordSymbol


@dataclass(frozen=True, kw_only=True)
class Script:
    """``tone`` matches one tone with its octave marks; ``read`` gives its value or None."""

    name: str
    tone: re.Pattern[str]
    read: Callable[[str], Value | None]
    write: Callable[[Value], str]
    hint: str
    cut: Callable[[str], list[tuple[str, ...]]] | None = None
    """Every way of cutting a run of letters into syllables; for drum syllables only."""
    known: tuple[str, ...] = ()
    """The catalogue's syllables, to name the nearest; for drum syllables only."""
    dotted: bool = False
    """True if a '.' may stand between elements of a cell."""
    find: Callable[[str, int], tuple[Value, int] | None] | None = None
    """The value at an index of a cell and where it ends; for chord symbols only."""
    mend: Callable[[str, int], tuple[str, str, list[str]]] | None = None
    """What stands at an index of a cell that is no value: its text, why not, what to try."""
    unread: Callable[[str], tuple[str, list[str]]] | None = None
    """What is wrong with a tone that cannot be read, and what to try; None for the plain words."""
    pitched: bool = True
    """False where nothing can glide or shake."""


_LENGTH_WITHIN = re.compile(r"(/[0-9]{1,3})[^0-9/]")


def ends_inside(text: str) -> str:
    """Return the length of a cell (``/2``) with which a text begins although more of the cell
    follows; "" where there is none."""
    found = _LENGTH_WITHIN.match(text)
    return found[1] if found else ""


def _marked(text: str) -> tuple[str, int]:
    bare = text.rstrip("',")
    marks = text[len(bare) :]
    octave = len(marks) if marks.startswith("'") else -len(marks)
    return bare, octave


def _from_table(table: dict[str, int]) -> Callable[[str], Value | None]:
    def read(text: str) -> Value | None:
        bare, octave = _marked(text)
        if bare not in table or abs(octave) > MAX_OCTAVES:
            return None
        return table[bare] + 12 * octave

    return read


def _to_table(names: list[str]) -> Callable[[Value], str]:
    def write(value: Value) -> str:
        assert isinstance(value, int)
        octave = value // 12
        return names[value % 12] + ("'" * octave if octave >= 0 else "," * -octave)

    return write


SARGAM_SCRIPT = Script(
    name="sargam",
    tone=re.compile(f"[{SARGAM}]{MARKS}"),
    read=_from_table(SEMITONE),
    write=lambda value: show_pitch(int(str(value))),
    hint=(
        "the tones are S r R g G m M P d D n N, with ' for the octave above and , for the one below"
    ),
)
DEGREES_SCRIPT = Script(
    name="degrees",
    tone=re.compile(f"[b#♭♯]?[1-7]{MARKS}"),
    read=lambda text: _from_table(DEGREES)(text.replace("♭", "b").replace("♯", "#")),
    write=_to_table(sorted(DEGREES, key=lambda name: DEGREES[name])),
    hint="the degrees are 1 b2 2 b3 3 4 #4 5 b6 6 b7 7",
)


def strokes_script(cut: Callable[[str], list[tuple[str, ...]]], known: tuple[str, ...]) -> Script:
    """Drum syllables, run together or separated by '.', cut by the catalogue's table."""
    return Script(
        name="strokes",
        tone=re.compile("[A-Ya-y]+"),
        read=lambda text: text.lower(),
        write=str,
        hint="drum syllables such as dha dhin na tin ta, run together (dhage) or separated by '.'",
        cut=cut,
        known=known,
        dotted=True,
    )


_SIXTEEN = {semitone: name for name, semitone in reversed(SOLFA16.items())}
SOLFA16_SCRIPT = Script(
    name="solfa16",
    tone=re.compile(f"(?:[RGDN][123]|M[12]|[SP]){MARKS}"),
    read=_from_table(SOLFA16),
    write=_to_table([_SIXTEEN[semitone] for semitone in range(12)]),
    hint="the names are S R1 R2 R3 G1 G2 G3 M1 M2 P D1 D2 D3 N1 N2 N3",
)


def letters_script(tonic: Tonic) -> Script:
    """Letter names, read against Sa: a letter without marks lies in the octave from Sa upward."""
    names: dict[str, int] = {}
    for letter, natural in NATURAL.items():
        for sign, alter in (("", 0), ("b", -1), ("#", 1)):
            names[letter + sign] = (natural + alter - tonic.semitone) % 12
    plain = {semitone: name for name, semitone in reversed(names.items())}
    plain |= {semitone: name for name, semitone in names.items() if len(name) == 1}
    read = _from_table(names)
    return Script(
        name="letters",
        tone=re.compile(f"[A-G][#b♯♭]?{MARKS}"),
        read=lambda text: read(text.replace("♭", "b").replace("♯", "#")),
        write=_to_table([plain[semitone] for semitone in range(12)]),
        hint="the letters are C D E F G A B with # or b",
    )


def kit_script(drums: Mapping[str, str], hint: str) -> Script:
    """The drums of a kit by their letters, with + between those that are struck at once.

    ``drums``: the name of each letter. A value has the names, with + between.
    """
    letter_of = {name: letter for letter, name in drums.items()}

    def read(text: str) -> Value | None:
        struck = text.split("+")
        if not set(struck) <= set(drums) or len(set(struck)) < len(struck):
            return None
        return "+".join(drums[letter] for letter in struck)

    def unread(text: str) -> tuple[str, list[str]]:
        struck = text.split("+")
        unknown = next((letter for letter in struck if letter not in drums), None)
        if unknown is None:
            twice = next(letter for letter in struck if struck.count(letter) > 1)
            return f"'{text}' has '{twice}' twice at once", ["+".join(dict.fromkeys(struck))]
        if not unknown:
            return "'+' stands between two drums", [hint]
        small = unknown.lower()
        tries = [f"{small} (the letters are small)"] if small in drums else []
        return f"'{unknown}' is not a drum of the kit", [*tries, hint]

    return Script(
        name="kit",
        tone=re.compile(r"[A-Ya-y](?:\+[A-Ya-y]?)*|\+[A-Ya-y]?"),
        read=read,
        write=lambda value: "+".join(letter_of[name] for name in str(value).split("+")),
        hint=hint,
        unread=unread,
        pitched=False,
    )
