"""The page for players who read no staff: the trade's handwritten grid, as PDF or PNG.

Beats stand in columns and cycles in rows (``arrange.sheet.grid``); grid.typ, grid_rows.typ and
grid_letters.typ draw them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Any, Literal

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.roles.theka_rows import beat_strokes
from cyclechart.arrange.sheet.grid import GridCell, GridColumn, cycle_columns, strain_grid
from cyclechart.arrange.sheet.model import Sheet, StaffKey, Strain
from cyclechart.catalog.kit import DRUM, DRUMS, letters_of
from cyclechart.piece.hairpins_and_slurs import HAIRPIN_ENDS, slurs_of
from cyclechart.piece.note import Note
from cyclechart.text.display import settable
from cyclechart.text.line_tree import CUT
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic, spell
from cyclechart.write.files.paper_sizes import A4, Paper
from cyclechart.write.musicxml.staff import clean_text
from cyclechart.write.musicxml.tone_names import NAMES, ToneNamer, tone_namer
from cyclechart.write.paper.charts import heading
from cyclechart.write.paper.grid_spans import spans_of
from cyclechart.write.paper.pdf_binding import page_count
from cyclechart.write.paper.typesetting import template, typeset

Names = Literal["sargam", "letters", "degrees", "solfa16"]

_SHOWN_MARKS = {
    "andolan": "∿",
    "gamak": "gam.",
    "mordent": "mord.",
    "plain": "plain",
    "trill": "tr",
    "accent": ">",
    "staccato": "▾",
    "tenuto": "ten.",
    "fermata": "⌢",
    "cresc": "cresc.",
    "dim": "dim.",
    CUT: "//",
}
"""The sign of a decoration above its note; a dynamic is its own sign."""
_DECORATIONS = {
    "∿": "swung (andolan)",
    "gam.": "shaken (gamak)",
    "mord.": "mordent",
    "plain": "not shaken",
    "//": "cut off, then silence",
}
"""The decorations that the page explains."""
_SHORT_COLUMNS = {
    "1/2": ("½", "a column of half a beat"),
    "1/4": ("¼", "a column of a quarter of a beat"),
    "3/4": ("¾", "a column of three quarters of a beat"),
}
"""The sign of a column that is shorter than a beat, and its text in the legend."""

SMALLER = (0.94, 0.88)
"""The sizes that are tried where a grid takes more than one page."""


def set_grid(sheet: Sheet, kind: str, paper: Paper = A4, names: str = "sargam") -> list[bytes]:
    """Return the sheet as one PDF (``kind`` pdf), or a PNG for each page (``kind`` png).

    ``names`` is one of ``NAMES``. Texts reach the page as data, so that none is ever read as
    markup; the same input gives the same bytes.

    Raises:
        ValueError: There are no such names.
    """
    if names not in NAMES:
        raise ValueError(f"no names '{names}': {', '.join(NAMES)}")
    files = {
        "main.typ": template("grid.typ"),
        "rows.typ": template("grid_rows.typ"),
        "letters.typ": template("grid_letters.typ"),
        "paths.typ": template("paths.typ"),
    }
    data = grid_data(sheet, paper, names)
    pages = typeset(files, data, kind)
    # Somewhat smaller where that saves a page.
    count = _count(pages, kind)
    for size in SMALLER if count > 1 else ():
        data["paper"]["scale"] = paper.text * size
        smaller = typeset(files, data, kind)
        if _count(smaller, kind) < count:
            return smaller
    return pages


def _count(pages: Sequence[bytes], kind: str) -> int:
    """Return the number of pages, of one PDF or of pictures."""
    return page_count(pages[0]) if kind == "pdf" else len(pages)


def grid_data(sheet: Sheet, paper: Paper, names: str) -> dict[str, Any]:
    """Return the contents of the page as plain data."""
    strains = [_strain_data(strain, names) for strain in sheet.strains]
    keys: dict[tuple[Tonic, Mode], StaffKey] = {}
    of_lines = [strain.key for strain in sheet.strains]
    for key in [StaffKey(sheet.tonic, sheet.mode, sheet.fifths), *sheet.keys, *of_lines]:
        keys.setdefault((key.tonic, key.mode), key)
    over = heading(sheet)
    return {
        **over,
        "paper": {"width": paper.width, "height": paper.height, "scale": paper.text},
        "modes": [_mode_data(key, names) for key in keys.values()],
        "thekas": [
            _theka_data(cycle, table["name"])
            for cycle, table in zip(sheet.cycles, over["cycles"], strict=True)
        ],
        "strains": strains,
        "legend": list(_legend(sheet, strains)),
    }


def _mode_data(key: StaffKey, names: str) -> dict[str, Any]:
    """Return a mode of the heading: its name, its Sa, its ascent and descent, and its letters."""
    name_of = tone_namer(key, names)
    return {
        "name": settable(key.mode.name),
        "tonic": str(key.tonic),
        "ascent": [_tone_data(name_of, pitch) for pitch in key.mode.ascent],
        "descent": [_tone_data(name_of, pitch) for pitch in key.mode.descent],
        "letters": [
            [_tone_data(name_of, tone), str(spell(key.tonic, tone))]
            for tone in sorted(key.mode.tones)
        ]
        if names != "letters"
        else [],
    }


def _tone_data(name_of: ToneNamer, value: int | str) -> dict[str, Any]:
    """Return a tone or a stroke: letter, figure after it, octave dots (below 0: under it)."""
    if isinstance(value, str):
        return {"text": clean_text(value), "sub": "", "octave": 0}
    text, sub = name_of(value)
    return {"text": text, "sub": sub, "octave": value // 12}


def _column_data(columns: tuple[GridColumn, ...]) -> list[dict[str, Any]]:
    return [
        {
            "beat": show_exact(column.beat),
            "part": _short_column(column)[0],
            "length": float(column.length),
            "sign": column.sign,
            "section": column.section,
            "cycle": column.cycle,
        }
        for column in columns
    ]


def _short_column(column: GridColumn) -> tuple[str, str]:
    """Return the sign of a column that is shorter than a beat, and its meaning; "" for others.

    The page frames the sign, so that it is not read as part of the number of the beat.
    """
    if column.length == 1:
        return "", ""
    shown = str(column.length)
    return _SHORT_COLUMNS.get(shown, (shown, f"a column of {shown} of a beat"))


def _theka_data(cycle: Cycle, name: str) -> dict[str, Any]:
    """Return a cycle's strokes as a grid of one row."""
    cells = [
        {"parts": 1, "signs": [{"kind": "note", "at": 0.0, "text": text, "sub": "", "octave": 0}]}
        for _, text in beat_strokes(cycle)
    ]
    return {
        "name": name,
        "kind": "theka",
        "columns": _column_data(cycle_columns(cycle)),
        "rows": [{"label": "", "cells": cells, "spans": []}],
    }


def _strain_data(strain: Strain, names: str) -> dict[str, Any]:
    grid = strain_grid(strain)
    name_of = tone_namer(strain.key, names)
    spans = list(spans_of(strain, grid))
    held = _chords_held(strain.notes)
    return {
        "letter": strain.letter,
        "name": settable(strain.name),
        "remark": settable(strain.remark),
        "kind": "free" if strain.free else strain.kind,
        "columns": _column_data(grid.columns),
        "rows": [
            {
                "label": str(row.cycle) if row.cycle and len(grid.rows) > 1 else "",
                "cells": [_cell_data(cell, strain, name_of, held) for cell in row.cells],
                "spans": [part for at, part in spans if at == number],
            }
            for number, row in enumerate(grid.rows)
        ],
    }


def _chords_held(notes: Sequence[Note]) -> frozenset[int]:
    """Return the indices of the slashes under which the chord before them goes on."""
    held: set[int] = set()
    before: Note | None = None
    for number, note in enumerate(notes):
        slash = isinstance(note, PartNote) and note.head == "slash" and note.chord is None
        if slash and before is not None and before.end == note.start:
            held.add(number)
        goes_on = number in held or note.chord is not None
        before = note if goes_on else None
    return frozenset(held)


def _cell_data(
    cell: GridCell | None, strain: Strain, name_of: ToneNamer, held: Collection[int]
) -> dict[str, Any] | None:
    if cell is None:
        return None
    signs = []
    for sign in cell.signs:
        kind = "hold" if sign.note in held else sign.kind
        data: dict[str, Any] = {"kind": kind, "at": float(sign.at)}
        if kind == "note":
            data |= _note_data(strain.notes[sign.note], name_of, strain.key.tonic)
        signs.append(data)
    return {"parts": cell.parts, "signs": signs}


def _sign_of(note: Note) -> int | str:
    """Return the tone or the syllable of a note; the drums of a kit as their letters."""
    if note.pitch is not None:
        return note.pitch
    also = note.also if isinstance(note, PartNote) else ()
    return "+".join(str(_letters(value)) for value in (note.syllable, *also))


def _letters(value: int | str) -> int | str:
    return letters_of([value]) if isinstance(value, str) and value in DRUM else value


def _note_data(note: Note, name_of: ToneNamer, sa: Tonic) -> dict[str, Any]:
    """Return a note's letter or its chord symbol, with its grace notes, marks and word if it has
    any."""
    said = _sign_of(note) if note.chord is None else note.chord.in_letters(sa)
    data = _tone_data(name_of, said)
    if note.grace:
        data["grace"] = [_tone_data(name_of, _letters(value)) for value in note.grace]
    if any(mark != HAIRPIN_ENDS for mark in note.marks):
        data["marks"] = [
            {"text": _SHOWN_MARKS.get(mark, mark), "loud": mark not in _SHOWN_MARKS}
            for mark in note.marks
            if mark != HAIRPIN_ENDS
        ]
    words = [_word_text(word) for word in (note.word, *note.verses)]
    while words and not words[-1]:
        del words[-1]
    if words:
        data["word"], *verses = words
        if verses:
            data["verses"] = verses
    return data


def _word_text(word: str) -> str:
    """Return a sung word as the grid has it; a dash where the one before is held."""
    text = clean_text(word)
    return "–" if text in ("_", "_-") else text


def _legend(sheet: Sheet, strains: list[dict[str, Any]]) -> Iterator[list[str]]:
    """Yield the signs on the page that need an explanation: [sign, meaning].

    The sign of a column's length comes third, after "lasts".
    """
    cells = [cell for strain in strains for row in strain["rows"] for cell in row["cells"] if cell]
    signs = [sign for cell in cells for sign in cell["signs"]]
    yield from _cell_legend(sheet, cells, {sign["kind"] for sign in signs})
    yield from _note_legend(sheet, signs)
    yield from _kit_legend(sheet)
    yield from _cycle_legend(sheet.cycles)


def _cell_legend(sheet: Sheet, cells: list[dict[str, Any]], kinds: set[str]) -> Iterator[list[str]]:
    """Yield the signs in the beats: held notes, silence, several notes in one beat."""
    if "hold" in kinds:
        yield ["hold", "held"]
    if "rest" in kinds:
        yield ["rest", "silent"]
    if "rest" in kinds and any(strain.free for strain in sheet.strains):
        yield ["breath", "a breath, in a free line"]
    if any(len(cell["signs"]) > 1 for cell in cells):
        yield ["beat", "in one beat"]
    if any(not cell["parts"] for cell in cells):
        yield ["tick", "just here, where letters crowd"]


def _note_legend(sheet: Sheet, signs: list[dict[str, Any]]) -> Iterator[list[str]]:
    """Yield the signs at a note: glides, grace notes, octave dots, decorations."""
    if any(note.glides for strain in sheet.strains for note in strain.notes):
        yield ["glide", "a glide (meend)"]
    if any(True for strain in sheet.strains for _ in slurs_of(strain.notes)):
        yield ["slur", "in one breath or bow (slur)"]
    if any("grace" in sign for sign in signs):
        yield ["grace", "a grace note (kan)"]
    octaves = {sign.get("octave", 0) for sign in signs}
    if max(octaves, default=0) > 0:
        yield ["high", "an octave up"]
    if min(octaves, default=0) < 0:
        yield ["low", "an octave down"]
    marks = {mark["text"] for sign in signs for mark in sign.get("marks", [])}
    yield from ([text, meaning] for text, meaning in _DECORATIONS.items() if text in marks)


def _kit_legend(sheet: Sheet) -> Iterator[list[str]]:
    """Yield the letters of the drums of a kit, and the sign for several at once."""
    notes = [note for strain in sheet.strains if strain.kind == "kit" for note in strain.notes]
    struck = [(note.syllable, *note.also) for note in notes if isinstance(note, PartNote)]
    used = {name for names in struck for name in names}
    used |= {value for note in notes for value in note.grace if isinstance(value, str)}
    yield from ([drum.letter, drum.words] for drum in DRUMS if drum.name in used)
    if any(len(names) > 1 for names in struck):
        yield ["+", "at once"]


def _cycle_legend(cycles: Sequence[Cycle]) -> Iterator[list[str]]:
    """Yield the signs over the columns: first beat, waves, claps, columns shorter than a beat."""
    yield ["×", "first beat (sam)"]
    signs = {sign for cycle in cycles for sign in cycle.signs.values()}
    if "0" in signs:
        yield ["0", "wave (khali)"]
    if "2" in signs:
        yield ["2 3 …", "claps"]
    lengths = [_short_column(column) for cycle in cycles for column in cycle_columns(cycle)]
    yield from (["lasts", meaning, sign] for sign, meaning in dict.fromkeys(lengths) if sign)
