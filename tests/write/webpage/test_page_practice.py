"""Practising with the page in Chromium: what is late, cut off, looped, left out, rested."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Locator, Page
from support.browsing import (
    BEAT,
    DATA,
    DESK,
    PHONE,
    WatchedPage,
    chromium,
    desk,
    file,
    only_voice,
    open_page,
    packed_part,
    render_sound,
    run_action,
    sample_data,
    studio,
    write_page,
)  # fmt: skip

from cyclechart.sound.rate import RATE
from cyclechart.write.webpage.schema import PageData

__all__ = ["chromium", "desk", "file", "studio"]
SETTINGS = "() => window.__page.settings"
FIRST_FACTOR = "() => window.__page.player.schedule.stretches[0].factor"
POSITION = "() => window.__page.player.now().position"


# --- what is late ---

LISTEN = """() => {
  const { studio, context } = window.__page.player;
  window.ear = new AnalyserNode(context, { fftSize: 32768 });
  studio.level.connect(window.ear);
}"""
PEAK = """() => {
  const heard = new Float32Array(window.ear.fftSize);
  window.ear.getFloatTimeDomainData(heard);
  return heard.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
}"""
BLOCK = """(seconds) => {
  const until = performance.now() + 1000 * seconds;
  while (performance.now() < until);
}"""


def loudest(page: Page, seconds: float) -> float:
    """The loudest sample of so many seconds, each of which is in one of the looks."""
    peaks: list[float] = []
    for _ in range(round(seconds / 0.3)):
        page.wait_for_timeout(300)
        peaks.append(page.evaluate(PEAK))
    return max(peaks)


def test_after_twenty_seconds_without_a_turn_nothing_is_heaped(desk: WatchedPage) -> None:
    page = desk.page
    run_action(page, "count(false)")
    run_action(page, "loopFrom(1)")
    run_action(page, "loopTo(1)")
    run_action(page, "loop(true)")
    page.click("#play")
    page.evaluate(LISTEN)
    # The drone meets each round in another phase: peaks of rounds lie within a tenth of each other,
    # with a block or without.
    before = loudest(page, 20.0)
    page.evaluate(BLOCK, 20)
    at_once = page.evaluate(PEAK)
    after = max(at_once, loudest(page, 5.0))
    assert 0.01 < after <= 1.15 * before
    # The place is that of the audio clock, as if nothing had been.
    off = page.evaluate(
        """() => {
          const { player, data } = window.__page;
          const begin = data.turns[1].beats[0];
          const length = data.turns[1].beats.at(-1) - begin;
          const passed = player.context.currentTime - player.take.origin;
          const latency = player.context.outputLatency || player.context.baseLatency || 0;
          const wanted = begin + (((passed - latency) % length) + length) % length;
          return player.now().position - wanted;
        }"""
    )
    assert abs(off) < 0.02 or abs(abs(off) - 3.5) < 0.02


def test_late_strokes_are_dropped_and_held_tones_entered(desk: WatchedPage) -> None:
    """A free stretch holds a tone for 3.5 s: some of it passes while nothing is handed over."""
    page = desk.page
    run_action(page, "count(false)")
    page.evaluate("(at) => window.__page.player.go(at)", DATA["sections"][3]["start"] - 0.6)
    page.evaluate(
        """() => {
          const { player } = window.__page;
          player.record = true;
          window.pumped = player.pump;
          player.pump = () => {};
        }"""
    )
    page.click("#play")
    page.wait_for_function(
        "(at) => window.__page.player.now().position > at",
        arg=DATA["sections"][3]["start"] + 1.0,
    )
    late = page.evaluate(
        """() => {
          const { player } = window.__page;
          player.pump = window.pumped;
          const now = player.context.currentTime;
          player.pump();
          return player.scheduled.filter((one) => one.audio < now - 0.03);
        }"""
    )
    assert [one["kind"] for one in late] == ["tone"]
    assert late[0]["index"] == len(DATA["voices"][0]["tones"]) - 1


def test_a_late_tone_is_entered_softly(studio: Page) -> None:
    """A plucked tone handed over half a second late: in its middle, and without its edge."""
    begin = DATA["turns"][1]["beats"][0]
    on_time, late = (
        render_sound(studio, 1.5, position=begin, late=late, **only_voice(1))[:, 0]
        for late in (0, 0.5)
    )
    at = round(0.5 * RATE)
    assert not late[:at].any()
    edge = slice(at, at + round(0.005 * RATE))
    held = slice(at + round(0.1 * RATE), at + round(0.6 * RATE))
    assert np.abs(late[edge]).max() < 0.15 * np.abs(late[held]).max()
    # From there on it is as loud as if it had been on time.
    loud, wanted = (float(np.sqrt(np.mean(one[held] ** 2))) for one in (late, on_time))
    assert loud == pytest.approx(wanted, rel=0.1)


# --- a sound that is cut off ---


def test_a_context_suspended_from_outside_is_told_and_mended(desk: WatchedPage) -> None:
    page = desk.page
    run_action(page, "count(false)")
    page.click("#play")
    page.wait_for_function("() => document.getElementById('play').innerText === 'Pause'")
    page.wait_for_timeout(500)
    page.evaluate("() => window.__page.player.context.suspend()")
    page.wait_for_function("() => document.getElementById('play').innerText === 'Play'")
    page.wait_for_selector("#notice:has-text('Press Play to go on')")
    at = page.evaluate(POSITION)
    page.wait_for_timeout(300)
    assert page.evaluate(POSITION) == at
    page.click("#play")
    page.wait_for_function("() => document.getElementById('play').innerText === 'Pause'")
    page.wait_for_function("(at) => window.__page.player.now().position > at + 0.2", arg=at)
    assert page.evaluate(POSITION) < at + 2
    assert page.locator("#strip").is_hidden()
    page.click("#play")
    page.wait_for_function("() => document.getElementById('play').innerText === 'Play'")
    assert page.evaluate("() => window.__page.player.state") == "paused"
    page.wait_for_timeout(900)
    assert page.locator("#strip").is_hidden()


def test_a_closed_context_is_replaced_at_the_next_press(desk: WatchedPage) -> None:
    page = desk.page
    run_action(page, "count(false)")
    page.click("#play")
    page.wait_for_timeout(900)
    page.evaluate("() => window.__page.player.context.close()")
    page.wait_for_function("() => document.getElementById('play').innerText === 'Play'")
    page.click("#play")
    page.wait_for_function("() => document.getElementById('play').innerText === 'Pause'")
    page.wait_for_function("() => window.__page.player.now().position > 0.9")


NO_DEVICE = """() => {
  AudioContext.prototype.resume = () => new Promise(() => {});
  Object.defineProperty(AudioContext.prototype, "state", { get: () => "suspended" });
}"""
STANDING = """() => {
  Object.defineProperty(BaseAudioContext.prototype, "currentTime", { get: () => 1 });
}"""


@pytest.mark.parametrize("fault", [NO_DEVICE, STANDING], ids=["suspended", "standing"])
def test_without_a_device_pause_is_never_shown(chromium: Browser, file: Path, fault: str) -> None:
    with open_page(chromium, file, **DESK) as watched:
        page = watched.page
        page.evaluate(fault)
        page.click("#play")
        page.wait_for_selector("#notice:has-text('no loudspeaker is connected')", timeout=9000)
        assert page.inner_text("#play") == "Play"
        assert watched.messages == []


# --- rests ---


def resting_data() -> PageData:
    """The flute plays in cycles 1 and 2, rests for two, and enters on beat 3 of cycle 5."""
    data: PageData = sample_data()
    turns, flute = data["turns"], data["voices"][0]
    away, back = turns[3]["beats"][0], turns[5]["beats"][2]
    flute["tones"] = [one for one in flute["tones"] if not away - 0.01 <= one[0] < back - 0.01]
    measures = [
        (turn["beats"][0], turn["beats"][-1], f"n{at}")
        for at, turn in enumerate(turns) if at in (1, 2, 5, 6)
    ]  # fmt: skip
    notes = [(one[0], one[0] + one[1], f"n{at + 1}") for at, one in enumerate(flute["tones"])]
    head = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 19000 2000">'
    systems = [
        head + "".join(
            f'<g id="n{name}"><rect x="{300 + place * 900}" y="600" width="700" height="720"/></g>'
            for place, name in enumerate(names)
        ) + "</svg>"
        for names in (range(20), range(20, 40))
    ]  # fmt: skip
    part: Any = {
        "player": "flute", "systems": systems, "notes": notes, "measures": measures,
        "heads": [(0, "A", "slack water", "")], "sa": "D",
    }  # fmt: skip
    data["parts"] = {"0": {"flute": packed_part(part)}}
    return data


def test_rests_are_counted_down_to_the_next_entry(chromium: Browser, tmp_path: Path) -> None:
    data = resting_data()
    turns = data["turns"]
    with open_page(chromium, write_page(tmp_path, data), **PHONE) as watched:
        page = watched.page

        def rest_at(position: float) -> str:
            page.evaluate("(at) => window.__page.player.go(at)", position)
            return str(page.inner_text("#rest"))

        assert rest_at(turns[1]["beats"][2]) == ""
        assert page.locator(".system.here").count() == 1
        first = list("SrRgGmMPdDnN")
        tones = [one for one in data["voices"][0]["tones"] if one[0] > turns[5]["beats"][2] - 0.01]
        names = " ".join(first[round(one[2] / 100) % 12] for one in tones[:4])
        where = f"C half a lock on beat 3: {names}"
        assert rest_at(turns[3]["beats"][1]) == f"Rest: 2 cycles more, then {where}"
        assert page.locator(".system.here").count() == 0
        assert page.locator(".coming").count() == 1
        assert rest_at(turns[4]["beats"][6]) == f"Rest: 1 cycle more, then {where}"
        assert rest_at(turns[5]["beats"][1]) == f"Come in on beat 3: {names}"
        assert rest_at(turns[5]["beats"][3]) == ""
        # In a loop it comes again; in a loop of rests it does not.
        run_action(page, "loopFrom(2)")
        run_action(page, "loopTo(3)")
        run_action(page, "loop(true)")
        assert rest_at(turns[3]["beats"][1]).startswith("Rest: 1 cycle more, then A slack water")
        run_action(page, "loopTo(4)")
        run_action(page, "loopFrom(3)")
        assert rest_at(turns[3]["beats"][1]) == "Rest: nothing to play in this loop"


# --- bars, loops ---


def centre(page: Page, name: str) -> tuple[float, float]:
    page.locator(f"#{name}").scroll_into_view_if_needed()
    box = page.locator(f"#{name}").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def loop_button(page: Page) -> Locator:
    return page.locator("#practice").get_by_role("button", name="Loop", exact=True)


def test_a_bar_is_tapped_to_go_there_and_dragged_over_to_loop(
    chromium: Browser, tmp_path: Path
) -> None:
    data = resting_data()
    turns = data["turns"]
    with open_page(chromium, write_page(tmp_path, data), **DESK) as watched:
        page = watched.page
        page.mouse.click(*centre(page, "n2"))
        assert page.evaluate(POSITION) == pytest.approx(turns[2]["beats"][0])
        # Over two bars, the other way round.
        page.mouse.move(*centre(page, "n6"))
        page.mouse.down()
        page.mouse.move(*centre(page, "n5"), steps=4)
        assert page.locator(".looped").count() == 2
        page.mouse.up()
        found = page.evaluate(SETTINGS)
        assert found["loop"] == [5, 6]
        assert found["span"] == pytest.approx([turns[5]["beats"][0], turns[6]["beats"][-1]])
        assert page.evaluate(POSITION) == pytest.approx(turns[5]["beats"][0])
        assert page.get_attribute("#practice button >> nth=0", "aria-pressed") == "true"
        page.keyboard.press("Escape")
        assert page.evaluate(SETTINGS)["loop"] is None
        assert page.locator(".looped").count() == 0
        # By keys alone.
        loop_button(page).focus()
        page.keyboard.press("Enter")
        assert "first bar" in page.inner_text("#notice")
        page.keyboard.press("Enter")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Enter")
        assert page.evaluate(SETTINGS)["loop"] == [5, 6]
        loop_button(page).click()
        assert page.evaluate(SETTINGS)["loop"] is None
        loop_button(page).click()
        page.keyboard.press("Escape")
        assert page.locator("#strip").is_hidden()
        assert watched.messages == []


def test_two_taps_or_a_held_finger_choose_a_loop(chromium: Browser, tmp_path: Path) -> None:
    with open_page(chromium, write_page(tmp_path, resting_data()), **PHONE) as watched:
        page = watched.page
        loop_button(page).tap()
        page.touchscreen.tap(*centre(page, "n2"))
        assert "last bar" in page.inner_text("#notice")
        assert page.locator(".looped").count() == 1
        page.touchscreen.tap(*centre(page, "n1"))
        assert page.evaluate(SETTINGS)["loop"] == [1, 2]
        run_action(page, "loop(false)")
        touch = page.context.new_cdp_session(page)

        def send(kind: str, *points: tuple[float, float]) -> None:
            touches = [{"x": x, "y": y} for x, y in points]
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": touches})

        # A finger that moves at once scrolls; one that rests first chooses.
        x, y = centre(page, "n5")
        send("touchStart", (x, y))
        send("touchMove", (x, y - 60))
        send("touchEnd")
        page.wait_for_timeout(600)
        assert page.evaluate(SETTINGS)["loop"] is None
        start, end = centre(page, "n5"), centre(page, "n6")
        send("touchStart", start)
        page.wait_for_timeout(500)
        send("touchMove", end)
        send("touchEnd")
        page.wait_for_function("() => window.__page.settings.loop !== null")
        assert page.evaluate(SETTINGS)["loop"] == [5, 6]
        assert watched.messages == []


def test_a_piece_without_parts_is_looped_by_the_present_cycle(
    chromium: Browser, tmp_path: Path
) -> None:
    data = sample_data()
    data["parts"] = {"0": {}}
    with open_page(chromium, write_page(tmp_path, data), **PHONE) as watched:
        page = watched.page
        page.evaluate("(at) => window.__page.player.go(at)", data["turns"][3]["beats"][0])
        loop_button(page).tap()
        page.get_by_role("button", name="This cycle", exact=True).tap()
        run_action(page, "step(1)")
        page.get_by_role("button", name="This cycle", exact=True).tap()
        assert page.evaluate(SETTINGS)["loop"] == [3, 4]


def test_a_loop_may_begin_and_end_within_a_cycle(studio: Page) -> None:
    begin, end = DATA["turns"][5]["beats"][2], DATA["turns"][6]["beats"][4]
    found = studio.evaluate(
        "([from, to]) => window.__page.schedule(from, {loop: [5, 6], span: [from, to]}, 20)"
        ".filter((one) => one.voice === 2).map((one) => one.time)",
        [begin, end],
    )
    strokes = [at for at, *_ in DATA["voices"][2]["strokes"] if begin - 1e-6 <= at < end - 1e-6]
    each = end - begin
    wanted = [at - begin + each * turn for turn in range(10) for at in strokes]
    assert found == pytest.approx([at for at in wanted if at < 20])


# --- who is heard ---


def test_without_me_and_only_me_in_one_tap(desk: WatchedPage) -> None:
    page = desk.page
    gains = """() => window.__page.player.studio.strips
      .map((one) => (one.fader ?? one).gain.value > 0.01)"""
    page.click("#play")
    page.get_by_role("button", name="drum silent").click()
    page.get_by_role("button", name="Without me").click()
    page.wait_for_timeout(150)
    assert page.evaluate(gains) == [False, True, False, True]
    page.get_by_role("button", name="Only me").click()
    page.wait_for_timeout(150)
    assert page.evaluate(gains) == [True, False, False, False]
    # Me is whose part is shown.
    run_action(page, "part('bass')")
    page.wait_for_timeout(150)
    assert page.evaluate(gains) == [False, True, False, False]
    page.get_by_role("button", name="Only me").click()
    page.wait_for_timeout(150)
    assert page.evaluate(gains) == [True, True, False, True]


# --- counts, and a loop that gets faster ---


def claps(page: Page, position: float, **options: Any) -> tuple[list[tuple[float, str]], float]:
    found = page.evaluate(
        "([at, options]) => window.__page.schedule(at, {count: true, ...options}, 12)",
        [position, options],
    )
    first = min(one["time"] for one in found if one["kind"] != "clap")
    return [(round(one["time"], 6), one["sign"]) for one in found if one["kind"] == "clap"], first


def test_the_last_section_is_counted(studio: Page) -> None:
    seven, five = DATA["turns"][1], DATA["turns"][5]
    short = {"countLength": "section"}
    assert claps(studio, seven["beats"][0], **short) == ([(0, "3"), (0.5, "")], 2 * BEAT)
    # One beat and a half is too short to come in after: the section before is counted with it.
    found, first = claps(studio, five["beats"][0], **short)
    assert found == [(0, "0"), (0.5, ""), (1, "2"), (1.5, "")] and first == 3.5 * BEAT
    # A start within a cycle is led to by what comes before it there.
    found, first = claps(studio, seven["beats"][3], **short)
    assert found == [(0, "0"), (0.5, ""), (1, "")] and first == 3 * BEAT
    whole, first = claps(studio, seven["beats"][3])
    assert [sign for _, sign in whole] == ["2", "", "3", "", "0", "", ""] and first == 7 * BEAT


def test_a_loop_gets_faster_by_steps_with_a_count_at_each(studio: Page) -> None:
    begin = DATA["turns"][5]["beats"][0]
    found = studio.evaluate(
        """(at) => window.__page.schedule(at, {
          loop: [5, 5], factor: 0.5, faster: {by: 20, every: 2, to: 80}, countLength: "section",
        }, 60).filter((one) => one.voice === 2 || one.kind === "clap")
          .map((one) => [one.time, one.kind])""",
        begin,
    )
    length, beats = 2.75, [0, 0.5, 1, 1.5, 2, 2.5]
    wanted = []
    at = 0.0
    for factor, rounds in ((0.5, 2), (0.7, 2), (0.8, 20)):
        if factor > 0.5:
            wanted += [(at + beat / factor, "clap") for beat in (0, 0.5, 1, 1.5)]
            at += 1.75 / factor
        for _ in range(rounds):
            wanted += [(at + beat / factor, "stroke") for beat in beats]
            at += length / factor
    wanted = [one for one in wanted if one[0] < 60 - 1e-6]
    assert [one[1] for one in found] == [one[1] for one in wanted]
    assert [one[0] for one in found] == pytest.approx([one[0] for one in wanted])


def test_the_page_follows_the_tempo_of_the_loop(desk: WatchedPage) -> None:
    page = desk.page
    run_action(page, "count(false)")
    page.evaluate(
        """() => {
          const { act, data } = window.__page;
          act.loopSpan(data.turns[5].beats[0], data.turns[5].beats[2]);
          act.faster({ on: true, from: 100, by: 20, every: 1, to: 140 });
        }"""
    )
    page.click("#play")
    page.wait_for_function("() => window.__page.player.schedule")
    assert page.evaluate(FIRST_FACTOR) == 1
    page.wait_for_function("() => window.__page.settings.factor === 1.2", timeout=9000)
    assert "120 %" in page.inner_text("#panels")
    assert "Count-in" in page.inner_text("#turn")
    page.wait_for_function("() => window.__page.settings.factor === 1.4", timeout=9000)
    assert "Loop at 140 %" in page.inner_text("#notice")
    # A pause keeps the tempo, a new beginning takes the first.
    page.click("#play")
    page.click("#play")
    assert page.evaluate(SETTINGS)["factor"] == 1.4
    page.click("#begin")
    page.click("#play")
    page.wait_for_function("() => window.__page.player.schedule")
    assert page.evaluate(FIRST_FACTOR) == 1
