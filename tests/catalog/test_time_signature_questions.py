"""A time signature where a cycle's name belongs is answered as a question."""

from __future__ import annotations

import re
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.catalogue import CYCLE_NAMES, HERE, LIBRARY, cycle
from support.making import findings_of

from cyclechart.catalog.definitions import cycle_from
from cyclechart.catalog.time_signatures import time_signature
from cyclechart.text.nodes import Mapping, read
from cyclechart.text.source import Source


@pytest.mark.parametrize(
    ("written", "beats", "named", "sections"),
    [
        # Beats as the table of talas has them: tintal 16, keherwa 8, dadra 6, rupak 7, ektal 12.
        ("4/4", 4, {"chaturasra-eka", "keherwa", "adi", "tintal"}, "4"),
        ("3/4", 3, {"tisra-chapu", "dadra", "ektal"}, "3"),
        ("7/8", 7, {"rupak", "misra-chapu", "dhamar"}, "3, 2, 2"),
        ("12/8", 12, {"ektal", "chautal"}, "3, 3, 3, 3"),
        ("6/8", 6, {"dadra", "ektal"}, "3, 3"),
        ("5/4", 5, {"khanda-chapu", "jhaptal"}, "2, 3"),
        ("11/8", 11, {"rudra"}, "4, 4, 3"),
        ("3+2+2/8", 7, {"rupak"}, "3, 2, 2"),
        (" 10 / 8 ", 10, {"jhaptal", "sultal"}, "4, 3, 3"),
        ("13/8", 13, set(), "4, 4, 2, 3"),
    ],
)
def test_it_is_answered_with_cycles_of_its_beats(
    written: str, beats: int, named: set[str], sections: str
) -> None:
    made, (finding,) = LIBRARY.cycle(written, HERE)
    assert made is None
    assert finding.rule == "unknown-name"
    assert "is a time signature, not a cycle" in finding.message
    said = {name for one in finding.tries for name in re.findall(r"[a-z][a-z-]+", one)}
    assert named <= said
    assert f"beats: {beats}, sections: [{sections}]" in finding.tries[-1]


@given(st.integers(1, 256), st.sampled_from([1, 2, 4, 8, 16]))
def test_every_cycle_named_has_its_beats_and_what_is_written_out_is_sound(
    beats: int, unit: int
) -> None:
    _, (finding,) = LIBRARY.cycle(f"{beats}/{unit}", HERE)
    *named, own = finding.tries
    for one in named:
        length = F(re.findall(r"of (\d+) beats", one)[0])
        names = one.partition(": ")[2].split(", ")
        assert all(name in CYCLE_NAMES and cycle(name).beats == length for name in names)
        assert length / beats in (1, 2, 4)
    root, _ = read(Source.of("piece.yaml", own.removeprefix("write it out: ")))
    assert isinstance(root, Mapping)
    written = root.get("cycle")
    assert written is not None
    made, findings = cycle_from(written)
    assert findings == []
    assert made is not None
    assert made.beats == beats


@pytest.mark.parametrize("name", ["0/4", "4/3", "999/4", "4/4 time", "1/0", "/4", "3+0/8", "4"])
def test_what_is_no_time_signature(name: str) -> None:
    assert time_signature(name) is None


def test_a_piece_in_it_has_one_error() -> None:
    text = "title: A\ntonic: C\nmode: bhupali\ncycle: 7/8\ntempo: 90\n"
    text += "lines: {a: {sargam: S R G P D S' S}}\n"
    errors = [finding for finding in findings_of(text) if finding.severity == "error"]
    assert [(finding.rule, finding.spot.line) for finding in errors] == [("unknown-name", 4)]
