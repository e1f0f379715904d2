"""First pieces: clean in any mode and cycle, shaped like tunes, the same for the same answers."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from support.catalogue import CYCLE_NAMES, MODE_NAMES, cycle, mode
from support.making import findings_of, load_text

from cyclechart.catalog.instruments import instrument
from cyclechart.catalog.suladi import NAMES as SULADI
from cyclechart.draft.first_band import band_of, best_tonic, placed
from cyclechart.draft.first_piece import FirstPiece, Wish, first_piece
from cyclechart.piece.model import Piece
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.leaning import phrases_used, tones_to_end_on
from cyclechart.theory.mode import Mode

TRIO = ("flute", "double-bass", "tabla", "tanpura")
ODD = Cycle(
    name="Eleven and a Half",
    beats=Fraction(23, 2),
    sections=(Fraction(4), Fraction(4), Fraction(7, 2)),
    stressed=(Fraction(1), Fraction(9)),
    open=(Fraction(5),),
)
ODD_TEXT = "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}"


def drafted(
    in_mode: str | Mode = "bhimpalasi",
    in_cycle: str | Cycle = "tintal",
    players: tuple[str, ...] = TRIO,
    tempo: int = 96,
    seed: int = 0,
) -> FirstPiece:
    band = band_of(on for name in players if (on := instrument(name)) is not None)
    tonic = best_tonic(band)
    on_sa = placed(band, tonic)
    assert on_sa is not None
    wish = Wish(
        "First Tide",
        in_mode if isinstance(in_mode, str) else in_mode.name,
        mode(in_mode) if isinstance(in_mode, str) else in_mode,
        in_cycle if isinstance(in_cycle, str) else in_cycle.name,
        cycle(in_cycle) if isinstance(in_cycle, str) else in_cycle,
        tonic,
        Fraction(tempo),
        on_sa,
        seed,
    )
    found = first_piece(wish, Path("first-tide.yaml"))
    assert found is not None
    return found


def piece_in(draft: FirstPiece) -> Piece:
    loaded = load_text(draft.text)
    assert loaded.piece is not None
    return loaded.piece


# Every mode once and every cycle once, in pairs that go round; all pairs take a quarter of an hour.
MANY = [(name, CYCLE_NAMES[at % len(CYCLE_NAMES)]) for at, name in enumerate(MODE_NAMES)]


@pytest.mark.parametrize(("in_mode", "in_cycle"), MANY[::6])
def test_a_first_piece_is_clean(in_mode: str, in_cycle: str) -> None:
    assert findings_of(drafted(in_mode, in_cycle).text) == []


@pytest.mark.parametrize("in_cycle", [*SULADI[::9], "tisra-gati-adi", "khanda-gati-misra-chapu"])
def test_southern_talas_and_cycles_in_gati(in_cycle: str) -> None:
    assert findings_of(drafted("mohanam", in_cycle).text) == []


@pytest.mark.parametrize("in_mode", ["mela 15", "mela 72", "gaud-sarang", "bhupali", "kanada"])
def test_bare_scales_and_winding_paths(in_mode: str) -> None:
    assert findings_of(drafted(in_mode, "rupak").text) == []


def test_a_cycle_in_half_beats_that_a_band_wrote_out() -> None:
    text = drafted("kafi", ODD).text.replace("cycle: Eleven and a Half", f"cycle: {ODD_TEXT}")
    assert ODD_TEXT in text
    assert findings_of(text) == []


@pytest.mark.parametrize("in_mode", ["bhimpalasi", "yaman", "darbari", "hamsadhwani", "marwa"])
@pytest.mark.parametrize("in_cycle", ["tintal", "jhaptal", "rupak"])
def test_the_lines_are_tunes(in_mode: str, in_cycle: str) -> None:
    """What a musician would ask of them, counted: from memory of how such tunes are built."""
    piece = piece_in(drafted(in_mode, in_cycle))
    head, answer = piece.lines["head"], piece.lines["answer"]
    own = piece.mode
    assert head.standing(piece.cycle).shape == "lands"
    assert answer.standing(piece.cycle).shape == "loops"
    pitches = [note.pitch for note in head.notes if note.pitch is not None]
    # It comes home to Sa, from a height that is not its beginning or its end.
    assert pitches[-1] % 12 == 0
    assert max(pitches) - min(pitches) >= 7
    # It holds its last note, and rests on the tones that the mode rests on.
    assert head.notes[-1].length >= 2
    ends = {breath[-1].pitch % 12 for breath in head.breaths if breath[-1].pitch is not None}
    assert not tones_to_end_on(own) or ends <= tones_to_end_on(own)
    # Its rhythm is not one note a beat.
    assert len({note.length for note in head.notes}) >= 3
    # It speaks in the mode's phrases, the answer too in another register.
    breaths = [[note.pitch or 0 for note in breath] for breath in head.breaths]
    assert phrases_used(own, breaths)
    middle = sum(pitches) / len(pitches)
    answers = [note.pitch for note in answer.notes if note.pitch is not None]
    assert abs(sum(answers) / len(answers) - middle) >= 3


def test_the_form_has_a_solo_and_ends_on_a_tihai() -> None:
    piece = piece_in(drafted())
    assert [type(step).__name__ for step in piece.form] == [
        "Play", "Play", "Play", "Solo", "Play", "Play",
    ]  # fmt: skip
    (cadence,) = piece.lines["tihai"].cadences
    assert cadence.answer is not None
    assert cadence.answer.name.endswith("tihai")


def test_the_same_answers_give_the_same_bytes_and_another_seed_another_piece() -> None:
    first = drafted()
    assert drafted().text == first.text
    assert drafted(seed=2).text != first.text
    assert findings_of(drafted(seed=2).text) == []


@pytest.mark.parametrize("tempo", [40, 60, 132, 240])
def test_slow_and_fast(tempo: int) -> None:
    assert findings_of(drafted("desh", "keherwa", tempo=tempo).text) == []


@pytest.mark.parametrize(
    "players",
    [
        ("alto-sax", "trumpet", "tenor-sax", "piano", "double-bass", "drum-kit"),
        ("alto", "harmonium", "tabla", "tanpura"),
        ("tuba", "drum-kit"),
        ("violin", "mridangam", "tanpura"),
        ("piano",),
        ("shehnai", "bass-voice", "dholak"),
    ],
)
def test_any_band_lies_in_comfort(players: tuple[str, ...]) -> None:
    assert findings_of(drafted("bhairav", "ektal", players).text) == []


def test_the_comments_lead_through_the_file() -> None:
    rows = [row for row in drafted().text.splitlines() if "#" in row]
    assert 8 <= len(rows) <= 24
    assert all(len(row) <= 110 for row in rows)
