"""Two modes side by side in the terminal: their tones, and the phrases that lead over."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from cyclechart.theory.pivots import ModePair, Pivot
from cyclechart.theory.spelling import Tonic, readable_tonic, spell
from cyclechart.theory.tones import SARGAM, show_pitch

DEFERS = "Grammars differ by teacher and lineage; your own teacher's comes first."
WIDTH = 100
HEARD = 5
"""The cents from which on it is said that a common tone moves."""


@dataclass(frozen=True)
class PlacedPair:
    """Two modes, each with its Sa on a letter."""

    pair: ModePair
    tonics: tuple[Tonic, Tonic]

    @property
    def moves_sa(self) -> bool:
        """True if the second mode has its Sa on another tone."""
        return self.pair.shift != 0

    def name(self, number: int) -> str:
        """The first mode's name (0) or the second's (1)."""
        return (self.pair.first, self.pair.second)[number].name

    def letter(self, pitch: int) -> str:
        """Return a pitch (against the first Sa) as a letter, as the first mode's tonic spells it;
        where only the second mode has it, as the second's does."""
        pair, (before, after) = self.pair, self.tonics
        if pitch % 12 in pair.first.tones:
            return str(spell(readable_tonic(before, pair.first.tones), pitch % 12))
        written = readable_tonic(after, pair.second.tones)
        return str(spell(written, pair.seconds_name(pitch) % 12))

    def letters(self, pitches: Iterable[int]) -> list[str]:
        """Return pitches as letters."""
        return [self.letter(pitch) for pitch in pitches]


def pivot_card(
    placed: PlacedPair, pivots: Sequence[Pivot], others: Sequence[tuple[Tonic, int]], most: int
) -> Iterator[str]:
    """Yield the lines of the card of two modes.

    ``others`` are other letters for the second Sa, each with the number of pivots there; they are
    shown where there is no pivot.
    """
    before, after = placed.tonics
    on_same = "" if placed.moves_sa else ", on the same Sa"
    yield f"{placed.name(0)} on {before}, then {placed.name(1)} on {after}{on_same}"
    yield from _tone_rows(placed)
    yield from _tuning_rows(placed)
    yield from _drone_row(placed)
    yield ""
    if pivots:
        yield "  Phrases that are legal in both and end where both may rest:"
        for number, pivot in enumerate(pivots[:most], start=1):
            yield ""
            yield from _pivot_rows(placed, number, pivot)
        if len(pivots) > most:
            yield ""
            yield f"  {len(pivots) - most} more: --most {len(pivots)} shows them all"
    else:
        yield from _without_pivots(placed, others)
    yield ""
    yield f"  {DEFERS}"


def _tone_rows(placed: PlacedPair) -> Iterator[str]:
    """Yield the common tones in columns, and the tones of only one of the two."""
    pair = placed.pair
    if pair.common:
        yield from _columns(
            [
                ("in both", placed.letters(pair.common)),
                *_sargam_rows(placed, pair.common, [pair.seconds_name(t) for t in pair.common]),
            ],
            octaves=False,
        )
    else:
        yield "  in both   no tone"
    for label, tones, which in (("goes", pair.leaving, 0), ("comes", pair.coming, 1)):
        shift = pair.shift if which else 0
        said = [f"{placed.letter(tone)} ({SARGAM[(tone - shift) % 12]})" for tone in tones]
        yield f"  {label:<10}{', '.join(said) or 'nothing'}"
    if pair.ends:
        yield f"  {'rests':<10}both may rest on {' '.join(placed.letters(pair.ends))}"


def _tuning_rows(placed: PlacedPair) -> Iterator[str]:
    """Yield the common tones that lie higher or lower in the second mode."""
    said = []
    for tone in placed.pair.common:
        cents = round(placed.pair.cents_moved(tone))
        if abs(cents) >= HEARD:
            way = "higher" if cents > 0 else "lower"
            said.append(f"{placed.letter(tone)} {abs(cents)} {way}")
    if said:
        yield from _wrapped("tuned", f"in {placed.name(1)}, by cents: {', '.join(said)}")


def _drone_row(placed: PlacedPair) -> Iterator[str]:
    """Yield what the drone is retuned to; nothing where it stays."""
    first, second = placed.pair.first, placed.pair.second
    shift = placed.pair.shift
    strings = (0, first.drone_second), (shift % 12, (second.drone_second + shift) % 12)
    if strings[0] != strings[1]:
        old, new = (" ".join(placed.letters(pitches)) for pitches in strings)
        yield f"  {'drone':<10}from {old} to {new}"


def _pivot_rows(placed: PlacedPair, number: int, pivot: Pivot) -> Iterator[str]:
    yield f"  {number:>2}  {placed.pair.said_of(pivot)}"
    rows = [*_sargam_rows(placed, pivot.first, pivot.second)]
    rows.append(("letters", placed.letters(pivot.first)))
    yield from _columns(rows, octaves=True)


def _sargam_rows(
    placed: PlacedPair, first: Sequence[int], second: Sequence[int]
) -> list[tuple[str, list[str]]]:
    """Return a row for each mode, or one for both where they have one Sa."""
    if not placed.moves_sa:
        return [("sargam", list(map(show_pitch, first)))]
    return [
        (_short(placed.name(0)), list(map(show_pitch, first))),
        (_short(placed.name(1)), list(map(show_pitch, second))),
    ]


def _short(name: str) -> str:
    return name if len(name) <= 18 else name[:17] + "…"


def _columns(rows: Sequence[tuple[str, list[str]]], *, octaves: bool) -> Iterator[str]:
    """Yield rows with their cells under each other; without octave marks where none are meant."""
    cells = [row if octaves else [cell.rstrip("',") for cell in row] for _, row in rows]
    label = max(8, *(len(name) for name, _ in rows)) + 2
    widths = [max(map(len, column)) + 2 for column in zip(*cells, strict=True)]
    indent = "      " if octaves else "  "
    for (name, _), row in zip(rows, cells, strict=True):
        said = "".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        yield f"{indent}{name:<{label}}{said}".rstrip()


def _without_pivots(placed: PlacedPair, others: Sequence[tuple[Tonic, int]]) -> Iterator[str]:
    """Yield what to do where no phrase is legal in both."""
    pair = placed.pair
    yield "  No phrase is legal in both and ends where both may rest."
    if pair.ends:
        said = []
        for tone in pair.ends:
            old, new = SARGAM[tone], SARGAM[(tone - pair.shift) % 12]
            stays = f"stays {new}" if old == new else f"becomes {new}"
            said.append(f"{placed.letter(tone)} ({old}, which {stays})")
        text = f"Hold a tone over the change: {', or '.join(said)}; then begin in {placed.name(1)}."
    elif pair.common:
        tones = " ".join(placed.letters(pair.common))
        text = f"No common tone ({tones}) is one that both rest on: let the drums play on alone, "
        text += f"or end, then begin in {placed.name(1)}."
    else:
        text = "They have no tone in common: end the one, let drums and drone play on, then begin."
    yield from _wrapped("", text, indent=0)
    if others:
        listed = ", ".join(f"{count} on {tonic}" for tonic, count in others)
        text = f"With {placed.name(1)} on another Sa there are phrases for both: {listed}."
        yield from _wrapped("", text, indent=0)


def _wrapped(label: str, text: str, indent: int = 10) -> Iterator[str]:
    yield from textwrap.wrap(
        text,
        WIDTH,
        initial_indent=f"  {label:<{indent}}",
        subsequent_indent=" " * (2 + indent),
        break_long_words=False,
        break_on_hyphens=False,
    )
