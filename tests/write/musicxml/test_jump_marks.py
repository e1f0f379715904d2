"""The marks of a jump: To Coda with its sign over the staff, the way back under its end.

MusicXML 4.0, element direction: several direction-types, placed above or below; sound has tocoda
and dalsegno.
"""

from __future__ import annotations

from cyclechart.write.musicxml.directions import jump_direction


def test_to_coda_has_its_sign_and_stands_apart_from_the_way_back() -> None:
    leave, back = (jump_direction(jump, engraved=True) for jump in ("To Coda", "D.S. al Coda"))
    kinds = [kind[0].tag for kind in leave.iterfind("direction-type")]
    assert kinds == ["words", "coda"]
    assert leave.findtext("direction-type/words") == "To Coda"
    assert (leave.get("placement"), back.get("placement")) == ("above", "below")
    assert back.find("sound") is not None


def test_a_published_file_has_the_coda_sign_at_the_coda_alone() -> None:
    # music21 and others take every coda sign for the coda itself.
    published = jump_direction("To Coda", engraved=False)
    assert [kind[0].tag for kind in published.iterfind("direction-type")] == ["words"]


def test_the_signs_themselves_and_fine_are_as_they_were() -> None:
    for jump in ("segno", "coda", "Fine"):
        direction = jump_direction(jump, engraved=True)
        assert direction.get("placement") == "above"
        assert len(direction.findall("direction-type")) == 1
