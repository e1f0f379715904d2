"""The file of a first piece with the comments that lead a newcomer through it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import TYPE_CHECKING

from cyclechart.draft.first_band import player_keys
from cyclechart.draft.line_cells import statement_of
from cyclechart.draft.line_plan import DraftedLine, LinePlan
from cyclechart.draft.piece_text import DraftKey, DraftLine, DraftPiece
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM, show_path

if TYPE_CHECKING:
    from cyclechart.draft.first_piece import Wish

WIDTH = 92
SOLO_BEATS = 96
"""About so many beats are left for the solo."""

_CELLS = (
    "A cell is a beat: S one note, SR two, - holds the note before, z is silence.",
    "S' is an octave higher, N, an octave lower; | and || show sections and first beats.",
)


def draft_of(wish: Wish, lines: Mapping[str, DraftedLine], plan: LinePlan, file: str) -> DraftPiece:
    """Return the draft of a piece of some lines, in the order in which they are heard."""
    return DraftPiece(
        tuple(_welcome(wish, file)),
        (
            DraftKey("title", wish.title),
            DraftKey(
                "tonic", _plain(str(wish.tonic)), "the letter of Sa (S), from which all is counted"
            ),
            DraftKey("mode", wish.mode_name),
            DraftKey("cycle", wish.cycle_name, _sections(wish)),
            DraftKey("tempo", show_exact(wish.tempo), "beats a minute"),
            *_ensemble(wish),
        ),
        () if wish.placed.band.ensemble else player_keys(wish.placed.band),
        tuple(_line(name, line, plan) for name, line in lines.items()),
        tuple(_form(wish, lines)),
    )


def _welcome(wish: Wish, file: str) -> Iterator[str]:
    yield "A first piece to change as you like. What stands after a # is a comment."
    yield f"Check it after each change:  cyclechart check {_shell(file)}"
    yield from textwrap.wrap(_mode_sentence(wish.mode), WIDTH, break_on_hyphens=False)


def _shell(file: str) -> str:
    return file if " " not in file and "'" not in file else f'"{file}"'


def _mode_sentence(mode: Mode) -> str:
    """Return what a mode is in a sentence or two."""
    text = f"{mode.name} goes up {show_path(mode.ascent)} and comes down {show_path(mode.descent)}"
    if mode.vadi is not None:
        text += f"; it leans on {SARGAM[mode.vadi % 12]}"
        if mode.samvadi is not None:
            text += f", then on {SARGAM[mode.samvadi % 12]}"
    return f"{' '.join(text.split())}. Teachers differ: your own teacher's word comes first."


def _plain(tonic: str) -> str:
    return tonic.replace("♭", "b").replace("♯", "#")


def _sections(wish: Wish) -> str:
    sections = " + ".join(show_exact(size) for size in wish.cycle.sections)
    text = f"{show_exact(wish.cycle.beats)} beats: {sections}"
    return text if len(text) < WIDTH else f"{show_exact(wish.cycle.beats)} beats"


def _ensemble(wish: Wish) -> tuple[DraftKey, ...]:
    name = wish.placed.band.ensemble
    return (DraftKey("players", name, "from shared/players.yaml"),) if name else ()


def _line(name: str, line: DraftedLine, plan: LinePlan) -> DraftLine:
    if name == "tihai":
        text = (f"sargam: {statement_of(line.notes, line.end)}",)
        return DraftLine(name, "cadence", text, (), _about_tihai())
    begins: tuple[DraftKey, ...] = ()
    if line.begins < 0:
        beat = plan.cycle.beats + line.begins + 1
        begins = (DraftKey("begins", show_exact(beat), "a pickup: the beat it starts on"),)
    about = _about_head(plan) if name == "head" else _about_answer()
    return DraftLine(name, "sargam", line.rows(plan.cycle), begins, about)


def _about_head(plan: LinePlan) -> tuple[str, ...]:
    how = "in the mode's own phrases" if plan.mode.phrases else "along the mode's paths"
    lands, loops = "lands on a first beat (sam) and holds it", "ends on S with the cycle"
    return (*_CELLS, f"The head, {how}: it {lands if plan.lands else loops}.")


def _about_answer() -> tuple[str, ...]:
    return ("The answer fills whole cycles, so it can go round; the head takes over from it.",)


def _about_tihai() -> tuple[str, ...]:
    return (
        "A tihai: the phrase three times, its last note on a first beat. Where it begins is",
        "worked out, and check says what it becomes; write gap: or begins: to choose.",
    )


def _form(wish: Wish, lines: Mapping[str, DraftedLine]) -> Iterator[tuple[DraftKey, ...]]:
    yield DraftKey("play", "head"), DraftKey("times", "2")
    if "answer" in lines:
        yield (DraftKey("play", "answer"),)
        yield (DraftKey("play", "head"),)
    soloist = wish.placed.band.melodic[0].name
    yield DraftKey("solo", soloist), DraftKey("cycles", str(_solo_cycles(wish.cycle.beats)))
    yield (DraftKey("play", "head"),)
    if "tihai" in lines:
        yield (DraftKey("play", "tihai"),)


def _solo_cycles(beats: Fraction) -> int:
    """Return the cycles of a solo: a power of two of about the same time in any cycle."""
    cycles = 16
    while cycles > 1 and cycles * beats > SOLO_BEATS * 4 / 3:
        cycles //= 2
    return cycles
