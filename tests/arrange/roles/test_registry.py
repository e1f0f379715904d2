"""The registry of roles: whole, strict about unknown roles, and enough to add a role with."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import mido
import numpy as np
import pytest
from support.making import load_text, piece_of, with_heading
from support.midi_files import midi_bytes

import cyclechart
from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_content import StaffContent
from cyclechart.arrange.part_notes import NO_SPOT, PartNote
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.rehearse.recipes import renderings_of
from cyclechart.arrange.roles.drum_kit import RIDE
from cyclechart.arrange.roles.registry import REGISTRY, RoleFunctions
from cyclechart.arrange.score import Hit, Part
from cyclechart.arrange.timeline import Timeline
from cyclechart.catalog import instruments
from cyclechart.catalog.roles import ROLES, Role, UnknownRole, role_named
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.write.audio.mixdown import RING_OUT, mix_stems, part_gains
from cyclechart.write.audio.performance import performance_of
from cyclechart.write.audio.stems import stem
from cyclechart.write.musicxml.document import part_xml
from cyclechart.write.webpage.parts import part_data

PACKAGE = Path(cyclechart.__file__).parent
ONE = Fraction(1)
BELLS = Role(
    name="bells", staff="drums", no_solo="marks the sections, and takes no solo",
    level=-6.0, room=-12.0, pans=(0.6,), tuning_rank=3, on_page="drums",
)  # fmt: skip
BAND = "players: {flute: , shrine-bell: , tabla: , tanpura: }\n"
TEXT = f"{BAND}lines:\n  head: {{sargam: {'S - - - ' * 4}}}\nform:\n  - play: head\n  - groove: 2\n"


def bell_times(timeline: Timeline) -> Iterator[Fraction]:
    """The first beats of the sections of every cycle."""
    for stretch in timeline.stretches:
        base = stretch.start
        while stretch.kind == "metered" and base < stretch.end:
            yield from (base + at for at in stretch.cycle.starts if base + at < stretch.end)
            base += stretch.cycle.beats


def bells(piece: Piece, timeline: Timeline, player: Player) -> Part:
    hits = tuple(Hit(at, ONE, RIDE, 90, "bell") for at in bell_times(timeline))
    return Part(player.name, player.role, None, hits=hits, voice=player.instrument.voice)


def bells_content(
    piece: Piece, timeline: Timeline, bars: Sequence[Bar], player: Player, part: Part
) -> StaffContent:
    notes = [PartNote(at, ONE, NO_SPOT, syllable="bell") for at in bell_times(timeline)]
    return StaffContent("strokes", notes, (False,) * len(bars), {})


@pytest.fixture
def added(monkeypatch: pytest.MonkeyPatch) -> None:
    """The role is added: its facts, its functions and an instrument, for one test."""
    names = (*instruments.instrument_names(), "shrine-bell")
    line = "{title: Shrine Bell, family: bells, roles: [bells], clef: percussion}"
    monkeypatch.setitem(ROLES, "bells", BELLS)
    monkeypatch.setitem(REGISTRY, BELLS, RoleFunctions(bells, bells_content))
    monkeypatch.setitem(instruments._lines(), "shrine-bell", line)
    monkeypatch.setitem(instruments._named(), instruments.fold("shrine-bell"), "shrine-bell")
    monkeypatch.setattr(instruments, "instrument_names", lambda: names)


def bell_of(piece: Piece) -> Player:
    return next(player for player in piece.players if player.name == "shrine-bell")


def found_in(text: str) -> str:
    """Return the findings about a piece, as one text."""
    findings = load_text(with_heading(text, cycle="tintal")).findings
    return "\n".join(f"{one.message} {' '.join(one.tries)}" for one in findings)


def test_every_role_that_a_player_may_have_is_in_the_registry_and_no_other() -> None:
    assert list(ROLES.values()) == list(REGISTRY)
    assert all(name == role.name for name, role in ROLES.items())


def test_an_unknown_role_is_an_error_that_names_it_and_never_a_drone() -> None:
    with pytest.raises(UnknownRole, match="no role 'bells'; there are melody, voicings"):
        role_named("bells")
    piece = piece_of(TEXT.replace("shrine-bell", "bansuri"))
    player = replace(piece.players[1], role=BELLS)
    unknown = replace(piece, players=(piece.players[0], player))
    with pytest.raises(UnknownRole, match="bansuri has the role 'bells'"):
        arrange(unknown)
    with pytest.raises(UnknownRole, match="bansuri has the role 'bells'"):
        _ = Band(unknown).contents


def test_nobody_else_compares_the_names_of_roles() -> None:
    names = "|".join((*ROLES, "drums", "count"))
    compared = re.compile(
        rf"\.(plays|role|role\.name|on_page)\s*(==|!=|in\b|not in\b)|(==|!=) *\.(plays|role)\b"
        rf"|\b(plays|role)\b\s*(==|!=)\s*[\"']({names})[\"']"
    )
    files = [path for path in PACKAGE.rglob("*.py") if path.name != "roles.py"]
    assert len(files) > 200
    found = {
        f"{path.relative_to(PACKAGE)}: {line.strip()}"
        for path in files
        for line in path.read_text("utf-8").splitlines()
        if compared.search(line)
    }
    assert not found


@pytest.mark.usefixtures("added")
def test_a_role_that_is_added_is_heard_in_midi_and_in_sound() -> None:
    piece = piece_of(TEXT, cycle="tintal")
    score = arrange(piece)
    part = next(part for part in score.parts if part.name == "shrine-bell")
    # Three cycles of tintal at least, each of four sections.
    starts = [hit.start for hit in part.hits]
    assert len(starts) >= 12 and all(at % 4 == 0 for at in starts)
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(score)))
    struck = [
        message
        for track in file.tracks
        for message in track
        if message.type == "note_on" and message.note == RIDE and message.velocity
    ]
    assert len(struck) == len(starts) and {one.channel for one in struck} == {9}
    performance = performance_of(score)
    at = next(n for n, one in enumerate(performance.parts) if one.name == "shrine-bell")
    place = part_gains(performance.parts)[at]
    frames = performance.parts[at].strokes[0].start + RING_OUT
    blocks = mix_stems([stem(performance.parts[at], frames)], [place])
    assert max(np.abs(block).max() for block in blocks) > 0.001
    assert place.right > place.left


@pytest.mark.usefixtures("added")
def test_a_role_that_is_added_is_printed() -> None:
    piece = piece_of(TEXT, cycle="tintal")
    band = Band(piece)
    sheet = part_sheet(band, bell_of(piece))
    assert not any(strain.silent for strain in sheet.strains)
    assert {note.syllable for strain in sheet.strains for note in strain.notes} == {"bell"}
    assert "shrine-bell" in {one.reader.player for one in score_sheets(band) if one.reader}
    assert b">bell<" in part_xml(sheet)
    data = part_data(band, bell_of(piece))
    assert data is not None and data["notes"]


@pytest.mark.usefixtures("added")
def test_a_role_that_is_added_has_its_place_in_the_rehearsal_material() -> None:
    piece = piece_of(TEXT, cycle="tintal")
    named = {one.name: one for one in renderings_of(piece)}
    assert "without-shrine-bell" in named
    head = named["line-head"]
    alone = {part.name for part in head.score.parts if part.name not in head.out}
    assert "shrine-bell" not in alone and "tabla" in alone


@pytest.mark.usefixtures("added")
def test_a_role_that_is_added_is_read_and_refused_in_its_own_name() -> None:
    lines = f"lines:\n  head: {{sargam: {'S - - - ' * 4}}}\n"

    def read(players: str, step: str = "{play: head}") -> str:
        return found_in(f"players: {players}\n{lines}form:\n  - {step}\n")

    bell = "{flute: , shrine-bell: {plays: %s}, tabla: }"
    assert "plays" not in read(bell % "bells")
    assert "theka, drone, bells, not 'bels' plays: bells" in read(bell % "bels")
    assert "Shrine Bell plays bells, not theka plays: bells" in read(bell % "theka")
    assert "Flute plays melody, not bells" in read("{flute: {plays: bells}}")
    solo = read(bell % "bells", "{solo: shrine-bell, cycles: 1}")
    assert "shrine-bell marks the sections, and takes no solo" in solo
    by = read(bell % "bells", "{play: head, by: [shrine-bell]}")
    assert "shrine-bell plays bells and cannot play 'head', which is a melody" in by
