"""The rule strays on lines of handbooks, on parts of lines, and over the whole catalogue."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import findings_of, piece_of, with_heading

from cyclechart.catalog.kin import kin
from cyclechart.catalog.library import Library
from cyclechart.finding import Finding, Spot
from cyclechart.rules.piece.likeness import _is_another_name, strays
from cyclechart.theory.likeness import says_enough
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_path

NAMES = Library.beside(None).modes[-1].names()


def mode_named(name: str) -> Mode:
    made, _ = Library.beside(None).mode(name, Spot("test", 1, 1))
    assert made is not None
    return made


def text_of(mode: str, line: str) -> str:
    return with_heading(
        f'lines:\n  head: {{lands: free, sargam: "{line}"}}\n', mode=mode, cycle="keherwa"
    )


def told(mode: str, line: str) -> list[Finding]:
    return list(strays.check(piece_of(text_of(mode, line)), strays))


# Phrases from the sources named, held on vadi and samvadi and ended on rests (common practice).
HANDBOOK = {
    # Sitar Malika p. 223: vadi D, D P G P D
    "deshkar": "S R G P D - S' - D P G P D - z P G R S - D P G P D -",
    # Sangeet Visharad p. 147: vadi G, G R S D, S R G and P G D P G R S
    "bhupali": "G R S D, S R G - z P G D P G R S - z S R G - P D S' - D P G -",
    # Sitar Malika p. 244: M G r, N, D, r S; vadi r, samvadi D
    "marwa": "N, r G M D - N D S' - z N D M G r - z N, D, r S - D, - r -",
    # the tones of Marwa, G and N for r and D (common practice, from memory)
    "puriya": "N, r G - z G N, r S - z M G - M D N - z N M G - M G r S -",
    # from memory: sung high, D and G, no r going up
    "sohni": "S G M D - N S' - z S' N D - M G - z M D - S' N D - M G -",
    # common practice: vadi d, samvadi r, r slowly from G m
    "bhairav": "S - G m d - d P - z G m r - r S z G m d - d P - z G m r S -",
    # Sangeet Visharad, Sitar Malika: vadi P, G m P d P m G
    "kalingda": "G m P d P m G - P - z S - G m P - z P d P m G m P -",
    # Sitar Malika p. 220: g m R S, d n P; vadi R, samvadi P
    "darbari": "S R - g m R S z d, n, P, - z m P d n P - z g m R S - R -",
    # public raga pages: m P n d P, d m P g, R m P; vadi P
    "jaunpuri": "R m P - z m P n d P - z d m P g z R m P - z S' n d P -",
    # public raga pages: n, S R m P, P R, m R, n, S; vadi R, samvadi P
    "madhmad-sarang": "n, S R - m R - z n, S R m P - R - z m R n, S -",
    # swaravanshi, a public scale archive: d, N, S r g, r g r S; vadi d, samvadi g
    "todi": "d, N, S r g - z r g r S - z d - M g - r S z g - d -",
    # public raga pages: vadi P, no r and d going up
    "multani": "N, S g M P - z P N - S' - z S' N d P - z M g P - M g r S -",
}

OTHERS = [
    ("bhupali", "deshkar"), ("deshkar", "bhupali"), ("puriya", "marwa"), ("sohni", "marwa"),
    ("marwa", "puriya"), ("marwa", "sohni"), ("puriya", "sohni"), ("kalingda", "bhairav"),
    ("bhairav", "kalingda"), ("adana", "darbari"),
    ("darbari", "jaunpuri"), ("adana", "jaunpuri"),
    ("multani", "todi"), ("todi", "multani"),
]  # fmt: skip


@pytest.mark.parametrize(("under", "of"), OTHERS)
def test_a_handbook_line_under_anothers_name_is_told_of(under: str, of: str) -> None:
    (found,) = told(under, HANDBOOK[of])
    assert f"closer to {mode_named(of).name}, " in found.message
    assert found.tries == (f"mode: {of}",)


@pytest.mark.parametrize("of", HANDBOOK)
def test_a_handbook_line_under_its_own_name_is_not(of: str) -> None:
    assert told(of, HANDBOOK[of]) == []


@pytest.mark.parametrize("bare", ["bhairav-thaat", "todi-thaat", "marwa-thaat"])
def test_a_mode_that_names_nothing_is_not_compared(bare: str) -> None:
    tones = mode_named(bare).up | mode_named(bare).down
    lines = [line for of, line in HANDBOOK.items() if mode_named(of).down <= tones]
    assert lines
    assert kin(tones), "there is something that it could be compared with"
    for line in lines:
        assert told(bare, line) == []


@pytest.mark.parametrize(("under", "of"), OTHERS)
def test_what_is_tried_holds(under: str, of: str) -> None:
    (found,) = told(under, HANDBOOK[of])
    named = found.tries[0].removeprefix("mode: ")
    assert not [one for one in findings_of(text_of(named, HANDBOOK[of])) if one.rule == "strays"]


def test_a_modes_own_paths_and_phrases_are_never_told_of() -> None:
    compared = 0
    for name in NAMES:
        mode = mode_named(name)
        others = [key for key, _ in kin(mode.up | mode.down) if key != name]
        if not others or not says_enough(mode):
            continue
        compared += 1
        parts = [show_path(path) for path in (mode.ascent, mode.descent, *mode.phrases)]
        lines = [" z ".join(parts), " ".join(parts), " - z ".join(parts[::-1]) + " -"]
        for line in lines:
            assert told(name, line) == [], (name, line)
    assert compared > 40


MARWA_LIKE = st.lists(
    st.sampled_from(["N,", "D,", "S", "r", "G", "M", "D", "N", "S'", "-", "z"]), max_size=30
).map(lambda cells: ["S", *cells])


@settings(max_examples=60, deadline=None)
@given(MARWA_LIKE, st.sampled_from(["marwa", "puriya", "sohni"]))
def test_what_is_said_is_of_two_reasons_at_least_and_holds(line: list[str], under: str) -> None:
    for found in told(under, " ".join(line)):
        kinds = (" leans on ", " rests ", " has its phrase", " makes ", " lies in ", " has no ")
        reasons = found.message.split(": it", 1)[1]
        assert sum(words in reasons for words in kinds) > 1
        assert told(found.tries[0].removeprefix("mode: "), " ".join(line)) == []


def printed() -> dict[str, str]:
    """The phrases of handbooks and public raga pages, each twice and each in a breath of its own.

    They stand, with their sources, in tests/catalog/test_handbook_phrases.py.
    """
    file = Path(__file__).parents[2] / "catalog" / "test_handbook_phrases.py"
    (rows,) = (
        ast.literal_eval(node.value)
        for node in ast.parse(file.read_text("utf-8")).body
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "PRINTED"
    )
    return {
        name: " z ".join(f"{phrase.strip()} -" for phrase in row.split("/") * 2)
        for name, row in rows.items()
    }


def test_printed_phrases_under_their_own_name_and_under_others() -> None:
    """None under its own name; under the name of another mode of the same tones most are told their
    true mode, and few of a third mode. (Modes that only differ by name are silent.)"""
    right = wrong = tried = 0
    for name, line in printed().items():
        assert told(name, line) == [], name
        mode = mode_named(name)
        for under, other in kin(mode.up | mode.down):
            if under != name and not _is_another_name(mode, other):
                found = told(under, line)
                tried += 1
                right += bool(found) and found[0].tries == (f"mode: {name}",)
                wrong += bool(found) and found[0].tries != (f"mode: {name}",)
    assert tried >= 80
    assert right / tried >= 0.75
    assert wrong / tried <= 0.07


def test_of_a_line_that_could_not_be_read_whole_nothing_is_said() -> None:
    line = HANDBOOK["deshkar"]
    assert [f.rule for f in findings_of(text_of("bhupali", line)) if f.rule == "strays"]
    assert not [f for f in findings_of(text_of("bhupali", f"{line} Q")) if f.rule == "strays"]


def test_a_part_of_a_chain_is_not_taken_by_itself() -> None:
    parts = (
        f'lines:\n  one: {{sargam: "{HANDBOOK["deshkar"]}"}}\n'
        f'  two: {{sargam: "{HANDBOOK["bhupali"]}"}}\n'
    )
    apart = piece_of(parts, mode="bhupali", cycle="keherwa")
    assert [f.place.within for f in strays.check(apart, strays) if f.place] == ["one"]
    both = piece_of(f"{parts}  whole: {{chain: [one, two]}}\n", mode="bhupali", cycle="keherwa")
    assert list(strays.check(both, strays)) == []


def test_a_mode_written_out_in_the_piece_is_judged_and_may_be_as_the_catalogues() -> None:
    paths = "ascent: S R G P D S', descent: S' D P G R S"
    line = HANDBOOK["deshkar"]
    (found,) = told(f"{{{paths}, vadi: G, samvadi: D}}", line)
    assert found.tries == ("mode: deshkar",)
    assert told(f"{{{paths}, vadi: D, samvadi: G, phrases: [D P G P D]}}", line) == []
    assert told(f"{{{paths}}}", line) == []


def test_a_liberty_covers_it() -> None:
    text = text_of("bhupali", HANDBOOK["deshkar"])
    text += "liberties:\n  - {rule: strays, line: head, why: a morning in it}\n"
    found = [f for f in findings_of(text) if f.rule in ("strays", "unused-liberty")]
    assert [(f.rule, f.liberty) for f in found] == [("strays", "a morning in it")]


def test_a_bands_own_reading_of_a_mode_is_not_told_against_the_catalogues_of_that_name() -> None:
    own = "ascent: S R G P D S', descent: S' D P G R S, vadi: D, samvadi: G, rests: [S, D]"
    line = HANDBOOK["bhupali"]
    assert [found.tries for found in told(f"{{{own}}}", line)] == [("mode: bhupali",)]
    assert told(f"{{name: Bhūpālī, {own}}}", line) == []


# Modes of more or fewer tones, and the register a line moves in


def test_bhupali_is_heard_inside_yaman() -> None:
    """Bhupali is Yaman's scale without M and N, and leans on G and D (Sangeet Visharad p. 147)."""
    (found,) = told("yaman", HANDBOOK["bhupali"])
    assert found.tries == ("mode: bhupali",)
    assert "does without M N" in found.message
    assert "has no M N" in found.message


def test_a_line_that_uses_all_tones_of_its_mode_is_not_told_of_one_with_fewer() -> None:
    assert told("yaman", HANDBOOK["bhupali"] + " z N, R G - M D N - S' - N D P M G R S -") == []


def test_a_high_line_is_nearer_to_the_mode_that_lives_high() -> None:
    """Sohni lives in the upper octave, Puriya in the lower one (common practice; public pages)."""
    high = "M D N S' - G' - z r' - S' - z N S' N D - M D N S' - G' - z N - D - S' -"
    (found,) = told("puriya", high)
    assert found.tries == ("mode: sohni",)
