"""The string that a player tunes is what the drone plays and what everybody reads."""

from __future__ import annotations

from pathlib import Path

from support.gigs import folder_of_pieces
from support.making import findings_of, piece_of, with_heading

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.roles.drone import drone_part, string_pitches
from cyclechart.arrange.set_book import gig_of, set_book_of
from cyclechart.piece.model import Piece
from cyclechart.piece.set.setlist import load_setlist
from cyclechart.write.musicxml.document import part_xml
from cyclechart.write.paper.book_pages import _tuning
from cyclechart.write.paper.charts import heading
from cyclechart.write.webpage.data import page_data

LINE = "lines:\n  head: {sargam: S R | G m P | d n | S' n d}\n"
FORM = "form:\n  - play: head\n  - {groove: 1, mode: yaman}\n"


def band_piece(drone: str, more: str = "", form: str = FORM) -> Piece:
    players = f"players: {{flute: {{octave: 1}}, tanpura: {{{drone}}}{more}}}\n"
    return piece_of(f"{players}{LINE}{form}", mode="charukeshi", tonic="D")


def second_strings(piece: Piece) -> list[int]:
    return [step.state.mode.drone_second for step in piece.steps]


def test_a_players_string_goes_before_those_of_the_modes() -> None:
    assert second_strings(band_piece("")) == [7, 7]
    assert second_strings(band_piece("drone: m")) == [5, 5]
    assert second_strings(band_piece("drone: S")) == [0, 0]
    assert second_strings(band_piece("drone: m", form="")) == [5]


def test_it_changes_nothing_but_the_drone() -> None:
    tuned, plain = band_piece("drone: m"), band_piece("")
    assert tuned.mode != plain.mode
    assert tuned.mode.as_defined == plain.mode
    assert plain.mode.as_defined is plain.mode
    assert (tuned.lines, tuned.tonic, tuned.tuning) == (plain.lines, plain.tonic, plain.tuning)
    heading_of = "players: {{flute: {{octave: 1}}, tanpura: {{{}}}}}\n"
    found = [findings_of(with_heading(heading_of.format(key) + LINE)) for key in ("", "drone: m")]
    assert found[0] == found[1]


def test_charts_parts_and_the_page_name_what_the_drone_plays() -> None:
    # On D: m is G. A power chord would say P.
    band = Band(band_piece("drone: m"))
    flute, tanpura = (part_sheet(band, player) for player in band.piece.players)
    assert heading(flute)["drone"] == "drone D G"
    assert b"D \xc2\xb7 G drone" in part_xml(flute)
    assert [strain.staff_text for strain in tanpura.strains] == ["drone D G", "drone D G"]
    cents = [round(cents) for cents, _ in page_data(band.piece, shifts=())["drone"]]
    assert cents == [498 - 2400, -1200, -1200, -2400]
    (drone,) = (part for part in map(band.part, band.piece.players) if part.role.is_drone)
    assert {sound.pitch for sound in drone.sounds} == {-19, -12, -24}


def test_two_drones_each_have_their_own_string_and_charts_name_the_first() -> None:
    band = Band(band_piece("drone: m", ", shruti-box: {drone: P}"))
    flute, tanpura, box = band.piece.players
    mode = band.piece.mode
    assert string_pitches(mode, tanpura)[0] == 5 - 24
    assert string_pitches(mode, box)[0] == 7 - 24
    assert {sound.pitch for sound in drone_part(band.timeline, box).sounds} == {-17, -12, -24}
    assert heading(part_sheet(band, flute))["drone"] == "drone D G"
    assert part_sheet(band, box).strains[0].staff_text == "drone D A"


def test_the_string_of_a_gigs_player_is_under_pieces_that_name_nobody(tmp_path: Path) -> None:
    folder_of_pieces(tmp_path)
    (tmp_path / "shared" / "players.yaml").write_text(
        "trio: {flute: {octave: 1}, tabla: , tanpura: {drone: m}}\n", "utf-8"
    )
    path = tmp_path / "set.yaml"
    path.write_text("title: A Night\nplayers: trio\npieces: [on-d.yaml, band.yaml]\n", "utf-8")
    setlist, _, _ = load_setlist(path)
    assert setlist is not None
    book = set_book_of(gig_of(setlist))
    # The second names its own players, and leaves the string to the mode.
    assert [row["drone"] for row in _tuning(book, None)] == ["D G", "D A"]
    assert [mode.name for mode in book.modes] == ["Charukeshi"]
