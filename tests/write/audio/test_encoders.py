"""Files of sound: their tags and their bytes, read by readers of our own.

Outside: ID3v2.3 (id3.org, informal standard of 1999), Vorbis comments (xiph.org) in FLAC's metadata
blocks (RFC 9639) and in Ogg pages (RFC 3533) with their CRC bit by bit; RIFF's INFO list.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.hearing_sound import RATE, read_sound

from cyclechart.write.audio.encoders import (
    ENCODER_FRAMES,
    FORMATS,
    LONGEST_TAG,
    SERIAL,
    Format,
    Tags,
    id3_tags,
    seconds_of,
    with_fixed_serial,
    write_sound,
)

PLAIN = Tags("Salt Road: the whole band", "The Tidewater Seven", "Salt Road", "92 beats, Sa = D")
HOSTILE = [
    "<script>alert('x')</script> & \"more\"",
    "nul\x00inside\x1f and \x7f",
    "x" * 300,
    "شروق \u202eevil\u202c אור",
    "👩\u200d🚀 drums 🥁",
    "क्\u200dष राग — ṣaḍja",
    "two\nlines\r\nand\ttabs\u2028more",
    "../../etc/passwd\\..\\x",
    "TITLE=other\x00ARTIST=nobody",
    "\ud800 half of a sign",
    "",
    "   ",
    "\x00",
]


def noise(frames: int) -> np.ndarray:
    dice = np.random.default_rng(3)
    return (0.1 * dice.standard_normal((frames, 2))).astype(np.float32)


def write(folder: Path, kind: Format, tags: Tags = PLAIN, frames: int = 3000) -> Path:
    path = folder / f"sound.{kind}"
    write_sound(path, iter([noise(frames)]), tags, kind)
    return path


def read_id3_tags(data: bytes) -> dict[str, str]:
    """ID3v2.3: ten bytes of header with a size of four times seven bits, then frames."""
    if data[:2] == b"\xff\xfb":
        return {}
    assert data[:3] == b"ID3" and data[3] == 3 and data[5] == 0
    assert all(byte < 128 for byte in data[6:10])
    size = data[6] << 21 | data[7] << 14 | data[8] << 7 | data[9]
    body, found = data[10 : 10 + size], {}
    # Behind it the sound: the sync word of an MPEG frame.
    assert data[10 + size] == 0xFF and data[11 + size] & 0xE0 == 0xE0
    while body:
        name, length = body[:4].decode("ascii"), int.from_bytes(body[4:8], "big")
        assert body[8:10] == b"\0\0" and length <= len(body) - 10
        content, body = body[10 : 10 + length], body[10 + length :]
        assert content[0] == 1
        text = content[1:]
        if name == "COMM":
            assert text[:3] == b"eng" and text[3:7] == b"\xff\xfe\0\0"
            text = text[7:]
        assert name not in found and text[:2] == b"\xff\xfe"
        found[name] = text[2:].decode("utf-16-le")
    names = {"TIT2": "title", "TPE1": "artist", "TALB": "album", "COMM": "comment"}
    return {names[key]: value for key, value in found.items()}


def vorbis_comments(block: bytes) -> dict[str, str]:
    def taken(at: int) -> tuple[bytes, int]:
        size = int.from_bytes(block[at : at + 4], "little")
        assert at + 4 + size <= len(block)
        return block[at + 4 : at + 4 + size], at + 4 + size

    _, at = taken(0)
    count = int.from_bytes(block[at : at + 4], "little")
    at, found = at + 4, {}
    for _ in range(count):
        said, at = taken(at)
        key, _, value = said.decode("utf-8").partition("=")
        assert key.lower() not in found
        found[key.lower()] = value
    if "description" in found:
        found["comment"] = found.pop("description")
    return {key: found[key] for key in ("title", "artist", "album", "comment") if key in found}


def flac_tags(data: bytes) -> dict[str, str]:
    assert data[:4] == b"fLaC"
    at, last, found = 4, False, {}
    while not last:
        kind, last = data[at] & 127, bool(data[at] & 128)
        size = int.from_bytes(data[at + 1 : at + 4], "big")
        if kind == 4:
            found = vorbis_comments(data[at + 4 : at + 4 + size])
        at += 4 + size
    return found


def pages(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Header and content of each page of an Ogg file."""
    at = 0
    while at < len(data):
        assert data[at : at + 4] == b"OggS" and data[at + 4] == 0
        head = 27 + data[at + 26]
        size = sum(data[at + 27 : at + head])
        yield data[at : at + head], data[at + head : at + head + size]
        at += head + size
    assert at == len(data)


def ogg_tags(data: bytes) -> dict[str, str]:
    body = b"".join(content for _, content in pages(data))
    start = body.index(b"\x03vorbis") + 7
    return vorbis_comments(body[start:])


def wav_tags(data: bytes) -> dict[str, str]:
    names = {b"INAM": "title", b"IART": "artist", b"IPRD": "album", b"ICMT": "comment"}
    found: dict[str, str] = {}
    assert data[:4] == b"RIFF" and data[8:12] == b"WAVE"
    at = 12
    while at < len(data):
        name, size = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
        if name == b"LIST" and data[at + 8 : at + 12] == b"INFO":
            inner, end = at + 12, at + 8 + size
            while inner < end:
                key = data[inner : inner + 4]
                long = int.from_bytes(data[inner + 4 : inner + 8], "little")
                if key in names:
                    text = data[inner + 8 : inner + 8 + long]
                    found[names[key]] = text.rstrip(b"\0").decode("utf-8")
                inner += 8 + long + long % 2
        at += 8 + size + size % 2
    return found


READERS = {"mp3": read_id3_tags, "flac": flac_tags, "ogg": ogg_tags, "wav": wav_tags}


@pytest.mark.parametrize("kind", FORMATS)
def test_tags_are_read_back(kind: Format, tmp_path: Path) -> None:
    data = write(tmp_path, kind).read_bytes()
    assert READERS[kind](data) == vars(PLAIN)


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_tags_do_no_harm(kind: Format, text: str, tmp_path: Path) -> None:
    path = write(tmp_path, kind, Tags(text, text, text, text))
    read = READERS[kind](path.read_bytes())
    # All or, where nothing can be seen of it, none.
    assert set(read) in ({"title", "artist", "album", "comment"}, set())
    assert bool(read) == any(sign.isprintable() and sign != " " for sign in text)
    for said in read.values():
        assert len(said) <= LONGEST_TAG
        assert all(sign.isprintable() or sign in "\u200c\u200d" for sign in said)
        kept = [sign for sign in text if sign.isprintable() and not sign.isspace()]
        assert [sign for sign in said if sign.isprintable() and sign != " "] == kept[:LONGEST_TAG]
    assert seconds_of(path) == pytest.approx(3000 / RATE, abs=0.03)
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


@settings(max_examples=40)
@given(st.text(max_size=300), st.text(max_size=20))
def test_any_text_is_a_tag_of_an_mp3_file(title: str, artist: str) -> None:
    data = id3_tags(Tags(title, artist, "", "c"))
    read = read_id3_tags(data + b"\xff\xfb")
    assert read["comment"] == "c"
    assert "album" not in read


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("frames", [1, ENCODER_FRAMES, ENCODER_FRAMES + 1, 3 * ENCODER_FRAMES + 7])
def test_what_is_written_is_heard(kind: Format, frames: int, tmp_path: Path) -> None:
    sent = noise(frames)
    path = write(tmp_path, kind, frames=frames)
    sound = read_sound(path)
    if kind in ("flac", "wav"):
        assert len(sound) == frames
        assert np.abs(sound - sent).max() <= 2**-15
        return
    # Gapless: as long as it was (MP3's Info header, Ogg's last granule position).
    assert abs(len(sound) - frames) <= (1200 if frames < 2 else 0)


def test_samples_beyond_full_scale_are_cut(tmp_path: Path) -> None:
    path = tmp_path / "loud.flac"
    block = np.array([[2.0, -2.0], [1.0, -1.0], [0.5, -0.5]], np.float32)
    write_sound(path, iter([block]), PLAIN, "flac")
    sound = read_sound(path)
    assert sound[0] == pytest.approx([1, -1], abs=1e-4)
    assert sound[2] == pytest.approx([0.5, -0.5], abs=1e-4)


def crc(page: bytes) -> int:
    """RFC 3533, section 6: polynomial 0x04c11db7, from 0, most significant bit first, as it is."""
    register = 0
    for byte in page:
        for bit in range(7, -1, -1):
            top = register >> 31 ^ (byte >> bit & 1)
            register = register << 1 & 0xFFFFFFFF
            if top:
                register ^= 0x04C11DB7
    return register


def test_the_pages_of_an_ogg_file_are_whole(tmp_path: Path) -> None:
    data = write(tmp_path, "ogg", frames=9000).read_bytes()
    found = list(pages(data))
    assert len(found) >= 3
    assert found[0][0][5] & 2 and found[-1][0][5] & 4
    for number, (head, content) in enumerate(found):
        assert int.from_bytes(head[14:18], "little") == SERIAL
        assert int.from_bytes(head[18:22], "little") == number
        bare = head[:22] + bytes(4) + head[26:]
        assert int.from_bytes(head[22:26], "little") == crc(bare + content)


@settings(max_examples=40)
@given(st.lists(st.binary(max_size=600), min_size=1, max_size=4), st.binary(min_size=4, max_size=4))
def test_renumbering_makes_every_checksum_anew(bodies: list[bytes], serial: bytes) -> None:
    data = b""
    for number, body in enumerate(bodies):
        lacing = bytes([255] * (len(body) // 255) + [len(body) % 255])
        data += b"OggS\0\0" + bytes(8) + serial + number.to_bytes(4, "little") + b"junk"
        data += bytes([len(lacing)]) + lacing + body
    made = with_fixed_serial(data)
    assert len(made) == len(data)
    assert [content for _, content in pages(made)] == bodies
    for head, content in pages(made):
        bare = head[:22] + bytes(4) + head[26:]
        assert int.from_bytes(head[22:26], "little") == crc(bare + content)
    assert with_fixed_serial(made) == made


@pytest.mark.parametrize("data", [b"fLaC" + bytes(40), b"OggX" + bytes(40), b"no"])
def test_another_file_is_no_ogg_file(data: bytes) -> None:
    with pytest.raises(ValueError, match="no Ogg file"):
        with_fixed_serial(data)


@pytest.mark.parametrize("kind", FORMATS)
def test_where_it_cannot_be_written_the_system_says_so(kind: Format, tmp_path: Path) -> None:
    with pytest.raises(OSError, match=r"."):
        write(tmp_path / "nowhere", kind)
    (tmp_path / f"sound.{kind}").mkdir()
    with pytest.raises(OSError, match=r"."):
        write(tmp_path, kind)


@pytest.mark.parametrize("kind", FORMATS)
def test_bytes_are_the_same_each_time(kind: Format, tmp_path: Path) -> None:
    first = write(tmp_path, kind).read_bytes()
    assert write(tmp_path, kind).read_bytes() == first
