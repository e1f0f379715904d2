"""The reader of a part: an instrument, its clef and its staves."""

from __future__ import annotations

from collections.abc import Sequence

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.chord_clef import clef_of
from cyclechart.arrange.sheet.model import Reader, Strain
from cyclechart.catalog.instruments import Staff
from cyclechart.catalog.svara_scripts import LATIN
from cyclechart.piece.player import Player


def reader_of(player: Player, staff: Staff, strains: Sequence[Strain]) -> Reader:
    """Return the reader; chords are on two staves or in the clef of fewer ledger lines."""
    instrument, reads = player.as_read, player.reads
    clef = instrument.clef
    staves = instrument.staves if player.role.plays_chords else 1
    if player.role.plays_chords and staves == 1 and clef == "treble" and reads.clef is None:
        keys = [
            strain.key.tonic.midi + strain.key.shift + tone
            for strain in strains
            for note in strain.notes
            if note.pitch is not None and isinstance(note, PartNote)
            for tone in (note.pitch, *note.also)
            if isinstance(tone, int)
        ]
        clef = clef_of(keys)
    return Reader(
        player=player.name,
        instrument=instrument.title,
        clef=clef,
        transposes=instrument.transposes,
        staff=staff,
        program=instrument.program,
        staves=staves,
        names=reads.names,
        script="" if reads.script == LATIN else reads.script,
        large=reads.large,
    )
