"""Answers to the questions about a new piece: texts as somebody gives them -> what they mean.

Each raises ``NoAnswer`` with a plain sentence where a text means nothing.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from fractions import Fraction

from cyclechart.catalog.instrument_words import meant_instruments
from cyclechart.catalog.instruments import instrument, instrument_names
from cyclechart.catalog.known_names import known_name
from cyclechart.catalog.library import Library
from cyclechart.catalog.search import entries, near_names
from cyclechart.draft.first_band import Band, band_of, ensemble_of
from cyclechart.finding import Finding, Spot
from cyclechart.piece.heading import FASTEST, SLOWEST, read_tonic
from cyclechart.piece.players import MOST_PLAYERS, players_from
from cyclechart.text.excerpts import clip
from cyclechart.text.near_names import nearest_names
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import parse_exact, show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

LONGEST_TITLE = 120
LONGEST_FILE_NAME = 60
_NOWHERE = Spot("", 1, 1)


class NoAnswer(ValueError):
    """A text that answers no question: a sentence, with the names that may be meant."""

    def __init__(self, sentence: str, near: Iterable[str] = ()) -> None:
        names = ", ".join(near)
        super().__init__(f"{sentence}; did you mean {names}?" if names else sentence)


def title_in(text: str) -> str:
    """Return a title without signs that cannot be seen."""
    title = " ".join("".join(sign for sign in text if sign.isprintable() or sign == " ").split())
    if not title:
        raise NoAnswer("a title needs a letter")
    if len(title) > LONGEST_TITLE:
        raise NoAnswer(f"a title has at most {LONGEST_TITLE} letters, not {len(title)}")
    return title


def file_name_of(title: str) -> str:
    """Return the name, without an ending, of the file of a piece with a title."""
    plain = title.lower().translate(dict.fromkeys(map(ord, "'’")))
    words = "".join(sign if _is_of_word(sign) else " " for sign in plain).split()
    return "-".join(words)[:LONGEST_FILE_NAME].rstrip("-") or "first-piece"


def _is_of_word(sign: str) -> bool:
    """Return whether a sign is a letter, a figure, or a vowel sign that belongs to a letter."""
    return sign.isalnum() or unicodedata.category(sign).startswith("M")


def mode_in(library: Library, text: str) -> tuple[str, Mode]:
    """Return the name of a mode as a file is to have it, and the mode."""
    mode, findings = library.mode(text, _NOWHERE)
    if mode is not None:
        return known_name(library.modes, text), mode
    wrong = [one for one in findings if one.rule != "unknown-name"]
    if wrong:
        raise NoAnswer(f"{clip(text)}: {wrong[0].message}")
    raise NoAnswer(f"there is no mode '{clip(text)}'", near_names(entries(library)[0], text))


def cycle_in(library: Library, text: str) -> tuple[str, Cycle]:
    """Return the name of a cycle as a file is to have it, and the cycle."""
    cycle, findings = library.cycle(text, _NOWHERE)
    if cycle is not None:
        return known_name(library.cycles, text), cycle
    first = findings[0]
    if first.rule != "unknown-name":
        raise NoAnswer("; try: ".join([first.message, *first.tries[:1]]))
    if first.message.endswith("?"):  # a time signature: cycles of as many beats, one written out
        named = [one for one in first.tries if one.startswith("of ")]
        raise NoAnswer(f"{first.message} {'; '.join(named)}")
    raise NoAnswer(first.message, first.tries)


def tonic_in(text: str) -> Tonic:
    """Return the letter of Sa."""
    tonic = read_tonic(text)
    if tonic is None:
        raise NoAnswer(f"'{clip(text)}' is not a letter name; write one such as D, Eb or F#")
    return tonic


def tempo_in(text: str) -> Fraction:
    """Return the beats a minute."""
    try:
        tempo = parse_exact(text)
    except ValueError as error:
        raise NoAnswer(str(error)) from error
    if not SLOWEST <= tempo <= FASTEST:
        limits = f"{show_exact(SLOWEST)} to {show_exact(FASTEST)}"
        raise NoAnswer(f"a tempo is {limits} beats a minute, not {clip(text)}")
    return tempo


def band_in(library: Library, names: Sequence[str]) -> Band:
    """Return the band of some instruments, or of one ensemble of the band's own."""
    if not 1 <= len(names) <= MOST_PLAYERS:
        raise NoAnswer(f"a band has 1 to {MOST_PLAYERS} players, not {len(names)}")
    found = [instrument(name) for name in names]
    band = _ensemble(library, names[0]) if found == [None] else None
    if band is None:
        for name, one in zip(names, found, strict=True):
            if one is None:
                near = _near_instruments(library, name)
                raise NoAnswer(f"there is no instrument '{clip(name)}'", near)
        band = band_of(one for one in found if one is not None)
    if not band.melodic:
        raise NoAnswer("nobody of these plays melodies; name somebody who does too, such as flute")
    return band


def _near_instruments(library: Library, name: str) -> list[str]:
    ensembles = [str(one) for bands in library.bands for one in bands.pairs]
    meant = list(meant_instruments(name))
    return meant or nearest_names(name, [*instrument_names(), *ensembles])


def _ensemble(library: Library, name: str) -> Band | None:
    found = library.ensemble(name, _NOWHERE)
    if isinstance(found, Finding):
        return None
    players, findings = players_from(found, library)
    wrong = next((one for one in findings if one.severity == "error"), None)
    if wrong is not None:
        raise NoAnswer(wrong.message)
    return ensemble_of(name, players)
