"""How well the grammar hears: phrases printed for a raga, read against bare ascents and descents.

A phrase printed for a raga ought to have no fault in that raga's own movement, and ought often to
have one in another's. Both are measured here on phrases that books and pages print, with the
catalogue's own phrases left out, so that nothing excuses itself.
"""

from __future__ import annotations

import pytest
from catalogue import MODE_NAMES, mode

from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.source import Passage, Source
from cyclechart.text.timing import time_line
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.mode import Mode

# Parted by '/'. The named sources are Hindi handbooks and indexes; unnamed rows are public raga
# pages. Rows known from memory alone are left out.
PRINTED = {
    "yaman": "N, R G / G R / P R / N, R S",  # D. Courtney's raga index; Sitar Malika p. 248
    "bhupali": "G R S D, S R G / P G D P G R S",  # Sangeet Visharad p. 147
    "shuddh-kalyan": "G R S / N, D, P, S / G R P R S",  # a harmonium handbook
    "deshkar": "D P G P D",  # Sitar Malika p. 223
    "kedar": "S m / m P / M P D P m",
    "hamir": "G m D / N D S'",
    "kamod": "R P / G m P G m R S",
    "chhayanat": "P R / R G m P / m G m R S",  # after Bor and Rao, The Raga Guide p. 56
    "gaud-sarang": "G R m G / P R S",
    "shyam-kalyan": "M P G m R / R P / G m R / N, S",
    "maru-bihag": "S m m G / M P M G",
    "bihag": "P M G m G / R S",
    "shankara": "P N D S' N / P G / G P R G R S",
    "alhaiya-bilawal": "G R G P / D n D P",
    "tilak-kamod": "P, N, S R G S N, / P D m G / S R G S N,",  # Sitar Malika p. 218
    "jaijaiwanti": "R g R S / N, S D, n, R",
    "bhimpalasi": "n, S m / m g P m g R S",
    "madhmad-sarang": "n, S R m P / P R / m R / n, S",
    "miyan-malhar": "R P / g m R S / n D N S'",
    "bahar": "g m n D N S'",
    "madhuvanti": "g M P / M g R S",
    "sindhura": "R m P D S'",
    "shivaranjani": "R g P D / P g R S",
    "asavari": "m P d m P g / R S",  # Sangeet Parichay II p. 37; Sitar Malika p. 216
    "jaunpuri": "m P n d P / d m P g / R m P",
    "darbari": "g m R S / d n P",  # Sitar Malika p. 220
    "adana": "n P m P S' / d n P",
    "bhairavi": "m g / S r S / d, n, S",  # Sangeet Visharad p. 147; Sitar Malika p. 243
    "kalingda": "G m P d P m G",  # Sangeet Visharad; Sitar Malika
    "ramkali": "M P d n d P / G m r S",
    "jogiya": "r m P / d m r S",
    "todi": "d, N, S r g / r g r S",
    "purvi": "M G / m G / r G m G",  # Sangeet Visharad p. 159
    "puriya-dhanashri": "N, r G / M r G / M G",
    "basant": "M d r' S' / M G M G",
    "shree": "r r P / M P d / M G r",
    "lalit": "N, r G m / M m G",
    "marwa": "M G r / N, D, r S",  # Sitar Malika p. 244
    "bhinna-shadja": "G m D N S'",
}

# Faults of the bare movement that are the raga's own way: this is what `phrases` are for.
OWN_WAYS = {
    # Kamod goes up m to P though its ascent passes m by.
    ("kamod", "G m P G m R S"),
    # The natural fourth comes in by this phrase alone.
    ("maru-bihag", "S m m G"),
}

PHRASES = [(name, phrase.strip()) for name, row in PRINTED.items() for phrase in row.split("/")]


def pitches(text: str) -> list[int]:
    passage = Passage(Source.of("phrase", text), text, 0)
    items, findings = read_line(passage, SARGAM_SCRIPT)
    assert findings == []
    timed, _ = time_line(items, passage)
    return [int(strike.value) for strike in timed.strikes]


def bare(name: str) -> Mode:
    """A mode without its phrases."""
    made = mode(name)
    return Mode(made.name, made.ascent, made.descent)


BARE = {name: bare(name) for name in MODE_NAMES if not name.endswith("-thaat")}


def test_there_are_ninety_phrases_of_39_ragas() -> None:
    assert (len(PHRASES), len(PRINTED)) == (90, 39)


@pytest.mark.parametrize(("name", "phrase"), PHRASES)
def test_a_printed_phrase_has_no_fault_in_its_own_raga(name: str, phrase: str) -> None:
    found = list(judge_breath(BARE[name], pitches(phrase)))
    if (name, phrase) in OWN_WAYS:
        assert found  # in the bare movement; and the mode's own phrases excuse it
        found = list(judge_breath(mode(name), pitches(phrase)))
    assert found == []


def unheard(fewest: int) -> float:
    """Of phrases of at least so many notes, the share that another raga finds no fault in."""
    verdicts = [
        not list(judge_breath(other, pitches(phrase)))
        for name, phrase in PHRASES
        if len(pitches(phrase)) >= fewest
        for other_name, other in BARE.items()
        if other_name != name
    ]
    assert len(verdicts) > 500
    return sum(verdicts) / len(verdicts)


@pytest.mark.parametrize(
    ("fewest", "most"),
    # Measured when this was written: 24.0 % of all, 15.1 % of phrases of four notes or more.
    [(2, 0.26), (4, 0.17)],
)
def test_a_phrase_of_another_raga_seldom_passes_unheard(fewest: int, most: float) -> None:
    assert unheard(fewest) <= most
