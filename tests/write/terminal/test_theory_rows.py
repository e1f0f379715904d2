"""What a mode's card says of its tones: chords, scale and murchhanas."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from cyclechart.catalog.library import Library
from cyclechart.catalog.search import entries
from cyclechart.cli import cli
from cyclechart.finding import Spot
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic
from cyclechart.write.terminal.card_text import WIDTH
from cyclechart.write.terminal.cards import look_up
from cyclechart.write.terminal.theory_rows import theory_rows

LIBRARY = Library.beside(None)
KNOWN = entries(LIBRARY)[0]
SCREEN = 50
"""Lines of the tallest card that still stands on a screen."""


def rows(name: str, tonic: str = "C", *, whole: bool = False) -> list[str]:
    mode, _ = LIBRARY.mode(name, Spot("", 1, 1))
    assert mode is not None
    return list(theory_rows(mode, Tonic(tonic), KNOWN, whole=whole))


def text(name: str, tonic: str = "C", *, whole: bool = False) -> str:
    return " ".join(" ".join(rows(name, tonic, whole=whole)).split())


def test_bhupali_from_g_is_malkauns() -> None:
    said = text("bhupali", "D")
    assert "triads S D · D Bm " in said
    assert "sevenths D Bm7" in said
    assert "jazz major pentatonic; lies in Ionian (major), Lydian, Mixolydian" in said
    assert "from G (F♯) Malkauns" in said
    assert "pulls" not in said


def test_what_pulls_away_is_marked_with_the_drone() -> None:
    assert "m Fm* · d A♭*" in text("malkauns")
    assert "* pulls the ear away from Sa, even over a drone on S m" in text("malkauns")
    assert "m F* · P Gm · D Adim · n B♭*" in text("kafi")


def test_the_whole_table_has_a_row_for_each_tone() -> None:
    table = rows("yaman", whole=True)
    tones = [row.split()[0] for row in table[1:] if not row.startswith(" " * 10)]
    assert tones[:7] == ["S", "R", "G", "M", "P", "D", "N"]
    assert "Bilawal" in text("yaman", whole=True)
    assert "F♯m7♭5 Locrian" in text("yaman", whole=True)


def test_a_mode_that_is_nothing_else_says_so() -> None:
    odd = Mode(name="Odd", ascent=(0, 1, 2, 3, 6, 12), descent=(12, 6, 3, 2, 1, 0))
    short = "\n".join(theory_rows(odd, Tonic("C"), KNOWN, whole=False))
    assert "becomes" not in short
    table = "\n".join(theory_rows(odd, Tonic("C"), KNOWN, whole=True))
    assert table.count("no mode of the catalogue") == 4
    bare = Mode(name="Bare", ascent=(0, 5, 7, 12), descent=(12, 7, 5, 0))
    said = "\n".join(theory_rows(bare, Tonic("C"), [], whole=False))
    assert said.count("none lie in it") == 2


@pytest.mark.parametrize("entry", KNOWN, ids=lambda entry: entry.key)
def test_no_row_runs_past_the_width(entry: object) -> None:
    mode = entry.mode  # type: ignore[attr-defined]
    for tonic in (Tonic("C"), Tonic("F", 1)):
        for whole in (False, True):
            lines = list(theory_rows(mode, tonic, KNOWN, whole=whole))
            assert max(map(len, lines)) <= WIDTH, mode.name


def test_the_cards_still_fit_on_a_screen(tmp_path: Path) -> None:
    for name in ("yaman", "kedar", "bhairavi", "jaijaiwanti", "tilak-kamod", "malkauns"):
        (card,) = look_up(name, Tonic("C"), tmp_path).texts
        assert card.count("\n") < SCREEN, name


def test_show_prints_the_table_when_asked() -> None:
    plain = CliRunner().invoke(cli, ["show", "bhupali"]).stdout
    whole = CliRunner().invoke(cli, ["show", "bhupali", "--theory"]).stdout
    assert "  becomes   " in plain and "with it as Sa" not in plain
    assert "with it as Sa" in whole and "  becomes   " not in whole
    assert CliRunner().invoke(cli, ["show", "tintal", "--theory"]).exit_code == 0
    of_piece = CliRunner().invoke(cli, ["show", "pieces/two-tides.yaml", "--theory"]).stdout
    assert "with it as Sa" in of_piece
