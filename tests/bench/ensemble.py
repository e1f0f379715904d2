"""A band of eight arranged and written to MIDI, against bare mido writing the same messages."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import tune
from midi import plan_of, same_bare
from table import Subject, Target
from timing import Contender, medians

from cyclechart.arrange.arranger import arrange
from cyclechart.piece.load import read_piece
from cyclechart.piece.model import Piece
from cyclechart.write.midi.file import midi_with_report

OURS, BARE = "arranged and written", "same messages, bare"
TIMES = {300: 1, 3_000: 4, 30_000: 16}
"""How often the form is played, by the row's name (which sets the number of rounds)."""
MINUTES = 10
MOST_MEGABYTES = 200

ABOUT = """
Eight players (three melodies, voicings, pedal, hand drums, kit, drone), 120 beats a minute,
keherwa: heads with glides, shakes and graces, solos over a line, trading, a gradual change of
tempo. The middle row is ten minutes or a little more, the last four times as long.
arranged and written: from the piece in memory to the file's bytes. same messages, bare: mido, fresh
messages for exactly what the file holds, saved.
"""

TEXT = """\
title: A long evening
tonic: D
mode: bhimpalasi
cycle: keherwa
tempo: 120
players:
  flute: {plays: melody, octave: 1}
  alto-sax: {plays: melody}
  violin: {plays: melody}
  guitar: {plays: voicings}
  double-bass: {plays: pedal}
  tabla: {plays: theka}
  drum-kit: {plays: theka}
  tanpura: {plays: drone}
lines:
  head: {sargam: "n, S m~g m | P -n {m}P m | !andolan!g - R S | n, SgmP mg RS"}
  answer: {sargam: "P - !gamak!n - | S' - n D | P m g m | P mg R S"}
form:
"""
ROUND = """\
  - {play: head, times: 4, tempo: 120}
  - {solo: flute, cycles: 8, over: answer}
  - {play: {flute: head, alto-sax: answer}, times: 4}
  - {trade: [alto-sax, tabla], cycles: 2, times: 2}
  - {solo: violin, cycles: 8, over: head, by: [alto-sax]}
  - {play: answer, times: 4, tempo: {to: 144}}
"""


def piece(times: int) -> Piece:
    """The piece with its form so often over: about three minutes each."""
    rounds = ROUND * times
    loaded = read_piece("bench.yaml", f"{TEXT}{rounds}".encode(), (), Path())
    assert loaded.piece is not None
    assert not [one for one in loaded.findings if one.severity == "error"], loaded.findings
    return loaded.piece


def seconds_of(made: Piece) -> float:
    """Return its length."""
    score = arrange(made)
    ends = [*(float(mark.at) for mark in score.tempos[1:]), float(score.end)]
    marks = zip(score.tempos, ends, strict=True)
    return sum((end - float(mark.at)) * 60 / float(mark.tempo) for mark, end in marks)


def peak(made: Piece) -> float:
    """The most memory that arranging and writing hold at once, in megabytes."""
    tracemalloc.start()
    midi_with_report(arrange(made))[0]
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return most / 1e6


def subject() -> Subject:
    """The whole table."""
    rows = []
    taken: dict[int, float] = {}
    over = growth = 0.0
    for size, times in TIMES.items():
        made = piece(times)
        data = midi_with_report(arrange(made))[0]
        plan, ticks = plan_of(data)
        assert same_bare(plan, ticks) == data
        found = medians(
            [
                Contender(OURS, lambda made=made: midi_with_report(arrange(made))[0]),
                Contender(BARE, lambda plan=plan, ticks=ticks: same_bare(plan, ticks)),
            ],
            size,
        )
        minutes = seconds_of(made) / 60
        taken[size] = found[OURS] / minutes
        events = sum(len(track) for track in plan)
        rows.append(
            (
                f"{minutes:5.1f} min",
                f"{events:,}",
                f"{found[OURS]:.3f}",
                f"{found[BARE]:.3f}",
                f"{found[OURS] / found[BARE]:.2f}",
            )
        )
        if times == TIMES[tune.SIZES[1]]:
            assert minutes >= MINUTES
            over = found[OURS] - 1.5 * found[BARE]
    growth = taken[tune.SIZES[2]] / taken[tune.SIZES[1]]
    targets = (
        Target("ten minutes: seconds beyond 1.5 times bare mido", over, 0.3),
        Target("growth of the time a minute, from the middle row to the last", growth, 1.1),
        Target("megabytes at most for the last row", peak(piece(16)), MOST_MEGABYTES),
    )
    head = ("piece", "messages", "seconds", "bare", "/ bare")
    return Subject("A band of eight", ABOUT, head, tuple(rows), targets)
