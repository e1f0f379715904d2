"""Sound files: FLAC, MP3, Ogg Vorbis and WAV, with tags. The same sound gives the same bytes."""

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
"""The formats; the usual one, which every phone plays, comes first."""
LOSSLESS: tuple[Format, ...] = ("flac", "wav")
"""The formats that keep a file's length to the sample: its end can go on at its beginning."""

_CODINGS = {
    "flac": ("FLAC", "PCM_16"),
    "mp3": ("MP3", "MPEG_LAYER_III"),
    "ogg": ("OGG", "VORBIS"),
    "wav": ("WAV", "PCM_16"),
}
QUALITY = {"flac": 0.5, "mp3": 0.45, "ogg": 0.5}
"""The compression level of libsndfile, 0 to 1: some 130 kbit/s for MP3 and Vorbis."""
ENCODER_FRAMES = 16_384
"""Frames given to the encoder at a time: Vorbis in one call of millions crashes it."""
SERIAL = 0x63636861
"""The number of the stream in an Ogg file, in place of one taken from the clock."""
LONGEST_TAG = 200
"""Characters."""
JOINERS = "\u200c\u200d"
"""Invisible characters that belong to words of several scripts and to emoji."""


@dataclass(frozen=True)
class Tags:
    """The texts that a player shows on its screen."""

    title: str
    artist: str
    album: str
    comment: str


def write_sound(path: Path, blocks: Iterator[Stereo], tags: Tags, kind: Format) -> None:
    """Write blocks of samples, each of shape (frames, 2), to a file of this kind.

    The name of the file does not matter. Samples beyond full scale are cut.

    Raises:
        OSError: The file cannot be written.
    """
    import soundfile

    container, coding = _CODINGS[kind]
    options = {} if kind == "wav" else {"compression_level": QUALITY[kind]}
    try:
        with soundfile.SoundFile(
            path, "w", RATE, 2, subtype=coding, format=container, **options
        ) as file:
            if kind != "mp3":
                for name in ("title", "artist", "album", "comment"):
                    # libsndfile takes an empty tag for an error.
                    if text := _tag(getattr(tags, name)):
                        setattr(file, name, text)
            for block in blocks:
                clipped = np.clip(block, -1, 1)
                for at in range(0, len(clipped), ENCODER_FRAMES):
                    file.write(clipped[at : at + ENCODER_FRAMES])
    except soundfile.LibsndfileError as error:
        raise OSError(None, str(error), str(path)) from error
    if kind == "ogg":
        path.write_bytes(with_fixed_serial(path.read_bytes()))
    if kind == "mp3":
        path.write_bytes(id3_tags(tags) + path.read_bytes())


def _tag(text: str) -> str:
    """Return a text on one line, not too long, without characters that a tag cannot hold."""
    plain = "".join(c if c.isprintable() or c in JOINERS else " " for c in text)
    return " ".join(plain.split())[:LONGEST_TAG].rstrip()


def id3_tags(tags: Tags) -> bytes:
    """Return the tags of an MP3 file: ID3v2.3 in UTF-16, which every player reads.

    Not by libsndfile, which gives UTF-8 to an encoder that takes it for Latin-1.
    """
    frames = b""
    for name, text in (
        ("TIT2", tags.title), ("TPE1", tags.artist), ("TALB", tags.album), ("COMM", tags.comment),
    ):  # fmt: skip
        if line := _tag(text):
            # A comment begins with its language and its name, which is empty.
            language_and_name = b"eng" + _utf16("") + bytes(2) if name == "COMM" else b""
            data = b"\x01" + language_and_name + _utf16(line)
            frames += name.encode() + len(data).to_bytes(4, "big") + bytes(2) + data
    size = bytes(len(frames) >> shift & 0x7F for shift in (21, 14, 7, 0))
    return b"ID3\x03\x00\x00" + size + frames if frames else b""


def _utf16(text: str) -> bytes:
    return b"\xff\xfe" + text.encode("utf-16-le")


_REVERSED = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))


def with_fixed_serial(data: bytes) -> bytes:
    """Return an Ogg file with ``SERIAL`` for its stream, and new checksums for its pages.

    Pages and their checksum are those of RFC 3533, section 6.

    Raises:
        ValueError: The data is no Ogg file.
    """
    pages = bytearray(data)
    at = 0
    while at < len(pages):
        if pages[at : at + 4] != b"OggS":
            raise ValueError("this is no Ogg file")
        segments = pages[at + 26]
        size = 27 + segments + sum(pages[at + 27 : at + 27 + segments])
        pages[at + 14 : at + 18] = SERIAL.to_bytes(4, "little")
        pages[at + 22 : at + 26] = bytes(4)
        pages[at + 22 : at + 26] = _checksum(bytes(pages[at : at + size])).to_bytes(4, "little")
        at += size
    return bytes(pages)


def _checksum(page: bytes) -> int:
    """Return the CRC of RFC 3533: zlib's polynomial, bits from the other end, no inversion."""
    mirrored = zlib.crc32(page.translate(_REVERSED), 0xFFFFFFFF) ^ 0xFFFFFFFF
    return int(f"{mirrored:032b}"[::-1], 2)


def seconds_of(path: Path) -> float:
    """Return the length of a sound file in seconds."""
    import soundfile

    return float(soundfile.info(str(path)).duration)
