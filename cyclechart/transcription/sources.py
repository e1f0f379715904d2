"""The kinds of files that can be brought, recognised by their contents, and the tune in each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import PurePath
from typing import NamedTuple

from cyclechart.catalog.library import Library
from cyclechart.text.excerpts import clip
from cyclechart.transcription.abc_source import AbcTune, abc_tunes, checked
from cyclechart.transcription.refusal import MOST_BYTES, CannotRead
from cyclechart.transcription.tune import Tune

_XML = (b"<", b"\xef\xbb\xbf<", b"\xff\xfe<", b"\xfe\xff\x00<")
_ABC = re.compile(r"^X:\s*\d+|^K:\s*\S", re.MULTILINE)
MOST_NAMED = 12


class FoundTune(NamedTuple):
    """The tune in a file, and sentences on how its signs were read."""

    tune: Tune
    said: tuple[str, ...] = ()


def tune_in(
    data: bytes, name: str, which: str | None = None, *, library: Library, mode: str | None = None
) -> FoundTune:
    """Return the tune in a file; ``which`` is the number or the title of one of several.

    ``mode`` and ``library`` decide which form of a tone is meant where a text of sargam leaves that
    open.
    """
    if len(data) > MOST_BYTES:
        raise CannotRead(f"it is larger than {MOST_BYTES // 1_000_000} megabytes")
    if not data.strip():
        raise CannotRead("the file is empty")
    if data[:4] in (b"MThd", b"RIFF"):
        from cyclechart.transcription.midi_reader import midi_tune

        return FoundTune(midi_tune(data))
    if data[:2] == b"PK" or data.lstrip()[:4].startswith(_XML):
        from cyclechart.transcription.music21_reader import musicxml_tune

        return FoundTune(musicxml_tune(data))
    text = _text(data)
    if PurePath(name).suffix.lower() == ".abc" or _ABC.search(text):
        return FoundTune(_abc(text, which))
    from cyclechart.transcription.sargam_text import is_sargam_text, text_tune

    if is_sargam_text(text):
        return FoundTune(*text_tune(text, library, mode))
    what = "it is neither MusicXML, ABC nor MIDI, and has no rows of sargam"
    raise CannotRead(what, "", "export the tune as MusicXML")


def _text(data: bytes) -> str:
    """Return a file's text; an old one may be in Latin 1."""
    if b"\0" in data:
        what = "it is neither MusicXML, ABC nor MIDI, and no text either"
        raise CannotRead(what, "", "export the tune as MusicXML")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _abc(text: str, which: str | None) -> Tune:
    from cyclechart.transcription.music21_reader import abc_tune

    return abc_tune(checked(_chosen(abc_tunes(text), which)))


def _chosen(tunes: Sequence[AbcTune], which: str | None) -> AbcTune:
    """Return the tune that is meant; refuse with the names where it is not clear."""
    if len(tunes) == 1 and which is None:
        return tunes[0]
    named = [one for one in tunes if which is not None and which.strip() in (one.number, one.title)]
    if named:
        return named[0]
    shown = ", ".join(f"{one.number} {one.title}".strip() for one in tunes[:MOST_NAMED])
    more = f" and {len(tunes) - MOST_NAMED} more" if len(tunes) > MOST_NAMED else ""
    if which is None:
        what = f"it has {len(tunes)} tunes: {shown}{more}"
        raise CannotRead(what, "", f"--tune {tunes[0].number or tunes[0].title}")
    what = f"there is no tune '{clip(which)}' in it; it has {shown}{more}"
    raise CannotRead(what, "", f"--tune {tunes[0].number}")
