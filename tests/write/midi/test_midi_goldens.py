"""Every message of whole MIDI files and the channel plans, as golden text."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import mido
import pytest
from support.dense import dense_score
from support.goldens import check_golden
from support.making import ROOT
from write.midi.test_channels import random_score

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Score
from cyclechart.piece.load import load
from cyclechart.write.midi.channels import Plan, plan
from cyclechart.write.midi.file import midi_with_report

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


def plan_as_text(score: Score, planned: Plan) -> str:
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


@pytest.mark.parametrize("standard", [False, True], ids=["bent", "retuned"])
def test_the_channel_plans_of_crowds_are_the_golden_ones(standard: bool) -> None:
    text = ""
    for seed in CROWDS:
        score = random_score(seed, 24)
        text += f"crowd {seed}\n{plan_as_text(score, plan(score, tuning_standard=standard))}"
    check_golden("crowds-retuned.txt" if standard else "crowds.txt", text)
