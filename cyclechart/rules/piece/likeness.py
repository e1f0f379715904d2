"""The rule that compares a line with other modes of the same tones.

Mode grammars differ by teacher and lineage, and no count hears what a player hears. The rule speaks
only where several things point the same way; a player's own teacher comes first.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from cyclechart.catalog.library import Library, fold
from cyclechart.finding import Finding, Place
from cyclechart.piece.model import Line, Piece
from cyclechart.rules.rule import Rule, rule
from cyclechart.theory.leaning import LONG, resting_tones
from cyclechart.theory.likeness import (
    FEWEST_NOTES,
    SPEAKS,
    Heard,
    Nearer,
    compare,
    leaned_on,
    says_enough,
)
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM, show_path


@rule("advice")
def strays(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The line's long tones, rests and phrases fit another mode with the same tones better.

    The line is compared with the catalogue's modes of the same tones. At least two of these must
    point to the other mode: the tones that sound longest (the vadi, a mode's chief tone, counts
    twice, S not at all), the tones on which breaths end or notes are held, phrases that only one
    of the modes has, and moves that one mode's paths lack. Lines of fewer than 8 notes are
    skipped, and so are modes without a vadi, rests and phrases. Books and teachers draw these
    lines differently.

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
        if heard.notes < FEWEST_NOTES:
            continue
        nearest: tuple[Nearer, str, Mode] | None = None
        for key, other in Library.kin(own.up | own.down):
            if fold(other.name) == fold(own.name):
                continue
            nearer = compare(own, other, heard)
            if nearer.is_clear and (nearest is None or nearer.total > nearest[0].total):
                nearest = nearer, key, other
        if nearest is None:
            continue
        nearer, key, other = nearest
        why = _listed(list(_reasons(own, other, heard, nearer)))
        message = (
            f"the line is closer to {other.name}, which has the same tones as {own.name}: it {why}"
        )
        place = Place(line.name, None, Fraction(1))
        yield this.found(line.spot, message, f"mode: {key}", place=place)


def _heard(line: Line) -> Heard:
    """Return the weights of a line; they are only compared, so floating point is exact enough."""
    time = dict.fromkeys(range(12), 0.0)
    rests = []
    breaths = []
    for notes in line.breaths:
        pitches = []
        for note in notes:
            assert note.pitch is not None
            beats = float(note.length)
            pitches.append(note.pitch)
            time[note.pitch % 12] += beats
            if note is notes[-1] or beats >= LONG:
                rests.append(note.pitch % 12)
        breaths.append(tuple(pitches))
    total = sum(time.values())
    shares = {tone: part / total for tone, part in time.items() if part}
    return Heard(shares, tuple(rests), tuple(breaths))


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
