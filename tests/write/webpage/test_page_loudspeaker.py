"""The page's balance for a small loudspeaker: the same filters as in the recordings.

Outside: the recordings' own filters (sound/loudspeaker.py) over what the page sounds without them,
which tests/sound holds against scipy's.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page
from support.browsing import (
    DATA,
    chromium,
    file,
    only_voice,
    open_page,
    render_sound,
    studio,
    write_page,
)
from support.making import piece_of

from cyclechart.catalog.roles import ROLES
from cyclechart.sound.loudspeaker import SpeakerFilter
from cyclechart.write.audio.player_stems import KIT_SPEAKER
from cyclechart.write.webpage.data import page_data

__all__ = ["chromium", "file", "studio"]

TEXT = """\
count-in: 0
players: {flute: , double-bass: , drum-kit: , tanpura: }
lines:
  head: {sargam: "S R G m P d n S' n d"}
form: [play: head]
"""


def test_the_page_is_given_how_each_voice_differs() -> None:
    data = page_data(piece_of(TEXT, tempo="120"))
    assert {voice["name"]: voice["speaker"] for voice in data["voices"]} == {
        "flute": ROLES["melody"].speaker, "double-bass": ROLES["pedal"].speaker,
        "drum-kit": KIT_SPEAKER, "tanpura": ROLES["drone"].speaker,
    }  # fmt: skip


def test_each_voice_has_the_filters_of_the_recordings(chromium: Browser, tmp_path: Path) -> None:
    data = page_data(piece_of(TEXT, tempo="120"))
    path = write_page(tmp_path, data)
    with open_page(chromium, path) as watched:
        for at, voice in enumerate(data["voices"]):
            muted = [other != at for other in range(len(data["voices"]))]
            plain, small = (
                render_sound(watched.page, 2.0, room=False, muted=muted, loudspeaker=on)
                for on in (False, True)
            )
            level, shelf, partials = voice["speaker"]
            for side in (0, 1):
                angle = (voice["pan"] + 1) * np.pi / 4
                # The filters stand before the fader and the place of the voice.
                gain = 10 ** (voice["level"] / 20) * (np.cos(angle), np.sin(angle))[side]
                into = (plain[:, side] / gain).astype(np.float32)
                wanted = SpeakerFilter(shelf, partials).filtered(into) * 10 ** (level / 20) * gain
                assert np.abs(plain[:, side]).max() > 0.001, voice["name"]
                off = np.sqrt(np.mean((small[:, side] - wanted) ** 2) / np.mean(wanted**2))
                assert off < 0.02, (voice["name"], off)
        assert not watched.messages


def test_the_box_changes_the_balance_while_it_sounds(studio: Page) -> None:
    box = studio.get_by_role("checkbox", name="For a phone's loudspeaker")
    assert not box.is_checked()
    studio.evaluate("() => { window.__page.act.loudspeaker(true); }")
    assert studio.evaluate("() => window.__page.settings.loudspeaker")
    assert box.is_checked()
    box.set_checked(False)
    assert not studio.evaluate("() => window.__page.settings.loudspeaker")


def test_the_drone_on_its_own_is_for_the_loudspeaker_too(studio: Page) -> None:
    plain, small = (
        render_sound(studio, 3.0, drone=True, room=False, loudspeaker=on) for on in (False, True)
    )
    level, shelf, partials = ROLES["drone"].speaker
    drone = [at for at, voice in enumerate(DATA["voices"]) if voice["role"] == "drone"]
    assert partials is None and drone
    wanted = SpeakerFilter(shelf, partials).filtered(plain[:, 0]) * 10 ** (level / 20)
    assert small[:, 0] == pytest.approx(wanted, abs=0.02 * float(np.abs(wanted).max()))
    assert only_voice(drone[0])
