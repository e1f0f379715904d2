"""The rehearsal page in Firefox, from a file: it plays, each control does what it says."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from support.browsing import sample_data, write_page
from support.firefox import FirefoxPage, firefox

ESCAPE = "\ue00c"
"""WebDriver's code of the key (W3C WebDriver, Keyboard actions)."""
SETTINGS = "window.__page.settings"


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[FirefoxPage]:
    with firefox(tmp_path_factory.mktemp("profile")) as made:
        file = write_page(tmp_path_factory.mktemp("firefox"), sample_data())
        made.size(1280, 800)
        made.open(file.as_uri())
        made.until("document.querySelector('.system') !== null")
        yield made


def button(page: FirefoxPage, name: str) -> str:
    """A selector of the button with a text or a label, which is marked for it."""
    found = page.value(
        "(() => { const one = [...document.querySelectorAll('button')].find((button) =>"
        f" (button.getAttribute('aria-label') ?? button.textContent).trim() === {name!r});"
        " document.querySelector('[data-wanted]')?.removeAttribute('data-wanted');"
        " one?.setAttribute('data-wanted', ''); return Boolean(one); })()"
    )
    assert found, name
    return "[data-wanted]"


def test_it_plays_and_says_nothing(page: FirefoxPage) -> None:
    page.click("#play")
    page.until("window.__page.player.state === 'playing'")
    page.until("window.__page.player.take !== null")
    if page.value("window.__page.player.isSounding"):
        page.click("#play")
        page.until("window.__page.player.state === 'paused'")
    else:
        # Without a sound card the clock rests: the page says so, and Play stays Play.
        assert "Play" in page.value("document.getElementById('play').textContent")
    page.click("#begin")
    page.until("window.__page.player.state === 'stopped'")
    assert page.value("window.__page.player.position") == 0
    assert page.messages == []


def test_its_sound_is_that_of_the_page(page: FirefoxPage) -> None:
    """Rendered, for a machine without a sound card keeps the audio clock of Firefox at rest."""
    peak = (
        "window.__page.renderOffline(1.5, { position: 3.5, room: false })"
        ".then(([left]) => left.reduce((most, one) => Math.max(most, Math.abs(one)), 0))"
    )
    assert 0.01 < page.value(peak) <= 1


def test_each_new_control_does_what_it_says(page: FirefoxPage) -> None:
    page.value("window.__page.player.go(window.__page.data.sections[0].start)")
    for _ in range(3):
        page.click(button(page, "Tap the beat"))
    assert page.value(f"{SETTINGS}.factor") != 1
    page.click(button(page, "A one hertz higher"))
    # D of 293.665 Hz is that of an A of 440: 441 is 3.93 cents higher.
    assert page.value(f"{SETTINGS}.cents") == 4
    page.click(button(page, "Mark this bar"))
    assert page.value("document.querySelectorAll('.marks li').length") == 1
    page.click(button(page, "Loop A  slack water · Cycle 1"))
    assert page.value(f"{SETTINGS}.loop") == [1, 1]
    page.press("m")
    assert page.value("document.querySelectorAll('.marks li').length") == 0
    page.click(button(page, "Mark by tapping"))
    assert page.value("document.getElementById('marking').hidden") is False
    page.click(button(page, "Done"))
    page.click(button(page, "Drone on its own"))
    page.until("window.__page.player.alone?.on === true")
    page.click(button(page, "Drone on its own"))
    page.click(button(page, "Settings as in the piece"))
    page.click(button(page, "Forget my settings of this piece"))
    assert page.value(f"[{SETTINGS}.cents, {SETTINGS}.factor, {SETTINGS}.loop]") == [0, 1, None]
    assert page.messages == []


def test_on_a_phone_the_settings_open_and_escape_closes_them(page: FirefoxPage) -> None:
    page.size(450, 844)
    page.click("#open")
    page.until("document.body.classList.contains('desk')")
    page.click("[aria-controls='group-sa']")
    assert page.value("document.getElementById('group-tempo').offsetHeight") == 0
    page.press(ESCAPE)
    page.until("!document.body.classList.contains('desk')")
    assert page.value("document.activeElement.id") == "open"
    page.size(1280, 800)
    assert page.messages == []
