"""Players who are apart: by how much, around what, and that nothing else moves.

Outside: the same score played plain, which tests/write/audio/test_performance.py holds against the
MIDI file and the ratios.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from statistics import mean

import pytest
from support.making import ROOT, piece_of, random_changing_piece, random_piece

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.score import Score
from cyclechart.piece.load import load
from cyclechart.sound.rate import RATE
from cyclechart.write.audio.ensemble import (
    MOST_CENTS,
    NOTE_MS,
    PLAYER_MS,
    player_lags,
    unison_cents,
)
from cyclechart.write.audio.performance import PartEvents, performance_of

FRAME = 1000 / RATE
"""Milliseconds of a frame."""


@lru_cache(maxsize=8)
def score_of(name: str) -> Score:
    piece = load(ROOT / "pieces" / f"{name}.yaml", []).piece
    assert piece is not None
    return arrange(piece)


def pairs_of(score: Score) -> Iterator[tuple[PartEvents, PartEvents]]:
    """Each part as it is played and plain."""
    return zip(performance_of(score).parts, performance_of(score, plain=True).parts, strict=True)


def off_by(part: PartEvents, exact: PartEvents) -> list[float]:
    """By how many milliseconds each tone and stroke is late."""
    played = [*part.tones, *part.strokes]
    return [
        1000 * (one.start - other.start) / RATE
        for one, other in zip(played, [*exact.tones, *exact.strokes], strict=True)
    ]


@pytest.mark.parametrize("name", ["the-delta-post", "two-tides"])
def test_each_player_is_around_a_time_of_their_own(name: str) -> None:
    score = score_of(name)
    lags = []
    for part, exact in pairs_of(score):
        late = off_by(part, exact)
        if part.role.is_drone or part.role.is_count:
            assert not any(late)
            continue
        lag = mean(late)
        assert abs(lag) <= PLAYER_MS + 0.5
        if not part.role.plays_chords:
            assert all(abs(one - lag) <= NOTE_MS + 0.3 for one in late)
            assert len({round(one, 2) for one in late}) > 5
        lags.append(lag)
    assert 5 <= max(lags) - min(lags) <= 12
    assert mean(lags) == pytest.approx(0, abs=0.2)
    assert all(b - a > 1 for a, b in pairwise(sorted(lags)))


@pytest.mark.parametrize("name", ["the-delta-post", "two-tides"])
def test_unisons_are_apart_and_the_tuning_is_their_mean(name: str) -> None:
    offsets = {}
    for part, exact in pairs_of(score_of(name)):
        cents = {
            round(1200 * math.log2(one.hz / other.hz), 6)
            for one, other in zip(part.tones, exact.tones, strict=True)
        }
        assert len(cents) <= 1
        offsets[part.name] = cents.pop() if cents else 0.0
    assert offsets["tanpura"] == offsets["double-bass"] == offsets["guitar"] == 0
    melodies = sorted(offsets[name] for name in offsets if name in ("flute", "alto-sax", "violin"))
    assert sum(melodies) == pytest.approx(0, abs=1e-6)
    assert all(2 <= b - a <= 4 for a, b in pairwise(melodies))


def test_eight_in_unison_stay_near_the_tuning() -> None:
    players = ", ".join(f"f{n}: {{instrument: flute}}" for n in range(8))
    score = arrange(piece_of(f"players: {{{players}}}\nlines:\n  a: {{sargam: S R G m}}\n"))
    cents = unison_cents(score)[:8]
    assert len(set(cents)) == 8 and max(map(abs, cents)) <= MOST_CENTS
    assert sum(cents) == pytest.approx(0)


@pytest.mark.parametrize("seed", range(10))
def test_nothing_changes_places_and_nothing_is_before_the_beginning(seed: int) -> None:
    score = arrange(piece_of(random_piece(seed) if seed % 2 else random_changing_piece(seed)))
    for part, exact in pairs_of(score):
        for events, plain in ((part.tones, exact.tones), (part.strokes, exact.strokes)):
            assert all(one.start >= 0 for one in events)
            order = sorted(range(len(events)), key=lambda at: plain[at].start)
            for before, after in pairwise(order):
                if plain[before].start < plain[after].start:
                    assert events[before].start <= events[after].start
        for before, after in pairwise(part.tones):
            if after.joined:
                assert before.start + before.frames == after.start
    assert performance_of(score) == performance_of(score)


def test_a_chord_comes_from_low_to_high_and_is_spread_wider_when_soft() -> None:
    text = "players: {{{0}: {{plays: voicings}}}}\nlines:\n  a: {{sargam: S R G m P d n S'}}\n"
    for player, least, most in (("guitar", 8, 20), ("piano", 3, 6), ("organ", 0, 0)):
        score = arrange(piece_of(text.format(player)))
        spreads = {}
        for velocity in (20, 120):
            (chords,) = (part for part in score.parts if part.name == player)
            sounds = tuple(replace(sound, velocity=velocity) for sound in chords.sounds)
            louder = replace(score, parts=(replace(chords, sounds=sounds),))
            ((part, exact),) = pairs_of(louder)
            late = off_by(part, exact)
            groups: dict[int, list[tuple[float, float]]] = {}
            for tone, plain, by in zip(part.tones, exact.tones, late, strict=True):
                groups.setdefault(plain.start, []).append((tone.hz, by))
            for start, group in groups.items():
                delays = [by for _, by in sorted(group)]
                assert delays == sorted(delays)
                if start > RATE:
                    spreads.setdefault(velocity, max(delays) - min(delays))
                    assert least - FRAME <= max(delays) - min(delays) <= most + FRAME
        assert player == "organ" or spreads[20] > spreads[120] + 1


def test_a_player_alone_keeps_their_time() -> None:
    score = arrange(piece_of("players: {flute: }\nlines:\n  a: {sargam: S R G m}\n"))
    flute = [part for part in score.parts if part.name == "flute"]
    assert player_lags(flute) == [0.0]
    assert unison_cents(score) == [0.0] * len(score.parts)
