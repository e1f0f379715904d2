"""The page of plain text that says what lies in a rehearsal folder."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from cyclechart.arrange.rehearse.recipes import Rendering
from cyclechart.piece.model import Piece
from cyclechart.produce.rehearsal_audio import Job, in_format, minutes
from cyclechart.text.display import as_read, shown
from cyclechart.theory.exact import show_exact
from cyclechart.write.audio.encoders import FORMATS
from cyclechart.write.files.cautions import HEARING, LINEAGE, STRAIN

WIDTH = 78


DRONE = (
    "drone: set your player to repeat; it comes round without a seam (of the kinds of file,",
    "FLAC, Ogg and WAV without a gap in every player, MP3 in most). FLAC and WAV have one round",
    "of it, which is enough.",
)


def listed_files(
    folder: Path, every: Sequence[tuple[Rendering, Job]]
) -> Iterator[tuple[str, str, float]]:
    """Yield name, description and seconds of each sound file that lies in the folder, of every
    format, in the order of the renderings."""
    for rendering, job in every:
        for kind in FORMATS:
            name = f"{rendering.name}.{kind}"
            if (folder / name).is_file():
                one = in_format(rendering, kind)
                yield name, one.about, replace(job, rounds=one.rounds).seconds


def readme(piece: Piece, files: Sequence[tuple[str, str, float]], page: str = "") -> str:
    """``files``: name, what it is, seconds. ``page``: the rehearsal page's name; "" for none."""
    title = as_read(shown(piece.title))
    cycles = ", ".join(piece.called(cycle) for cycle in piece.cycles)
    lines = [
        title,
        "=" * min(len(title), WIDTH),
        "",
        f"{piece.mode.name} on {piece.tonic}, {cycles}, {show_exact(piece.tempo)} beats a minute.",
        "",
    ]
    if page:
        lines += [
            f"{page}: open it in a browser, on a phone too; it needs no network. Your part, the",
            "beat, loops, any tempo, any Sa, whom you want to hear.",
            "",
        ]
    width = max((len(name) for name, _, _ in files), default=0) + 2
    for name, about, seconds in files:
        lines.append(f"{name:<{width}}{minutes(seconds):>6}  {as_read(shown(about))}")
    lines += [
        "",
        *_wrapped(
            "A counted cycle (claps, waves and taps) comes before the beat, unless the piece says "
            "count-in: 0. Everything is tuned to the drone, also what on a stage cannot be (keys "
            "and frets)."
        ),
        *(DRONE if any(name.startswith("drone.") for name, _, _ in files) else ()),
        "",
        *(line for text in (HEARING, STRAIN, LINEAGE) for line in [*_wrapped(text), ""]),
    ]
    return "\n".join(lines).rstrip() + "\n"


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH)
