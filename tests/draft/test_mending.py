"""A piece mended has no error left that something was tried for, and is else as it was."""

from __future__ import annotations

import time
from collections import Counter
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from support.making import DEMO_BOOK, ROOT, findings_of, with_heading
from support.spoiling import spoiled

from cyclechart.draft import mending
from cyclechart.draft.mending import Mended, mended
from cyclechart.finding import Finding
from cyclechart.piece.load import Loaded, read_piece

CASES = {
    f"{path.stem}: {case['name']}": case["piece"]
    for path in sorted((ROOT / "tests" / "rules" / "cases").glob("*.yaml"))
    for case in yaml.safe_load(path.read_text("utf-8"))["fail"]
}


def _mended(text: str, *rules: str) -> Mended:
    return mended("test.yaml", text.encode(), None, rules)


def _could_be_mended(findings: list[Finding]) -> list[Finding]:
    return [one for one in findings if one.counts and any(s.edits for s in one.suggestions)]


@pytest.mark.parametrize("case", CASES)
def test_no_error_of_the_cases_is_left_that_had_edits(case: str) -> None:
    text = with_heading(CASES[case])
    before = [one for one in findings_of(text) if one.counts]
    result = _mended(text)
    assert not result.taken_back
    assert not _could_be_mended(result.findings)
    assert sum(one.counts for one in result.findings) <= len(before)
    # What it says is left is what is found in what it wrote.
    assert result.findings == findings_of(result.data.decode())
    assert bool(result.done) == bool(_could_be_mended(before))


def test_the_cases_have_errors_of_many_rules_that_are_mended() -> None:
    done = Counter(
        one.finding.rule for text in CASES.values() for one in _mended(with_heading(text)).done
    )
    assert {
        "cadence-misses", "cadence-unsolved", "foreign-tone", "left-out-coming-down",
        "left-out-going-up", "misses-first-beat", "out-of-range", "section-line-astray",
        "unplayable-kit",
    } <= set(done)  # fmt: skip


def _rows_of(result: Mended) -> int:
    """The rows that the edits reach at most."""
    return sum(1 + edit.spot.width for mend in result.done for edit in mend.suggestion.edits)


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
@pytest.mark.parametrize("first", range(0, 12, 3))
def test_pieces_spoiled_at_random_are_mended_as_far_as_there_is_something_to_try(
    path: Path, first: int
) -> None:
    for seed in range(first, first + 3):
        text = spoiled(path.read_text("utf-8"), 100 * seed + len(path.stem))
        ends = ("\n", "\r\n", "\r")[seed % 3]
        data = b"\xef\xbb\xbf" * (seed % 2) + text.replace("\n", ends).encode()
        result = mended(str(path), data, path.parent)
        back = {(one.finding.rule, one.finding.message) for one in result.taken_back}
        for left in _could_be_mended(result.findings):
            assert (left.rule, left.message) in back
        _is_else_as_it_was(data, result)
        # Mended again it stays as it is.
        again = mended(str(path), result.data, path.parent)
        assert again.data == result.data
        assert not again.done


def _is_else_as_it_was(data: bytes, result: Mended) -> None:
    assert result.data.startswith(b"\xef\xbb\xbf") == data.startswith(b"\xef\xbb\xbf")
    assert Counter(result.data)[0x0D] == 0 or b"\r" in data
    if not result.done:
        assert result.data == data
        return
    old, new = data.splitlines(keepends=True), result.data.splitlines(keepends=True)
    assert {row[len(row.rstrip(b"\r\n")) :] for row in new if row.strip()} <= {
        row[len(row.rstrip(b"\r\n")) :] for row in old
    }
    changed = [
        old[i1:i2]
        for tag, i1, i2, _, _ in SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
        if tag != "equal"
    ]
    assert sum(map(len, changed)) <= _rows_of(result)
    rules = {mend.finding.rule for mend in result.done}
    if not rules & {"duplicate-key", "lost-to-comment", "wrong-value"}:
        comments = [row for row in old if row.lstrip().startswith(b"#")]
        assert not Counter(comments) - Counter(new)


@pytest.mark.parametrize(
    ("spoil", "rule"),
    [
        (("tempo: 92", "tempp: 92"), "unknown-key"),
        (("tonic: D\n", ""), "missing-key"),
        (("mode: charukeshi", "mode: charukesh  # as ever"), "unknown-name"),
        (("sargam: S", "sargam: - S"), "unreadable"),
        (("sargam: S R | G m P | d n | S' n d", "sargam: s R | G m P | d n | S' n d"), "bad-cell"),
        (("sargam: S R", "sargam: 'S R'\n    sargam: S R"), "duplicate-key"),
        (("play: head", "play: haed"), "unknown-line"),
        (("tempo: 92", "tempo: 92\nseed: -1"), "wrong-value"),
        (("sargam: S R |", "sargam: !acent!S R |"), "unreadable"),
        (("    sargam: S R | G", "    sargam: |\n      !acent!S R | G"), "bad-cell"),
        (("tonic: D", "tonic: D\x07"), "unreadable"),
        (("\n    sargam: ", " "), "wrong-value"),
    ],
)
def test_a_mistake_of_reading_is_mended(spoil: tuple[str, str], rule: str) -> None:
    whole = with_heading(
        "lines:\n  head:\n    sargam: S R | G m P | d n | S' n d\nform:\n  - play: head\n"
    )
    assert not [one for one in findings_of(whole) if one.counts]
    text = whole.replace(*spoil)
    assert rule in [one.rule for one in findings_of(text) if one.counts], findings_of(text)
    result = _mended(text)
    assert not [one for one in result.findings if one.counts]
    assert result.data.decode().endswith("form:\n  - play: head\n")


def test_a_finding_that_a_liberty_covers_is_not_mended() -> None:
    text = with_heading(
        "lines:\n  head: {sargam: S R | G m P | d N | S' n d}\n"
        "liberties:\n  - {rule: foreign-tone, why: the joke of the tune}\n"
    )
    assert _mended(text).data == text.encode()
    assert _mended(text, "foreign-tone").data == text.encode()


def test_rules_by_name_are_mended_alone_and_warnings_too() -> None:
    text = with_heading(
        "lines:\n  head: {sargam: S R | G m P | d - | n d -P -}\n"
        "  far: {sargam: S R | G m P | d N}\n"
    )
    result = _mended(text, "early-landing")
    assert {one.finding.rule for one in result.done} == {"early-landing"}
    assert "d N}" in result.data.decode()
    assert "early-landing" not in [one.rule for one in result.findings]
    assert b"far: {sargam: S R | G m P | d N}" in result.data


def test_what_makes_a_piece_worse_is_taken_back_and_said() -> None:
    # The last note begins no cell of its own, so that only another beginning is tried, with which
    # the section lines stand where no section begins.
    text = with_heading("lines:\n  head: {sargam: S R | mP}\n")
    result = _mended(text)
    assert result.data == text.encode()
    (back,) = result.taken_back
    assert back.finding.rule == "misses-first-beat"
    assert back.suggestion.text.startswith("begins: ")
    assert back.why == "there would be a new error: section-line-astray"
    assert [one.rule for one in result.findings if one.counts] == ["misses-first-beat"]


def test_where_the_first_thing_to_try_makes_it_worse_the_next_is_done() -> None:
    # To begin earlier would move the section lines; to cut beats before the last note does not.
    text = with_heading("lines:\n  head: {sargam: S R | G m P | d - | n d P || S' R' S'}\n")
    (finding,) = [one for one in findings_of(text) if one.counts]
    result = _mended(text)
    assert [one.suggestion.text for one in result.done] == [finding.tries[0]]
    assert not [one for one in result.findings if one.counts]


def test_what_could_not_be_read_is_mended_before_what_is_judged() -> None:
    text = with_heading("lines:\n  head:\n    sargam: - R | G m P | d N | S' n d\n")
    result = _mended(text)
    assert [one.finding.rule for one in result.done] == ["unreadable", "foreign-tone"]
    assert result.data.decode().endswith("    sargam: |\n      - R | G m P | d n | S' n d\n")


_CELLS = st.lists(
    st.sampled_from(["S", "R", "r", "g", "G", "M", "mP", "N,", "n'", "-"]), min_size=2
)
_STYLES = {
    "plain": "  head:\n    lands: free\n    sargam: {}  # here\n",
    "single": "  head:\n    lands: free\n    sargam: '{}'  # here\n",
    "double": '  head:\n    lands: free\n    sargam: "{}"  # here\n',
    "block": "  head:  # here\n    lands: free\n    sargam: |\n      {}\n",
    "braces": "  head: {{lands: free, sargam: '{}'}}  # here\n",
    "bare": '  head: {{sargam: "{}", lands: free}}  # here\n',
}


@given(_CELLS, st.sampled_from(sorted(_STYLES)), st.sampled_from(["\n", "\r\n"]))
def test_lines_in_every_style_are_mended(cells: list[str], style: str, end: str) -> None:
    music = " ".join(["S", *cells])
    written = music.replace("'", "''") if style in ("single", "braces") else music
    text = with_heading(f"mode: yaman\nlines:\n{_STYLES[style].format(written)}")
    result = mended("test.yaml", text.replace("\n", end).encode())
    assert not _could_be_mended(result.findings)
    assert not [one for one in result.findings if one.rule in ("unreadable", "bad-cell")]
    said: dict[str, Any] = yaml.safe_load(result.data)
    assert len(said["lines"]["head"]["sargam"].split()) == len(music.split())
    assert result.data.count(b"# here") == 1
    assert result.data.count(b"\r\n") == (result.data.count(b"\n") if end == "\r\n" else 0)


@pytest.mark.parametrize(
    ("line", "done", "back"),
    [
        ("S r g M P D N, begins: 99", True, False),
        # Only another beginning is tried, which section lines do not allow.
        ("S R | mP", True, True),
    ],
)
def test_a_piece_full_of_errors_is_read_again_a_few_times(
    line: str, done: bool, back: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    times = 0

    def counted(*given: Any) -> Loaded:
        nonlocal times
        times += 1
        return read_piece(*given)

    monkeypatch.setattr(mending, "read_piece", counted)
    lines = "".join(f"  l{n}: {{sargam: {line}}}\n" for n in range(100))
    result = _mended(with_heading(f"mode: yaman\nlines:\n{lines}"))
    assert (bool(result.done), bool(result.taken_back)) == (done, back)
    assert times < 10
    assert not result.stopped


def test_where_there_is_more_to_try_than_time_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mending, "MOST_TRIALS", 1)
    monkeypatch.setattr(mending, "FEWEST_TRIALS", 1)
    text = with_heading("lines:\n  head: {sargam: s R | G m P | d N | S' n d}\n")
    first = _mended(text)
    assert first.stopped
    assert [one.finding.rule for one in first.done] == ["bad-cell"]
    second = mending.mended("test.yaml", first.data)
    assert not second.stopped
    assert not [one for one in second.findings if one.counts]


def test_rows_that_are_indented_wrongly_are_mended_one_after_the_other() -> None:
    text = with_heading(
        "lines:\n  head:\n    sargam: S - - -\n     lands: free\n"
        "form:\n  - play: head\n     times: 2\n"
    )
    result = _mended(text)
    assert b"\n    lands: free" in result.data
    assert b"\n    times: 2" in result.data
    assert not [one for one in result.findings if one.rule == "unreadable"]


def test_more_errors_of_a_rule_than_are_listed_are_all_mended() -> None:
    text = with_heading("mode: bhimpalasi\nlines:\n  head: {lands: free, sargam: TEXT}\n")
    result = _mended(text.replace("TEXT", "S G m z " * 450))
    assert b"G" not in result.data.split(b"sargam:")[1]
    assert not [one for one in result.findings if one.rule == "foreign-tone"]
    by_name = _mended(text.replace("TEXT", "S G m z " * 450), "foreign-tone")
    assert not [one for one in by_name.findings if one.rule == "foreign-tone"]


def test_a_line_far_too_long_and_full_of_errors_is_judged_and_mended_soon() -> None:
    head = with_heading("mode: bhimpalasi\nlines:\n  head:\n    sargam: ")
    for music in ("S R G " * 25_000, '"' + "S R G " * 25_000 + '"'):
        start = time.process_time()
        result = _mended(f"{head}{music}\n")
        assert time.process_time() - start < 10  # it was a minute and more
        assert [one for one in result.findings if one.rule == "too-long"]


def test_what_is_no_text_is_left_as_it_is() -> None:
    for data in (b"\xff\xfe\x00", b"", b"- [", b"{" * 5000):
        result = mended("x.yaml", data)
        assert result.data == data
        assert any(one.counts for one in result.findings)
