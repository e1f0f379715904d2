"""The command ``new``: it asks on a terminal, writes once, and refuses plainly."""

from __future__ import annotations

from pathlib import Path

import mido
import music21
import pytest
from click.testing import CliRunner, Result
from support.making import ROOT, findings_of

from cyclechart.cli import cli
from cyclechart.commands import new as command


@pytest.fixture(autouse=True)
def in_an_empty_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def run(*words: str, answers: str = "") -> Result:
    return CliRunner().invoke(cli, ["new", *words], input=answers)


def test_it_writes_a_clean_piece_named_by_its_title_and_says_what_is_next() -> None:
    result = run("--mode", "Bhīmpalāsī", "--cycle", "Jhap Taal", "--title", "Eel Weir: Dawn")
    assert result.exit_code == 0
    text = Path("eel-weir-dawn.yaml").read_text("utf-8")
    assert "mode: bhimpalasi\n" in text
    assert "cycle: jhaptal " in text
    assert findings_of(text) == []
    said, more = result.output.splitlines()
    assert said.endswith("cyclechart check eel-weir-dawn.yaml")
    assert more.endswith("cyclechart arrange eel-weir-dawn.yaml")


def test_nothing_is_overwritten() -> None:
    Path("mine.yaml").write_text("title: Mine\n", "utf-8")
    result = run("--mode", "yaman", "--to", "mine.yaml")
    assert result.exit_code == 2
    assert "is there already" in result.output
    assert Path("mine.yaml").read_text("utf-8") == "title: Mine\n"
    Path("link.yaml").symlink_to("nowhere.yaml")
    assert run("--mode", "yaman", "--to", "link.yaml").exit_code == 2


def test_on_a_terminal_it_asks_again_until_it_knows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(command._Questions, "is_terminal", staticmethod(lambda: True))
    mode, players, sa = ("bhimplas-who", "?", "bhimpalasi"), ("sitarr", "sitar, tabla"), ("H", "")
    answers = ["Salt Steps", *mode, "", *players, *sa, "80", ""]
    result = run(answers="\n".join(answers))
    assert result.exit_code == 0, result.output
    assert "there is no mode 'bhimplas-who'" in result.output
    assert "kafi, bageshri, bageshri-re," in result.output
    assert "there is no instrument 'sitarr'; did you mean sitar" in result.output
    assert "'H' is not a letter name" in result.output
    text = Path("salt-steps.yaml").read_text("utf-8")
    assert "tempo: 80 " in text
    assert "  sitar: {plays: melody" in text
    assert findings_of(text) == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "say --mode"),
        (["--mode", "nonsense-mode"], "'--mode': there is no mode"),
        (["--mode", "yaman", "--cycle", "4/4"], "'--cycle':"),
        (["--mode", "yaman", "--cycle", "nonsense"], "there is no cycle"),
        (["--mode", "yaman", "--tonic", "H"], "letter name"),
        (["--mode", "yaman", "--tempo", "0"], "4 to 1000"),
        (["--mode", "yaman", "--tempo", "9" * 400], "digits"),
        (["--mode", "yaman", "--player", "tabla"], "nobody of these plays melodies"),
        (["--mode", "yaman", "--player", "sax"], "there is no instrument 'sax'"),
        (["--mode", "yaman", "--player", ","], "1 to 32"),
        (["--mode", "yaman", "--title", " "], "letter"),
        (["--mode", "yaman", "--title", "x" * 500], "at most"),
        (["--mode", "yaman", "--to", "tune.txt"], "ends in .yaml"),
        (["--mode", "yaman", "--seed", "-1"], "--seed"),
    ],
)
def test_what_cannot_be_written(words: list[str], said: str) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert said in result.output
    assert list(Path().iterdir()) == []


def test_a_title_with_every_sign_is_a_sound_scalar() -> None:
    for number, title in enumerate(['A: "b" #c', "null", "- x", "नदी", "../../x", "\x07bell"]):
        assert run("--mode", "kafi", "--title", title, "--to", f"{number}.yaml").exit_code == 0
        assert findings_of(Path(f"{number}.yaml").read_text("utf-8")) == []
    assert sorted(path.name for path in Path().iterdir()) == [f"{n}.yaml" for n in range(6)]
    assert run("--mode", "kafi", "--title", "../../y").exit_code == 0
    assert Path("y.yaml").is_file()


def test_an_ensemble_and_a_mode_of_the_band_s_own(tmp_path: Path) -> None:
    (tmp_path / "shared").symlink_to(ROOT / "shared")
    words = ["--mode", "weir", "--cycle", "eleven-and-a-half", "--player", "tidewater-eight"]
    assert run(*words, "--to", "weir.yaml").exit_code == 0
    assert "players: tidewater-eight" in Path("weir.yaml").read_text("utf-8")
    checked = CliRunner().invoke(cli, ["check", "--strict", "weir.yaml"])
    assert checked.exit_code == 0, checked.output


def test_other_programs_read_what_it_arranges() -> None:
    """mido reads the MIDI file and music21 the MusicXML: both have the head's notes."""
    assert run("--mode", "hamsadhwani", "--cycle", "adi", "--to", "first.yaml").exit_code == 0
    done = CliRunner().invoke(cli, ["arrange", "first.yaml", "--only", "midi,musicxml"])
    assert done.exit_code == 0, done.output
    midi = mido.MidiFile("output/first/first.mid")
    assert midi.length > 60
    score = music21.converter.parse("output/first/first.musicxml")
    written = [note.pitch.pitchClass for note in score.flatten().notes if note.isNote]
    scale = {(2 + tone) % 12 for tone in (0, 2, 4, 7, 11)}
    assert len(written) > 40
    assert set(written) <= scale


def test_a_word_for_an_instrument_and_a_time_signature_are_answered_with_names() -> None:
    said = run("--title", "T", "--mode", "yaman", "--player", "bass").output
    assert "there is no instrument 'bass'; did you mean double-bass, bass-guitar?" in said
    said = " ".join(run("--title", "T", "--mode", "yaman", "--cycle", "4/4").output.split())
    assert "Which cycle is meant? of 4 beats: chaturasra-eka; of 8 beats: keherwa" in said
    assert "did you mean" not in said
