"""A small piece to rehearse, and the files of its rehearsal folder."""

from __future__ import annotations

from pathlib import Path

from support.making import piece_of

from cyclechart.arrange.rehearse.recipes import renderings_of
from cyclechart.produce.rehearsal_audio import Job, jobs_of

TEXT = """\
composer: The Tidewater Seven
count-in: 0
cycle: keherwa
players: {flute: , violin: , tabla: , tanpura: }
lines:
  head: {sargam: "S R G m P d n d"}
  answer: {sargam: "P m G R S R G R"}
form:
  - play: {flute: head, violin: answer}
  - {play: head, by: [flute]}
"""


def jobs(folder: Path, text: str = TEXT, **heading: str) -> dict[str, Job]:
    piece = piece_of(text, tempo="240", **heading)
    return {job.path.stem: job for job in jobs_of(renderings_of(piece), folder, "flac", "")}
