"""Rules over the lines of a drum kit: a drummer has two hands, two feet and one hi-hat."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import islice
from math import floor
from typing import NamedTuple

from cyclechart.catalog.kit import DRUM, FASTEST, HATS, Limb, letters_of, struck_at_once
from cyclechart.finding import Finding, Spot, Suggestion
from cyclechart.piece.heading import SLOWEST
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.piece_edits import cell_edits, top_key_edits
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.text.excerpts import clip
from cyclechart.theory.exact import show_exact

HANDS = 2

LONG_AGO = Fraction(-1_000_000)
"""The time, in seconds, of a limb's stroke before its first."""

KEEP_FIRST = (
    "crash", "snare", "rim", "low-tom", "mid-tom", "high-tom", "bell", "ride", "open-hat", "hat",
)  # fmt: skip
"""What a hand keeps before the others, where it cannot play all that is written."""

_STRUCK = re.compile(r"[a-z](?:\+[a-z])*$")
_GRACES = re.compile(r"\{[^}]*\}")


@rule("error")
def unplayable_kit(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A line of a kit asks for three hands, one foot twice, or a hi-hat both open and closed.

    A drummer plays at most two drums with the hands at once. A flam or a drag before a note is a
    stroke of the other hand, so that nothing else is left for it.

    wrong:  players: {drum-kit: }     rock: {kit: k+h h s+h+c h | k h s h}
    right:  players: {drum-kit: }     rock: {kit: k+h h s+c h | k h s h}
    """
    for line in kit_lines(piece):
        for note in line.notes:
            message = _fault(note)
            if message:
                place = place_of(piece, line, note.start)
                yield this.found(note.spot, message, _playable(piece, note), place=place)


@rule("advice")
def hurried_kit(piece: Piece, this: Rule) -> Iterator[Finding]:
    """One hand or foot has to strike faster than is comfortable at the tempo of a step.

    Single strokes are shared by both hands in turn; where both are needed at once, each must have
    had its time. Feet do not share. Reported once for a line and a limb, where it comes first.

    wrong:  players: {drum-kit: }     rock: {kit: k+h kkkk s+h h | k h s h}     (at 120)
    right:  players: {drum-kit: }     rock: {kit: k+h kk s+h h | k h s h}       (at 120)
    """
    for line in kit_lines(piece):
        tempo = _fastest_tempo(piece, line.name)
        beat, loops = 60 / tempo, _loops(piece, line)
        hurries = list(_hurries(line.notes, line.length, beat, loops))
        if not hurries:
            continue
        slowest = floor(min(tempo * hurry.seconds / FASTEST[hurry.limb] for hurry in hurries))
        tries: list[str | Suggestion] = []
        if slowest >= SLOWEST:
            tries.append(_slower(piece, line, slowest))
        if len(hurries) == 1:
            tries += islice(_lighter(piece, line, hurries[0], beat, loops=loops), 1)
        for limb in dict.fromkeys(hurry.limb for hurry in hurries):
            first = next(hurry for hurry in hurries if hurry.limb == limb)
            place = place_of(piece, line, first.note.start)
            yield this.found(
                first.note.spot,
                _hurried(first, tempo),
                *(tries or ["spread it over more beats"]),
                place=place,
            )


def _slower(piece: Piece, line: Line, tempo: int) -> Suggestion:
    """Return the suggestion of a slower tempo; its edits only where the piece keeps one."""
    steps = [step.state for step in piece.steps if line.name in step.uses]
    same = all(state.tempo == piece.tempo and state.to_tempo is None for state in steps)
    edits = top_key_edits(piece, "tempo", str(tempo)) if same else ()
    return Suggestion(f"tempo: {tempo}, or slower", edits)


def kit_lines(piece: Piece) -> Iterator[Line]:
    """Yield the lines of a kit."""
    return (line for line in piece.lines.values() if line.kind == "kit")


# At once


def _fault(note: Note) -> str:
    """Return what cannot be played of a note; "" where all of it can."""
    struck = _as_written(note)
    hats = [name for name in note.drums if name in HATS]
    if len(hats) > 1:
        return f"'{struck}' asks the hi-hat to be {' and '.join(map(_hat_words, hats))} at once"
    hands = _by_hand(note.drums)
    if len(hands) > HANDS:
        count = {3: "three", 4: "four"}.get(len(hands), str(len(hands)))
        return f"'{struck}' needs {count} hands: {', '.join(DRUM[n].words for n in hands)}"
    return "" if not note.grace else _fault_of_graces(note)


def _fault_of_graces(note: Note) -> str:
    """Return what cannot be played of the graces of a note that can be played itself."""
    graces = [struck_at_once(str(value)) for value in note.grace]
    for names in graces:
        hats = [name for name in names if name in HATS]
        if len(hats) > 1:
            return f"a grace note asks the hi-hat to be {' and '.join(map(_hat_words, hats))}"
    feet = [name for names in graces for name in names if DRUM[name].by_foot]
    feet += [name for name in note.drums if DRUM[name].by_foot]
    twice = next((name for name in feet if feet.count(name) > 1), None)
    if twice is not None:
        drum = DRUM[twice]
        return f"the {drum.limb} would have to play the {drum.words} twice, as grace and as note"
    hands = [len(_by_hand(names)) for names in graces]
    if max(hands) > 1 or (max(hands) and len(_by_hand(note.drums)) > 1):
        return f"a grace note before '{_as_written(note)}' needs a third hand"
    return ""


def _as_written(note: Note) -> str:
    """Return the drums of a note in the order in which they are written."""
    written = _STRUCK.search(note.cell[slice(*note.within)])
    return written[0] if written else letters_of(note.drums)


def _hat_words(name: str) -> str:
    return {"foot": "closed by the foot", "hat": "closed"}.get(name, "open")


def _by_hand(names: Iterable[str]) -> list[str]:
    """Return the drums among some that hands play."""
    return [name for name in names if not DRUM[name].by_foot]


def _playable(piece: Piece, note: Note) -> Suggestion:
    """Return the suggestion to write as much of a note's cell as a drummer can play."""
    hats = [name for name in note.drums if name in HATS]
    left = [name for name in note.drums if name not in hats[:-1]]
    hands = sorted(_by_hand(left), key=KEEP_FIRST.index)[:HANDS]
    left = [name for name in left if DRUM[name].by_foot or name in hands]
    graces = not _fault(replace(note, drums=tuple(left)))
    return _instead(piece, note, left, graces=graces)


def _instead(piece: Piece, note: Note, drums: Sequence[str], *, graces: bool) -> Suggestion:
    """Return the suggestion to write the cell of a note with some of its drums, with its graces or
    not."""
    begin, end = note.within
    changed = _STRUCK.sub(letters_of(drums), note.cell[begin:end]) if drums else "-"
    if not graces:
        changed = _GRACES.sub("", changed)
    cell = note.cell[:begin] + changed + note.cell[end:]
    words = f"write {clip(cell)} for {clip(note.cell)}"
    return Suggestion(words, cell_edits(piece, note, cell))


# One after the other


class _Hurry(NamedTuple):
    """A stroke that comes too soon: its note, its limb (for hands either of them), and the seconds
    since that one's last stroke. ``again``: only where the line is played once more."""

    limb: Limb
    note: Note
    seconds: Fraction
    again: bool


class _Limbs:
    """The last stroke of each limb, in seconds; the rested hand plays the next stroke."""

    def __init__(self) -> None:
        self.feet: dict[Limb, Fraction] = {}
        self.hands = [LONG_AGO] * HANDS
        """Of the two hands, the earlier first."""

    def play(self, note: Note, at: Fraction) -> Iterator[tuple[Limb, Fraction]]:
        """Yield each limb that a note asks for too soon, and the seconds that it has had."""
        for name in note.drums:
            drum = DRUM[name]
            if drum.by_foot:
                since = at - self.feet.get(drum.limb, LONG_AGO)
                self.feet[drum.limb] = at
                if since < FASTEST[drum.limb]:
                    yield drum.limb, since
        used = _hands_for(note.drums, note.grace)
        if used:
            since = at - self.hands[used - 1]
            self.hands = [*self.hands[used:], *[at] * used]
            if since < FASTEST["right hand"]:
                yield "right hand", since


@cache
def _hands_for(drums: tuple[str, ...], grace: tuple[int | str, ...]) -> int:
    """Return how many hands a note needs: a flam needs both."""
    hands = len(_by_hand(drums))
    flam = any(_by_hand(struck_at_once(str(value))) for value in grace)
    return min(HANDS, hands + flam)


def _hurries(
    notes: Sequence[Note], length: Fraction, beat: Fraction, loops: bool
) -> Iterator[_Hurry]:
    """Yield the strokes of a line that come too soon at so many seconds a beat, each once.

    A line that loops is followed into its next time.
    """
    limbs = _Limbs()
    seen: set[tuple[Spot, Limb]] = set()
    for time in range(2 if loops else 1):
        for note in notes:
            for limb, seconds in limbs.play(note, (note.start + time * length) * beat):
                if (note.spot, limb) not in seen:
                    seen.add((note.spot, limb))
                    yield _Hurry(limb, note, seconds, time > 0)


def _lighter(
    piece: Piece, line: Line, hurry: _Hurry, beat: Fraction, *, loops: bool
) -> Iterator[Suggestion]:
    """Yield what to write for the one hurried stroke of a line: its cell without the graces or with
    a drum less, where nothing is hurried then."""
    note = hurry.note
    of_limb = [n for n in note.drums if _shares(DRUM[n].limb, hurry.limb)]
    least_first = sorted(of_limb, key=lambda n: -KEEP_FIRST.index(n) if n in KEEP_FIRST else 0)
    fewer = [tuple(n for n in note.drums if n != left_out) for left_out in least_first]
    for drums in [note.drums, *fewer] if note.grace else fewer:
        notes = [
            replace(one, drums=drums, grace=()) if one.spot == note.spot else one
            for one in line.notes
        ]
        if not hurry.again and not list(_hurries(notes, line.length, beat, loops)):
            yield _instead(piece, note, drums, graces=False)


def _shares(limb: Limb, other: Limb) -> bool:
    """Return whether a limb is another, or both are hands."""
    return limb == other or (limb.endswith("hand") and other.endswith("hand"))


def _hurried(hurry: _Hurry, tempo: Fraction) -> str:
    who = "a hand" if hurry.limb.endswith("hand") else f"the {hurry.limb}"
    return (
        f"at {show_exact(tempo)} beats a minute {who} has {float(hurry.seconds):.2f} seconds "
        f"between two strokes here; {float(FASTEST[hurry.limb]):.2f} are comfortable"
    )


def _fastest_tempo(piece: Piece, name: str) -> Fraction:
    """Return the fastest tempo in which the form plays a line; the piece's where it never does."""
    states = [step.state for step in piece.steps if name in step.uses]
    return max((max(s.tempo, s.to_tempo or s.tempo) for s in states), default=piece.tempo)


def _loops(piece: Piece, line: Line) -> bool:
    """Return whether a line can be followed by itself."""
    cycles = () if line.free else piece.cycles_of(line.name)
    return any(line.standing(cycle).shape == "loops" for cycle in cycles)
