"""Texts made safe to set: what is left out, and that nothing else is."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.text.display import (
    MOST_MARKS,
    MOST_SIGNS,
    NO_BREAK,
    ZERO_SPACE,
    as_read,
    breakable,
    clusters,
    is_mark,
    player_title,
    settable,
    shown,
    tidy,
)

ANY = st.text(st.characters(codec=None), max_size=60)
"""Every code, halves of surrogate pairs too."""

STEERED = ["\u202a", "\u202b", "\u202d", "\u202e", "\u202c", "\u2066", "\u2067", "\u2069"]


@pytest.mark.parametrize(
    "text",
    [
        'The *bold* #read("x") $y$ <script> &amp; \\ `a` @b',
        "ṡ ḥ ā ♭ ♯ × ½ Ż",
        "श्री क्षमा मैं",
        "শুভ রাত্রি",
        "👩‍👩‍👧 🇮🇳 👍🏽 ❤️ 1️⃣",
        "क्‍ष",
        "",
    ],
)
def test_what_can_be_shown_stays(text: str) -> None:
    assert shown(text) == text


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("one\ntwo\tthree\u2028four", "one two three four"),
        ("a\x00b\x07c\x1bd\x7fe\x9bf", "abcdef"),
        ("safe\u202egnp.exe\u202c", "safegnp.exe"),
        ("a\ud800b\ue0a4", "a�b�"),
        ("\ufeffa\uffffb\ufdd0c\U0001ffff", "abc"),
        ("a" + "\u0301\u0323" * 15 + "b", "a" + "\u0301\u0323" * 2 + "b"),
        ("क" + "\u093f" * 30, "क" + "\u093f" * MOST_SIGNS),
    ],
)
def test_what_hides_or_turns_is_left_out(text: str, plain: str) -> None:
    assert shown(text) == plain


def test_leftward_writing_is_set_apart() -> None:
    assert shown("نهر 12") == "\u2068نهر 12\u2069"
    assert as_read(shown("نهر 12")) == "نهر 12"


@given(ANY)
def test_a_shown_text_can_be_written_and_holds_no_control(text: str) -> None:
    plain = tidy(text)
    plain.encode()
    assert not any(unicodedata.category(sign) in ("Cc", "Cs") for sign in plain)
    assert not set(plain) & set(STEERED)
    assert tidy(plain) == plain
    assert as_read(shown(text)) == as_read(plain)
    stacked = 0
    for sign in plain:
        stacked = stacked + (unicodedata.combining(sign) >= 200) if is_mark(sign) else 0
        assert stacked <= MOST_MARKS


@given(ANY, st.integers(1, 30))
def test_breaking_adds_places_to_break_and_nothing_else(text: str, most: int) -> None:
    broken = breakable(tidy(text), most)
    bare = broken.replace(ZERO_SPACE, "").replace(NO_BREAK, " ")
    assert bare == tidy(text).replace(ZERO_SPACE, "").replace(NO_BREAK, " ")
    assert "".join(clusters(text)) == text


@given(st.text(st.sampled_from("ab'-.—W👩क\u0300\u094d"), max_size=90), st.integers(1, 20))
def test_no_run_is_longer_than_it_may_be(text: str, most: int) -> None:
    for run in breakable(text, most).split(ZERO_SPACE):
        letters = sum(2 if sign == "👩" else not is_mark(sign) for sign in run)
        # A mark with no letter before it is a cluster without a width.
        wide = [one for one in clusters(run) if not all(map(is_mark, one))]
        assert letters <= most or len(wide) == 1


@pytest.mark.parametrize("most", [3, 20])
def test_no_fraction_is_parted_from_its_whole(most: int) -> None:
    assert breakable("7 3/4", most) == "7\u00a03/4"
    assert settable("an odd cycle of 7 3/4, from beat 10 1/2") == (
        "an odd cycle of 7\u00a03/4, from beat 10\u00a01/2"
    )
    # These are no whole and its fraction.
    for text in ("7 3", "3/4 3/4", "4+4/4 7/8", "7 3/4/5", "take 3/4"):
        assert breakable(text) == text
    assert as_read(shown("7 3/4")) == "7 3/4"


def test_no_mark_joined_sign_flag_or_conjunct_is_parted() -> None:
    # The whole of each is one extended grapheme cluster of Unicode 15.1 (UAX 29, rules 9 to 13).
    for whole in ("e\u0301", "👩‍👧", "🇮🇳", "👍🏽", "क्ष", "मैं"):
        assert list(clusters(whole * 2 + "a")) == [whole, whole, "a"]
        assert breakable(f"{whole}a", 1).split(ZERO_SPACE) == [whole, "a"]


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("tenor-sax", "Tenor Sax"),
        ("drum-kit", "Drum Kit"),
        ("flute-2", "Flute 2"),
        ("flute-ii", "Flute II"),
        ("double bass", "Double Bass"),
        ("second_violin", "Second Violin"),
        ("voice", "Voice"),
        ("o'dell", "O'dell"),
        ("Marit van der Zee", "Marit van der Zee"),
        ("DJ-2", "DJ-2"),
        ("ágnes-flute", "ágnes-flute"),
        ("बाँसुरी", "बाँसुरी"),
        ("--", "--"),
    ],
)
def test_a_player_is_named_as_people_write_it(name: str, title: str) -> None:
    assert player_title(name) == title
