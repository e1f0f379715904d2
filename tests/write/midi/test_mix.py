"""The mix of a MIDI file, read back by others: volume, pan, expression, reverb; notes as they were.

Controllers by number: MIDI 1.0 (7 volume, 10 pan, 11 expression, 91 reverb send).
"""

from __future__ import annotations

import io
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import mido
import music21
import pretty_midi
import pytest
from support.making import ROOT, piece_of
from support.midi_files import midi_bytes

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Score
from cyclechart.piece.load import load
from cyclechart.write.midi.mix import PLAIN_EXPRESSION

HELD = (
    'players: {flute: , guitar: , tabla: , tanpura: }\ncount-in: 0\nlines:\n  a: {sargam: "%s"}\n'
)


@lru_cache(maxsize=4)
def score_named(name: str, plain: bool = False) -> Score:
    piece = load(ROOT / "pieces" / f"{name}.yaml", []).piece
    assert piece is not None
    return arrange(piece, plain=plain)


def events_of(data: bytes) -> list[tuple[int, mido.Message]]:
    """(tick, message) of all tracks, in order of time."""
    found = []
    for track in mido.MidiFile(file=io.BytesIO(data), charset="utf-8").tracks:
        now = 0
        for message in track:
            now += message.time
            found.append((now, message))
    return sorted(found, key=lambda one: one[0])


def test_every_channel_has_its_mix_before_its_first_note() -> None:
    seen: dict[int, dict[int, int]] = {}
    for tick, message in events_of(midi_bytes(score_named("two-tides"))):
        if message.type == "control_change" and tick == 0:
            seen.setdefault(message.channel, {})[message.control] = message.value
        elif message.type == "note_on":
            assert {7, 10, 11, 91} <= set(seen[message.channel])
    assert 9 in seen


def test_levels_and_sides_are_those_of_the_mix() -> None:
    heard = pretty_midi.PrettyMIDI(io.BytesIO(midi_bytes(score_named("two-tides"))))
    first = {
        one.name: {change.number: change.value for change in reversed(one.control_changes)}
        for one in heard.instruments
    }
    assert first["guitar"][7] > first["flute"][7] > 80
    assert first["flute"][10] < 64 < first["alto-sax"][10]
    assert first["double-bass"][10] == 64
    assert first["double-bass"][91] < first["flute"][91]


@pytest.mark.parametrize("name", ["the-delta-post", "salt-road"])
def test_phrasing_moves_no_note_for_any_reader(name: str) -> None:
    def without_drone(plain: bool) -> bytes:
        # The hand on its strings is another matter: its plucks are early or late.
        score = score_named(name, plain)
        return midi_bytes(
            replace(score, parts=tuple(part for part in score.parts if not part.role.is_drone))
        )

    data, plain = without_drone(False), without_drone(True)

    def by_mido(some: bytes) -> list[tuple[int, str, int, int]]:
        return [
            (tick, m.type, m.channel, m.note)
            for tick, m in events_of(some)
            if m.type in ("note_on", "note_off")
        ]

    def by_pretty_midi(some: bytes) -> list[tuple[float, float, int]]:
        notes = pretty_midi.PrettyMIDI(io.BytesIO(some)).instruments
        return sorted((n.start, n.end, n.pitch) for one in notes for n in one.notes)

    def by_music21(some: bytes) -> list[tuple[float, int, float]]:
        score = music21.converter.parse(some, format="midi", forceSource=True)
        return sorted(
            (float(n.getOffsetInHierarchy(score)), pitch.midi, float(n.quarterLength))
            for n in score.flatten().notes
            for pitch in n.pitches
        )

    assert sorted(by_mido(data)) == sorted(by_mido(plain))
    assert by_pretty_midi(data) == by_pretty_midi(plain)
    assert by_music21(data) == by_music21(plain)


def test_expression_moves_in_held_notes_under_a_hairpin_and_comes_back() -> None:
    text = HELD % "!p!!cresc!S - - - - - - - | !f!P - | !dim!S - - - - - - - - -"
    piece = piece_of(text, cycle="jhaptal")
    moves = [
        (tick, m.value, m.channel)
        for tick, m in events_of(midi_bytes(arrange(piece)))
        if m.type == "control_change" and m.control == 11 and tick
    ]
    assert len({channel for *_, channel in moves}) == 1
    values = [value for _, value, _ in moves]
    back = values.index(PLAIN_EXPRESSION)
    assert values[:back] == sorted(values[:back]) and values[back - 1] > PLAIN_EXPRESSION + 10
    assert values[back + 1 :] == sorted(values[back + 1 :], reverse=True)
    assert 4 < len(values) < 60
    steps = [b - a for a, b in pairwise(values[:back])]
    assert min(steps) >= 2
    plain = events_of(midi_bytes(arrange(piece, plain=True)))
    assert not [m for tick, m in plain if tick and m.type == "control_change" and m.control == 11]


def test_signs_in_markers_are_plain() -> None:
    data = midi_bytes(score_named("salt-road"))
    markers = [m.text for _, m in events_of(data) if m.type == "marker"]
    assert any(text.endswith(" x") for text in markers)
    assert all(text.isascii() for text in markers)
