"""What a leader says over a step: notes, octaves, hits; and the octave of a bass's lines."""

from __future__ import annotations

import pytest
from support.making import findings_of, piece_of, with_heading

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.piece.model import Piece

BAND = """
cycle: keherwa
players:
  flute: {plays: melody}
  trumpet: {plays: melody}
  guitar: {plays: voicings}
  double-bass: {plays: pedal}
  drum-kit: {plays: theka}
lines:
  head: {sargam: S R !accent!G m | P !accent!m G R}
  plain: {sargam: S R G m | P m G R}
"""


def piece_with(step: str) -> Piece:
    return piece_of(f"{BAND}form:\n  - {{play: head, {step}}}\n")


def test_a_note_for_all_and_for_one() -> None:
    directions = (
        piece_with("note: {trumpet: harmon mute, flute: solo 2nd time}").steps[0].directions
    )
    assert directions.note_for("trumpet") == "harmon mute"
    assert directions.note_for("guitar") == ""
    assert (
        piece_with("note: 2nd time only").steps[0].directions.note_for("guitar") == "2nd time only"
    )


def test_a_note_stands_over_the_step_in_the_part_and_for_all_on_the_lead_sheet() -> None:
    piece = piece_with("note: {trumpet: harmon mute}")
    band = Band(piece)
    sheets = {player.name: part_sheet(band, player) for player in piece.players}
    assert sheets["trumpet"].strains[0].note == "harmon mute"
    assert sheets["flute"].strains[0].note == ""
    assert band.road[0].for_leader == "Trumpet: harmon mute"
    assert "Trumpet: harmon mute" in [marker.text for marker in arrange(piece).markers]


def test_an_octave_moves_one_player_in_this_step_alone() -> None:
    piece = piece_of(
        f"{BAND}form:\n  - {{play: head, by: [flute, trumpet], octave: {{flute: 1}}}}\n"
        "  - {play: head, by: [flute, trumpet]}\n"
    )
    parts = {part.name: [sound.pitch for sound in part.sounds] for part in arrange(piece).parts}
    first, second = parts["flute"][:8], parts["flute"][8:]
    assert [pitch - 12 for pitch in first] == second == parts["trumpet"][:8] == parts["trumpet"][8:]
    strains = part_sheet(Band(piece), piece.players[0]).strains
    written = [note.pitch for strain in strains for note in strain.notes if note.pitch is not None]
    assert written[:8] == [pitch + 12 for pitch in written[8:16]]


@pytest.mark.parametrize(
    ("tonic", "octave"), [("C", -2), ("D", -2), ("E", -2), ("G", -2), ("A", -3), ("Bb", -2)]
)
def test_a_bass_has_its_lines_where_it_plays_best(tonic: str, octave: int) -> None:
    """The range of a double bass, E1 to G4, is the catalogue's (handbooks, from memory)."""
    piece = piece_of(
        f"tonic: {tonic}{BAND}form:\n  - {{play: {{flute: head, double-bass: plain}}}}\n"
    )
    bass = next(player for player in piece.players if player.name == "double-bass")
    assert bass.line_octave == octave
    part = next(part for part in arrange(piece).parts if part.name == "double-bass")
    keys = [piece.tonic.midi + sound.pitch for sound in part.sounds]
    assert bass.instrument.low <= min(keys)
    assert max(keys) <= bass.instrument.high


def test_a_line_out_of_a_given_players_range_is_said() -> None:
    text = with_heading(
        BAND.replace("plain: {sargam: S R G m", "plain: {sargam: \"S,, R G m''")
        .replace("P m G R}\n", 'P m G R"}\n')
        .replace('m | P !accent!m G R"}', "m | P !accent!m G R}")
        + "form:\n  - {play: {flute: head, double-bass: plain}}\n"
    )
    found = [finding for finding in findings_of(text) if finding.rule == "out-of-range"]
    assert found, findings_of(text)
    assert all("double-bass" in finding.message for finding in found)


@pytest.mark.parametrize(
    ("step", "says"),
    [
        ("note: {tuba: growl}", "tuba"),
        ("note: [a, b]", "a note needs words"),
        ("note: ''", "a note needs words"),
        (f"note: {'x' * 81}", "a note has at most 80 letters"),
        ("octave: 1", "'octave' on a step says who"),
        ("octave: {flute: 4}", "an octave must be a whole number"),
        ("octave: {flut: 1}", "flut"),
        ("hits: stab", "stab"),
        ("hits: {by: [drum-kit]}", "'hits' needs the line whose rhythm is struck"),
        ("hits: {line: plain, who: me}", "who"),
        ("hits: {line: plain, by: [flute]}", "flute plays melody: hits are for those"),
        ("hits: {line: plain, stop: perhaps}", "'stop' must be true or false"),
    ],
)
def test_what_cannot_be_is_said(step: str, says: str) -> None:
    text = with_heading(f"{BAND}form:\n  - {{play: head, {step}}}\n")
    found = [finding for finding in findings_of(text) if finding.severity == "error"]
    assert len(found) == 1, found
    assert says in found[0].message


def test_lines_without_accents_have_none_to_hit() -> None:
    text = with_heading(f"{BAND}form:\n  - {{play: plain, hits: accents}}\n")
    (found,) = [finding for finding in findings_of(text) if finding.severity == "error"]
    assert "have no accents to hit" in found.message
    assert found.tries == ("write !accent! before a note", "hits: plain")


def test_a_stop_on_the_step_itself_is_shown_its_place() -> None:
    text = with_heading(f"{BAND}form:\n  - {{play: plain, hits: head, stop: true}}\n")
    (found,) = [finding for finding in findings_of(text) if finding.severity == "error"]
    assert found.rule == "unknown-key"
    assert found.tries == ("hits: {line: LINE, stop: true}",)


@pytest.mark.parametrize("bass", ["double-bass", "bass-guitar"])
@pytest.mark.parametrize("tonic", ["C", "D", "Eb", "F"])
def test_a_riff_of_a_bass_lies_on_its_staff(tonic: str, bass: str) -> None:
    """No note is more than a ledger line above the bass staff: written C4, sounding C3."""
    piece = piece_of(
        f"tonic: {tonic}\nmode: kafi\ncycle: keherwa\n"
        f"players: {{{bass}: {{plays: pedal}}}}\nunder: {{{bass}: riff}}\n"
        'lines: {riff: {sargam: "S Sg z P, | nP S z -n,"}}\nform: [groove: 4]\n'
    )
    part = arrange(piece).parts[0]
    keys = [piece.tonic.midi + sound.pitch for sound in part.sounds]
    assert part.name == bass
    assert piece.players[0].instrument.low <= min(keys)
    assert max(keys) <= 51
