"""The words of musicians for instruments name those of the catalogue."""

from __future__ import annotations

import pytest

from cyclechart.catalog.instrument_words import _WORDS, SAX_OF, meant_instruments, sax_meant
from cyclechart.catalog.instruments import Instrument, instrument, instrument_names


def _of(name: str) -> Instrument:
    found = instrument(name)
    assert found is not None
    return found


def test_every_word_means_instruments_of_the_catalogue() -> None:
    for word, names in _WORDS.items():
        assert set(names) <= set(instrument_names()), word
        assert instrument(word) is None, f"{word} finds an instrument by itself"


@pytest.mark.parametrize(
    ("word", "first"),
    [
        ("bass", "double-bass"), ("Bass", "double-bass"), ("sax", "alto-sax"), ("keys", "piano"),
        ("vocals", "alto"), ("bari", "baritone-sax"), ("upright", "double-bass"),
        ("Rhodes", "electric-piano"), ("percussion", "congas"), ("fiddle", "violin"),
        ("saxofone", "alto-sax"), ("harmonim", "harmonium"), ("mrudangam", "mridangam"),
    ],
)  # fmt: skip
def test_the_likeliest_instrument_comes_first(word: str, first: str) -> None:
    assert meant_instruments(word)[0] == first


def test_a_voice_among_horns_may_be_a_saxophone() -> None:
    horns = [_of("alto-sax"), _of("trumpet")]
    assert sax_meant("tenor", _of("tenor"), horns) == "tenor-sax"
    assert sax_meant("tenor", _of("tenor-sax"), horns) == ""
    assert sax_meant("tenor", _of("tenor"), [_of("alto"), _of("piano")]) == ""
    assert sax_meant("tenor", _of("tenor"), [*horns, _of("tenor-sax")]) == ""
    assert set(SAX_OF.values()) <= set(instrument_names())
