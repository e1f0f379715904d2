"""The command ``backing``: MIDI or sound to rehearse with: slower, looped, without a player."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import (
    BALANCE,
    FONT,
    PLAIN,
    TO,
    CannotRun,
    cannot,
    on_sa,
    print_written,
    sound_options,
)
from cyclechart.commands.completion import completing

if TYPE_CHECKING:
    from cyclechart.arrange.score import Score
    from cyclechart.piece.model import Piece
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.audio.sound_options import Balance, SoundOptions

BACKING = "backing"
"""In the name of every file, that none is ever the name of one of ``arrange``."""


@click.command()
@click.argument("piece", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@TO
@click.option("--tempo", help="Share of the tempo: 70%, or 60%,80%,100%, or '60%-100% by 10%'.")
@click.option(
    "--without",
    multiple=True,
    metavar="PLAYER",
    shell_complete=completing("player"),
    help="Leave this player out; separate several by commas.",
)
@click.option("--only-cycles", metavar="5-8", help="Only these cycles, with a count-in.")
@click.option(
    "--loop", type=click.IntRange(1, 200), default=1, help="Play everything this many times."
)
@click.option(
    "--click/--no-click",
    "clicks",
    default=None,
    help="Claps and waves of the cycle throughout, or none at all.",
)
@click.option("--sing-back", is_flag=True, help="Leave time after each melody to sing it back.")
@click.option(
    "--tonic",
    help="Move the piece to another Sa (tonic): D, Eb or F#.",
    shell_complete=completing("tonic"),
)
@click.option(
    "--tuning-standard",
    is_flag=True,
    help="Tune by MIDI Tuning Standard messages instead of pitch bends.",
)
@PLAIN
@click.option(
    "--as",
    "kind",
    type=click.Choice(["midi", "mp3", "flac", "ogg", "wav"]),
    default="midi",
    show_default=True,
    help="The kind of file: MIDI or a kind of sound file.",
)
@BALANCE
@FONT
def backing(
    piece: Path,
    folder: Path,
    tempo: str | None,
    without: tuple[str, ...],
    only_cycles: str | None,
    loop: int,
    clicks: bool | None,
    sing_back: bool,
    tonic: str | None,
    tuning_standard: bool,
    plain: bool,
    kind: str,
    balance: Balance,
    font: Path | None,
) -> None:
    """Write MIDI or sound of PIECE to rehearse with, one file for each tempo.

    The names of the files begin with the piece's and "backing", and say which options were used.

    Exit status: 0 written, 1 the piece cannot be read completely, 2 the command itself could not
    run.
    """
    from cyclechart.arrange.rehearse import options
    from cyclechart.arrange.rehearse.score_transforms import at_tempo
    from cyclechart.write.files.cautions import LEVEL

    if kind == "midi" and font is not None:
        raise CannotRun(
            "a MIDI file has no sound of its own; use the font with --as mp3, flac, ogg or wav"
        )
    options_of_sound = sound_options(balance, font)
    if kind == "midi" and options_of_sound.for_loudspeakers:
        raise CannotRun(
            "a MIDI file has no balance for loudspeakers; ask for sound with --as mp3, flac, ogg "
            "or wav"
        )
    made = on_sa(piece, tonic)
    without = tuple(name.strip() for one in without for name in one.split(",") if name.strip())
    try:
        parts_of_tempo = options.parse_tempi(tempo) if tempo is not None else (Fraction(1),)
        asked = without, only_cycles, loop, clicks, sing_back
        score, said = _score(made, *asked, plain=plain)
        if plain:
            said.append("plain")
        if tuning_standard and kind == "midi":
            said.append("tuning standard")
        said += options_of_sound.words
        files: dict[str, Score] = {}
        former = []
        for factor in parts_of_tempo:
            slow = [f"{_percent(factor)}%"] if factor != 1 or len(parts_of_tempo) > 1 else []
            moved = [f"sa {_plain(made.tonic)}"] if tonic is not None else []
            name = options.rendering_name(piece.stem, BACKING, *moved, *slow, *said)
            former.append(options.rendering_name(piece.stem, *moved, *slow, *said))
            files[name] = at_tempo(score, factor)
    except ValueError as error:
        raise CannotRun(str(error)) from error
    where = folder / piece.stem
    try:
        paths, sentences = (
            _as_midi(files, where, tuning_standard)
            if kind == "midi"
            else _as_sound(files, where, kind, options_of_sound, plain=plain)
        )
        sentences += _without_former(where, former, "mid" if kind == "midi" else kind)
    except ValueError as error:
        raise CannotRun(str(error)) from error
    except OSError as error:
        raise cannot(error, where) from error
    print_written(paths, [*sentences, LEVEL])


def _as_midi(
    files: dict[str, Score], where: Path, tuning_standard: bool
) -> tuple[list[Path], list[str]]:
    """Write each score as MIDI.

    Return the files, and sentences on tunings given up for lack of channels and on files of
    somebody else that were kept."""
    from cyclechart.write.files.manifest import write_files
    from cyclechart.write.midi.file import midi_with_report

    made: dict[str, bytes] = {}
    given_up: dict[str, None] = {}
    for name, score in files.items():
        data, lost = midi_with_report(score, tuning_standard=tuning_standard)
        made[f"{name}.mid"] = data
        given_up |= dict.fromkeys(lost)
    kept = write_files(where, {f"backing {name}": {name: data} for name, data in made.items()})
    return [where / name for name in made], [*given_up, *kept]


def _as_sound(
    files: dict[str, Score], where: Path, kind: str, options: SoundOptions, *, plain: bool
) -> tuple[list[Path], list[str]]:
    """Write each score as sound; return the files, and those of somebody else that were kept."""
    from cyclechart.arrange.rehearse.recipes import Rendering
    from cyclechart.produce.rehearsal_audio import font_sentences, jobs_of, make_one
    from cyclechart.write.audio.encoders import FORMATS

    renderings = [Rendering(name, name, score) for name, score in files.items()]
    sound = next(one for one in FORMATS if one == kind)
    jobs = jobs_of(renderings, where, sound, "", options, plain=plain)
    kept = [sentence for job in jobs for sentence in make_one(job)]
    kept += font_sentences(jobs[:1], options)
    return [job.path for job in jobs], kept


def _without_former(where: Path, names: Sequence[str], ending: str) -> tuple[str, ...]:
    """Remove what the same options wrote under the names that they had before: never a file of
    ``arrange``, nor one that somebody has changed. Return a sentence about each of these."""
    from cyclechart.produce.rehearsal_audio import KIND
    from cyclechart.write.files.manifest import Manifest

    manifest = Manifest(where)
    old = [f"{name}.{ending}" for name in names]
    return manifest.remove(
        name
        for name in old
        if name in manifest.entries and manifest.entries[name].kind in (KIND, f"backing {name}")
    )


def _plain(tonic: Tonic) -> str:
    """A letter as it is written in a file's name: eb, f-sharp."""
    return tonic.letter.lower() + {-1: "b", 0: "", 1: "-sharp"}[tonic.alter]


def _percent(factor: Fraction) -> str:
    from cyclechart.theory.exact import show_exact

    return show_exact(factor * 100)


def _score(
    piece: Piece,
    without: tuple[str, ...],
    only_cycles: str | None,
    loop: int,
    clicks: bool | None,
    sing_back: bool,
    *,
    plain: bool,
) -> tuple[Score, list[str]]:
    """Return the score that the options ask for, and the words of the options for the file's name.

    Raises ValueError for an option that the piece does not allow.
    """
    from cyclechart.arrange.arranger import Arrangement
    from cyclechart.arrange.rehearse import options
    from cyclechart.arrange.rehearse import score_transforms as renderings
    from cyclechart.arrange.rehearse import sing_back as practice

    said = []
    pickup = Fraction(0)
    if sing_back:
        piece = practice.call_and_response(piece)
        said.append("sing back")
    arranged = Arrangement(piece, plain)
    score, timeline = arranged.score, arranged.timeline
    if without:
        score = renderings.without_parts(score, without)
        said += [f"without {name}" for name in without]
    if clicks:
        score = renderings.with_claps(score, practice.timeline_claps(timeline))
        said.append("with claps")
    if only_cycles is not None:
        first, last = options.parse_cycles(only_cycles)
        starts = renderings.cycle_starts(score)
        at = starts[min(first, len(starts)) - 1] if starts else Fraction(0)
        count = practice.cycle_claps(timeline, at)
        pickup = practice.pickup_to(timeline, at)
        score = renderings.only_cycles(score, first, last, count=count, pickup=pickup)
        said.append(f"cycles {first}-{last}" if first != last else f"cycle {first}")
    if clicks is False:
        score = renderings.without_claps(score)
        said.append("no claps")
    if loop > 1:
        score = practice.looped_with_pickup(score, loop, pickup)
        said.append(f"times {loop}")
    return score, said
