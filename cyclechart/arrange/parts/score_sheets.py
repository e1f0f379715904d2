"""The parts of a score: all with the same measures, in a score's order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_in_score
from cyclechart.arrange.parts.score_order import in_score_order, section_of, short_names
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.arrange.sheet.time_signatures import with_time_signatures
from cyclechart.piece.player import Player


def score_sheets(band: Band) -> tuple[Sheet, ...]:
    """Return the parts of all who read a staff, in the order of a score.

    All have the same measures. Bars are written once where they are equal for everybody; rests are
    never joined. Words stand under who sings them, names of tones under who plays a melody, and a
    text over the first staff that has it.
    """
    reading = in_score_order(player for player in band.piece.players if player.role.reads_staff)
    sheets = [
        _score_sheet(part_in_score(band, player), player, short)
        for player, short in zip(reading, short_names(reading), strict=True)
    ]
    sheets = _texts_once(sheets)
    drawn = [
        not all(strain.silent for strain in strains)
        for strains in zip(*(sheet.strains for sheet in sheets), strict=True)
    ]
    return tuple(
        replace(sheet, strains=tuple(with_time_signatures(sheet.strains, drawn)))
        for sheet in sheets
    )


def _score_sheet(sheet: Sheet, player: Player, short: str) -> Sheet:
    """Return a player's sheet as it stands in a score."""
    section = section_of(player.instrument)
    assert sheet.reader is not None
    reader = replace(sheet.reader, short=short, section=section.name, joined=section.joined)
    strains = sheet.strains
    if not player.instrument.sings:
        strains = tuple(
            replace(strain, notes=tuple(replace(note, word="", verses=()) for note in strain.notes))
            if any(note.word or note.verses for note in strain.notes)
            else strain
            for strain in strains
        )
    names = sheet.names if player.role.plays_melody else "none"
    return replace(sheet, reader=reader, strains=strains, names=names)


def _texts_once(sheets: Sequence[Sheet]) -> list[Sheet]:
    """Return the sheets of a score, each text over the first staff of those that have it at a
    time."""
    seen: set[tuple[int, Fraction, str]] = set()
    found = []
    for sheet in sheets:
        strains = []
        for number, strain in enumerate(sheet.strains):
            notes = list(strain.notes)
            for at, note in enumerate(notes):
                if not isinstance(note, PartNote) or not note.text:
                    continue
                place = number, note.start, note.text
                if place in seen:
                    notes[at] = replace(note, text="")
                seen.add(place)
            strains.append(replace(strain, notes=tuple(notes)))
        found.append(replace(sheet, strains=tuple(strains)))
    return found
