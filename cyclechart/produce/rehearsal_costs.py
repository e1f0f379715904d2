"""The work that a rehearsal file is expected to be: seconds on one core of the usual computer.

Measured over the demo pieces. Only the proportions matter for long: ``WorkEstimate`` learns the
speed of the machine as work is done.
"""

from __future__ import annotations

from cyclechart.produce.rehearsal_audio import Job
from cyclechart.sound.rate import RATE
from cyclechart.write.audio.encoders import Format
from cyclechart.write.audio.performance import PartEvents

PER_SECOND = 0.0005
"""Of each second of a stem, also where nothing sounds."""
PER_TONE_SECOND, PER_PLUCK_SECOND, PER_STROKE = 0.0012, 0.005, 0.0012
"""Of each second that a tone or a plucked string sounds, and of a drum's stroke."""
MIXING = 0.018
"""Of each second of a file: the mix, its loudness, its peaks."""
ENCODING: dict[Format, float] = {"mp3": 0.036, "ogg": 0.014, "flac": 0.002, "wav": 0.001}
"""Of each second of a file."""
READING = 0.28
"""Of a player's part on one Sa, drawn for the page."""


def stem_cost(part: PartEvents, frames: int) -> float:
    """Return the cost of the sound of one player."""
    sounding = sum(tone.frames for tone in part.tones) / RATE
    each = PER_PLUCK_SECOND if part.plucked else PER_TONE_SECOND
    return frames / RATE * PER_SECOND + sounding * each + len(part.strokes) * PER_STROKE


def mix_cost(job: Job) -> float:
    """Return the cost of a file once its stems are there."""
    return job.seconds * (MIXING + ENCODING[job.kind])


def whole_cost(job: Job) -> float:
    """Return the cost of a file that is made in one go. A seamless round is heard twice before."""
    parts = (job.performance.parts[number] for number in job.heard)
    times = 2 if job.rounds else 1
    return times * sum(stem_cost(part, job.performance.frames) for part in parts) + mix_cost(job)
