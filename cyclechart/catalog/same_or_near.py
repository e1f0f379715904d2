"""The kin of a mode: the same mode under another name, and similar modes.

A mode that is not in the catalogue is not therefore new: the catalogue gives one printed form of
each mode, and teachers and lineages differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cyclechart.catalog.library import fold
from cyclechart.catalog.melas import NAMES, mela_tones, sounded
from cyclechart.catalog.search import ModeEntry, is_bare, letters, tones_of
from cyclechart.theory.leaning import chief_tones
from cyclechart.theory.mode import Mode

MOST = 6
"""The most names in one row."""
MOST_SAID = 3
"""The most modes whose different movement is described."""
NEAR = 2
"""The most tones by which a near mode differs: one for another, or one more or less."""


def kin_of(mode: Mode, known: Sequence[ModeEntry]) -> Iterator[str]:
    """Yield plain sentences on a mode's kin.

    They name the modes of the same paths; those of the same tones, and how they move otherwise; the
    nearest by tones where none has the same; and the scale that the tones are.
    """
    others = [entry for entry in known if fold(entry.mode.name) != fold(mode.name)]
    tones = tones_of(mode)
    same_tones = [entry for entry in others if tones_of(entry.mode) == tones]
    same_paths = [entry for entry in same_tones if _paths(entry.mode) == _paths(mode)]
    other_paths = [
        entry for entry in same_tones if entry not in same_paths and not is_bare(entry.mode)
    ]
    sentences = [*_same_paths(mode, same_paths), *_same_tones(mode, other_paths)]
    yield from sentences
    if not sentences:
        bare = " except as a scale" if same_tones else ""
        yield f"No other mode of the catalogue has these tones{bare}.{_near(mode, others)}"
    called = _called(mode, same_tones)
    if called:
        yield called


def _same_paths(mode: Mode, twins: Sequence[ModeEntry]) -> Iterator[str]:
    """Yield the modes of the same paths: another name of this one, or another vadi."""
    apart = [entry for entry in twins if _leans_otherwise(mode, entry.mode)]
    # A bare scale is no mode of its own; its name is given with the scale's.
    renamed = [entry for entry in twins if entry not in apart and not is_bare(entry.mode)]
    if renamed:
        yield f"The same paths as {_row(renamed)}, under another name."
    for twin in apart:
        leans = letters(chief_tones(twin.mode))
        yield f"The same paths as {twin.mode.name}, which leans on {leans}."


def _same_tones(mode: Mode, entries: Sequence[ModeEntry]) -> Iterator[str]:
    """Yield one sentence on the modes of the same tones and other paths, the likest first."""
    alike = sorted(entries, key=lambda entry: _difference(mode, entry.mode))
    if alike:
        nearest = "; as ".join(
            f"{entry.mode.name}, whose {_otherwise(mode, entry.mode)}"
            for entry in alike[:MOST_SAID]
        )
        more = f". Also with these tones: {_row(alike[MOST_SAID:])}" if alike[MOST_SAID:] else ""
        yield f"The same tones as {nearest}{more}."


def mela_of(tones: frozenset[int]) -> int | None:
    """Return the number of the mela with just these tones; None where none of the 72 has."""
    return next((n for n in range(1, 73) if frozenset(mela_tones(n)) == tones), None)


def _called(mode: Mode, same: Sequence[ModeEntry]) -> str:
    """Return the names of the tones as a scale: the mela, the thaat, the name in jazz."""
    number = mela_of(tones_of(mode))
    mela = NAMES[number - 1] if number is not None else ""
    taken = {_heard(one) for one in (mela, mode.name, *mode.aka)}
    names: list[str] = []
    for one in (one for entry in same if is_bare(entry.mode) for one in _names(entry.mode)):
        if _heard(one) not in taken and one != f"mela {number}":
            taken.add(_heard(one))
            names.append(one)
    also = f"also called {', '.join(names)}" if names else ""
    if number is None:
        return f"The scale is {also}." if also else ""
    return f"The tones are those of mela {number} ({mela}){f', {also}' if also else ''}."


def _names(mode: Mode) -> tuple[str, ...]:
    return (mode.name, *mode.aka)


def _heard(name: str) -> str:
    """Return a name as it sounds, so that another spelling is the same name; signs are kept."""
    return sounded(fold(name)) + ("#" if "#" in name else "")


def _near(mode: Mode, others: Sequence[ModeEntry]) -> str:
    """Return the modes that are one tone away, by that tone; those that move likest first."""
    changes: dict[str, list[ModeEntry]] = {}
    ranked = sorted(others, key=lambda one: (is_bare(one.mode), _difference(mode, one.mode)))
    count = 0
    for entry in ranked:
        change = _change(tones_of(mode), entry.mode)
        if change is not None and count < MOST:
            changes.setdefault(change, []).append(entry)
            count += 1
    said = "; ".join(f"{_row(entries)} {change}" for change, entries in changes.items())
    return f" Near it: {said}." if said else ""


def _paths(mode: Mode) -> tuple[frozenset[tuple[int, ...]], frozenset[tuple[int, ...]]]:
    return frozenset(mode.ascents), frozenset(mode.descents)


def _leans_otherwise(mode: Mode, other: Mode) -> bool:
    """Return whether both name a vadi, and not the same: two modes on one pair of paths."""
    return None not in (mode.vadi, other.vadi) and mode.vadi != other.vadi


def _row(entries: Sequence[ModeEntry]) -> str:
    names = [entry.mode.name for entry in entries[:MOST]]
    more = len(entries) - len(names)
    return ", ".join(names) + (f" and {more} more" if more else "")


def _difference(mode: Mode, other: Mode) -> tuple[int, int]:
    """Return by how many tones the paths of two modes differ, then by how many straight moves."""
    one, two = mode.moves, other.moves
    moves = len(one.straight_up ^ two.straight_up) + len(one.straight_down ^ two.straight_down)
    return len(mode.up ^ other.up) + len(mode.down ^ other.down), moves


def _otherwise(mode: Mode, other: Mode) -> str:
    """Return in which path a mode of the same tones differs, and by which tones."""
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
    return f"{' and '.join(turned)} {'turn' if len(turned) > 1 else 'turns'} in another way"


def _tones(path: tuple[int, ...]) -> frozenset[int]:
    return frozenset(pitch % 12 for pitch in path)


def _more_and_fewer(ours: frozenset[int], theirs: frozenset[int]) -> str:
    more = [f"{letters(theirs - ours)} as well"] if theirs - ours else []
    fewer = [f"no {letters(ours - theirs)}"] if ours - theirs else []
    return " and ".join([*more, *fewer])


def _change(tones: frozenset[int], other: Mode) -> str | None:
    """Return the one tone that makes another mode's tones these; None where it is more."""
    held = tones_of(other)
    if held == tones or len(held ^ tones) > NEAR:
        return None
    ours, theirs = tones - held, held - tones
    if len(ours) > 1 or len(theirs) > 1:
        return None
    if ours and theirs:
        return f"with {letters(ours)} for {letters(theirs)}"
    return f"with {letters(ours)}" if ours else f"without {letters(theirs)}"
