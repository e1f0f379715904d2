"""A piece of several modes: its lead sheet gives the paths of each where it is first used."""

from __future__ import annotations

from unicodedata import normalize

from support.making import piece_of

from cyclechart.arrange.sheet.lead_sheet import sheet_of

LINES = (
    "cycle: keherwa\nmode: yaman\nlines:\n"
    "  one: {lands: free, sargam: S R G R S R G R}\n  two: {lands: free, sargam: G R S R G R S R}\n"
)


def _tones(form: str) -> list[tuple[str, str]]:
    sheet = sheet_of(piece_of(f"{LINES}form:\n{form}"))
    return [(strain.letter, normalize("NFC", strain.tones)) for strain in sheet.strains]


def test_each_mode_but_that_of_the_heading_is_given_once() -> None:
    # Paths as the catalogue has them.
    found = _tones("  - play: one\n  - {play: two, mode: durga}\n  - {play: two, mode: yaman}\n"
                   "  - {play: one, mode: durga}\n")  # fmt: skip
    assert found[0] == ("A", "")
    assert found[1][0] == "B"
    assert found[1][1] == normalize("NFC", "from B in Durga: up S R m P D Ṡ, down Ṡ D P D m R Ḍ S")
    assert len(found) == 2


def test_a_mode_that_comes_with_a_solo_or_a_line_again_is_given_too() -> None:
    (one,) = [
        text
        for letter, text in _tones(
            "  - play: one\n  - {solo: melody, cycles: 2, mode: durga}\n"
            "  - {play: one, mode: malkauns}\n  - {play: two, mode: yaman}\n"
        )
        if letter == "A"
    ]
    assert [part.split(":")[0] for part in one.split("; ")] == [
        "from B in Durga", "from C in Malkauns",
    ]  # fmt: skip


def test_a_line_across_the_cycle_is_not_said_to_be_without_meter() -> None:
    piece = piece_of(
        "cycle: keherwa\nplayers: {flute: {plays: melody}, double-bass: {plays: pedal}}\n"
        "lines:\n  opening: {lands: free, sargam: S R G}\n  riff: {lands: free, sargam: S G R/2}\n"
        "  head: {sargam: S R G R S R G R}\n"
        "form:\n  - {free: opening, seconds: 9}\n  - {play: head, under: {double-bass: riff}}\n"
    )
    remarks = {strain.name: strain.remark for strain in sheet_of(piece).strains}
    assert remarks["opening"] == "free"
    assert remarks["riff"] == "2 1/2 beats, across the cycle"
