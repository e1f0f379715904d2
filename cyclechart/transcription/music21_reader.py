"""MusicXML and ABC read by music21, as tunes."""

from __future__ import annotations

import contextlib
import io
import warnings
from collections.abc import Iterator
from typing import Any, TypeAlias, cast

from lxml import etree

from cyclechart.transcription.abc_details import with_details
from cyclechart.transcription.losses import Losses
from cyclechart.transcription.mode_choice import letter_of
from cyclechart.transcription.music21_bars import (
    bars_of,
    keys_of,
    meters_of,
    tempos_of,
    with_full_bars,
)
from cyclechart.transcription.music21_notes import sa_of, voices_of
from cyclechart.transcription.musicxml_source import is_own, musicxml_root, tidy_own
from cyclechart.transcription.refusal import MOST_NOTES, CannotRead
from cyclechart.transcription.tune import Tune

Music: TypeAlias = Any
"""An object of music21, whose types are its own."""


def musicxml_tune(data: bytes) -> Tune:
    """Return the tune of a MusicXML file."""
    root = musicxml_root(data)
    own = is_own(root)
    if own:
        tidy_own(root)
    from music21.musicxml.xmlToM21 import MusicXMLImporter

    with _in_silence():
        importer: Music = cast("Music", MusicXMLImporter)()
        importer.xmlText = etree.tostring(root, encoding="unicode")
        importer.parseXMLText()
    return _tune(importer.stream, own=own)


def abc_tune(text: str) -> Tune:
    """Return the tune of a text in ABC that has one."""
    from music21 import converter

    with _in_silence(), _without_beams():
        score = converter.parseData(text, format="abc")
    return with_details(_tune(score, own=False), text)


@contextlib.contextmanager
def _in_silence() -> Iterator[None]:
    """Say what music21 cannot read as a refusal, and nothing of what it warns of."""
    with warnings.catch_warnings(), contextlib.redirect_stderr(io.StringIO()):
        warnings.simplefilter("ignore")
        try:
            yield
        except CannotRead:
            raise
        except RecursionError as error:
            raise CannotRead("it is nested too deeply") from error
        except Exception as error:  # music21 raises errors of many kinds for broken files
            said = " ".join(str(error).split())[:100]
            what = f"it cannot be read ({said or type(error).__name__})"
            raise CannotRead(what, "", "export it again from its program") from error


@contextlib.contextmanager
def _without_beams() -> Iterator[None]:
    """Leave out the beams, for which music21 takes nine tenths of its time with ABC."""
    from music21.stream import Stream

    beams: Music = Stream.makeBeams
    Stream.makeBeams = lambda stream, **_: stream  # type: ignore[method-assign]
    try:
        yield
    finally:
        Stream.makeBeams = beams  # type: ignore[method-assign]


def _tune(score: Music, *, own: bool) -> Tune:
    """Return what music21 read as a tune."""
    with _in_silence():
        scores = list(getattr(score, "scores", []))
        score = scores[0] if scores else score
        score.toSoundingPitch(inPlace=True)
        for part in score.parts:
            _with_bars(part)
            with_full_bars(part, own=own)
        parts = [part for part in score.parts if part.getElementsByClass("Measure")]
        if not parts:
            raise CannotRead("there is no bar with notes in it")
        losses = Losses()
        bars = bars_of(parts[0], losses)
        voices = [one for part in parts for one in voices_of(part, bars, own=own)]
        voices = [one for one in voices if one.notes]
        if not voices:
            raise CannotRead("there is no note of a pitch in it")
        if max(len(one.notes) for one in voices) > MOST_NOTES:
            raise CannotRead(f"a voice has more than {MOST_NOTES:,} notes")
        meta = score.metadata
        sa = next((found for part in parts if (found := sa_of(part)) is not None), None)
        return Tune(
            title=_text(meta and (meta.title or meta.movementName)),
            composer=_text(meta and meta.composer),
            voices=tuple(voices),
            bars=tuple(bars),
            meters=meters_of(parts[0], own=own),
            tempos=tempos_of(parts),
            keys=keys_of(parts[0]),
            tonic="" if sa is None else letter_of(sa, keys_of(parts[0])),
            losses=losses.all(),
        )


def _with_bars(part: Music) -> None:
    """Put the notes of a part without bars into bars: of its meter, or one where it has none."""
    if part.getElementsByClass("Measure") or not part.notes:
        return
    if part.getElementsByClass("TimeSignature"):
        part.makeMeasures(inPlace=True)
        return
    from music21.stream import Measure

    inside = [(element.offset, element) for element in part]
    measure = Measure(number=1)
    for _, element in inside:
        part.remove(element)
    for offset, element in inside:
        measure.insert(offset, element)
    part.insert(0, measure)


def _text(said: object) -> str:
    """Return a title or a name as one row of text."""
    text = " ".join(str(said or "").split())[:200]
    return "".join(sign for sign in text if sign.isprintable())
