"""What the page keeps on the device, taps, tuning, weak bars and time practised, in Chromium."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from support.browsing import (
    DATA,
    DESK,
    HERTZ,
    PHONE,
    WatchedPage,
    cents,
    chromium,
    desk,
    file,
    hertz_of,
    only_voice,
    open_page,
    render_sound,
    run_action,
    sample_data,
    write_page,
)  # fmt: skip

from cyclechart.sound.rate import RATE

__all__ = ["chromium", "desk", "file"]
SETTINGS = "() => window.__page.settings"
TURN = "() => window.__page.turnAt(window.__page.data, window.__page.player.now().position)"
KEEP = "() => dispatchEvent(new Event('pagehide'))"


# --- memory ---


def _changed(page: Page) -> dict[str, Any]:
    """Change settings of every kind, and return them."""
    for call in (
        "tempo(85)", "shift(2)", "cents(8)", "mute(2)", "voice(0, -6)", "part('bass')",
        "loopTurns(3, 6)", "count(false)", "drone(true)", "dronePace(1.5)", "droneTone('m')",
        "size(1.3)", "level(-20)",
    ):  # fmt: skip
        run_action(page, call)
    found: dict[str, Any] = page.evaluate(SETTINGS)
    return found


def test_settings_are_remembered_for_each_piece_and_set_back(
    chromium: Browser, file: Path, tmp_path: Path
) -> None:
    other = write_page(tmp_path, sample_data("Another Song"), "other")
    with open_page(chromium, file, **DESK) as watched:
        page = watched.page
        written = page.evaluate(SETTINGS)
        wanted = _changed(page)
        page.goto(other.as_uri())
        assert page.evaluate(SETTINGS) == written
        page.goto(file.as_uri())
        assert page.evaluate(SETTINGS) == wanted
        page.wait_for_selector("[aria-label='bass, system 1']")
        assert page.get_by_label("Loop to cycle").input_value() == "6"
        page.get_by_role("button", name="Settings as in the piece").click()
        page.get_by_role("button", name="Forget my settings of this piece").click()
        assert page.evaluate(SETTINGS) == {**written, "part": "bass"}
        page.reload()
        assert page.evaluate(SETTINGS) == written
        assert watched.messages == []


def test_a_shorter_piece_takes_over_what_it_still_has(chromium: Browser, tmp_path: Path) -> None:
    path = write_page(tmp_path, DATA)
    with open_page(chromium, path, **DESK) as watched:
        page = watched.page
        _changed(page)
        run_action(page, "mute(0)")
        page.evaluate(KEEP)
        shorter = sample_data()
        shorter["turns"], shorter["sections"] = shorter["turns"][:5], shorter["sections"][:2]
        shorter["voices"] = shorter["voices"][:1]
        shorter["parts"] = {"0": {"flute": DATA["parts"]["0"]["flute"]}}
        write_page(tmp_path, shorter)
        page.reload()
        page.wait_for_selector("[aria-label='flute, system 1']")
        found = page.evaluate(SETTINGS)
        assert found["loop"] == [3, 4] and found["part"] == "flute"
        assert (found["muted"], found["levels"], found["factor"]) == ([True], [-6], 0.85)
        page.click("#play")
        page.wait_for_function("() => window.__page.player.take !== null")
        assert watched.messages == []


@pytest.mark.parametrize(
    "broken",
    ['{"settings": 5}', "[", '{"settings": {"factor": 1e999, "shift": "x", "stretch": [9, 2]}}',
     '{"settings": {"loop": [1], "stretch": {}, "cents": 1e9}, "voices": [[], 3, ["flute", 99]]}'],
)  # fmt: skip
def test_what_is_kept_may_be_anything(chromium: Browser, file: Path, broken: str) -> None:
    with open_page(chromium, file, **DESK) as watched:
        page = watched.page
        page.evaluate(
            "(text) => { const { title, composer } = window.__page.data;"
            " for (const kind of ['page', 'weak bars']) localStorage.setItem("
            " `cyclechart ${kind} ${JSON.stringify([title, composer])}`, text);"
            " localStorage.setItem('cyclechart practice', text); }",
            broken,
        )
        page.reload()
        found = page.evaluate(SETTINGS)
        assert found["factor"] == 1 and found["shift"] == 0 and found["levels"] == [0, 0, 0, 0]
        assert found["cents"] in (0, 100) and found["loop"] is None
        assert watched.messages == []


BLOCKED = "Object.defineProperty(window, 'localStorage', { get() { throw new Error('blocked'); } })"
FULL = "Storage.prototype.setItem = () => { throw new DOMException('', 'QuotaExceededError'); }"


@pytest.mark.parametrize("fault", [BLOCKED, FULL], ids=["blocked", "full"])
def test_without_storage_only_memory_is_missing(chromium: Browser, file: Path, fault: str) -> None:
    with open_page(chromium, file, **DESK) as watched:
        page = watched.page
        page.add_init_script(fault)
        page.reload()
        assert "keeps nothing for this page" in (page.text_content("#group-more") or "")
        run_action(page, "tempo(70)")
        page.get_by_role("button", name="Mark this bar").click()
        assert page.locator(".marks li").count() == 1
        page.evaluate(KEEP)
        page.reload()
        assert page.evaluate(SETTINGS)["factor"] == 1
        assert watched.messages == []


# --- tempo and tuning ---


def test_taps_set_the_tempo_of_the_bar_that_is_played(desk: WatchedPage) -> None:
    page = desk.page
    page.evaluate("() => window.__page.player.go(window.__page.data.sections[0].start)")
    # 96 a minute over 120 written; one tap is late, and one is missed.
    times = [1000 + 625 * at for at in range(9) if at != 4]
    times[2] += 90
    for time in times:
        run_action(page, f"tap({time})")
    assert page.evaluate(SETTINGS)["factor"] == pytest.approx(0.8, abs=0.03)
    # After a pause it begins anew; what is out of reach goes as far as it can.
    for time in (90000, 90200, 90400):
        run_action(page, f"tap({time})")
    assert page.evaluate(SETTINGS)["factor"] == 1.4


def test_all_sounds_move_in_cents(desk: WatchedPage) -> None:
    page = desk.page
    first = DATA["sections"][0]["start"]
    for moved in (0, 8, -100):
        wave = render_sound(page, 0.45, position=first, cents=moved, **only_voice(0))
        heard = hertz_of(wave[4410:19000, 0], HERTZ)
        assert abs(cents(heard, HERTZ) - moved) < 1.5
        drone = render_sound(page, 1.5, drone=True, cents=moved, room=False)
        low = hertz_of(drone[RATE // 4 : RATE, 0], HERTZ / 2)
        assert abs(cents(low, HERTZ / 2) - moved) < 1.5
    # An A of 442 is 7.85 cents above one of 440: 1200 log2(442/440).
    page.get_by_role("button", name="A one hertz higher").click()
    page.get_by_role("button", name="A one hertz higher").click()
    assert page.evaluate(SETTINGS)["cents"] == 8
    assert "A = 442.0 Hz" in page.inner_text("#group-sa")


def test_the_first_string_and_the_pace_of_the_drone(desk: WatchedPage) -> None:
    page = desk.page
    for tone, pitch in DATA["drone_tones"]:
        wave = render_sound(page, 1.0, drone=True, droneTone=tone, room=False)
        near = HERTZ * 2 ** (pitch / 1200)
        assert abs(cents(hertz_of(wave[8000:40000, 0], near), near)) < 3, tone
    run_action(page, "dronePace(2)")
    run_action(page, "drone(true)")
    assert page.evaluate("() => window.__page.player.alone.interval") == pytest.approx(4.2 / 8)


# --- weak bars and time ---


def test_weak_bars_are_marked_listed_looped_and_kept(desk: WatchedPage) -> None:
    page = desk.page
    run_action(page, "count(false)")
    run_action(page, "section(1)")
    page.keyboard.press("m")
    run_action(page, "section(2)")
    page.get_by_role("button", name="Mark this bar").click()
    run_action(page, "section(0)")
    page.keyboard.press("n")
    assert page.evaluate(TURN) == 3
    page.keyboard.press("n")
    assert page.evaluate(TURN) == 5
    page.keyboard.press("n")
    assert page.evaluate(TURN) == 3
    page.get_by_role("button", name="Loop C half a lock · Cycle 5").click()
    assert page.evaluate(SETTINGS)["loop"] == [5, 5]
    page.reload()
    names = page.locator(".marks li > button:first-child").all_inner_texts()
    assert [" ".join(name.split()) for name in names] == [
        "B the sluice · Cycle 3", "C half a lock · Cycle 5"
    ]  # fmt: skip
    page.get_by_role("button", name="Remove the mark of B").click()
    assert page.locator(".marks li").count() == 1


def test_time_practised_is_counted_shown_and_cleared(desk: WatchedPage) -> None:
    page = desk.page
    run_action(page, "count(false)")
    page.click("#play")
    page.wait_for_timeout(2600)
    page.click("#play")
    page.wait_for_timeout(1200)
    kept = json.loads(page.evaluate("() => localStorage.getItem('cyclechart practice')"))
    [(day, pieces)] = kept.items()
    assert day == page.evaluate("() => new Date().toLocaleDateString('sv')")
    assert list(pieces) == ["Weir Song"] and 1 <= pieces["Weir Song"] <= 5
    page.locator("summary").click()
    rows = page.get_by_label("Time practised, as text").input_value().splitlines()
    assert rows[0] == "day\tminutes\tpiece"
    assert rows[1].split("\t") == [day, "0.0", "Weir Song"] or rows[1].startswith(f"{day}\t0.1")
    page.get_by_role("button", name="Clear", exact=True).click()
    page.get_by_role("button", name="Clear all days for good").click()
    assert page.evaluate("() => localStorage.getItem('cyclechart practice')") is None


# --- controls outside, keys, sizes ---


def test_a_locked_screen_has_the_controls_of_the_page(chromium: Browser, file: Path) -> None:
    with open_page(chromium, file, **DESK) as watched:
        page = watched.page
        page.add_init_script(
            "window.handlers = {}; navigator.mediaSession.setActionHandler ="
            " (name, handler) => { window.handlers[name] = handler; };"
        )
        page.reload()
        run_action(page, "count(false)")
        run_action(page, "section(0)")
        page.click("#play")
        page.wait_for_function("() => navigator.mediaSession.metadata?.album")
        shown = page.evaluate(
            "() => { const { title, artist, album } = navigator.mediaSession.metadata;"
            " return [title, artist, album, navigator.mediaSession.playbackState]; }"
        )
        assert shown == ["Weir Song", "The Tidewater Seven", "A  slack water", "playing"]
        page.evaluate("() => window.handlers.nexttrack()")
        assert page.evaluate(TURN) == DATA["sections"][1]["turns"][0]
        page.evaluate("() => window.handlers.pause()")
        assert page.evaluate("() => window.__page.player.state") == "paused"
        page.wait_for_function("() => navigator.mediaSession.playbackState === 'paused'")
        assert watched.messages == []


def test_play_is_an_early_stop_and_names_agree(desk: WatchedPage) -> None:
    page = desk.page
    stops: list[str] = []
    while len(stops) < 6:
        page.keyboard.press("Tab")
        stops.append(page.evaluate("() => document.activeElement.id"))
    # Loop, without me and only me stand before the buttons of the player.
    assert stops[3:] == ["begin", "back", "play"]
    for name in ("begin", "back", "play", "on"):
        seen = page.inner_text(f"#{name}").strip().lower()
        spoken = (page.get_attribute(f"#{name}", "aria-label") or seen).lower()
        assert seen in spoken


def test_settings_fit_a_phone_and_escape_closes_them(chromium: Browser, file: Path) -> None:
    small = {**PHONE, "viewport": {"width": 360, "height": 600}}
    with open_page(chromium, file, **small) as watched:
        page = watched.page
        page.tap("#open")
        for tab in page.locator("#groups button").all():
            tab.tap()
            shown = page.evaluate(
                "() => [...document.querySelectorAll('.setting-group')]"
                ".filter((one) => one.offsetHeight).map((one) => one.offsetHeight)"
            )
            # Two heights of the window at most: it was five in all.
            assert len(shown) == 1 and shown[0] < 1200
        page.keyboard.press("Escape")
        assert not page.is_visible("#desk")
        assert page.evaluate("() => document.activeElement.id") == "open"


def test_with_forced_colours_only_the_present_system_has_a_bar(
    chromium: Browser, file: Path
) -> None:
    with open_page(chromium, file, **DESK, forced_colors="active") as watched:
        # The piece may begin with rests, in which no system is the present one.
        watched.page.evaluate("(at) => window.__page.player.go(at)", DATA["sections"][0]["start"])
        bars = watched.page.evaluate(
            """() => [...document.querySelectorAll(".system")].map((one) => {
              const own = getComputedStyle(one).borderLeftColor;
              return own !== getComputedStyle(document.body).backgroundColor;
            })"""
        )
        assert bars == [True, False, False]


def test_a_loop_within_its_cycles_is_remembered_and_what_cannot_be_is_not(
    chromium: Browser, file: Path
) -> None:
    with open_page(chromium, file, **DESK) as watched:
        page = watched.page
        beats = DATA["turns"][2]["beats"]
        run_action(page, f"loopSpan({beats[1]}, {beats[3]})")
        page.evaluate(KEEP)
        page.reload()
        assert page.evaluate(SETTINGS)["span"] == [beats[1], beats[3]]
        assert page.evaluate(SETTINGS)["loop"] == [2, 2]
        for span, who in ((f"[{beats[3]}, {beats[1]}]", "'nobody'"), ("['a', 1e999]", "7")):
            page.evaluate(
                f"""() => {{
                  const key = Object.keys(localStorage)
                    .find((one) => one.startsWith("cyclechart page"));
                  const saved = JSON.parse(localStorage.getItem(key));
                  Object.assign(saved.settings, {{ span: {span}, who: {who}, countLength: {who} }});
                  window.onpagehide = () => localStorage.setItem(key, JSON.stringify(saved));
                }}"""
            )
            page.reload()
            found = page.evaluate(SETTINGS)
            assert (found["span"], found["who"], found["countLength"]) == (None, "all", "section")
            assert found["loop"] == [2, 2]


def test_a_tap_that_marks_neither_leads_to_the_bar_nor_loops(desk: WatchedPage) -> None:
    page = desk.page
    run_action(page, "loop(false)")
    page.get_by_role("button", name="Mark by tapping").click(timeout=4000)
    before = page.evaluate("() => window.__page.player.now().position")
    box = page.locator("#score .system").first.bounding_box()
    assert box
    x, y = box["x"] + box["width"] * 0.6, box["y"] + box["height"] / 2
    page.mouse.click(x, y)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y, steps=4)
    page.mouse.up()
    assert page.evaluate("() => window.__page.player.now().position") == before
    assert page.evaluate(SETTINGS)["loop"] is None


@pytest.mark.parametrize("how", [PHONE, DESK], ids=["phone", "desk"])
def test_at_twice_the_size_of_text_the_count_leaves_the_names_free(
    chromium: Browser, file: Path, how: dict[str, Any]
) -> None:
    with open_page(chromium, file, **how) as watched:
        page = watched.page
        # As a browser whose text is set twice as large: 16 pixels are 32.
        page.add_style_tag(content=":root { font-size: 212.5% !important; }")
        page.wait_for_timeout(100)
        overlap = page.evaluate(
            """() => {
              const box = (id) => document.getElementById(id).getBoundingClientRect();
              const [now, count, sign, place] = ["now", "count", "sign", "place"].map(box);
              const meets = (a, b) => a.right > b.left + 1 && a.left < b.right - 1
                && a.bottom > b.top + 1 && a.top < b.bottom - 1;
              const inside = (one) => one.left >= now.left - 1 && one.right <= now.right + 1;
              const cut = [...document.querySelectorAll("#bar button")]
                .filter((one) => one.offsetWidth && one.scrollWidth > one.clientWidth + 1);
              return [meets(count, place), meets(now, place), inside(count), inside(sign),
                cut.map((one) => one.id), document.documentElement.scrollWidth > innerWidth];
            }"""
        )
        assert overlap == [False, False, True, True, [], False]
