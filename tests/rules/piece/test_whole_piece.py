"""Rhythm too fine for MIDI: how far off it says that a file is, and which cells it names.

Worked by hand: five, seven, nine and eleven parts of a beat have 3465 ticks in common, and thirteen
do not fit in with them (45,045 is more than 32,767). The finest grid from 29,303 ticks up that
holds the four has 9 times 3465 = 31,185 ticks, 2398 11/13 to a thirteenth: of k thirteenths the
nearest tick is 2, 4, 6, 5, 3, 1, 1, 3, 5, 6, 4, 2 thirteenths of a tick away.
"""

from __future__ import annotations

import pytest
from support.making import findings_of, with_heading

from cyclechart.finding import Finding

FINE = "SRGmPdnS'ndP SRGmPdn SRGmP SRGmPdnS'n"
"""Eleven, seven, five and nine parts of a beat."""
THIRTEEN = "SRGmPdnS'ndPmG"
SIX = "S-----R------"
"""The end of S, the beginning of R: 6/13 of a beat, a thirteenth of a tick away."""
SIX_ONCE = "S-----z------"
THREE = "S--R---------"
"""3/13 of a beat: 6/13 of a tick away."""


def too_fine(*cells: str, tempo: int = 60) -> list[Finding]:
    head = f'lines:\n  head:\n    lands: free\n    sargam: "{" ".join([FINE, *cells])}"\n'
    found = findings_of(with_heading(head, tempo=str(tempo)))
    assert {finding.rule for finding in found} <= {"too-fine"}
    return found


@pytest.mark.parametrize(
    ("tempo", "off"),
    # 6/13 of a tick of 1/31,185 of a beat is 0.0148 thousandths of a beat.
    [(60, "0.015"), (30, "0.030"), (120, "0.007"), (240, "0.004")],
)
def test_how_far_off_goes_with_the_tempo(tempo: int, off: str) -> None:
    (finding,) = too_fine(THIRTEEN, tempo=tempo)
    assert finding.message == (
        "these divisions together need more than 32767 ticks a beat; in the MIDI file "
        f"{THIRTEEN} is up to {off} ms off"
    )
    assert finding.place is not None
    assert (finding.place.within, finding.place.beat) == ("head", 5)


def test_four_divisions_that_have_a_tick_in_common_are_not_too_fine() -> None:
    assert too_fine() == []


def test_every_cell_that_is_off_is_named() -> None:
    # Halves to eighths fit in (27,720 ticks); neither thirteen nor sixteen parts do then.
    sixteen = "SRGmPdnS'ndPmGRGR"
    (finding,) = too_fine(sixteen, THIRTEEN)
    assert f"in the MIDI file {', '.join(sorted([THIRTEEN, sixteen]))} are up to" in finding.message


@pytest.mark.parametrize(
    ("cells", "off"),
    [
        # A cell of SIX has three times of thirteenths: where S ends, where R begins, and R again as
        # what would be halved. After 21 cells the next time is the 64th, after 22 the 67th.
        ([SIX] * 22, "0.002"),
        ([*[SIX] * 21, THREE], "0.015"),
        ([*[SIX] * 21, SIX_ONCE, THREE], "0.002"),
        ([*[SIX] * 22, THREE], "0.002"),
    ],
)
def test_the_first_64_times_of_a_division_are_measured(cells: list[str], off: str) -> None:
    (finding,) = too_fine(*cells)
    assert finding.message.endswith(f"{SIX} is up to {off} ms off")
