"""Every message of whole MIDI files and the channel plans, as golden text."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from fractions import Fraction

import mido
import pytest
from support.dense import dense_score
from support.goldens import check_golden
from support.making import ROOT
from write.midi.test_channels import random_score, score_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Hit, Part, Score, Sound
from cyclechart.catalog.roles import MELODY, THEKA
from cyclechart.piece.load import load
from cyclechart.write.midi.channels import ChannelPlan, plan_channels
from cyclechart.write.midi.events import ChannelNote
from cyclechart.write.midi.file import midi_with_report
from cyclechart.write.midi.pitch_bend import bend_steps

CROWDS = range(16)


def midi_as_text(score: Score, *, tuning_standard: bool = False) -> str:
    """Every message of every track, a line each."""
    data, _ = midi_with_report(score, tuning_standard=tuning_standard)
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    lines = [f"type {file.type}, {file.ticks_per_beat} ticks a beat"]
    for number, track in enumerate(file.tracks):
        lines.append(f"track {number}")
        lines += [f"  {message}" for message in track]
    return "\n".join(lines) + "\n"


def plan_as_text(score: Score, planned: ChannelPlan) -> str:
    """The channel of each voice, and which parts every sentence about a loss names."""
    lines = []
    for number, part in enumerate(score.parts):
        places = {voice: at for (own, voice), at in planned.channels.items() if own == number}
        tuned = "tuned" if number in planned.tuned else "equal"
        lines.append(f"  {part.name}, {part.role.name}, program {part.program}, {tuned}: {places}")
    lines.append(f"  programs {planned.programs}")
    lines += [f"  lost: {' '.join(_NAMED.findall(sentence))}" for sentence in planned.given_up]
    return "\n".join(lines) + "\n"


_NAMED = re.compile(r"part \d+|drums|equal|one channel|sound|shares")


@pytest.mark.parametrize("stem", ["lock-eleven", "salt-road"])
def test_the_file_of_a_demo_piece_is_the_golden_one(stem: str) -> None:
    piece = load(ROOT / "pieces" / f"{stem}.yaml", ["foreign-tone"]).piece
    assert piece is not None
    check_golden(f"{stem}.mid.txt", midi_as_text(arrange(piece)))


def test_the_file_of_the_dense_piece_is_the_golden_one() -> None:
    check_golden("dense.mid.txt", midi_as_text(dense_score()))


def test_the_file_of_a_trio_that_is_retuned_is_the_golden_one() -> None:
    score = dense_score()
    parts = tuple(part for part in score.parts if part.name in ("alto-sax", "tabla", "tanpura"))
    text = midi_as_text(replace(score, parts=parts), tuning_standard=True)
    check_golden("dense-retuned.mid.txt", text)


def crowd(seed: int) -> Score:
    """Many parts, some with instruments of one family."""
    score = random_score(seed, 24)
    parts = tuple(
        part if part.program is None else replace(part, program=part.program + number % 3)
        for number, part in enumerate(score.parts)
    )
    return replace(score, parts=parts)


@pytest.mark.parametrize("standard", [False, True], ids=["bent", "retuned"])
def test_the_channel_plans_of_crowds_are_the_golden_ones(standard: bool) -> None:
    text = ""
    for seed in CROWDS:
        score = crowd(seed)
        text += (
            f"crowd {seed}\n{plan_as_text(score, plan_channels(score, tuning_standard=standard))}"
        )
    check_golden("crowds-retuned.txt" if standard else "crowds.txt", text)


def test_times_that_are_on_no_grid_are_the_golden_ones() -> None:
    """Sounds with and without words, and curves with several points on one tick."""
    text = ""
    for last in (97, 8):
        sounds, now = [], Fraction(0)
        for number, parts in enumerate((7, 11, 13, 17, 19, 23, last, 3, 4, 64)):
            length = Fraction(2, parts)
            tiny = length / 20000
            curve = ((tiny, 0.5), (2 * tiny, 1.5), (length / 2, -0.25), (length * 2, 2.0))
            sounds.append(
                Sound(
                    now,
                    length,
                    number,
                    70 + number,
                    "x" * (number % 2),
                    curve=curve if number % 3 == 0 else (),
                )
            )
            now += length
        hits = (Hit(Fraction(1, 29), Fraction(1, 31), 60, 50), Hit(Fraction(1), now, 60, 50, "dha"))
        score = score_of(
            Part("flute", MELODY, 73, tuple(sounds)), Part("tabla", THEKA, None, hits=hits)
        )
        text += midi_as_text(score)
    check_golden("off-the-grid.mid.txt", text)


def test_two_notes_are_alike_on_one_key_at_one_pitch_that_does_not_move() -> None:
    note = ChannelNote(0, 0, 9, 0, 60, 80, "", (5, 0))
    assert note.is_like(replace(note, part=1, start=4))
    assert not note.is_like(replace(note, key=61))
    assert not note.is_like(replace(note, tuned=(6, 0)))
    assert not note.is_like(replace(note, tuned=None))
    assert not replace(note, tuned=None).is_like(replace(note, tuned=None))


def test_a_note_that_is_cut_a_tick_early_arrives_all_the_same() -> None:
    moves = [(2, 10), (6, 20), (9, 30)]
    kept = {9: moves, 8: [(2, 10), (6, 20), (8, 30)], 7: [(2, 10), (6, 20)], 2: [(2, 10)]}
    for tick, expected in kept.items():
        note = ChannelNote(0, 0, 9, 0, 60, 80, "", None, moves=list(moves))
        note.cut(tick)
        assert (note.end, note.moves) == (tick, expected)


def test_a_bend_reaches_the_ends_of_its_range_and_no_further() -> None:
    assert [bend_steps(by, 2) for by in (-3, -2, 0, 1, 2, 3)] == [-8192, -8192, 0, 4096, 8191, 8191]
