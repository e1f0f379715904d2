"""Changes within the form as they are read: by name, written out, from the band's own folder."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest
import yaml
from support.making import findings_of, load_text, piece_of, with_heading

from cyclechart.finding import Finding
from cyclechart.piece.schema import schema
from cyclechart.piece.step_state import MAX_CYCLES

LINES = "lines:\n  head: {sargam: S}\n  free: {lands: free, sargam: S R}\n"


def errors(text: str) -> list[Finding]:
    return [f for f in findings_of(with_heading(text)) if f.severity == "error"]


def test_a_change_holds_until_there_is_another() -> None:
    piece = piece_of(
        f"cycle: tintal\n{LINES}form:\n  - play: head\n  - {{play: head, cycle: rupak}}\n"
        "  - {free: free}\n  - {solo: tabla, cycles: 2}\n"
        "  - {solo: melody, cycles: 2, cycle: tintal}\n"
        "  - {free: melody, seconds: 3, cycle: dadra}\n  - play: head\n"
    )
    names = [step.cycle.name for step in piece.steps]
    assert names == ["Tintal", "Rupak", "Rupak", "Rupak", "Tintal", "Dadra", "Dadra"]
    assert [cycle.name for cycle in piece.cycles] == ["Tintal", "Rupak", "Dadra"]
    assert [cycle.name for cycle in piece.cycles_of("head")] == ["Tintal", "Rupak", "Dadra"]


def test_without_a_form_there_is_the_pieces_own_cycle() -> None:
    piece = piece_of(f"cycle: rupak\n{LINES}")
    assert {step.cycle for step in piece.steps} == {piece.cycle} == set(piece.cycles)


def test_a_cycle_written_out_is_called_by_its_length_and_the_pieces_own_stays_so() -> None:
    own = "{beats: 11 1/2, sections: [4, 4, 3 1/2]}"
    piece = piece_of(
        f"cycle: {own}\n{LINES}form:\n  - play: head\n"
        "  - {play: head, cycle: {beats: 5, sections: [3, 2]}}\n"
        f"  - {{play: head, cycle: {own}}}\n"
        "  - {play: head, cycle: {name: Three, beats: 3}}\n"
    )
    names = [cycle.name for cycle in piece.cycles]
    assert names == ["the piece's own cycle", "a cycle of 5", "Three"]


def test_two_cycles_of_one_name_are_told_apart_by_their_length() -> None:
    piece = piece_of(
        f"cycle: rupak\n{LINES}form:\n  - play: head\n"
        "  - {play: head, cycle: {name: Rupak, beats: 6}}\n"
    )
    assert [piece.called(cycle) for cycle in piece.cycles] == ["Rupak (7)", "Rupak (6)"]


def test_a_cycle_of_the_bands_own_folder(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "cycles.yaml").write_text("weir: {name: Weir, beats: 9}\n")
    text = with_heading(f"{LINES}form:\n  - {{play: head, cycle: weir}}\n")
    piece = load_text(text, tmp_path).piece
    assert piece is not None
    assert piece.steps[0].cycle.beats == 9


@pytest.mark.parametrize(
    ("cycle", "rule", "tried"),
    [
        ("rupack", "unknown-name", "rupak"),
        ("", "wrong-value", "cycle: jhaptal"),
        ("[rupak]", "wrong-value", "cycle: jhaptal"),
        ("{beats: 5, sections: [2, 2]}", "cycle-unsound", None),
        ("{beats: 1000000}", "cycle-unsound", None),
        ("{}", "missing-key", None),
    ],
)
def test_a_cycle_that_cannot_be_read_is_one_finding_and_nothing_is_measured_in_it(
    cycle: str, rule: str, tried: str | None
) -> None:
    text = f"cycle: keherwa\n{LINES}  tail: {{sargam: S R G m P d n}}\nform:\n"
    found = errors(f"{text}  - play: head\n  - play: tail\n    cycle: {cycle}\n  - play: tail\n")
    assert [finding.rule for finding in found] == [rule]
    assert tried is None or tried in found[0].tries


def test_a_change_at_a_step_that_is_wrong_itself_still_holds() -> None:
    text = f"cycle: keherwa\n{LINES}  tail: {{sargam: S R G m P d n}}\nform:\n"
    found = errors(f"{text}  - {{play: haed, cycle: rupak}}\n  - play: tail\n")
    assert [finding.rule for finding in found] == ["unknown-line"]


def test_what_changes_stays_changed_but_for_dynamics() -> None:
    piece = piece_of(
        f"tempo: 60\n{LINES}form:\n  - play: head\n"
        "  - {play: head, tempo: 80, mode: kafi-thaat, tonic: Eb, dynamics: p}\n"
        "  - play: head\n  - {play: head, tempo: {to: 120}}\n  - {groove: 2, mode: kafi-thaat}\n"
    )
    states = [step.state for step in piece.steps]
    assert [state.tempo for state in states] == [60, 80, 80, 80, 120]
    assert [state.to_tempo for state in states] == [None, None, None, 120, None]
    assert [str(state.tonic) for state in states] == ["D", "E♭", "E♭", "E♭", "E♭"]
    assert [state.level for state in states] == ["", "p", "", "", ""]
    assert len({state.mode for state in states}) == 2


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("tempo: fast", "not a number"),
        ("tempo: 2000", "4 to 1000"),
        ("tempo: {by: 3}", "tempo: {to: 120}"),
        ("tempo: {to: 3}", "4 to 1000"),
        ("tempo: [1]", "a tempo must be a number"),
        ("mode: yamun", "yamun"),
        ("mode: {ascent: S R}", "descent"),
        ("tonic: H", "not a letter name"),
        ("dynamics: loud", "pp p mp mf f ff"),
        ("dynamics: [p]", "pp p mp mf f ff"),
    ],
)
def test_a_change_that_cannot_be_read_is_a_finding(change: str, said: str) -> None:
    found = errors(f"{LINES}form:\n  - {{play: head, {change}}}\n  - play: head\n")
    assert len(found) == 1
    assert said in f"{found[0].message} {found[0].tries}"


def test_begins_is_a_beat_of_the_cycle_that_the_line_is_played_in() -> None:
    line = 'lines:\n  head: {begins: 9, sargam: "S R G m P d n d || S"}\nform:\n'
    # Nine is no beat of rupak, and one of tintal.
    assert not errors(f"cycle: rupak\n{line}  - {{play: head, cycle: tintal}}\n")
    (alone,) = [
        f
        for f in errors(f"cycle: tintal\n{line}  - {{play: head, cycle: rupak}}\n")
        if f.rule == "wrong-value"
    ]
    assert "1 to 7, not on 9" in alone.message
    found = errors(f"cycle: tintal\n{line}  - play: head\n  - {{play: head, cycle: rupak}}\n")
    assert [(f.rule, f.spot.line, f.spot.column) for f in found] == [("wrong-value", 7, 18)]
    assert "'head' is also played in Rupak" in found[0].message
    assert found[0].tries == ("write a separate line for Rupak",)
    half = line.replace("begins: 9", "begins: 7 1/2")
    found = errors(f"cycle: tintal\n{half}  - play: head\n  - {{play: head, cycle: rupak}}\n")
    assert "wrong-value" not in [finding.rule for finding in found]


def test_words_go_to_the_first_beats_of_the_cycle_that_the_line_is_played_in() -> None:
    text = (
        "cycle: tintal\nlines:\n  head: {sargam: S R G m P d n S, words: 'one | two'}\n"
        "form:\n  - {play: head, cycle: rupak}\n"
    )
    words = [note.word for note in piece_of(text).lines["head"].notes]
    assert words == ["one", "", "", "", "", "", "", "two"]


def test_a_form_names_so_many_cycles_and_no_more() -> None:
    def form(count: int) -> str:
        steps = (f"  - {{play: head, cycle: {{beats: {n}}}}}\n" for n in range(2, count + 2))
        return f"{LINES}form:\n{''.join(steps)}"

    assert not errors(form(MAX_CYCLES))
    assert [finding.rule for finding in errors(form(MAX_CYCLES + 1))] == ["too-long"]


def test_an_endless_form_is_measured_in_the_cycles_of_its_steps() -> None:
    def form(cycle: str) -> str:
        steps = f"  - {{solo: tabla, cycles: 1000, times: 10, cycle: {cycle}}}\n"
        return f"cycle: rupak\n{LINES}form:\n{steps}"

    assert not errors(form("jhaptal"))  # 100,000 beats, to the beat
    (finding,) = errors(form("tintal"))
    assert finding.rule == "too-long"
    assert "160,000 beats" in finding.message


def test_the_waiting_for_a_pickup_counts_for_an_endless_form() -> None:
    def form(begins: int) -> str:
        line = f'lines:\n  hit: {{begins: {begins}, sargam: "S || S"}}\nform:\n'
        cycles = ("{name: A, beats: 256}", "{name: B, beats: 255}")
        return line + "".join(f"  - play: hit\n    cycle: {cycles[n % 2]}\n" for n in range(150))

    assert "too-long" not in [finding.rule for finding in errors(form(1))]
    assert "too-long" in [finding.rule for finding in errors(form(2))]


def test_the_json_schema_takes_a_change_of_cycle() -> None:
    validator = jsonschema.Draft7Validator(schema())
    text = with_heading(f"{LINES}form:\n  - {{play: head, cycle: {{beats: 5}}}}\n")
    piece = yaml.safe_load(text)
    validator.validate(piece)
    piece["form"][0]["cycle"] = "rupak"
    validator.validate(piece)
    piece["form"][0]["cycle"] = {"beets": 5}
    assert not validator.is_valid(piece)
