"""Whether a mode is new, or known to the catalogue under another name; and what is near it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cyclechart.catalog.library import fold
from cyclechart.catalog.melas import NAMES, mela_tones
from cyclechart.catalog.search import Entry
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM

MOST = 6
"""Names said in a row; nobody reads more."""
FULL = 7
"""Tones of a scale that leaves none out."""
NEAR = 2
"""Tones by which a near mode may differ: one for another, or one more or less."""


def kin_of(mode: Mode, known: Sequence[Entry]) -> Iterator[str]:
    """Plain sentences: the same paths under another name; the same tones and how they move
    otherwise; the nearest by tones where none has the same; the mela of the tones."""
    others = [entry for entry in known if fold(entry.mode.name) != fold(mode.name)]
    tones = mode.up | mode.down
    same = [entry for entry in others if entry.mode.up | entry.mode.down == tones]
    twins = [entry for entry in same if _paths(entry.mode) == _paths(mode)]
    if twins:
        yield f"The paths of {_row(twins)} under another name."
    # A bare scale is no mode of its own; the tones' mela is said below.
    alike = sorted(
        (entry for entry in same if entry not in twins and not _is_bare(entry.mode)),
        key=lambda entry: len(mode.up ^ entry.mode.up) + len(mode.down ^ entry.mode.down),
    )
    for entry in alike[:MOST]:
        yield f"The tones of {entry.mode.name}, whose {_otherwise(mode, entry.mode)}."
    if len(alike) > MOST:
        yield f"The same tones too: {_row(alike[MOST:])}."
    if not same:
        near = [
            (entry, said) for entry in others if (said := _change(tones, entry.mode)) is not None
        ]
        yield "No other mode of the catalogue has these tones." + (
            f" Near it: {', '.join(f'{entry.mode.name} ({said})' for entry, said in near[:MOST])}."
            if near
            else ""
        )
    number = mela_of(tones)
    if number is not None:
        yield f"The tones are those of mela {number} ({NAMES[number - 1]})."


def mela_of(tones: frozenset[int]) -> int | None:
    """The mela with just these tones; None where none of the 72 has."""
    return next((n for n in range(1, 73) if frozenset(mela_tones(n)) == tones), None)


def _paths(mode: Mode) -> tuple[tuple[int, ...], tuple[int, ...]]:
    return mode.ascent, mode.descent


def _row(entries: Sequence[Entry]) -> str:
    names = [entry.mode.name for entry in entries[:MOST]]
    more = len(entries) - len(names)
    return ", ".join(names) + (f" and {more} more" if more else "")


def _is_bare(mode: Mode) -> bool:
    straight = mode.ascent == mode.descent[::-1] and len(mode.up) == FULL
    return straight and mode.vadi is None and not mode.phrases and not mode.rests


def _otherwise(mode: Mode, other: Mode) -> str:
    """How a mode of the same tones moves otherwise."""
    ways = (
        ("ascent", mode.ascent, other.ascent),
        ("descent", mode.descent, other.descent),
    )
    said = [
        f"{which} has {_more_and_fewer(_tones(ours), _tones(theirs))}"
        for which, ours, theirs in ways
        if _tones(ours) != _tones(theirs)
    ]
    if said:
        return " and ".join(said)
    turned = [which for which, ours, theirs in ways if ours != theirs]
    return f"{' and '.join(turned)} {'turn' if len(turned) > 1 else 'turns'} otherwise"


def _tones(path: tuple[int, ...]) -> frozenset[int]:
    return frozenset(pitch % 12 for pitch in path)


def _more_and_fewer(ours: frozenset[int], theirs: frozenset[int]) -> str:
    more = [f"{_letters(theirs - ours)} as well"] if theirs - ours else []
    fewer = [f"no {_letters(ours - theirs)}"] if ours - theirs else []
    return " and ".join([*more, *fewer])


def _change(tones: frozenset[int], other: Mode) -> str | None:
    """What makes another mode's tones these, where it is one tone."""
    held = other.up | other.down
    if held == tones or len(held ^ tones) > NEAR:
        return None
    ours, theirs = tones - held, held - tones
    if len(ours) > 1 or len(theirs) > 1:
        return None
    if ours and theirs:
        return f"with {_letters(ours)} for {_letters(theirs)}"
    return f"with {_letters(ours)}" if ours else f"without {_letters(theirs)}"


def _letters(tones: frozenset[int]) -> str:
    return " ".join(SARGAM[tone] for tone in sorted(tones))
