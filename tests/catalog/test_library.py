"""Finding a mode or a cycle by name: the band's folder first, then the catalogue.

piece-language.md: 'A piece looks for shared/ in its own folder, beside that folder, and no
further.'
"""

from __future__ import annotations

from fractions import Fraction as F
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.catalogue import CYCLE_NAMES, HERE, LIBRARY, MODE_NAMES, warnings

from cyclechart.catalog.library import Library, fold

SCALE = "ascent: S R G m P D N S'\n  descent: S' N D P m G R S\n"


def put(folder: Path, file: str, text: str) -> Path:
    (folder / "shared").mkdir(parents=True, exist_ok=True)
    path = folder / "shared" / file
    path.write_text(text, "utf-8")
    return path


def mode_name(library: Library, name: str) -> str | None:
    made, _ = library.mode(name, HERE)
    return made.name if made else None


# Names and spellings


@pytest.mark.parametrize(
    ("spelling", "name"),
    [
        ("charukeshi", "Charukeshi"),
        ("Charukeshi", "Charukeshi"),
        ("Charukesi", "Charukeshi"),
        ("Chārukeśī", "Charukeshi"),
        ("CHARUKESHI", "Charukeshi"),
        ("Mixolydian b6", "Charukeshi"),
        ("mixolydian-b6", "Charukeshi"),
        ("bhimpalasi", "Bhimpalasi"),
        ("Bhīmpalāsī", "Bhimpalasi"),
        ("Bhimpalas", "Bhimpalasi"),
        ("Miyan ki Todi", "Todi"),
        ("Dorian", "Kafi thaat"),
        ("Dorian #4", "Hemavati"),
        ("major pentatonic", "Bhupali"),
        # By how they sound, where no spelling of the entry is the same.
        ("Shudh Kalyan", "Shuddh Kalyan"),
        ("Hamsadwani", "Hamsadhwani"),
        ("Rītigauḷa", "Reetigowla"),
        ("Mohana", "Mohanam"),
        ("Miyan kee Todee", "Todi"),
    ],
)
def test_a_mode_goes_by_its_other_spellings(spelling: str, name: str) -> None:
    assert mode_name(LIBRARY, spelling) == name


@pytest.mark.parametrize(
    ("spelling", "name"),
    [
        ("Teental", "Tintal"),
        ("Tīntāl", "Tintal"),
        ("Roopak", "Rupak"),
        ("Rupaka Tala", "Rupaka (chaturasra-jati)"),
    ],
)
def test_a_cycle_goes_by_its_other_spellings(spelling: str, name: str) -> None:
    made, findings = LIBRARY.cycle(spelling, HERE)
    assert findings == []
    assert made is not None
    assert made.name == name


@pytest.mark.parametrize("name", [*MODE_NAMES, *CYCLE_NAMES])
def test_every_name_folds_to_itself_and_no_two_to_the_same(name: str) -> None:
    same = MODE_NAMES if name in MODE_NAMES else CYCLE_NAMES
    assert [other for other in same if fold(other) == fold(name)] == [name]


@given(st.text(max_size=15))
def test_a_folded_name_is_plain_letters_and_folds_no_further(name: str) -> None:
    assert fold(name) == fold(fold(name))
    assert fold(name) == "" or (fold(name).isascii() and fold(name).isalnum())


def test_letters_written_as_one_sign_fold_to_their_own() -> None:
    # Outside: Unicode's compatibility forms. The sign ㎇ is G and B, the full-width Ｙ is Y.
    assert fold("㎇") == "gb"
    assert fold("Ｙａｍａｎ") == "yaman"


@pytest.mark.parametrize(
    ("what", "name", "near"),
    [
        ("mode", "charukesh", "charukeshi"),
        ("mode", "yamn", "yaman"),
        ("cycle", "jhaptaal x", "jhaptal"),
        ("cycle", "tintl", "tintal"),
        # By another spelling: teentaal, keharwa, adi talam.
        ("cycle", "teentaalo", "tintal"),
        ("cycle", "kaharwan", "keherwa"),
    ],
)
def test_an_unknown_name_is_answered_with_the_nearest(what: str, name: str, near: str) -> None:
    made, findings = LIBRARY.mode(name, HERE) if what == "mode" else LIBRARY.cycle(name, HERE)
    assert made is None
    assert [found.rule for found in findings] == ["unknown-name"]
    assert findings[0].spot == HERE
    assert near in findings[0].tries


@pytest.mark.parametrize("name", ["", "?", "x" * 100_000, "यमन", "a\nb", "source", "ascent"])
def test_a_name_like_nothing_is_one_finding(name: str) -> None:
    made, findings = LIBRARY.mode(name, HERE)
    assert made is None
    assert [found.rule for found in findings] == ["unknown-name"]


# The band's folder


def test_the_bands_own_is_found_by_how_it_sounds(tmp_path: Path) -> None:
    put(tmp_path, "modes.yaml", f"weir:\n  name: Weir\n  aka: [Kalyanam]\n  {SCALE}")
    library = Library.beside(tmp_path)
    assert mode_name(library, "Kalyaana") == "Weir"
    assert mode_name(library, "Kalyani") == "Mechakalyani"


def test_the_bands_own_stands_before_the_catalogue(tmp_path: Path) -> None:
    put(tmp_path, "modes.yaml", f"yaman:\n  name: Our Yaman\n  {SCALE}weir:\n  {SCALE}")
    put(tmp_path, "cycles.yaml", "tintal:\n  name: Our Tintal\n  beats: 15\n")
    library = Library.beside(tmp_path)
    assert library.findings == []
    assert mode_name(library, "yaman") == "Our Yaman"
    assert mode_name(library, "Yaman") == "Our Yaman"
    assert mode_name(library, "weir") == "weir"  # without a name of its own, its key
    assert mode_name(library, "bhupali") == "Bhupali"
    made, _ = library.cycle("tintal", HERE)
    assert made is not None
    assert (made.name, made.beats) == ("Our Tintal", F(15))


def test_the_pieces_own_folder_stands_before_the_one_beside_it(tmp_path: Path) -> None:
    book = tmp_path / "book"
    put(tmp_path, "modes.yaml", f"weir:\n  name: Beside\n  {SCALE}lock:\n  name: Lock\n  {SCALE}")
    put(book, "modes.yaml", f"weir:\n  name: Within\n  {SCALE}")
    library = Library.beside(book)
    assert mode_name(library, "weir") == "Within"
    assert mode_name(library, "lock") == "Lock"


def test_no_folder_further_up_is_looked_in(tmp_path: Path) -> None:
    put(tmp_path, "modes.yaml", f"weir:\n  {SCALE}")
    assert mode_name(Library.beside(tmp_path / "book"), "weir") == "weir"
    assert mode_name(Library.beside(tmp_path / "book" / "old"), "weir") is None
    assert mode_name(Library.beside(None), "weir") is None


def test_the_folder_beside_the_working_folder_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A piece named without a folder lies in '.', whose parent is '..', not '.' again."""
    (tmp_path / "book").mkdir()
    put(tmp_path, "modes.yaml", f"weir:\n  {SCALE}")
    put(tmp_path / "book", "cycles.yaml", "- not a mapping\n")
    monkeypatch.chdir(tmp_path / "book")
    library = Library.beside(Path("piece.yaml").parent)
    assert mode_name(library, "weir") == "weir"
    assert len(library.findings) == 1  # ./shared is read once


def test_the_bands_own_spellings_are_found_too(tmp_path: Path) -> None:
    put(tmp_path, "modes.yaml", f"weir:\n  name: Weir\n  aka: [Still Water]\n  {SCALE}")
    assert mode_name(Library.beside(tmp_path), "still-water") == "Weir"


def test_names_in_any_script_are_the_bands_to_give(tmp_path: Path) -> None:
    put(tmp_path, "modes.yaml", f"भैरव:\n  {SCALE}")
    library = Library.beside(tmp_path)
    assert mode_name(library, "भैरव") == "भैरव"
    assert mode_name(library, "यमन") is None  # not whatever else has no Latin letters


def test_the_nearest_names_are_the_bands_too(tmp_path: Path) -> None:
    put(tmp_path, "modes.yaml", f"still-water:\n  {SCALE}")
    _, findings = Library.beside(tmp_path).mode("stil-watr", HERE)
    assert findings[0].tries[0] == "still-water"


# Faults of the band's files


@pytest.mark.parametrize(
    ("text", "rule", "line"),
    [
        ("weir: [\n", "unreadable", 1),
        ("", "unreadable", 1),
        ("weir:\n\tascent: S\n", "unreadable", 2),
        (f"weir:\n  {SCALE}weir:\n  {SCALE}", "duplicate-key", 4),
        ("- weir\n- lock\n", "wrong-value", 1),
        ("weir\n", "wrong-value", 1),
        ("a: \x07\n", "unreadable", 1),
    ],
)
def test_a_broken_file_gives_findings_that_point_into_it(
    tmp_path: Path, text: str, rule: str, line: int
) -> None:
    path = put(tmp_path, "modes.yaml", text)
    library = Library.beside(tmp_path)
    assert [found.rule for found in library.findings] == [rule]
    assert library.findings[0].spot.file == str(path)
    assert library.findings[0].spot.line == line
    assert mode_name(library, "yaman") == "Yaman"  # the catalogue still stands


def test_bytes_that_are_no_text_are_a_finding(tmp_path: Path) -> None:
    put(tmp_path, "cycles.yaml", "").write_bytes(b"\xff\xfe")
    library = Library.beside(tmp_path)
    assert [found.rule for found in library.findings] == ["unreadable"]


def test_a_broken_definition_is_found_when_it_is_asked_for(tmp_path: Path) -> None:
    path = put(tmp_path, "modes.yaml", f"lock:\n  {SCALE}weir:\n  ascent: S X\n  descent: S' R S\n")
    library = Library.beside(tmp_path)
    assert library.findings == []
    made, findings = library.mode("weir", HERE)
    assert made is None
    assert findings[0].rule == "bad-cell"
    assert (findings[0].spot.file, findings[0].spot.line, findings[0].spot.column) == (
        str(path), 5, 13,
    )  # fmt: skip


def test_a_folder_in_the_place_of_a_file_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / "shared" / "modes.yaml").mkdir(parents=True)
    library = Library.beside(tmp_path)
    assert library.findings == []
    assert mode_name(library, "yaman") == "Yaman"


def test_a_file_of_the_band_can_be_quoted_from(tmp_path: Path) -> None:
    text = f"weir:\n  {SCALE}"
    path = put(tmp_path, "modes.yaml", text)
    (source,) = Library.beside(tmp_path).sources
    assert (source.file, source.text) == (str(path), text)


def test_what_is_odd_in_a_printed_form_of_the_catalogue_is_no_users_fault() -> None:
    assert warnings("kedar")
    assert LIBRARY.mode("kedar", HERE)[1] == []


@pytest.mark.parametrize("asked", ["bhimpalasi", "Bhimpalasi", "BHIMPALASI", "Bhīmpalāsī"])
def test_the_bands_own_stands_first_however_its_name_is_written(tmp_path: Path, asked: str) -> None:
    put(tmp_path, "modes.yaml", f"Bhimpalasi:\n  name: Ours\n  {SCALE}")
    assert mode_name(Library.beside(tmp_path), asked) == "Ours"


def test_the_bands_other_spellings_stand_before_the_catalogues_names(tmp_path: Path) -> None:
    put(tmp_path, "modes.yaml", f"river:\n  name: Ours\n  aka: [Yaman]\n  {SCALE}")
    library = Library.beside(tmp_path)
    assert mode_name(library, "yaman") == "Ours"
    assert mode_name(library, "bhairav") == mode_name(LIBRARY, "bhairav")
