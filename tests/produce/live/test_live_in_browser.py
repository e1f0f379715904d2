"""A piece while it is written, in a real browser: typed, judged, mended, saved, played on."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Frame, Page
from support.browsing import chromium
from support.live_serving import served
from support.making import with_heading

from cyclechart.finding import Edit, Finding, Suggestion
from cyclechart.produce.live import desk as live_desk
from cyclechart.produce.live.piece_shelf import PieceShelf
from cyclechart.rules.judge import findings_on

__all__ = ["chromium"]

PIECE = (
    "players:\n  flute: {plays: melody}\n  alto-sax: {plays: melody}\n  tabla: {plays: theka}\n"
    "  tanpura: {plays: drone}\nlines:\n  head: {sargam: S R G m P d n S' n d}\n"
    "form:\n  - {play: head, times: 6}\n"
)
TUNE = "S R G m P d n S' n d"


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "tune.yaml"
    path.write_text(with_heading(PIECE, title="Ebb Gate", tempo="120"), "utf-8")
    return path


@pytest.fixture
def address(piece: Path) -> Iterator[str]:
    with served(PieceShelf(piece), looks=True) as live:
        yield live.access.address


@contextmanager
def context_of(chromium: Browser, **options: object) -> Iterator[BrowserContext]:
    context = chromium.new_context(**{"viewport": {"width": 1280, "height": 800}, **options})  # type: ignore[arg-type]
    said: list[str] = []
    context.on("console", lambda message: said.append(message.text))
    context.on("weberror", lambda error: said.append(str(error.error)))
    yield context
    assert said == []
    context.close()


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    with context_of(chromium) as made:
        yield made


def opened(context: BrowserContext, address: str) -> Page:
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector("#saved.clean, #saved.unsaved, #saved.changed", timeout=30_000)
    return page


@pytest.fixture
def page(context: BrowserContext, address: str) -> Page:
    return opened(context, address)


def until(where: Frame | Page, truth: str, seconds: float = 20) -> None:
    """Wait for something to be so. Asked from outside: the page's policy lets no text be run."""
    until_so(lambda: bool(where.evaluate(truth)), truth, seconds)


def until_so(is_so: Callable[[], bool], what: str, seconds: float = 20) -> None:
    end = time.monotonic() + seconds
    while not is_so():
        assert time.monotonic() < end, f"it never came to be: {what}"
        time.sleep(0.05)


def inner(page: Page, drawn: int) -> Frame:
    """The page in the page, once it is of a version."""
    page.wait_for_selector(f"body[data-drawn='{drawn}']", timeout=30_000)
    frame = page.frames[-1]
    until(frame, "!!(window.__page && window.__page.restoreState)")
    return frame


def text_of(page: Page) -> str:
    return page.input_value("#text")


def put_caret(page: Page, before: str) -> None:
    """Put the caret before some letters of the text."""
    page.focus("#text")
    page.evaluate(
        """(letters) => {
          const text = document.getElementById("text");
          const at = text.value.indexOf(letters);
          text.setSelectionRange(at, at);
        }""",
        before,
    )


def saved_state(page: Page, state: str) -> None:
    page.wait_for_selector(f"#saved.{state}", timeout=20_000)


# --- the page goes on when the piece is saved elsewhere ---


def test_it_plays_on_where_it_was_when_the_piece_is_saved(page: Page, piece: Path) -> None:
    frame = inner(page, 0)
    frame.evaluate("__page.act.part('alto-sax')")
    frame.evaluate("__page.act.tempo(80)")
    frame.evaluate("__page.act.mute(0)")
    frame.evaluate("__page.act.section(0)")
    frame.click("#play")
    until(frame, "__page.player.now().position > 7")
    before = frame.evaluate("__page.player.now().position")
    text = piece.read_text("utf-8")
    piece.write_text(text.replace(TUNE, "S R G m P d P S' n d"), "utf-8")
    frame = inner(page, 1)
    # Nobody has touched the new page: it may sound because the one before was played by hand.
    until(frame, "__page.player.take !== null")
    until(frame, f"__page.player.now().position > {before}")
    assert frame.evaluate("__page.player.now().position") < before + 8
    assert frame.evaluate("__page.player.context.state") == "running"
    kept = frame.evaluate(
        "[__page.settings.part, __page.settings.factor, __page.settings.muted[0]]"
    )
    assert kept == ["alto-sax", 0.8, True]
    assert frame.evaluate("__page.settings.count") is True
    # Nothing had been typed, so the text is the new one, and undo has the old.
    assert "P d P S'" in text_of(page)
    saved_state(page, "clean")
    page.click("#undo")
    assert text_of(page) == text
    saved_state(page, "unsaved")


def test_findings_stand_beside_it_as_text(page: Page, piece: Path) -> None:
    inner(page, 0)
    text = piece.read_text("utf-8")
    piece.write_text(text.replace("P d n S' n d", "P d <b>x</b>"), "utf-8")
    until(page, "document.querySelectorAll('#findings li.error').length > 0")
    assert page.locator("#findings b[onclick], #findings p b").count() == 0
    until(page, "document.getElementById('state').textContent.includes('is the one before')")
    assert page.evaluate("document.body.dataset.drawn") == "0"
    piece.write_text(text, "utf-8")
    until(page, "document.querySelectorAll('#findings li.error').length === 0")


def test_a_shorter_piece_is_taken_up_where_it_still_is(page: Page, piece: Path) -> None:
    frame = inner(page, 0)
    frame.evaluate("__page.player.go(__page.data.length - 1)")
    text = piece.read_text("utf-8")
    piece.write_text(text.replace("times: 6", "times: 2"), "utf-8")
    frame = inner(page, 1)
    until(frame, "__page.player.position > 0")
    assert frame.evaluate("__page.player.position <= __page.data.length")


# --- written here ---


def test_written_broken_mended_and_saved(page: Page, piece: Path) -> None:
    before = piece.read_text("utf-8")
    put_caret(page, "G m P")
    page.keyboard.type("X ")
    saved_state(page, "unsaved")
    page.wait_for_selector("#findings li.error")
    assert "'X'" in page.inner_text("#findings li.error p")
    assert page.inner_text("#marks .error") == "X"
    sign = page.locator("#gutter button.error")
    row = before[: before.index("G m P")].count("\n") + 1
    assert sign.count() == 1 and sign.get_attribute("title").startswith("error:")  # type: ignore[union-attr]
    assert (
        page.locator("#gutter .number", has=page.locator("button.error"))
        .inner_text()
        .endswith(str(row))
    )
    assert piece.read_text("utf-8") == before
    sign.click()
    assert page.locator("#findings li.chosen.error").count() == 1
    page.keyboard.press("Control+s")
    saved_state(page, "clean")
    assert piece.read_text("utf-8") == before.replace("G m P", "X G m P")
    page.focus("#text")
    page.keyboard.press("Control+z")
    assert text_of(page) == before
    until(page, "!document.querySelector('#findings li.error')")
    page.click("#save")
    saved_state(page, "clean")
    assert piece.read_text("utf-8") == before
    assert page.title() == "tune.yaml, live"


def with_edit(found: Finding, letters: str) -> Finding:
    return found.__class__(
        **{
            **{key: getattr(found, key) for key in found.__slots__},  # type: ignore[attr-defined]
            "suggestions": (Suggestion(f"write {letters}", (Edit(found.spot, letters),)),),
        }
    )


def test_an_edit_is_applied_by_tap_and_taken_back(
    chromium: Browser, piece: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the judge finds has an edit: here each, at its own place."""
    piece.write_text(piece.read_text("utf-8").replace("G m P", "G m P"), "utf-8")

    def judged(of: object) -> list[Finding]:
        return [with_edit(one, "m") for one in findings_on(of)]  # type: ignore[arg-type]

    monkeypatch.setattr(live_desk, "findings_on", judged)
    broken = piece.read_text("utf-8").replace("S R G m P", "S R G g P")
    piece.write_text(broken, "utf-8")
    tablet = {"viewport": {"width": 820, "height": 1180}, "has_touch": True, "is_mobile": True}
    with (
        context_of(chromium, **tablet) as context,
        served(PieceShelf(piece), looks=True) as live,
    ):
        page = opened(context, live.access.address)
        page.wait_for_selector("#findings .error .apply")
        apply = page.locator("#findings .error .apply").first
        box = apply.bounding_box()
        assert box and min(box["width"], box["height"]) >= 44
        apply.tap()
        until_so(lambda: text_of(page) != broken, "the edit is done")
        mended = text_of(page)
        assert len(mended) == len(broken)
        # No focus in the text: the keyboard on the screen stays away.
        assert page.evaluate("document.activeElement.id") != "text"
        page.tap("#undo")
        assert text_of(page) == broken
        page.tap("#redo")
        assert text_of(page) == mended
        page.tap("#save")
        saved_state(page, "clean")
        assert piece.read_text("utf-8") == mended


def test_keys_alone(page: Page, piece: Path) -> None:
    """Everything is reached by keys, and the text does not hold them (WCAG 2.1.1 and 2.1.2)."""
    text = piece.read_text("utf-8")
    put_caret(page, "S R G")
    page.keyboard.type("Q")
    page.wait_for_selector("#findings li.error")
    page.keyboard.press("Control+Home")
    page.keyboard.press("F8")
    assert page.locator("#findings li.chosen").count() == 1
    selected = "(() => { const t = document.getElementById('text');"
    selected += " return t.value.slice(t.selectionStart, t.selectionEnd); })()"
    assert "Q" in page.evaluate(selected)
    page.keyboard.press("Control+z")
    assert text_of(page) == text
    put_caret(page, "tonic")
    page.keyboard.press("Tab")
    assert "\n  tonic" in text_of(page)
    page.keyboard.press("Shift+Tab")
    assert text_of(page) == text
    page.keyboard.press("End")
    page.keyboard.press("Enter")
    page.keyboard.type("# a note")
    page.keyboard.press("Control+s")
    saved_state(page, "clean")
    assert "\n# a note\n" in piece.read_text("utf-8")
    page.keyboard.press("Escape")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") != "text"
    seen = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        seen.add(page.evaluate("document.activeElement.id"))
    assert {"divider", "page", "undo", "text"} <= seen | {"text"}
    page.focus("#divider")
    share = page.get_attribute("#divider", "aria-valuenow")
    page.keyboard.press("ArrowRight")
    assert page.get_attribute("#divider", "aria-valuenow") != share


def test_typing_is_taken_back_in_words_and_done_again(page: Page) -> None:
    text = text_of(page)
    put_caret(page, "S R G")
    page.keyboard.type("one two")
    page.keyboard.press("Control+z")
    assert text_of(page) == text.replace("S R G", "one S R G")
    page.keyboard.press("Control+z")
    assert text_of(page) == text
    page.keyboard.press("Control+Shift+z")
    page.keyboard.press("Control+y")
    assert "one twoS R G" in text_of(page)
    page.keyboard.press("Control+a")
    page.keyboard.press("Backspace")
    assert text_of(page) == ""
    page.keyboard.press("Control+z")
    assert "one twoS R G" in text_of(page)


def test_it_saves_by_itself_only_where_that_was_asked_for(page: Page, piece: Path) -> None:
    before = piece.read_text("utf-8")
    put_caret(page, "S R G")
    page.keyboard.type("z ")
    time.sleep(2)
    assert piece.read_text("utf-8") == before
    page.click("summary")
    page.check("#saves")
    saved_state(page, "clean")
    assert piece.read_text("utf-8") == before.replace("S R G", "z S R G")
    page.reload()
    saved_state(page, "clean")
    put_caret(page, "S R G")
    page.keyboard.type("z ")
    until_so(lambda: "z z S R G" in piece.read_text("utf-8"), "it is saved")


def test_the_line_between_text_and_page_is_moved_and_stays(page: Page) -> None:
    inner(page, 0)
    line, text = page.locator("#divider"), page.locator("#write")
    width = text.bounding_box()["width"]  # type: ignore[index]
    box = line.bounding_box()
    assert box
    page.mouse.move(box["x"] + 5, box["y"] + 300)
    page.mouse.down()
    # Over the page, too, which is a document of its own.
    page.mouse.move(box["x"] + 150, box["y"] + 320, steps=5)
    page.mouse.up()
    page.mouse.move(box["x"] + 300, box["y"] + 320)
    wider = text.bounding_box()["width"]  # type: ignore[index]
    assert width + 100 < wider < width + 180
    page.reload()
    saved_state(page, "clean")
    assert abs(text.bounding_box()["width"] - wider) < 3  # type: ignore[index]


# --- text and page ---


def marked(frame: Frame) -> list[str]:
    ids: list[str] = frame.evaluate("[...document.querySelectorAll('.written')].map((e) => e.id)")
    return ids


def test_the_note_at_the_caret_is_marked_and_a_tapped_note_goes_to_its_cell(
    page: Page, piece: Path
) -> None:
    frame = inner(page, 0)
    put_caret(page, "m P d n")
    until_so(lambda: bool(marked(frame)), "a note is marked")
    first = marked(frame)
    put_caret(page, "P d n")
    until_so(lambda: bool(marked(frame)) and marked(frame) != first, "the next note is marked")
    # A change before it, not saved yet, moves its cell in the text.
    put_caret(page, "title:")
    page.keyboard.type("# one row more\n")
    box = frame.locator(f"[id='{first[0]}']").first.bounding_box()
    assert box
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    until(page, "document.getElementById('text').selectionStart > 20")
    start, end = page.evaluate(
        "(() => { const t = document.getElementById('text');"
        " return [t.selectionStart, t.selectionEnd]; })()"
    )
    text = text_of(page)
    assert text[start:end] == "m" and text[start:].startswith("m P d n")
    assert page.evaluate("document.activeElement.id") == "text"
    frame.focus("#score")
    page.keyboard.press("Control+s")
    saved_state(page, "clean")
    assert "# one row more" in piece.read_text("utf-8")


# --- several editors ---


def test_two_tabs_and_an_editor_outside_lose_nothing(
    context: BrowserContext, address: str, piece: Path
) -> None:
    one, other = opened(context, address), opened(context, address)
    text = piece.read_text("utf-8")
    put_caret(one, "S R G")
    one.keyboard.type("z ")
    put_caret(other, "times: 6")
    other.keyboard.press("Control+ArrowRight")
    other.keyboard.press("End")
    other.keyboard.press("Enter")
    other.keyboard.type("# from the other tab")
    one.keyboard.press("Control+s")
    saved_state(one, "clean")
    saved_state(other, "changed")
    assert "# from the other tab" in text_of(other)
    # Saving over it is not possible: it is put together first.
    other.keyboard.press("Control+s")
    other.wait_for_selector("#notice:not([hidden])")
    assert "different rows" in other.inner_text("#words")
    piece.write_text(piece.read_text("utf-8").replace("Ebb Gate", "Neap Gate"), "utf-8")
    until(one, "document.getElementById('text').value.includes('Neap Gate')")
    other.click("text=Put both together")
    saved_state(other, "unsaved")
    for part in ("Neap Gate", "z S R G", "# from the other tab"):
        assert part in text_of(other)
    other.click("#save")
    saved_state(other, "clean")
    both = piece.read_text("utf-8")
    assert both == text_of(other)
    until_so(lambda: text_of(one) == both, "the first tab has it too")
    assert both != text


def test_rows_that_both_changed_are_chosen(page: Page, piece: Path) -> None:
    put_caret(page, "title: ")
    page.keyboard.press("End")
    page.keyboard.type(" of mine")
    text = piece.read_text("utf-8")
    theirs = text.replace("Ebb Gate", "Ebb Gate of theirs").replace("times: 6", "times: 5")
    piece.write_text(theirs, "utf-8")
    saved_state(page, "changed")
    mine = text_of(page)
    page.click("text=Compare and choose")
    page.wait_for_selector("#merge[open]")
    assert page.is_disabled("#use")
    blocks = page.locator("#blocks .block")
    assert blocks.count() == 2
    assert blocks.nth(0).locator("pre").all_inner_texts()[0].endswith("of mine")
    page.click("#cancel")
    assert text_of(page) == mine
    page.click("text=Compare and choose")
    blocks.nth(0).locator("button[data-choice*=',']").click()
    page.click("#use")
    assert "Gate of mine\ntitle: Ebb Gate of theirs" in text_of(page)
    assert "times: 5" in text_of(page)
    assert piece.read_text("utf-8") == theirs
    page.click("#undo")
    assert text_of(page) == mine
    page.click("#redo")
    page.click("#save")
    saved_state(page, "clean")
    assert piece.read_text("utf-8") == text_of(page)


def test_a_deleted_file_is_written_again_only_when_asked(page: Page, piece: Path) -> None:
    text = text_of(page)
    piece.unlink()
    page.wait_for_selector("#notice:not([hidden])")
    assert text_of(page) == text
    page.click("text=Write it again")
    page.click("#save")
    saved_state(page, "clean")
    assert piece.read_text("utf-8") == text


def test_what_was_changed_back_takes_the_other_version_in(page: Page, piece: Path) -> None:
    put_caret(page, "title: ")
    page.keyboard.type("#")
    piece.write_text(piece.read_text("utf-8").replace("Ebb", "Neap"), "utf-8")
    saved_state(page, "changed")
    page.click("#undo")
    saved_state(page, "clean")
    assert text_of(page) == piece.read_text("utf-8")
    assert page.is_hidden("#notice")


def test_what_is_no_text_is_said_and_not_written(
    context: BrowserContext, address: str, piece: Path
) -> None:
    piece.write_bytes(b"title: \xff\n")
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector("#notice:not([hidden])")
    assert (
        "UTF-8" in page.inner_text("#words")
        and page.get_attribute("#save", "aria-disabled") == "true"
    )
    page.wait_for_selector("#findings li.error")
    page.focus("#text")
    page.keyboard.type("x")
    assert piece.read_bytes() == b"title: \xff\n"


def test_a_closed_tab_loses_nothing(context: BrowserContext, address: str, piece: Path) -> None:
    before = piece.read_text("utf-8")
    page = opened(context, address)
    put_caret(page, "S R G")
    page.keyboard.type("z ")
    page.close()
    still = opened(context, address)
    put_caret(still, "times: 6")
    still.keyboard.type("x")
    still.reload()
    saved_state(still, "clean")
    still.wait_for_selector("#notice:not([hidden])")
    still.click("text=Take it up")
    saved_state(still, "unsaved")
    assert "xtimes: 6" in text_of(still)
    # Saved meanwhile by somebody else, in another row.
    piece.write_text(before.replace("Ebb", "Neap"), "utf-8")
    saved_state(still, "changed")
    still.click("text=Put both together")
    saved_state(still, "unsaved")
    still.keyboard.press("Control+s")
    saved_state(still, "clean")
    assert piece.read_text("utf-8") == before.replace("Ebb", "Neap").replace("times", "xtimes")
    # The text of the first tab is still kept.
    still.wait_for_selector("#notice:not([hidden])")
    still.click("text=Take it up")
    saved_state(still, "changed")
    still.click("text=Put both together")
    saved_state(still, "unsaved")
    assert "z S R G" in text_of(still) and "xtimes" in text_of(still) and "Neap" in text_of(still)


def test_a_tab_that_is_open_keeps_its_own_text(context: BrowserContext, address: str) -> None:
    page = opened(context, address)
    put_caret(page, "S R G")
    page.keyboard.type("z ")
    other = opened(context, address)
    saved_state(other, "clean")
    time.sleep(0.4)
    assert other.is_hidden("#notice")


def test_when_the_command_does_not_answer_the_text_stays(
    chromium: Browser, address: str, piece: Path
) -> None:
    context = chromium.new_context()
    page = opened(context, address)
    context.set_offline(True)
    put_caret(page, "S R G")
    page.keyboard.type("z ")
    page.keyboard.press("Control+s")
    page.wait_for_selector("#notice:not([hidden])")
    assert "kept" in page.inner_text("#words")
    assert "z S R G" in text_of(page) and "z S R G" not in piece.read_text("utf-8")
    context.set_offline(False)
    page.keyboard.press("Control+s")
    saved_state(page, "clean")
    assert page.is_hidden("#notice")
    assert "z S R G" in piece.read_text("utf-8")
    context.close()


# --- small and large screens ---

SCREENS = {
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True},
    "small phone": {"viewport": {"width": 320, "height": 640}, "has_touch": True},
    "tablet": {"viewport": {"width": 820, "height": 1180}, "has_touch": True, "is_mobile": True},
    "tablet on its side": {"viewport": {"width": 1180, "height": 820}, "has_touch": True},
}


@pytest.mark.parametrize("name", SCREENS)
def test_it_fits_screens_and_fingers(chromium: Browser, address: str, name: str) -> None:
    """Nothing is wider than the screen, and what is tapped has 44 pixels (WCAG 2.5.5)."""
    with context_of(chromium, **SCREENS[name]) as context:
        page = opened(context, address)
        put_caret(page, "S R G")
        page.keyboard.type("Q")
        page.wait_for_selector("#findings li.error")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        small = page.evaluate(
            """[...document.querySelectorAll("header button, #check button, summary, label")]
            .map((e) => [e.textContent, e.getBoundingClientRect()])
            .filter(([, box]) => box.height && (box.height < 44 || box.width < 44))
            .map(([text]) => text)"""
        )
        assert small == []
        assert page.evaluate("parseFloat(getComputedStyle(text).fontSize)") >= 16
        # Rows are drawn anew now and then: it is waited for.
        page.locator("#gutter .number").nth(1).wait_for(state="visible")
        mark = page.locator("#marks .error")
        line = mark.bounding_box()
        number = page.locator("#gutter .number", has=page.locator("button.error")).bounding_box()
        assert line and number
        # The sign stands in the row that is underlined.
        assert abs(line["y"] + line["height"] / 2 - number["y"] - number["height"] / 2) < 8
        for view in ("Text", "Page", "Both"):
            page.click(f"#views >> text={view}")
            assert page.is_visible("#write") == (view != "Page")
            assert page.is_visible("#page") == (view != "Text")
        page.click("#views >> text=Text")
        page.reload()
        page.wait_for_selector("body[data-view='text']")


# --- a folder ---


def test_the_pieces_of_a_folder_are_opened_by_keys(context: BrowserContext, piece: Path) -> None:
    (piece.parent / "odd.yaml").write_text(with_heading(PIECE, title="<b>Odd</b>"), "utf-8")
    with served(PieceShelf(folder=piece.parent), looks=True) as live:
        page = context.new_page()
        page.goto(live.access.address)
        page.wait_for_selector("#pieces button")
        assert page.locator("#pieces strong").all_inner_texts() == ["<b>Odd</b>", "Ebb Gate"]
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.wait_for_selector("#saved.clean")
        assert text_of(page) == piece.read_text("utf-8")
        put_caret(page, "times: 6")
        page.keyboard.type("x")
        page.keyboard.press("Control+s")
        saved_state(page, "clean")
        assert "xtimes" in piece.read_text("utf-8")
        page.click("#up")
        page.wait_for_selector("#pieces button")


def test_a_piece_is_begun_and_what_is_wrong_is_said_at_its_field(
    context: BrowserContext, tmp_path: Path
) -> None:
    with served(PieceShelf(folder=tmp_path), looks=True) as live:
        page = context.new_page()
        page.goto(live.access.address)
        page.wait_for_selector("#new:not([hidden])")
        page.fill("[name=title]", "Low Water")
        page.fill("[name=mode]", "no such mode")
        page.fill("[name=cycle]", "rupak")
        page.click("#begin")
        page.wait_for_selector("#message:not([hidden])")
        assert page.get_attribute("[name=mode]", "aria-invalid") == "true"
        assert page.evaluate("document.activeElement.name") == "mode"
        page.keyboard.press("Control+a")
        page.keyboard.type("yaman")
        page.fill("#more", "alto-sax")
        page.press("#more", "Enter")
        page.click("[aria-label='Leave tabla out']")
        page.click("#begin")
        page.wait_for_selector("#saved.clean", timeout=30_000)
        text = (tmp_path / "low-water.yaml").read_text("utf-8")
        assert text_of(page) == text and "alto-sax" in text and "tabla" not in text
        page.wait_for_selector("body[data-drawn]", timeout=30_000)
        assert page.locator("#findings .error").count() == 0
