"""The rule that compares a line with other modes of the same tones, or nearly the same.

Mode grammars differ by teacher and lineage, and no count hears what a player hears. The rule speaks
only where several things point the same way; a player's own teacher comes first.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from cyclechart.catalog.kin import kin
from cyclechart.catalog.library import fold
from cyclechart.finding import Finding, Place, Suggestion
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.piece_edits import top_key_edits
from cyclechart.rules.piece.repair import pitch_of
from cyclechart.rules.rule import Rule, rule
from cyclechart.theory.leaning import SA, resting_tones
from cyclechart.theory.likeness import (
    ENOUGH_TO_MISS,
    FEWEST_NOTES,
    SPEAKS,
    Heard,
    Nearer,
    compare,
    hear,
    leaned_on,
    says_enough,
)
from cyclechart.theory.mode import REGISTERS, Mode
from cyclechart.theory.tones import SARGAM, show_path

FEWEST_TONES = 4
"""The tones, octaves apart counted once, from which on a line says something of a mode: a riff of
two or three is in many."""
SAME_TONES = 0.3
"""The advantage of a mode with the same tones over one with more or fewer."""


@rule("advice")
def strays(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The line's long tones, rests and phrases fit another mode with the same tones better.

    The line is compared with the catalogue's modes of the same tones, and with those of up to two
    tones more or fewer that have all of the line's. At least two of these must point to the other
    mode: the tones that sound longest (the vadi, a mode's chief tone, counts twice, S not at all),
    the tones on which breaths end or notes are held, phrases that only one of the modes has, moves
    that one mode's paths lack, the register in which it lives, and tones that the line never uses.
    Lines of fewer than 8 notes or 4 tones are skipped, and so are modes without a vadi, rests and
    phrases.
    Books and teachers draw these lines differently.

    wrong:  (bhupali, keherwa)  sargam: D - P G P D - - || S' - D P G P D -
    right:  (bhupali, keherwa)  sargam: G - P G D P G - || G R S D, S R G -
    """
    own = piece.mode
    if not says_enough(own):
        return
    for line in piece.standing_lines:
        if line.kind != "melody" or not line.whole or len(line.notes) < FEWEST_NOTES:
            continue
        heard = _heard(line)
        if heard.notes < FEWEST_NOTES or len(heard.shares) < FEWEST_TONES:
            continue
        nearest = _nearest(own, heard)
        if nearest is None:
            continue
        nearer, key, other = nearest
        why = _listed(list(_reasons(own, other, heard, nearer)))
        message = f"the line is closer to {other.name}, which {_compared(own, other)}: it {why}"
        place = Place(line.name, None, Fraction(1))
        edits = top_key_edits(piece, "mode", key) if _is_of_one_mode(piece) else ()
        yield this.found(line.spot, message, Suggestion(f"mode: {key}", edits), place=place)


def _is_of_one_mode(piece: Piece) -> bool:
    """Return whether all lines are in the mode that the piece begins in."""
    return piece.modes == (piece.state.mode,)


def _nearest(own: Mode, heard: Heard) -> tuple[Nearer, str, Mode] | None:
    """Return the mode that a line is clearly nearest to, and by what; None where it is its own.

    Of modes about as near, those of the same tones go before those of more or fewer.
    """
    clear = []
    tones = own.up | own.down
    # A short line tells nothing by the tones that it lacks.
    used = frozenset(heard.shares if heard.notes >= ENOUGH_TO_MISS else ())
    for key, other in kin(tones, used, _longest(heard)):
        if fold(other.name) == fold(own.name) or _is_another_name(own, other):
            continue
        nearer = compare(own, other, heard)
        if nearer.is_clear:
            same = SAME_TONES if other.up | other.down == tones else 0.0
            clear.append((nearer.total + same, key, nearer, other))
    if not clear:
        return None
    _, key, nearer, other = max(clear, key=lambda one: one[0])
    return nearer, key, other


def _is_another_name(own: Mode, other: Mode) -> bool:
    """Return whether two modes have the same paths and nothing that tells them apart by weight."""
    same = {*own.ascents} & {*other.ascents} and {*own.descents} & {*other.descents}
    return bool(same) and (None in (own.vadi, other.vadi) or own.vadi == other.vadi)


def _longest(heard: Heard) -> frozenset[int]:
    """Return the two tones that sound longest, Sa apart."""
    others = sorted((share, tone) for tone, share in heard.shares.items() if tone != SA)
    return frozenset(tone for _, tone in others[-2:])


def _compared(own: Mode, other: Mode) -> str:
    """Return how the tones of another mode differ from a mode's own."""
    ours, theirs = own.up | own.down, other.up | other.down
    if ours == theirs:
        return f"has the same tones as {own.name}"
    more, fewer = _letters(tuple(sorted(theirs - ours)), " "), sorted(ours - theirs)
    parts = [f"has {more} beside the tones of {own.name}"] if more else []
    if fewer:
        parts.append(f"does without {_letters(tuple(fewer), ' ')}")
    return " and ".join(parts)


def _heard(line: Line) -> Heard:
    """Return the weights of a line."""
    return hear([(pitch_of(note), note.length) for note in notes] for notes in line.breaths)


def _reasons(own: Mode, other: Mode, heard: Heard, nearer: Nearer) -> Iterator[str]:
    """Yield the reasons for the other mode, only those that count most."""
    if nearer.lean >= SPEAKS:
        yield _leaning(own, other, heard)
    if nearer.rests >= SPEAKS:
        theirs, mine = (heard.rests_on(resting_tones(mode)) for mode in (other, own))
        yield (
            f"rests {theirs} of {len(heard.rests)} times on the rests of {other.name} "
            f"({_letters(resting_tones(other), ' ')}; {mine or 'none'} on those of {own.name})"
        )
    if nearer.phrases >= SPEAKS:
        which = "phrase" if len(nearer.has) == 1 else "phrases"
        yield f"has its {which} {', '.join(show_path(phrase) for phrase in nearer.has)}"
    if nearer.register >= SPEAKS:
        yield f"lies in {REGISTERS[other.register]}, where {other.name} lives"
    if nearer.unused >= SPEAKS:
        unused = sorted((own.up | own.down) - (other.up | other.down) - set(heard.shares))
        yield f"has no {_letters(tuple(unused), ' ')}"
    if nearer.moves >= SPEAKS:
        mine, others = nearer.against
        yield (
            f"makes {mine} {'move' if mine == 1 else 'moves'} that {own.name} lacks, "
            f"and {others or 'none'} that {other.name} lacks"
        )


def _leaning(own: Mode, other: Mode, heard: Heard) -> str:
    """Return the tones that sound longest: vadi and samvadi, or the vadi where both say nothing."""
    theirs, mine = leaned_on(other), leaned_on(own)
    which = "vadi and samvadi"
    if heard.time_on(theirs) <= heard.time_on(mine):
        theirs = tuple(tone for tone in theirs if tone == other.vadi) or theirs
        mine = tuple(tone for tone in mine if tone == own.vadi) or mine
    if len(theirs) == 1:
        which = "vadi" if theirs[0] == other.vadi else "samvadi"
    had, less = heard.time_on(theirs), heard.time_on(mine)
    said = f"leans on {_letters(theirs)} ({had:.0%} of its time; {which} of {other.name})"
    return f"{said} more than on {_letters(mine)} ({less:.0%})" if had > less else said


def _letters(tones: tuple[int, ...], between: str = " and ") -> str:
    return between.join(SARGAM[tone] for tone in tones)


def _listed(reasons: list[str]) -> str:
    """Several reasons as one row: a, b and c."""
    return " and ".join([", ".join(reasons[:-1]), reasons[-1]] if reasons[1:] else reasons)
