"""The book of a set as data."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from support.gigs import gig
from support.midi_files import midi_bytes

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.clock import minutes_of
from cyclechart.arrange.set_book import BreakPage, Seat, gig_of, set_book_of
from cyclechart.catalog.roles import DRONE, MELODY, THEKA
from cyclechart.piece.set.setlist import load_setlist
from cyclechart.rules.judge import RULE_NAMES

DEMO = Path(__file__).parents[2] / "pieces" / "sets" / "regatta-night.yaml"

NIGHT = """title: A Night
date: once
venue: by the weir
players: quartet
length: 30
pieces:
  - {piece: band.yaml, minutes: 5, note: softly, without: [guitar]}
  - on-g.yaml
  - {break: 15, note: tea}
  - {piece: on-a.yaml, tonic: Bb}
"""


def test_the_pages_say_what_the_set_list_says(tmp_path: Path) -> None:
    book = set_book_of(gig(tmp_path, NIGHT))
    assert (book.title, book.date, book.venue) == ("A Night", "once", "by the weir")
    assert book.length == 30
    band, on_g, tea, on_a = book.entries
    assert tea == BreakPage(Fraction(15), on_g.starts + on_g.minutes, "tea")
    assert [tune.number for tune in book.tunes] == [1, 2, 3]
    first, second, third = book.tunes
    assert (first.title, first.note, first.estimated) == ("Band", "softly", True)
    assert first.out == ("guitar",)
    assert first.seats == (
        Seat("flute", "Flute", MELODY),
        Seat("tabla", "Tabla", THEKA),
        Seat("tanpura", "Tanpura", DRONE),
    )
    assert first.retuning == "Tabla and Tanpura to G (5 semitones up), 2:00"
    assert second.retuning == "Tabla and Tanpura to B♭ (3 semitones up), in the break"
    assert third.retuning == ""
    assert (str(third.tonic), third.modes, third.cycles) == ("B♭", ("Charukeshi",), ("Jhaptal",))
    # A piece that names nobody is played by all who are there.
    assert [seat.name for seat in second.seats] == ["flute", "guitar", "tabla", "tanpura"]
    assert (band.starts, on_g.starts) == (0, 7)
    assert on_a.starts == 7 + on_g.minutes + 15


def test_the_sums_add_up(tmp_path: Path) -> None:
    book = set_book_of(gig(tmp_path, NIGHT))
    assert book.music + book.breaks + book.retuning == book.minutes
    assert (book.breaks, book.retuning) == (15, 2)
    last = book.entries[-1]
    assert last.starts + last.minutes == book.minutes
    assert not book.tunes[1].estimated
    assert book.tunes[1].minutes == minutes_of(book.tunes[1].piece)


def test_modes_cycles_and_players_stand_once() -> None:
    setlist, _, _ = load_setlist(DEMO, RULE_NAMES)
    assert setlist is not None
    book = set_book_of(gig_of(setlist))
    for listed in (book.modes, book.cycles, book.players):
        assert listed
        assert len(set(listed)) == len(listed)
    assert {mode.name for mode in book.modes} == {name for t in book.tunes for name in t.modes}


def test_a_page_has_the_piece_as_it_is_played_here(tmp_path: Path) -> None:
    first, _, third = set_book_of(gig(tmp_path, NIGHT)).tunes
    parts = [part.name for part in arrange(first.piece).parts]
    assert parts[:3] == ["flute", "tabla", "tanpura"]
    assert "guitar" not in parts
    assert str(third.piece.tonic) == "B♭"
    assert midi_bytes(arrange(third.piece))


def test_a_tune_that_cannot_be_read_is_left_out(tmp_path: Path) -> None:
    book = set_book_of(gig(tmp_path, "pieces: [half-done.yaml, on-d.yaml]"))
    assert [tune.number for tune in book.tunes] == [2]


def test_the_same_set_list_gives_the_same_book(tmp_path: Path) -> None:
    assert set_book_of(gig(tmp_path, NIGHT)) == set_book_of(gig(tmp_path, NIGHT))
