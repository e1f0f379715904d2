"""Sound as files: FLAC, MP3, Ogg Vorbis and WAV, with tags, the same bytes for the same sound."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from cyclechart.sound.rate import RATE, Stereo

Format = Literal["mp3", "flac", "ogg", "wav"]
FORMATS: tuple[Format, ...] = ("mp3", "flac", "ogg", "wav")
"""The usual one first: every phone plays it."""

_CODINGS = {
    "flac": ("FLAC", "PCM_16"),
    "mp3": ("MP3", "MPEG_LAYER_III"),
    "ogg": ("OGG", "VORBIS"),
    "wav": ("WAV", "PCM_16"),
}
QUALITY = {"flac": 0.5, "mp3": 0.45, "ogg": 0.5}
"""The compression, 0 to 1, as libsndfile has it: some 130 kbit/s for MP3 and Vorbis."""
ENCODER_FRAMES = 16_384
"""Frames given to the encoder at a time: Vorbis in one call of millions crashes it."""
SERIAL = 0x63636861
"""The number of the stream in an Ogg file, in place of one made from the clock."""
LONGEST_TAG = 200
JOINERS = "\u200c\u200d"
"""Invisible, but part of words in several scripts and of pictures."""


@dataclass(frozen=True)
class Tags:
    """The texts that a player shows on its screen."""

    title: str
    artist: str
    album: str
    comment: str


def write_sound(path: Path, blocks: Iterator[Stereo], tags: Tags, kind: Format) -> None:
    """Write blocks of samples to a file of this kind, whatever the file is called.

    Samples beyond full scale are cut. Raises OSError where it cannot be written.
    """
    import soundfile

    container, coding = _CODINGS[kind]
    how = {} if kind == "wav" else {"compression_level": QUALITY[kind]}
    try:
        with soundfile.SoundFile(
            path, "w", RATE, 2, subtype=coding, format=container, **how
        ) as file:
            if kind != "mp3":
                for name in ("title", "artist", "album", "comment"):
                    # An empty one is an error to libsndfile.
                    if text := _tag(getattr(tags, name)):
                        setattr(file, name, text)
            for block in blocks:
                whole = np.clip(block, -1, 1)
                for at in range(0, len(whole), ENCODER_FRAMES):
                    file.write(whole[at : at + ENCODER_FRAMES])
    except soundfile.LibsndfileError as error:
        raise OSError(None, str(error), str(path)) from error
    if kind == "ogg":
        path.write_bytes(with_fixed_serial(path.read_bytes()))
    if kind == "mp3":
        path.write_bytes(id3_tags(tags) + path.read_bytes())


def _tag(text: str) -> str:
    """A text on one line, not too long, without what a tag cannot hold."""
    plain = "".join(c if c.isprintable() or c in JOINERS else " " for c in text)
    return " ".join(plain.split())[:LONGEST_TAG].rstrip()


def id3_tags(tags: Tags) -> bytes:
    """The tags of an MP3 file: ID3v2.3 in UTF-16, as every player reads it.

    By hand, for libsndfile hands UTF-8 to an encoder that takes it for Latin-1.
    """
    frames = b""
    for name, text in (
        ("TIT2", tags.title), ("TPE1", tags.artist), ("TALB", tags.album), ("COMM", tags.comment),
    ):  # fmt: skip
        if said := _tag(text):
            # A comment has a language and a name of its own, which is empty.
            about = b"eng" + _utf16("") + bytes(2) if name == "COMM" else b""
            data = b"\x01" + about + _utf16(said)
            frames += name.encode() + len(data).to_bytes(4, "big") + bytes(2) + data
    size = bytes(len(frames) >> shift & 0x7F for shift in (21, 14, 7, 0))
    return b"ID3\x03\x00\x00" + size + frames if frames else b""


def _utf16(text: str) -> bytes:
    return b"\xff\xfe" + text.encode("utf-16-le")


_REVERSED = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))


def with_fixed_serial(data: bytes) -> bytes:
    """An Ogg file with ``SERIAL`` for its stream, and new checksums for its pages.

    Pages and their checksum are those of RFC 3533, section 6. Raises ValueError for another file.
    """
    made = bytearray(data)
    at = 0
    while at < len(made):
        if made[at : at + 4] != b"OggS":
            raise ValueError("this is no Ogg file")
        segments = made[at + 26]
        size = 27 + segments + sum(made[at + 27 : at + 27 + segments])
        made[at + 14 : at + 18] = SERIAL.to_bytes(4, "little")
        made[at + 22 : at + 26] = bytes(4)
        made[at + 22 : at + 26] = _checksum(bytes(made[at : at + size])).to_bytes(4, "little")
        at += size
    return bytes(made)


def _checksum(page: bytes) -> int:
    """The CRC of RFC 3533 (the polynomial of zlib's, its bits from the other end, no inversion)."""
    mirrored = zlib.crc32(page.translate(_REVERSED), 0xFFFFFFFF) ^ 0xFFFFFFFF
    return int(f"{mirrored:032b}"[::-1], 2)


def seconds_of(path: Path) -> float:
    """Return the length of a sound file in seconds."""
    import soundfile

    return float(soundfile.info(str(path)).duration)
