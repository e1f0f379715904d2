"""The balance for loudspeakers: through a high-pass as a phone has it, everybody is heard.

Outside: scipy's Butterworth high-pass of the fourth order at 450 Hz as a stand-in for a phone's
loudspeaker (our choice), pyloudnorm's loudness (ITU-R BS.1770-4).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pyloudnorm
import pytest
from scipy.signal import butter, sosfilt
from support.hearing_sound import RATE, Sound, check_mastered, read_sound
from support.making import piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.rehearse.recipes import Rendering
from cyclechart.catalog.roles import ROLES
from cyclechart.produce.rehearsal_audio import jobs_of, make_one
from cyclechart.write.audio.mixdown import part_gains, raw_blocks, write_raw_mix
from cyclechart.write.audio.performance import Performance, performance_of
from cyclechart.write.audio.sound_options import BALANCES, Balance, SoundOptions

PHONE = butter(4, 450, "highpass", fs=RATE, output="sos")
LOUDSPEAKERS = SoundOptions(balance="loudspeakers")

BAND = """\
count-in: 0
players: {flute: , guitar: , double-bass: , tabla: , drum-kit: , tanpura: }
lines:
  head: {sargam: "S R G m P d n S' n d"}
form: [play: head, play: head]
"""


@pytest.fixture(scope="module")
def band() -> Performance:
    return performance_of(arrange(piece_of(BAND, tempo="100")))


def heard(performance: Performance, balance: Balance, to: Path) -> dict[str, Sound]:
    """Each player alone, as in the mix before it is brought to its loudness."""
    options = SoundOptions(balance=balance)
    found = {}
    for part, gains in zip(performance.parts, part_gains(performance.parts, options), strict=True):
        alone = replace(performance, parts=(part,))
        write_raw_mix(alone, [gains], to, options=options)
        found[part.name] = np.concatenate(list(raw_blocks(to))).astype(float)
    return found


def on_phone(sound: Sound) -> float:
    meter = pyloudnorm.Meter(RATE, filter_class="DeMan")
    return float(meter.integrated_loudness(sosfilt(PHONE, sound, axis=0)))


def test_everybody_is_heard_on_a_phone(band: Performance, tmp_path: Path) -> None:
    both = {
        balance: {
            name: on_phone(sound) for name, sound in heard(band, balance, tmp_path / "raw").items()
        }
        for balance in BALANCES
    }
    under = {
        balance: {name: found["flute"] - loudness for name, loudness in found.items()}
        for balance, found in both.items()
    }
    assert under["loudspeakers"]["tabla"] < 8
    assert under["loudspeakers"]["tanpura"] < 10
    assert under["loudspeakers"]["double-bass"] < 12
    assert under["loudspeakers"]["drum-kit"] < 10
    # Nobody drowns the melody, and who has little above 450 Hz is nearer than over headphones.
    assert min(under["loudspeakers"].values()) > -1
    for name in ("tabla", "double-bass"):
        assert under["headphones"][name] > under["loudspeakers"][name] + 3


def test_what_a_phone_only_distorts_is_reduced(band: Performance, tmp_path: Path) -> None:
    low = butter(4, 60, fs=RATE, output="sos")
    over, small = (heard(band, balance, tmp_path / "raw") for balance in BALANCES)
    for name in ("double-bass", "drum-kit"):
        ratios = [(sosfilt(low, one[name], axis=0) ** 2).mean() for one in (over, small)]
        assert ratios[1] < ratios[0] / 2


@pytest.mark.parametrize("kind", ["flac", "mp3"])
def test_the_file_is_as_loud_and_no_peak_is_too_high(kind: str, tmp_path: Path) -> None:
    score = arrange(piece_of(BAND, tempo="150"))
    rendering = Rendering("band", "", score)
    made = []
    for run in ("a", "b"):
        (job,) = jobs_of([rendering], tmp_path / run, kind, "", LOUDSPEAKERS)  # type: ignore[arg-type]
        make_one(job)
        made.append(job.path.read_bytes())
    assert made[0] == made[1]
    check_mastered(read_sound(job.path))
    assert job.tags.album.endswith("(for loudspeakers)")


def test_the_balance_is_in_the_key(tmp_path: Path) -> None:
    rendering = Rendering("band", "", arrange(piece_of(BAND, tempo="150")))
    usual, chosen = (
        jobs_of([rendering], tmp_path, "flac", "", options)[0]
        for options in (SoundOptions(), LOUDSPEAKERS)
    )
    assert usual.key != chosen.key


def test_a_loop_for_loudspeakers_has_no_seam(tmp_path: Path) -> None:
    text = BAND.replace("guitar: , double-bass: , tabla: , drum-kit: , ", "")
    performance = performance_of(arrange(piece_of(text, tempo="120")))
    drone = replace(
        performance, parts=tuple(part for part in performance.parts if part.role.is_drone)
    )
    gains = part_gains(drone.parts, LOUDSPEAKERS)
    write_raw_mix(drone, gains, tmp_path / "raw", True, LOUDSPEAKERS)
    sound = np.concatenate(list(raw_blocks(tmp_path / "raw"))).astype(float)
    steps = np.abs(np.diff(np.concatenate([sound, sound[:100]]), axis=0))
    assert steps[len(sound) - 50 :].max() < 2 * steps[RATE // 10 : -RATE // 10].max()


def test_only_the_melody_stays_as_it_is() -> None:
    assert ROLES["melody"].speaker == (0.0, 0.0, None)
    assert ROLES["pedal"].speaker.partials is not None
    assert all(role.speaker.shelf > 0 for name, role in ROLES.items() if name != "melody")
