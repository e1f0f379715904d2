"""The modes that a mode, or a line in it, may be taken for."""

from __future__ import annotations

import pytest
from support.catalogue import HERE, LIBRARY, MODE_NAMES, mode, tones

from cyclechart.catalog.kin import NEAR, kin
from cyclechart.theory.mode import Mode


def test_kin_are_those_that_reading_every_definition_finds() -> None:
    """The quick look over the text against the definitions themselves, for every set of tones."""
    by_tones: dict[frozenset[int], dict[str, Mode]] = {}
    for name in MODE_NAMES:
        made, _ = LIBRARY.mode(name, HERE)
        assert made is not None
        alike = by_tones.setdefault(made.up | made.down, {})
        if made.vadi is not None or made.rests or made.phrases:
            alike[name] = made
    for held, alike in by_tones.items():
        assert dict(kin(held)) == alike
    assert sum(len(alike) > 1 for alike in by_tones.values()) > 10


def test_kin_that_handbooks_name() -> None:
    """Sitar Malika p. 223 and Sangeet Visharad p. 147: Deshkar and Bhupali have the same tones."""
    assert [name for name, _ in kin(tones("SRGPD"))][:2] == ["bhupali", "deshkar"]
    assert {"marwa", "puriya", "sohni"} <= {name for name, _ in kin(tones("SrGMDN"))}
    assert kin(tones("SRgMd")) == ()


@pytest.mark.parametrize("name", ["yaman", "bhupali", "kafi", "marwa"])
def test_kin_of_a_line_have_all_its_tones_and_their_vadi_is_held(name: str) -> None:
    own = mode(name)
    held = frozenset({own.vadi or 0})
    own_tones = own.up | own.down
    used = frozenset(own.up & own.down)
    found = dict(kin(own.up | own.down, used, held))
    for other in found.values():
        ours, theirs = own.up | own.down, other.up | other.down
        assert used <= theirs
        assert theirs == ours or ours & theirs <= used
        assert len(ours ^ theirs) <= NEAR
        assert theirs == ours or other.vadi in held
    wanted = {
        one
        for one in MODE_NAMES
        if (other := mode(one)).vadi in held
        and used <= other.up | other.down
        and (own.up | own.down) & (other.up | other.down) <= used
        and len((other.up | other.down) ^ (own.up | own.down)) <= NEAR
        and ((other.up | other.down) <= own_tones or own_tones <= (other.up | other.down))
    }
    assert wanted <= set(found)


def test_bhupali_is_kin_of_a_line_in_yaman_that_leans_on_its_tones() -> None:
    own = mode("yaman")
    line = tones("SRGPD")
    assert "bhupali" in dict(kin(own.up | own.down, line, tones("GD")))
    assert "bhupali" not in dict(kin(own.up | own.down, line, tones("RP")))
    assert "bhupali" not in dict(kin(own.up | own.down, own.up, tones("GD")))
    assert "bhupali" not in dict(kin(own.up | own.down, tones("SRG"), tones("GD")))
