"""The data of rehearsal pages as golden text, their sounds reduced to their levels."""

from __future__ import annotations

import base64
import io
import json
import zlib
from typing import Any

import numpy as np
import pytest
import soundfile
from lxml import etree
from support.dense import dense_band, dense_part, dense_piece
from support.goldens import as_lines, check_golden
from support.making import piece_of

from cyclechart.catalog.roles import ROLES
from cyclechart.piece.model import Piece
from cyclechart.write.audio.performance import PartEvents, Stroke
from cyclechart.write.engraving.systems import engrave
from cyclechart.write.files.cache import MemoryCache
from cyclechart.write.webpage import data as data_module
from cyclechart.write.webpage.data import page_data
from cyclechart.write.webpage.parts import packed_parts, part_data
from cyclechart.write.webpage.sounds import (
    nearest_velocity,
    room_sound,
    string_sound,
    stroke_sound,
    struck_velocities,
)
from cyclechart.write.webpage.svg_slimming import slim

SMALL = """\
title: Small
composer: Nobody
tonic: F#
mode: yaman
cycle: rupak
tempo: 72
count-in: 0
players: {flute: , tabla: , guitar: {plays: voicings}}
lines:
  one: {begins: 6, sargam: "S R || S R G M P D N || S~ G -"}
  two: {lands: free, sargam: "S G P"}
form: [{free: two, by: [flute], seconds: 5}, play: one, {play: one, mode: marwa, tonic: A}]
"""


@pytest.fixture
def silent(monkeypatch: pytest.MonkeyPatch) -> None:
    """No sound is rendered: each is named by what it would be rendered from."""

    def struck(part: PartEvents, sound: str | int, velocity: int, variant: int) -> dict[str, Any]:
        return {"struck": [part.voice, sound, velocity, variant]}

    def plucked(hz: float, cents: float, velocity: int, touch: int = 0) -> dict[str, Any]:
        return {"plucked": [round(hz, 3), cents, velocity, touch]}

    monkeypatch.setattr(data_module, "stroke_sound", struck)
    monkeypatch.setattr(data_module, "string_sound", plucked)
    monkeypatch.setattr(data_module, "room_sound", lambda: "ROOM")


@pytest.mark.usefixtures("silent")
@pytest.mark.parametrize("name", ["dense", "small"])
def test_the_data_of_a_page_is_the_golden_one(name: str) -> None:
    piece: Piece = dense_piece() if name == "dense" else piece_of(SMALL)
    page: dict[str, Any] = dict(page_data(piece, shifts=()))
    page["waves"] = {wave: _table(table) for wave, table in page["waves"].items()}
    for voice in page["voices"]:
        voice["tones"], voice["strokes"] = voice["tones"][:40], voice["strokes"][:40]
    check_golden(f"page-{name}.json", as_lines(page) + "\n")


def _table(table: dict[str, Any]) -> list[Any]:
    zone = table["zones"][-1]
    return [len(table["zones"]), zone["levels"][0][:3], [round(sum(r), 3) for r in zone["levels"]]]


def _unpacked(text: str) -> dict[str, Any]:
    return dict(json.loads(zlib.decompress(base64.b64decode(text), -15)))


@pytest.mark.parametrize("shift", [0, 3])
def test_the_parts_of_a_page_are_the_golden_ones(shift: int) -> None:
    drawn = MemoryCache(99)
    parts = packed_parts(piece_of(SMALL), shift, drawn=drawn)
    again = packed_parts(piece_of(SMALL), shift, drawn=drawn)
    assert parts == again
    data = {player: _reduced(_unpacked(part)) for player, part in parts.items()}
    check_golden(f"page-parts-{shift}.json", as_lines(data) + "\n")


def _reduced(part: dict[str, Any]) -> dict[str, Any]:
    return {**part, "systems": [_boxes(system) for system in part["systems"]]}


def _boxes(system: str) -> str:
    root = etree.fromstring(system)
    return f"{root.get('viewBox')} {sum(1 for _ in root.iter())} elements, {len(system)} letters"


def test_the_part_of_a_dense_piece_is_the_golden_one() -> None:
    band = dense_band()
    drawn = MemoryCache(99)
    lines = {}
    for player in band.piece.players:
        if player.name not in ("violin", "tabla", "tanpura"):
            continue
        part = part_data(band, player, drawn=drawn)
        lines[player.name] = part and _reduced(dict(part))
    check_golden("page-part-dense.json", as_lines(lines) + "\n")


def test_a_small_picture_is_the_golden_one() -> None:
    sheet = dense_part("alto-sax")
    strain = next(strain for strain in sheet.strains if strain.name == "quick")
    text = ""
    for drawing in engrave(sheet, strain, first=True).drawings:
        text += slim(drawing, "X0").replace("><", ">\n<") + "\n"
    check_golden("slim.svg", text)


def heard_levels(flac: str) -> str:
    """The rate, the shape and the loudness of a sound in tenths of its length."""
    samples, rate = soundfile.read(io.BytesIO(base64.b64decode(flac)))
    tenths = np.array_split(samples, 10)
    levels = [f"{10 * np.log10(max(float((part**2).mean()), 1e-9)):.1f}" for part in tenths]
    return f"{rate} {samples.shape} {' '.join(levels)}"


def played_part(voice: str, sound: str | int, velocities: tuple[int, ...]) -> PartEvents:
    """A drum with a stroke of each velocity."""
    strokes = tuple(Stroke(at, sound, one) for at, one in enumerate(velocities))
    return PartEvents("drum", ROLES["theka"], voice, (), strokes, 146.8)


def test_sounds_are_the_golden_ones() -> None:
    lines = [f"room {heard_levels(room_sound())}"]
    one = string_sound(146.8, 3.5, 58)
    lines.append(f"string {one['cents']} {one['velocity']} {heard_levels(one['flac'])}")
    for voice, sound in (("tabla", "na"), ("tabla", "ge"), ("drum-kit", 36), ("drum-kit", 51)):
        part = played_part(voice, sound, (90,))
        made = stroke_sound(part, sound, 90)
        lines.append(f"{voice} {sound} {made['velocity']} {heard_levels(made['flac'])}")
    check_golden("page-sounds.txt", "\n".join(lines) + "\n")


def test_velocities_that_are_rendered_are_the_golden_ones() -> None:
    lines = []
    for velocities in (
        (60,), (60, 80), (60, 80, 80), (60, 81), (50, 90, 90, 70), (50, 50, 60, 90, 91, 91),
        (40, 80, 60), (20, 30, 40, 41), (80, 60, 60, 80),
    ):  # fmt: skip
        (chosen,) = struck_velocities(played_part("tabla", "na", velocities)).values()
        near = [nearest_velocity(chosen, velocity) for velocity in (1, 60, 65, 70, 71, 127)]
        lines.append(f"{velocities}: {chosen}, {near}")
    check_golden("page-velocities.txt", "\n".join(lines) + "\n")
