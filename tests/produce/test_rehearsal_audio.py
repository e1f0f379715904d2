"""The files of a rehearsal: what each has in it, and by which key it is known to have changed."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

from support.hearing_sound import read_sound
from support.making import ROOT, piece_of
from support.rehearsals import TEXT, jobs

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.rehearse.recipes import Rendering, renderings_of
from cyclechart.arrange.rehearse.score_transforms import at_tempo
from cyclechart.produce.rehearsal_audio import jobs_of, make_one
from cyclechart.produce.rehearsal_readme import listed_files, readme


def changed(text: str, **heading: str) -> set[str]:
    """The files of which something changes where the piece is this."""
    before = {name: job.key for name, job in jobs(Path(), TEXT).items()}
    after = {name: job.key for name, job in jobs(Path(), text, **heading).items()}
    assert before.keys() == after.keys()
    return {name for name in before if before[name] != after[name]}


def test_only_what_changed_is_other_work() -> None:
    every = set(jobs(Path()))
    assert changed(TEXT) == set()
    # The violin's line: what it plays in, and its own.
    other = changed(TEXT.replace("P m G R S R G R", "P m G R S R G S"))
    assert {"band", "without-flute", "without-tabla", "line-answer", "slow-60"} <= other
    assert not other & {"without-violin", "line-head", "claps", "drone"}
    # Another Sa is in all but the claps; another title in all there is, for it is in the tags.
    assert every - changed(TEXT, tonic="E") <= {"claps"}
    assert changed(TEXT, title="Another") == every


def test_the_tempo_is_no_matter_to_the_drone() -> None:
    one = jobs(Path())
    piece = piece_of(TEXT, tempo="120")
    other = {job.path.stem: job for job in jobs_of(renderings_of(piece), Path(), "flac", "")}
    assert {name for name in one if one[name].key == other[name].key} == {"drone"}


def test_every_thing_that_is_heard_is_in_the_key() -> None:
    job = jobs(Path())["band"]
    longer = replace(job.performance, frames=job.performance.frames + 1)
    quiet_one = replace(job.performance.parts[0], tones=())
    others = [
        replace(job, performance=longer),
        replace(job, performance=replace(longer, frames=1)),
        replace(job, performance=replace(job.performance, parts=(quiet_one, *longer.parts[1:]))),
        replace(job, heard=job.heard[:-1]),
        replace(job, rounds=2),
        replace(job, kind="ogg"),
        replace(job, tags=replace(job.tags, comment="other")),
    ]
    assert len({one.key for one in (job, *others)}) == 8
    # Where it lies is not.
    assert replace(job, path=Path("elsewhere.flac")).key == job.key


def test_a_key_is_the_same_in_every_process(tmp_path: Path) -> None:
    program = (
        "from pathlib import Path\nimport test_rehearsal_audio as t\n"
        "print(*[job.key for job in t.jobs(Path()).values()])\n"
    )
    said = subprocess.run(
        [sys.executable, "-c", program], check=True, capture_output=True, text=True,
        env={"PYTHONPATH": f"{ROOT}:{ROOT}/tests:{ROOT}/tests/produce", "PYTHONHASHSEED": "11",
             "PATH": ""},
    ).stdout.split()  # fmt: skip
    assert said == [job.key for job in jobs(Path()).values()]


def test_tags_say_what_it_is(tmp_path: Path) -> None:
    piece = piece_of(TEXT, tempo="96", title="Salt Road")
    for one, job in zip(
        renderings_of(piece), jobs_of(renderings_of(piece), tmp_path, "mp3", ""), strict=True
    ):
        assert job.tags.title == f"Salt Road: {one.about}"
        assert (job.tags.artist, job.tags.album) == ("The Tidewater Seven", "Salt Road")
        assert "beats a minute, Sa = D" in job.tags.comment
    half = jobs_of([Rendering("x", "x", at_tempo(arrange(piece), piece.tempo / 192))], tmp_path,
                   "mp3", "Us")  # fmt: skip
    assert half[0].tags.artist == "Us"
    assert half[0].tags.comment.startswith("48 beats")


def test_a_piece_without_a_composer_can_be_made(tmp_path: Path) -> None:
    text = TEXT.replace("composer: The Tidewater Seven\n", "")
    (job,) = jobs_of([Rendering("band", "", arrange(piece_of(text, tempo="240")))], tmp_path,
                     "mp3", "")  # fmt: skip
    assert job.tags.artist == ""
    make_one(job)
    assert len(read_sound(job.path)) > 0


def test_the_page_lists_names_times_and_cautions() -> None:
    piece = piece_of(TEXT, title="Salt \u202eRoad", tempo="96")
    files = [("band.mp3", "the whole band", 125.4), ("drone.mp3", "the drone", 1800.0)]
    lines = readme(piece, files).splitlines()
    assert lines[0] == "Salt Road"
    assert "band.mp3     2:05  the whole band" in lines
    assert "drone.mp3   30:00  the drone" in lines
    said = readme(piece, [])
    assert "NIOSH" in said and "your own teacher's word" in said.replace("\n", " ")
    assert max(map(len, said.splitlines())) <= 100
    assert not any("\u202a" <= sign <= "\u202e" for sign in said)


def test_a_drone_has_the_length_of_its_kind_in_the_list(tmp_path: Path) -> None:
    every = renderings_of(piece_of(TEXT, tempo="240"))
    pairs = list(zip(every, jobs_of(every, tmp_path, "mp3", ""), strict=True))
    for name in ("drone.mp3", "drone.flac", "band.ogg", "mine.wav"):
        (tmp_path / name).touch()
    listed = {name: (about, seconds) for name, about, seconds in listed_files(tmp_path, pairs)}
    assert list(listed) == ["band.ogg", "drone.mp3", "drone.flac"]
    assert (listed["drone.mp3"][1], listed["drone.flac"][1]) == (1800, 90)
    assert "30 minutes" in listed["drone.mp3"][0] and "one round" in listed["drone.flac"][0]
