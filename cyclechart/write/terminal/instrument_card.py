"""Instruments and the roles of players in the terminal: cards and tables."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cyclechart.catalog.instruments import Instrument, instrument, instrument_names
from cyclechart.catalog.roles import ROLES, Role
from cyclechart.write.terminal.card_text import folded, row

RANGES_DEFER = "Ranges are those of handbooks; the player's own word comes first."

_NAMES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")
_INTERVALS = (
    "", "a semitone", "a whole tone", "a minor third", "a major third", "a fourth", "a tritone",
    "a fifth", "a minor sixth", "a major sixth", "a minor seventh", "a major seventh",
)  # fmt: skip
_SAYS = {
    "melody": ("the lines", "notes on a staff, sargam under them"),
    "voicings": ("chords from the mode's tones, or those of a line of chords", "chords, slashes"),
    "pedal": ("a bass on Sa and the drone's second tone, or the roots of chords", "notes"),
    "theka": ("the strokes that keep the cycle, and drum lines", "strokes, or a drum kit's staff"),
    "drone": ("the strings of Sa that sound through everything", "the tuning of the strings"),
}  # fmt: skip
"""What each role plays while it has no other line, and what its player reads."""


def key_name(key: int) -> str:
    """Return a MIDI key by its letter and octave: 60 is C4."""
    return f"{_NAMES[key % 12]}{key // 12 - 1}"


def instrument_card(on: Instrument) -> Iterator[str]:
    """Yield the lines of an instrument's card."""
    yield f"{on.title} ({on.name}), {on.family}"
    if on.aka:
        yield from row("also", ", ".join(on.aka))
    roles = " or ".join(role.name for role in on.roles)
    usual = f"; {on.roles[0].name} unless the piece says otherwise" if len(on.roles) > 1 else ""
    yield from row("plays", f"{roles}{usual}")
    kinds = [kind for kind in ("melody", "strokes", "chords", "kit") if on.can_play(kind)]
    yield from row("lines", f"can be given lines of {', '.join(kinds)}" if kinds else "none")
    if any(role.reads_pitches for role in on.roles):
        yield from _range_rows(on)
    yield from row("clef", on.clef + (", and a bass staff for chords" if on.staves == 2 else ""))
    if on.breath:
        yield from row("breath", "needs a rest at least every 12 seconds (no-breath)")
    if any(role.reads_pitches for role in on.roles):
        bends = "can sound the mode's own tuning" if on.bends else "keeps equal temperament"
        yield from row("tuning", bends)
    program = "no program of its own" if on.program is None else f"program {on.program + 1}"
    yield from row("MIDI", f"General MIDI: {program}; in recordings the voice '{on.voice}'")
    yield from row("write it", f"players: {{{on.name}: {{plays: {on.roles[0].name}}}}}")
    yield f"  {RANGES_DEFER}"


def _range_rows(on: Instrument) -> Iterator[str]:
    by = on.transposes
    yield from row("sounds", _range_text(on, 0))
    if by:
        yield from row("written", _range_text(on, -by))
        yield from row("key", _transposition(by))
    if (on.low, on.high) != (on.lowest, on.highest):
        yield from row(
            "strain", "beyond the comfortable notes is strained-range, beyond the last out-of-range"
        )


def _range_text(on: Instrument, by: int) -> str:
    lowest, highest, low, high = (
        key_name(key + by) for key in (on.lowest, on.highest, on.low, on.high)
    )
    return f"{lowest} to {highest}, in comfort {low} to {high}"


def _transposition(by: int) -> str:
    """Return in words how an instrument sounds against what is written."""
    octaves, rest = divmod(abs(by), 12)
    parts = [_INTERVALS[rest]] if rest else []
    if octaves:
        parts.append("an octave" if octaves == 1 else f"{octaves} octaves")
    side = "lower" if by < 0 else "higher"
    return f"in {_NAMES[by % 12]}: sounds {' and '.join(reversed(parts))} {side} than written"


def instrument_table() -> Iterator[str]:
    """Yield the table of all instruments, in families."""
    header = ("name", "plays", "sounds, in comfort", "transposes", "clef", "also")
    rows = [_table_row(on) for on in map(instrument, instrument_names()) if on is not None]
    yield from columns([header, *rows])
    yield RANGES_DEFER


def _table_row(on: Instrument) -> tuple[str, ...]:
    pitched = any(role.reads_pitches for role in on.roles)
    return (
        on.name,
        ", ".join(role.name for role in on.roles),
        f"{key_name(on.low)}–{key_name(on.high)}" if pitched else "",
        f"{on.transposes:+d}" if on.transposes else "",
        on.clef,
        ", ".join(on.aka),
    )


def columns(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Yield rows of cells in columns."""
    widths = [max(len(cells[place]) for cells in rows) for place in range(len(rows[0]))]
    for cells in rows:
        aligned = (cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
        yield "  ".join(aligned).rstrip()


def role_card(role: Role) -> Iterator[str]:
    """Yield the lines of a role's card."""
    plays, reads = _SAYS[role.name]
    yield f"{role.name}: a role (plays: {role.name})"
    yield from row("plays", plays)
    yield from row("reads", reads)
    yield from row("lines", _lines_of(role))
    yield from row("solo", "no" if role.no_solo else "yes")
    yield from row("on", ", ".join(_instruments_of(role)))


def _lines_of(role: Role) -> str:
    own = {"melody": "all melodies", "strokes": "all lines of strokes"}.get(role.lines or "", "")
    if role.plays_chords:
        own = "all lines of chords"
    return f"{own} that name nobody" if own else "none unless the form names the player"


def _instruments_of(role: Role) -> Iterable[str]:
    known = map(instrument, instrument_names())
    return [on.name for on in known if on is not None and role in on.roles]


def role_table(ensembles: Iterable[tuple[str, Iterable[str]]]) -> Iterator[str]:
    """Yield what each role plays and reads, and the band's ensembles by name."""
    rows = [("role", "plays", "reads")]
    rows += [(role.name, *_SAYS[role.name]) for role in ROLES.values()]
    yield from columns(rows)
    yield ""
    for name, players in ensembles:
        yield from folded(f"{name}: ", ", ".join(players))
    yield "A player is `flute: {plays: melody}`; `show instruments` has each instrument's roles."
