"""A page in a browser without a network, and the data of a small piece for it."""

from __future__ import annotations

import base64
import io
import json
import shutil
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright

from cyclechart.catalog.roles import ROLES
from cyclechart.sound.rate import RATE
from cyclechart.sound.room import response
from cyclechart.sound.strings import pluck
from cyclechart.sound.voice_tables import named_voice
from cyclechart.write.webpage.data import loudspeaker_data
from cyclechart.write.webpage.html import page_html
from cyclechart.write.webpage.schema import (
    Beat,
    CycleKind,
    PageData,
    PartData,
    Section,
    SoundData,
    Turn,
    VoiceData,
)

CHROMIUM = "/usr/bin/chromium"
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-first-run",
)  # fmt: skip
HERTZ = 293.664768
"""The middle Sa of the piece made by hand: D above middle C."""
BEAT = 0.5
"""Seconds: 120 beats a minute."""
PLUCK, CLICK = "string -1200", "frame 1"


class WatchedPage:
    """A page, with its console messages and its requests."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.messages: list[str] = []
        self.requests: list[str] = []

    def hear(self, message: ConsoleMessage) -> None:
        self.messages.append(message.text)


@contextmanager
def browser() -> Iterator[Browser]:
    """Give Chromium; fail plainly where there is none."""
    if not Path(CHROMIUM).exists() and not shutil.which("chromium"):
        raise AssertionError(
            "The rehearsal page is tested in Chromium, which is not here: apt-get install chromium"
        )
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield launched
        launched.close()


@contextmanager
def open_page(browser: Browser, path: Path, **options: Any) -> Iterator[WatchedPage]:
    """Give the page of a file, with the network off."""
    context = browser.new_context(offline=True, **options)
    watched = WatchedPage(context.new_page())
    watched.page.on("console", watched.hear)
    watched.page.on("pageerror", lambda error: watched.messages.append(str(error)))
    watched.page.on("request", lambda request: watched.requests.append(request.url))
    watched.page.goto(path.as_uri())
    watched.page.wait_for_selector(".system, .note-to:not([hidden])")
    yield watched
    context.close()


def render_sound(page: Page, seconds: float, **options: Any) -> np.ndarray[Any, Any]:
    """Return the sound that the page renders, shape (frames, 2)."""
    coded = page.evaluate(
        """async ([seconds, options]) => {
          const sides = await window.__page.renderOffline(seconds, options);
          return sides.map((side) => {
            const bytes = new Uint8Array(side.buffer, side.byteOffset, side.byteLength);
            let text = "";
            for (let at = 0; at < bytes.length; at += 8192)
              text += String.fromCharCode(...bytes.subarray(at, at + 8192));
            return btoa(text);
          });
        }""",
        [seconds, options],
    )
    return np.stack([np.frombuffer(base64.b64decode(side), "<f4") for side in coded], axis=1)


def hertz_of(wave: np.ndarray[Any, Any], near: float) -> float:
    """The frequency of the partial nearest to ``near``."""
    window = np.exp(-0.5 * (np.linspace(-4.5, 4.5, len(wave))) ** 2)
    size = 8 * len(wave)
    spectrum = np.abs(np.fft.rfft(wave * window, size))
    low, high = (int(near * 2 ** (by / 12) * size / RATE) for by in (-0.7, 0.7))
    top = low + int(np.argmax(spectrum[low:high]))
    # The peak of a Gaussian is a parabola in decibels, so this is exact but for what lies near.
    left, middle, right = np.log(spectrum[top - 1 : top + 2])
    return float((top + 0.5 * (left - right) / (left - 2 * middle + right)) * RATE / size)


def cents(hertz: float, over: float) -> float:
    return float(1200 * np.log2(hertz / over))


def flac(wave: np.ndarray[Any, Any]) -> str:
    file = io.BytesIO()
    soundfile.write(file, wave, RATE, format="FLAC", subtype="PCM_16")
    return base64.b64encode(file.getvalue()).decode()


def packed_part(part: PartData) -> str:
    press = zlib.compressobj(9, zlib.DEFLATED, -15)
    return base64.b64encode(press.compress(json.dumps(part).encode()) + press.flush()).decode()


SEVEN = ([3, 2, 2], {1: "0", 4: "2", 6: "3"}, {1}, 7.0)
FIVE_AND_A_HALF = ([2, 2, 2], {1: "X", 3: "0", 5: "2"}, {3}, 5.5)


def _cycle(name: str, kind: tuple[list[int], dict[int, str], set[int], float]) -> CycleKind:
    sections, signs, hollow, total = kind
    beats: list[Beat] = []
    number = 1
    for length in sections:
        first = number
        for at in range(length):
            beats.append(
                {
                    "at": float(number - 1),
                    "length": min(1.0, total - number + 1),
                    "name": str(number),
                    "sign": signs.get(number, ""),
                    "open": first in hollow,
                    "opens_section": at == 0,
                    "syllable": "",
                }
            )
            number += 1
    return {"name": name, "beats": beats}


def _turns() -> tuple[list[Turn], float]:
    seven = [float(at) for at in range(8)]
    five = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 5.5]
    rows: list[tuple[Any, int, int, list[float], int]] = [
        ("count-in", 0, 0, seven, -1), ("cycle", 1, 0, seven, 0), ("cycle", 2, 0, seven, 0),
        ("cycle", 3, 0, seven, 1), ("cycle", 4, 0, seven, 1), ("cycle", 5, 1, five, 2),
        ("cycle", 6, 1, five, 2), ("free", 0, 1, [0.0, 8.0], 3),
    ]  # fmt: skip
    turns: list[Turn] = []
    start = 0.0
    for kind, number, cycle, beats, section in rows:
        times = [start + BEAT * beat for beat in beats]
        turns.append(
            {"kind": kind, "number": number, "cycle": cycle, "beats": times, "section": section}
        )
        start = times[-1]
    return turns, start


def _sections(turns: list[Turn]) -> list[Section]:
    found: list[Section] = []
    for number, (letter, name) in enumerate(
        [("A", "slack water"), ("B", "the sluice"), ("C", "half a lock"), ("D", "open sea")]
    ):
        mine = [at for at, turn in enumerate(turns) if turn["section"] == number]
        found.append(
            {
                "letter": letter, "name": name, "start": turns[mine[0]]["beats"][0],
                "end": turns[mine[-1]]["beats"][-1], "sa": "D", "mode": "Kafi",
                "key": 2, "turns": (mine[0], mine[-1] + 1),
                # The sluice is led to from the turn before it.
                "loop": (mine[0] - (number == 1), mine[-1] + 1),
            }
        )  # fmt: skip
    return found


TUNE = (0, 200, 300, 500, 700, 1000, 1200, 1000, 700, 500, 300, 200)


def _voice(name: str, role: Any, wave: str, **more: Any) -> VoiceData:
    plain: VoiceData = {
        "name": name, "title": name.capitalize(), "role": role, "wave": wave, "tones": [],
        "strokes": [], "sounds": [], "level": 0.0, "pan": 0.0, "room": -20.0,
        "speaker": ROLES["drone" if role == "drone" else "melody"].speaker,
    }  # fmt: skip
    return {**plain, **more}


def _system(first: int, count: int) -> str:
    """Some notes on five lines, drawn by hand."""
    lines = "".join(f'<path d="M0 {y} H19000" stroke-width="13"/>' for y in range(600, 1400, 180))
    notes = ""
    for at in range(count):
        x, y = 900 + at * 17500 / count, 1500 - TUNE[(first + at) % len(TUNE)]
        head = f'<ellipse cx="{x:.0f}" cy="{y}" rx="120" ry="90" stroke="none"/>'
        notes += f'<g id="n{first + at}" class="note"><g class="notehead">{head}</g></g>'
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 19000 2000" fill="currentColor"'
        f' stroke="currentColor">{lines}{notes}</svg>'
    )


def sample_data(title: str = "Weir Song", composer: str = "The Tidewater Seven") -> PageData:
    """A page made by hand: two kinds of cycle, eight turns, four voices and an invented tune."""
    turns, length = _turns()
    sections = _sections(turns)
    begin = sections[0]["start"]
    tones: list[Any] = [
        (round(begin + BEAT * at, 5), 0.46, float(TUNE[at % len(TUNE)]), 80 + at % 3 * 8, [], 0)
        for at in range(39)
    ]
    free = sections[3]["start"]
    tones.append((free, 3.5, 700.0, 86, [(1.0, 0.0), (1.5, 500.0)], 0))
    clicks = [(beat, 0, 90) for turn in turns[1:7] for beat in turn["beats"][:-1]]
    plucks = [(round(1.15 * at, 5), 0, 64) for at in range(int(length / 1.15))]
    low: list[Any] = [(turn["beats"][0], 3.0, -2400.0, 80, [], 0) for turn in turns[1:7]]
    click = np.zeros(2205)
    click[:441] = 0.5 * np.cos(np.arange(441) * 2 * np.pi * 2000 / RATE) * np.linspace(1, 0, 441)
    string: SoundData = {
        "flac": flac(pluck(HERTZ / 2, 4 * RATE, 64, 0, True)), "cents": -1200.0, "velocity": 64,
    }  # fmt: skip
    systems = [_system(0, 14), _system(14, 14), _system(28, 12)]
    heads = [
        (0, "A", "slack water", ""),
        (1, "B", "the sluice", "softer"),
        (2, "C", "half a lock", ""),
    ]
    notes = [(tone[0], tone[0] + BEAT, f"n{at}") for at, tone in enumerate(tones)]

    def part(player: str, sa: str) -> str:
        return packed_part(
            {"player": player, "systems": systems, "notes": notes, "heads": heads, "sa": sa}
        )

    return {
        "title": title, "composer": composer, "mode": "Kafi", "sa": "D", "hertz": HERTZ,
        "names": ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"], "key": 2,
        "tempo": 120.0, "length": length,
        "cycles": [_cycle("Seven", SEVEN), _cycle("Five and a Half", FIVE_AND_A_HALF)],
        "turns": turns, "sections": sections,
        "voices": [
            _voice("flute", "melody", "flute", tones=tones, pan=-0.25, room=-13.0),
            _voice("bass", "pedal", "bass", tones=low, level=-4.0, room=-24.0),
            _voice("drum", "drums", "", strokes=clicks, sounds=[CLICK], level=-2.0),
            _voice("tanpura", "drone", "", strokes=plucks, sounds=[PLUCK], level=-7.0),
        ],
        "waves": {name: asdict(named_voice(name)) for name in ("flute", "bass")},
        "sounds": {
            PLUCK: string,
            CLICK: {"flac": flac(click), "cents": None, "velocity": 90},
        },
        "room": flac(response()),
        "parts": {
            "0": {"flute": part("flute", "D"), "bass": part("bass", "D")},
            "2": {"flute": part("flute", "E")},
        },
        "drone": [(-1200.0, PLUCK), (-1200.0, PLUCK)],
        "loudspeaker": loudspeaker_data(),
        "drone_tones": [("P", -1698.045), ("m", -1902.0), ("N", -1312.0)],
        "caution": "Your own teacher's word goes before this page.",
    }  # fmt: skip


def write_page(folder: Path, data: PageData, name: str = "page") -> Path:
    path = folder / f"{name}.html"
    path.write_bytes(page_html(data))
    return path


DESK: dict[str, Any] = {"viewport": {"width": 1280, "height": 800}}
PHONE: dict[str, Any] = {
    "viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True,
    "device_scale_factor": 2,
}  # fmt: skip
NARROW: dict[str, Any] = {
    **PHONE,
    "viewport": {"width": 320, "height": 640},
    "color_scheme": "dark",
}
SIDEWAYS: dict[str, Any] = {**PHONE, "viewport": {"width": 844, "height": 390}}
DATA = sample_data()


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with browser() as made:
        yield made


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_page(tmp_path_factory.mktemp("page"), DATA)


@pytest.fixture
def desk(chromium: Browser, file: Path) -> Iterator[WatchedPage]:
    with open_page(chromium, file, **DESK) as watched:
        yield watched
        assert watched.messages == []


@pytest.fixture(scope="module")
def studio(chromium: Browser, file: Path) -> Iterator[Page]:
    """One page for all that is rendered faster than it sounds."""
    with open_page(chromium, file, **DESK) as watched:
        yield watched.page


def run_action(page: Page, call: str) -> None:
    page.evaluate(f"() => {{ window.__page.act.{call}; }}")


def only_voice(voice: int) -> dict[str, Any]:
    return {"muted": [at != voice for at in range(len(DATA["voices"]))], "room": False}


def loop_events(
    begin: float, end: float, factor: float, until: float
) -> list[tuple[float, int, int]]:
    """Every event of a loop: (time, voice, index), worked out here by multiplication alone."""
    each = (end - begin) / factor
    found = []
    for number, voice in enumerate(DATA["voices"]):
        for kind in (voice["tones"], voice["strokes"]):
            for index, event in enumerate(kind):
                if begin - 1e-6 <= event[0] < end - 1e-6:
                    for turn in range(int(until / each) + 1):
                        time = turn * each + (event[0] - begin) / factor
                        if time < until:
                            found.append((time, number, index))
    return sorted(found)
