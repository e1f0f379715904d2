"""``show`` and ``why``: instruments, roles, tables, and the words of the trade."""

from __future__ import annotations

from pathlib import Path

import music21
import pytest
from click.testing import CliRunner, Result
from support.making import ROOT

from cyclechart.catalog.instruments import instrument, instrument_names
from cyclechart.catalog.roles import ROLES
from cyclechart.cli import cli
from cyclechart.rules.judge import RULES, families, help_texts
from cyclechart.write.terminal.instrument_card import instrument_card


def run(*words: str) -> Result:
    return CliRunner().invoke(cli, list(words))


def test_a_transposing_instrument_sounds_and_is_written() -> None:
    """The B flat trumpet sounds a major second lower than written (Adler, The Study of
    Orchestration, ch. on brass; from memory); its lowest written note is the F sharp below."""
    output = run("show", "trumpet").output
    assert "sounds    E3 to D6" in output
    assert "written   F♯3 to E6" in output
    assert "in B♭: sounds a whole tone lower than written" in output
    assert "General MIDI: program 57" in output
    assert "plays     melody" in output


@pytest.mark.parametrize(
    ("name", "outside"),
    [
        ("clarinet", music21.instrument.Clarinet),
        ("alto-sax", music21.instrument.AltoSaxophone),
        ("horn", music21.instrument.Horn),
        ("english-horn", music21.instrument.EnglishHorn),
        ("piccolo", music21.instrument.Piccolo),
        ("tenor-sax", music21.instrument.TenorSaxophone),
    ],
)
def test_transpositions_and_programs_are_those_of_music21(
    name: str, outside: type[music21.instrument.Instrument]
) -> None:
    on = instrument(name)
    assert on is not None
    other = outside()
    # music21's tenor saxophone and others are written an octave or two apart by edition.
    assert (on.transposes - int(other.transposition.chromatic.semitones)) % 12 == 0
    assert on.program == other.midiProgram


@pytest.mark.parametrize("name", instrument_names())
def test_every_instrument_has_a_card_that_fits(name: str) -> None:
    on = instrument(name)
    assert on is not None
    rows = list(instrument_card(on))
    assert on.title in rows[0]
    assert all(len(row) <= 100 for row in rows)
    assert any(row.startswith("  written") for row in rows) == bool(on.transposes)


def test_the_tables_have_all_there_are(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    table = run("show", "instruments").output
    assert all(f"\n{name} " in table for name in instrument_names())
    cycles = run("show", "cycles").output
    assert "\ntintal  " in cycles
    assert "4 + 4 + 4 + 4                  × 2 0 3" in cycles
    assert "eleven-and-a-half" in cycles
    players = run("show", "players").output
    assert all(role in players for role in ROLES)
    assert "tidewater-trio: flute, tabla, tanpura" in players
    assert run("show", "modes").output == run("modes").output


def test_a_name_that_is_two_things_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "shared").mkdir()
    text = "flute: {ascent: S R G P D S', descent: S' D P G R S}\n"
    (tmp_path / "shared" / "modes.yaml").write_text(text, "utf-8")
    monkeypatch.chdir(tmp_path)
    output = run("show", "flute").output
    assert output.startswith("'flute' is a mode and an instrument.")
    assert "ascent" in output
    assert "comfort" in output
    assert "cyclechart why tivra" in run("show", "tivra").output


def test_a_word_that_is_no_card_is_sent_on() -> None:
    result = run("show", "vadi")
    assert result.exit_code == 2
    assert "`cyclechart why vadi` explains the word" in result.output


@pytest.mark.parametrize("word", ["tihai", "sam", "khali", "damdar", "V.S.", "stop time"])
def test_why_explains_words(word: str) -> None:
    result = run("why", word)
    assert result.exit_code == 0
    assert "means" in result.output
    assert "here" in result.output


def test_why_alone_lists_every_rule_once_in_its_family_and_the_words() -> None:
    output = run("why").output
    assert sorted(name for names in families().values() for name in names) == sorted(help_texts())
    assert {rule.name for rule in RULES} <= {n for names in families().values() for n in names}
    for name in help_texts():
        assert output.count(f"\n  {name}: ") == 1, name
    assert "words of the trade:" in output
    assert "tihai" in output


def test_why_suggests_by_spelling_and_finds_by_sound() -> None:
    result = run("why", "tihay")
    assert result.exit_code == 2
    assert "tihai" in result.output
    assert run("why", "teehaai").output.startswith("tihai\n")
    assert run("why", "weak rest").output.startswith("weak-rest ")
    assert run("why", "x" * 5000).exit_code == 2


def test_names_of_several_words_need_no_quotes() -> None:
    assert run("show", "Mia", "ki", "Malhar").stdout.startswith("Miyan Malhar")
    assert run("why", "misses", "first", "beat").stdout.startswith("misses-first-beat (error)")
    assert run("why", "grace", "note").stdout.startswith("kan")


def test_a_musicians_word_for_an_instrument_is_answered_with_ours() -> None:
    assert "did you mean double-bass, bass-guitar?" in run("show", "bass").output
    assert "did you mean piano" in run("show", "keys").output
