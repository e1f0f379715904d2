"""A small sound font, written record by record as the SoundFont Technical Specification 2.04 has
them (E-mu Systems, 2006, chapters 4 to 8): a sample that loops, an instrument and a preset each."""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence
from typing import NamedTuple

RATE = 44_100
ROOT = 69
PERIOD = 100
"""Frames: a period of the sample, 441 Hz."""
PERIODS = 40
ZEROS = 46
"""Frames of silence that each sample has to end with (6.1)."""
SAMPLE_MODES, ROOT_KEY, SAMPLE_ID, INSTRUMENT = 54, 58, 53, 41
"""Generators (8.1.2); a sample mode of 1 is a loop."""


class Preset(NamedTuple):
    """``bank`` and ``program``: from 0; ``sharp``: cents its sample is off; ``level``: its peak."""

    bank: int
    program: int
    sharp: float = 0.0
    level: float = 0.5


def _chunk(name: bytes, data: bytes) -> bytes:
    return name + struct.pack("<I", len(data)) + data + bytes(len(data) % 2)


def _list(kind: bytes, *chunks: bytes) -> bytes:
    return _chunk(b"LIST", kind + b"".join(chunks))


def _name(text: str) -> bytes:
    return text.encode().ljust(20, b"\0")


def small_font(presets: Sequence[Preset], version: int = 2, kind: int = 1) -> bytes:
    """The bytes of a font. ``kind``: of the samples, 1 for mono."""
    samples, shdr = b"", b""
    phdr, pbag, pgen, inst, ibag, igen = (b"" for _ in range(6))
    for number, preset in enumerate(presets):
        start = len(samples) // 2
        wave = [
            round(32_767 * preset.level * math.sin(2 * math.pi * at / PERIOD))
            for at in range(PERIOD * PERIODS)
        ]
        samples += struct.pack(f"<{len(wave)}h", *wave) + bytes(2 * ZEROS)
        end = start + len(wave)
        # The rate that makes 441 Hz the root key's 440, and as sharp as asked for.
        rate = round(RATE * 440 / 441 * 2 ** (preset.sharp / 1200))
        loop = start + PERIOD, end - PERIOD
        shdr += struct.pack("<20s5IBbHH", _name("sine"), start, end, *loop, rate, ROOT, 0, 0, kind)
        phdr += struct.pack(
            "<20sHHHIII", _name("preset"), preset.program, preset.bank, number, 0, 0, 0
        )
        pbag += struct.pack("<HH", number, 0)
        pgen += struct.pack("<HH", INSTRUMENT, number)
        inst += struct.pack("<20sH", _name("instrument"), number)
        ibag += struct.pack("<HH", 2 * number, 0)
        igen += struct.pack("<HH", SAMPLE_MODES, 1) + struct.pack("<HH", SAMPLE_ID, number)
    many = len(presets)
    phdr += struct.pack("<20sHHHIII", _name("EOP"), 0, 0, many, 0, 0, 0)
    inst += struct.pack("<20sH", _name("EOI"), many)
    shdr += struct.pack("<20s5IBbHH", _name("EOS"), 0, 0, 0, 0, 0, 0, 0, 0, 0)
    pbag += struct.pack("<HH", many, 0)
    ibag += struct.pack("<HH", 2 * many, 0)
    pgen, igen = pgen + bytes(4), igen + bytes(4)
    tables = {
        b"phdr": phdr, b"pbag": pbag, b"pmod": bytes(10), b"pgen": pgen, b"inst": inst,
        b"ibag": ibag, b"imod": bytes(10), b"igen": igen, b"shdr": shdr,
    }  # fmt: skip
    info = (
        _chunk(b"ifil", struct.pack("<HH", version, 1)),
        _chunk(b"isng", b"EMU8000\0"),
        _chunk(b"INAM", b"small\0"),
    )
    body = b"sfbk" + _list(b"INFO", *info) + _list(b"sdta", _chunk(b"smpl", samples))
    body += _list(b"pdta", *(_chunk(name, data) for name, data in tables.items()))
    return _chunk(b"RIFF", body)


BAND = (
    Preset(0, 73, sharp=13.0), Preset(0, 24, sharp=-8.0, level=0.1), Preset(0, 32, level=0.9),
    Preset(128, 0),
)  # fmt: skip
"""Flute, guitar, double bass and drum kit, some of them out of tune."""
