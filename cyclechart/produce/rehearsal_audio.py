"""The sound files of a rehearsal: what each has in it, and the work that makes it.

``rehearsal_folder`` has that work done, on all cores.
"""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from cyclechart.arrange.rehearse.recipes import Rendering
from cyclechart.sound.rate import RATE, Stereo, Wave
from cyclechart.write.audio.encoders import LOSSLESS, Format, Tags, write_sound
from cyclechart.write.audio.font_voices import without_preset
from cyclechart.write.audio.mixdown import (
    RING_OUT,
    Blocks,
    MixGains,
    apply_mastering,
    mastering_of,
    mix_stems,
    part_gains,
    raw_blocks,
    write_raw_mix,
)
from cyclechart.write.audio.performance import PartEvents, Performance, performance_of
from cyclechart.write.audio.player_stems import player_stem
from cyclechart.write.audio.sound_options import USUAL, SoundOptions
from cyclechart.write.audio.stems import BLOCK
from cyclechart.write.files.manifest import Manifest

MAKING = ".making-"
"""The beginning of the name of a run's working folder."""
KIND = "sound"
"""Of the files in the manifest."""
ONE_ROUND = "one round of the drone alone, to be repeated: it comes round without a seam"
"""The description of a drone in a lossless format."""
SOUNDS_LIKE = 2
"""To be raised when the synthesiser, the mix or the mastering sound otherwise than before."""


@dataclass(frozen=True)
class Job:
    """A file to be made. ``heard``: of the performance's parts, by index; ``options``: how it is to
    sound."""

    path: Path
    performance: Performance
    heard: tuple[int, ...]
    rounds: int
    tags: Tags
    kind: Format
    options: SoundOptions = USUAL

    @property
    def seconds(self) -> float:
        """The length, with what rings at the end."""
        if self.rounds:
            return self.performance.frames * self.rounds / RATE
        return (self.performance.frames + RING_OUT) / RATE

    @property
    def key(self) -> str:
        """A digest of all that the file depends on: another key is another sound."""
        places_of = part_gains(self.performance.parts, self.options)
        contents = repr(
            (
                SOUNDS_LIKE, self.performance.frames, self.rounds, self.tags, self.kind,
                self.options.key,
                [(self.performance.parts[n], places_of[n]) for n in self.heard],
            )
        )  # fmt: skip
        return hashlib.sha256(contents.encode()).hexdigest()


def minutes(seconds: float) -> str:
    """Return a length as minutes and seconds: 3:07."""
    whole, rest = divmod(round(seconds), 60)
    return f"{whole}:{rest:02}"


def in_format(rendering: Rendering, kind: Format) -> Rendering:
    """Return a rendering as it is made in a format: what comes round without a seam is one round
    where the format keeps it so, for a player to repeat."""
    if rendering.rounds < 2 or kind not in LOSSLESS:
        return rendering
    return replace(rendering, rounds=1, about=ONE_ROUND)


def jobs_of(
    renderings: Sequence[Rendering],
    folder: Path,
    kind: Format,
    band: str,
    options: SoundOptions = USUAL,
    *,
    plain: bool = False,
) -> tuple[Job, ...]:
    """A file for each rendering. ``band``: who is named as the artist; ``plain``: on the grid."""
    performances: dict[int, Performance] = {}
    found = []
    for one in renderings:
        performance = performances.get(id(one.score))
        if performance is None:
            performance = performances[id(one.score)] = performance_of(one.score, plain=plain)
        heard = tuple(
            number for number, part in enumerate(performance.parts) if part.name not in one.out
        )
        tempos = sorted({round(mark.tempo) for mark in one.score.tempos})
        about = f"{tempos[0]} to {tempos[-1]}" if len(tempos) > 1 else "".join(map(str, tempos))
        title = f"{one.score.title}: {one.about}"
        album = f"{one.score.title}{options.in_album}"
        comment = f"{about} beats a minute, Sa = {one.score.tonic}"
        tags = Tags(title, band or one.score.composer, album, comment)
        path = folder / f"{one.name}.{kind}"
        found.append(Job(path, performance, heard, one.rounds, tags, kind, options))
    return tuple(found)


def font_sentences(jobs: Sequence[Job], options: SoundOptions) -> tuple[str, ...]:
    """Return sentences on players of these files whom the font that was asked for has not."""
    if options.font is None:
        return ()
    return tuple(
        sentence for job in jobs for sentence in without_preset(job.performance.parts, options.font)
    )


def make_one(job: Job) -> tuple[str, ...]:
    """One file by itself, in this process; a sentence where somebody else's had to be kept.

    Raises OSError."""
    folder = job.path.parent
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=MAKING, dir=folder) as scratch:
        whole_file(job, Path(scratch))
        return place(job, Path(scratch), Manifest(folder))


def place(job: Job, scratch: Path, manifest: Manifest) -> tuple[str, ...]:
    """Put a finished file in its place; a sentence where somebody else's had to be kept."""
    return manifest.place(scratch / job.path.name, job.path.name, KIND, job.key)


def frames_of(job: Job) -> int:
    """Return the frames of a file that is not repeated, with what rings at the end."""
    return job.performance.frames + (0 if job.rounds else RING_OUT)


def stem_file(part: PartEvents, frames: int, options: SoundOptions, to: Path) -> None:
    """Write the sound of one player, of which mixes are made."""
    with to.open("wb") as file:
        for block in player_stem(part, frames, options):
            file.write(block.tobytes())


def _mono(path: Path) -> Iterator[Wave]:
    with path.open("rb") as file:
        while data := file.read(BLOCK * 4):
            yield np.frombuffer(data, dtype=np.float32)


def mixed_file(job: Job, stems: Sequence[tuple[Path, MixGains]], scratch: Path) -> None:
    """Write a file from the stems of its players, not yet in its place."""
    # Mastering hears the mix several times: mixed once, read again.
    raw = scratch / f"{job.path.name}.raw"
    with raw.open("wb") as file:
        for block in mix_stems([_mono(path) for path, _ in stems], [place for _, place in stems]):
            file.write(block.tobytes())
    _finish(job, lambda: raw_blocks(raw), scratch)
    raw.unlink()


def whole_file(job: Job, scratch: Path) -> None:
    """Write a file from its performance, not yet in its place."""
    raw = scratch / f"{job.path.name}.raw"
    where = part_gains(job.performance.parts, job.options)
    heard = replace(
        job.performance, parts=tuple(job.performance.parts[number] for number in job.heard)
    )
    own = [where[number] for number in job.heard]
    write_raw_mix(heard, own, raw, bool(job.rounds), job.options)
    _finish(job, lambda: raw_blocks(raw), scratch)
    raw.unlink()


def _finish(job: Job, blocks: Blocks, scratch: Path) -> None:
    """Master a mix and write its file, not yet in its place."""
    how = mastering_of(blocks, lossy=job.kind in ("mp3", "ogg"))
    out = scratch / job.path.name
    sound = apply_mastering(_again(blocks, job.rounds), how, None if job.rounds else frames_of(job))
    write_sound(out, sound, job.tags, job.kind)
    out.chmod(0o644)


def _again(blocks: Blocks, rounds: int) -> Iterator[Stereo]:
    for _ in range(max(1, rounds)):
        yield from blocks()
