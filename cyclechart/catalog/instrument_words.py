"""The words that musicians say for instruments which the catalogue has under another name, or which
may be several of its instruments."""

from __future__ import annotations

from collections.abc import Iterable

from cyclechart.catalog.instruments import Instrument, instrument_spellings
from cyclechart.catalog.names_by_sound import fold, nearest_by_sound

_SAXES = ("alto-sax", "tenor-sax", "soprano-sax", "baritone-sax")
_VOICES = ("alto", "tenor", "soprano", "baritone", "bass-voice")
_KEYS = ("piano", "electric-piano", "organ")
_HAND_DRUMS = ("congas", "cajon", "frame-drum", "tabla")

_WORDS: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("bass", "the bass", "rhythm bass"), ("double-bass", "bass-guitar")),
    **dict.fromkeys(("upright", "acoustic bass", "string bass", "standup bass", "stand up bass",
                     "bass fiddle", "bull fiddle"), ("double-bass",)),
    **dict.fromkeys(("ebass", "fretless", "fretless bass", "fender bass"), ("bass-guitar",)),
    **dict.fromkeys(("sax", "saxophone", "saxes", "reed", "reeds", "horn player"), _SAXES),
    **dict.fromkeys(("bari", "bari saxophone"), ("baritone-sax", "baritone")),
    **dict.fromkeys(("keys", "keyboard", "keyboards", "synth", "synthesizer", "synthesiser",
                     "clavier"), _KEYS),
    **dict.fromkeys(("rhodes", "wurlitzer", "wurli", "e piano", "ep"), ("electric-piano",)),
    **dict.fromkeys(("grand piano", "pianoforte", "upright piano"), ("piano",)),
    **dict.fromkeys(("vocals", "vocal", "vox", "singer", "vocalist", "voices", "voc", "lead vocal",
                     "lead vocals", "choir"), _VOICES),
    **dict.fromkeys(("bass singer", "low voice"), ("bass-voice",)),
    **dict.fromkeys(("bone", "bones", "slide trombone", "tbn", "posaune"), ("trombone",)),
    **dict.fromkeys(("tpt", "cornet", "pocket trumpet"), ("trumpet",)),
    **dict.fromkeys(("fluegelhorn",), ("flugelhorn",)),
    **dict.fromkeys(("horns", "brass", "horn section", "winds"),
                    ("trumpet", "trombone", "tenor-sax", "alto-sax")),
    **dict.fromkeys(("strings", "string section"), ("violin", "viola", "cello")),
    **dict.fromkeys(("fiddle", "vln"), ("violin",)),
    **dict.fromkeys(("gtr", "axe", "steel string", "classical guitar"), ("guitar",)),
    **dict.fromkeys(("e guitar", "archtop", "lead guitar", "rhythm guitar", "jazz guitar"),
                    ("electric-guitar", "guitar")),
    **dict.fromkeys(("lap guitar", "hawaiian guitar", "pedal steel"), ("slide-guitar",)),
    **dict.fromkeys(("kit", "traps", "trap set", "drummer", "batterie", "jazz drums"),
                    ("drum-kit",)),
    **dict.fromkeys(("percussion", "perc", "percussionist", "hand drum", "hand drums", "bongos"),
                    _HAND_DRUMS),
    **dict.fromkeys(("drone", "sruti box", "surpeti box"), ("tanpura", "shruti-box")),
    **dict.fromkeys(("licorice stick", "clar"), ("clarinet",)),
    **dict.fromkeys(("vibe", "vibraharp", "mallets", "glockenspiel", "xylophone"),
                    ("vibraphone", "marimba")),
    **dict.fromkeys(("squeezebox", "bandoneon", "concertina"), ("accordion",)),
    **dict.fromkeys(("tablas", "tabla player"), ("tabla",)),
}  # fmt: skip
_FOLDED = {fold(word): names for word, names in _WORDS.items()}
SAX_OF = {"soprano": "soprano-sax", "alto": "alto-sax", "tenor": "tenor-sax",
          "baritone": "baritone-sax"}  # fmt: skip
"""The saxophone that a horn player means by the name of a voice."""


def meant_instruments(word: str) -> list[str]:
    """Return the instruments that a word may mean, the likeliest first: those of its meaning among
    musicians, else those whose names sound like it."""
    return instruments_of_word(word) or nearest_by_sound(word, instrument_spellings())


def instruments_of_word(word: str) -> list[str]:
    """Return the instruments that musicians mean by a word; none for any other."""
    heard = fold(word[:80])
    return list(_FOLDED.get(heard) or _FOLDED.get(heard.removesuffix("s")) or ())


def sax_meant(name: str, on: Instrument, others: Iterable[Instrument]) -> str:
    """Return the saxophone that a player may mean who is named ``tenor`` among horns, without a
    singer beside them; "" for any other."""
    sax = SAX_OF.get(fold(name), "")
    if not sax or not on.sings:
        return ""
    names = {one.name for one in others}
    horns = names & {"trumpet", "trombone", "flugelhorn", *SAX_OF.values()}
    return sax if horns and sax not in names else ""
