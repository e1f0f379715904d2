"""Repeats, endings, jumps and pickups of a tune as lines and a form.

The orders in which bars are played are those of Gould, Behind Bars (2011), chapter 8 (from memory).
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from cyclechart.transcription.losses import Losses
from cyclechart.transcription.playing_order import playing_order
from cyclechart.transcription.sections import sections_of
from cyclechart.transcription.tune import Bar, Meter, Tune, TuneNote, TuneVoice

FOUR = Meter(Fraction(0), Fraction(4), name="4/4")


def bars(*signs: str, length: int = 4) -> list[Bar]:
    """Bars with signs: ``|:``, ``:|``, ``:|3``, ``1.`` (ending), ``DC``, ``DS``, ``$`` (segno),
    ``fine``, ``to`` and ``coda``; ``.1`` beat long where a number stands after a point."""
    made: list[Bar] = []
    now = Fraction(0)
    for sign in signs:
        words = sign.split()
        long = next((Fraction(word[1:]) for word in words if word[0] == "."), Fraction(length))
        close = next((word for word in words if word.startswith(":|")), "")
        made.append(
            Bar(
                start=now,
                length=long,
                number=str(len(made) + 1),
                opens_repeat="|:" in words,
                closes_repeat=int(close[2:] or 2) if close else 0,
                endings=tuple(int(word[0]) for word in words if word[1:] == "."),
                fine="fine" in words,
                segno="$" in words,
                coda="coda" in words,
                to_coda="to" in words,
                jump="dc" if "DC" in words else "ds" if "DS" in words else "",
            )
        )
        now += long
    return made


@pytest.mark.parametrize(
    ("signs", "order"),
    [
        (("-", "-"), [0, 1]),
        (("-", ":|", "-"), [0, 1, 0, 1, 2]),
        (("-", "|:", ":|3", "-"), [0, 1, 2, 1, 2, 1, 2, 3]),
        (("|:", "1. :|", "2.", "-"), [0, 1, 0, 2, 3]),
        (("|:", "1. 2. :|", "3.", "-"), [0, 1, 0, 1, 0, 2, 3]),
        (("|: -", ":|", "|:", ":|"), [0, 1, 0, 1, 2, 3, 2, 3]),
        (("-", "fine", "DC"), [0, 1, 2, 0, 1]),
        (("-", "$", "to", "DS", "coda"), [0, 1, 2, 3, 1, 2, 4]),
        (("|:", "1. :|", "2. fine", "-", "DC"), [0, 1, 0, 2, 3, 4, 0, 2]),
    ],
)
def test_playing_order(signs: tuple[str, ...], order: list[int]) -> None:
    assert playing_order(bars(*signs)) == order


def test_signs_that_leave_a_bar_out_have_no_order() -> None:
    assert playing_order(bars("-", "3.", "-")) is None


def tune(made: list[Bar], *notes: tuple[float, float]) -> Tune:
    voice = TuneVoice(
        "melody",
        tuple(
            TuneNote(start=Fraction(start), length=Fraction(length), pitch=60)
            for start, length in notes
        ),
    )
    return Tune(voices=(voice,), bars=tuple(made), meters=(FOUR,))


def test_endings_become_lines_of_their_own() -> None:
    found = sections_of(tune(bars("|:", "-", "1. :|", "2."), (0, 1)), Losses())
    assert [section.name for section in found.sections] == [
        "a",
        "a-first-ending",
        "a-second-ending",
    ]
    assert found.order == ((0, 1), (1, 1), (0, 1), (2, 1))


def test_a_repeat_is_played_twice() -> None:
    found = sections_of(tune(bars("|:", ":|", "|:", ":|"), (0, 1)), Losses())
    assert [section.name for section in found.sections] == ["a", "b"]
    assert found.order == ((0, 2), (1, 2))


def test_a_note_held_into_an_ending_keeps_both_in_one_line() -> None:
    found = sections_of(tune(bars("|:", "1. :|", "2."), (0, 1), (3, 2)), Losses())
    assert [len(section.spans) for section in found.sections] == [2, 1, 1]
    assert found.order == ((0, 1), (1, 1), (2, 1))


def test_a_short_first_bar_is_a_pickup_and_so_is_one_that_completes_the_bar_before() -> None:
    found = sections_of(tune(bars(".1", "-", ".3 :|", ".1", "-", ".3 :|"), (0, 1)), Losses())
    assert [section.pickup for section in found.sections] == [1, 1]


def test_another_meter_begins_a_line() -> None:
    two = tune(bars("-", "-", "-"), (0, 1))
    three = Meter(Fraction(4), Fraction(3), name="3/4")
    changed = Tune(voices=two.voices, bars=two.bars, meters=(FOUR, three))
    found = sections_of(changed, Losses())
    assert [section.meter.beats for section in found.sections] == [4, 3]
