"""What is performance_of, where it stands in the mix and how loud that is, as golden text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from support.dense import dense_score
from support.goldens import check_golden
from support.making import piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.catalog.roles import ROLES
from cyclechart.sound.legato import LegatoTone
from cyclechart.sound.rate import RATE, Stereo
from cyclechart.write.audio import mixdown, phrases, stems
from cyclechart.write.audio.mixdown import (
    apply_mastering,
    mastering_of,
    part_gains,
    part_level,
    part_pans,
    raw_blocks,
    write_raw_mix,
)
from cyclechart.write.audio.performance import PartEvents, Performance, Stroke, Tone, performance_of
from cyclechart.write.audio.stems import stem


def test_what_is_played_is_the_golden_one() -> None:
    performance = performance_of(dense_score())
    lines = [f"{performance.frames} frames"]
    for part in performance.parts:
        lines.append(f"{part.name} {part.role.name} {part.voice} {part.plucked} {part.hz:.3f}")
        for tone in part.tones[:60]:
            curve = [(frame, round(cents, 2)) for frame, cents in tone.curve]
            lines.append(f"  {tone.start} {tone.frames} {tone.hz:.3f} {tone.velocity} {curve}")
        lines += [
            f"  {one.start} {one.sound} {one.velocity} {one.variant}" for one in part.strokes[:60]
        ]
    check_golden("performance.txt", "\n".join(lines) + "\n")


def test_places_in_the_mix_are_the_golden_ones() -> None:
    roles = [role for role in ROLES.values() for _ in range(4)]
    voices = ("lute", "drum-kit", "tabla", "flute")
    parts = [
        PartEvents(f"{number}", role, voices[number % 4], (), ())
        for number, role in enumerate(roles)
    ]
    lines = []
    for part, pan, place in zip(parts, part_pans(parts), part_gains(parts), strict=True):
        sides = f"{place.left:.4f} {place.right:.4f} {place.room:.4f}"
        lines.append(f"{part.role.name} {part.voice}: {part_level(part)} dB at {pan}: {sides}")
    check_golden("places.txt", "\n".join(lines) + "\n")


SMALL = """\
tempo: 180
count-in: 0
players: {flute: , drum-kit: , tabla: , tanpura: }
cycle: rupak
lines: {head: {sargam: "S~ R/2 G - m !gamak!P - || S R m S R m d"}}
form: [play: head]
"""


def levels(samples: np.ndarray, pieces: int = 16) -> str:
    """The level of each of some pieces of a sound, in dB."""
    parts = np.array_split(samples, pieces)
    return " ".join(f"{10 * np.log10(max(float((p**2).mean()), 1e-12)):.1f}" for p in parts)


@pytest.fixture
def small_blocks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks of a second: a short piece has several."""
    monkeypatch.setattr(stems, "BLOCK", RATE)
    monkeypatch.setattr(mixdown, "BLOCK", RATE)


def small() -> Performance:
    """The performance of a small piece."""
    return performance_of(arrange(piece_of(SMALL)))


@pytest.mark.usefixtures("small_blocks")
@pytest.mark.parametrize("seamless", [False, True])
def test_stems_are_the_golden_ones(seamless: bool) -> None:
    performance = small()
    lines = []
    for part in performance.parts:
        blocks = list(stem(part, performance.frames - RATE // 2, seamless))
        lines.append(f"{part.name} {[len(block) for block in blocks]}")
        lines.append(f"  {levels(np.concatenate(blocks))}")
    name = "stems-seamless.txt" if seamless else "stems.txt"
    check_golden(name, "\n".join(lines) + "\n")


@pytest.mark.usefixtures("small_blocks")
@pytest.mark.parametrize("seamless", [False, True])
def test_the_mix_is_the_golden_one(tmp_path: Path, seamless: bool) -> None:
    performance = small()
    performance = replace(performance, parts=performance.parts[:2], frames=3 * RATE)
    raw = tmp_path / "mix"
    write_raw_mix(performance, part_gains(performance.parts), raw, seamless)
    mix = np.concatenate(list(raw_blocks(raw)))
    lines = [f"{mix.shape} left {levels(mix[:, 0])}", f"right {levels(mix[:, 1])}"]
    for lossy in (False, True):
        how = mastering_of(lambda: raw_blocks(raw), lossy)
        lines.append(f"{how.factor:.3f} {how.limits} {how.loudness:.2f} {how.top:.4f}")
        frames = None if seamless else len(mix)
        sound = np.concatenate(list(apply_mastering(raw_blocks(raw), how, frames)))
        lines.append(f"{sound.shape} {levels(sound, 32)} {np.abs(sound).max():.3f}")
    check_golden("mix-seamless.txt" if seamless else "mix.txt", "\n".join(lines) + "\n")


def clicks(level: float, tall: float, every: int) -> Iterator[Stereo]:
    """Blocks of a soft tone with tall clicks."""
    for number in range(8):
        time = np.arange(RATE // 2) / RATE
        wave = level * np.sin(2 * np.pi * 440 * time)
        wave[::every] += tall if number % 3 else tall / 2
        yield np.stack([wave, wave * 0.5], axis=1).astype(np.float32)


@pytest.mark.parametrize(
    "shape", [(0.05, 0.0, 900), (0.05, 0.4, 9000), (0.01, 0.9, 20000), (0.0, 0.0, 500)]
)
def test_masterings_are_the_golden_ones(shape: tuple[float, float, int]) -> None:
    lines = []
    for lossy in (False, True):
        how = mastering_of(lambda: clicks(*shape), lossy)
        lines.append(f"{how.factor:.3f} {how.limits} {how.loudness:.2f} {how.top:.4f}")
        for frames in (None, 4 * RATE, 4 * RATE - RATE // 3):
            blocks = list(apply_mastering(clicks(*shape), how, frames))
            sound = np.concatenate(blocks)
            peak = np.abs(sound).max()
            lines.append(f"{[len(b) for b in blocks]} {levels(sound, 24)} {peak:.3f}")
    name = "-".join(f"{one:g}" for one in shape)
    check_golden(f"mastering-{name}.txt", "\n".join(lines) + "\n")


def test_a_wave_is_made_once_and_forgotten_when_there_are_too_many(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made: list[object] = []

    def phrase(voice: str, tones: Sequence[LegatoTone], frames: int, take: int = 0) -> np.ndarray:
        made.append(tones[0].hz)
        return np.zeros(1000, dtype=np.float32)

    monkeypatch.setattr(stems.voices, "phrase", phrase)
    monkeypatch.setattr(phrases, "TAKES", 1)  # tones that are alike sound alike
    monkeypatch.setattr(stems, "MOST_CACHED", 8000)
    hertz = (200.0, 300.0, 200.0, 400.0, 300.0, 200.0, 200.0)
    tones = tuple(Tone(n * 10, 1000, hz, 80) for n, hz in enumerate(hertz))
    part = PartEvents("flute", ROLES["melody"], "flute", tones, (Stroke(500, 36, 9),))
    list(stem(replace(part, strokes=()), 2000))
    assert made == [200.0, 300.0, 400.0, 300.0, 200.0]
