"""What players ask to read, and what is wrong in it."""

from __future__ import annotations

import pytest
from support.making import findings_of, load_text, piece_of, with_heading

from cyclechart.piece.player import Player
from cyclechart.piece.reads import PLAIN

LINES = "lines:\n  head: {sargam: S R G m}\n"


def player(on: str, reads: str, plays: str = "") -> Player:
    role = f"plays: {plays}, " if plays else ""
    piece = piece_of(f"players: {{{on}: {{{role}reads: {{{reads}}}}}}}\n{LINES}")
    return piece.players[0]


def said(on: str, reads: str, plays: str = "") -> list[tuple[str, str, tuple[str, ...]]]:
    role = f"plays: {plays}, " if plays else ""
    text = with_heading(f"players: {{{on}: {{{role}reads: {reads}}}}}\n{LINES}")
    return [
        (f.rule, f.message, f.tries)
        for f in load_text(text).findings
        if f.rule in ("wrong-value", "unknown-key")
    ]


@pytest.mark.parametrize(
    ("on", "reads", "transposes", "title"),
    [
        ("trumpet", "transposes: C", 0, "Trumpet in C"),
        ("trumpet", "transposes: Bb", -2, "Trumpet in B♭"),
        ("trumpet", "transposes: E♭", 3, "Trumpet in E♭"),
        ("alto-sax", "transposes: concert", 0, "Alto Saxophone"),
        ("alto-sax", "transposes: Eb", -9, "Alto Saxophone in E♭"),
        ("tenor-sax", "transposes: Bb", -14, "Tenor Saxophone in B♭"),
        ("tenor-sax", "transposes: C", -12, "Tenor Saxophone"),
        ("trombone", "transposes: Bb, clef: treble", -14, "Trombone in B♭"),
        ("trombone", "transposes: C", 0, "Trombone"),
        ("double-bass", "transposes: C", -12, "Double Bass"),
        ("double-bass", "transposes: concert", 0, "Double Bass"),
        ("flute", "transposes: F", 5, "Flute in F"),
    ],
)
def test_the_key_of_a_part(on: str, reads: str, transposes: int, title: str) -> None:
    # A tenor saxophone is written a ninth above its sound, an alto a sixth, a brass band's
    # trombone in the treble clef a ninth (A. Blatter, Instrumentation and Orchestration; from
    # memory).
    one = player(on, reads)
    assert (one.as_read.transposes, one.as_read.title) == (transposes, title)
    assert (one.as_read.lowest, one.as_read.highest) == (
        one.instrument.lowest,
        one.instrument.highest,
    )


def test_a_clef() -> None:
    one = player("trombone", "clef: tenor")
    assert (one.as_read.clef, one.instrument.clef) == ("tenor", "bass")
    assert one.as_read.transposes == one.instrument.transposes


def test_nothing_said_is_the_catalogues() -> None:
    one = player("trumpet", "names: none, print: large")
    assert one.as_read is one.instrument
    assert one.reads.large and one.reads.names == "none"
    assert piece_of(f"players: {{flute: }}\n{LINES}").players[0].reads == PLAIN


@pytest.mark.parametrize(
    ("on", "reads", "message", "tries"),
    [
        ("flute", "large", "'reads' says what flute reads, key by key",
         ("reads: {names: sargam, script: devanagari}",)),
        ("flute", "{scrip: tamil}", "'reads' has no key 'scrip'", ("script:",)),
        ("flute", "{script: devnagari}", "script must be one of latin, devanagari, gujarati, "
         "gurmukhi, bengali, telugu, kannada, tamil, malayalam, not 'devnagari'",
         ("script: devanagari", "script: bengali")),
        ("flute", "{names: sargum}",
         "names must be one of sargam, letters, degrees, solfa16, none, not 'sargum'",
         ("names: sargam",)),
        ("flute", "{clef: trebel}",
         "clef must be one of treble, treble-8vb, alto, tenor, bass, not 'trebel'",
         ("clef: treble", "clef: treble-8vb")),
        ("flute", "{transposes: H}", "transposes must be one of C, Db, D, Eb, E, F, F#, Gb, G, Ab, "
         "A, Bb, B, concert, not 'H'", ("transposes: C",)),
        ("flute", "{print: huge}", "print must be one of large, normal, not 'huge'",
         ("print: large",)),
        ("flute", "{names: [a]}", "names must be one word",
         ("reads: {names: sargam, script: devanagari}",)),
        ("flute", "{names: letters, script: tamil}",
         "the script is that of svara names, and flute reads letters",
         ("names: sargam", "names: solfa16")),
        ("tabla", "{clef: bass}", "tabla reads no pitches, so that 'clef' has no use",
         ("leave 'clef' out",)),
        ("tanpura", "{transposes: Bb}", "tanpura reads no pitches, so that 'transposes' has no use",
         ("leave 'transposes' out",)),
    ],
)  # fmt: skip
def test_what_is_wrong_gets_the_nearest(
    on: str, reads: str, message: str, tries: tuple[str, ...]
) -> None:
    found = said(on, reads)
    rule = "unknown-key" if "no key" in message else "wrong-value"
    assert found == [(rule, message, tries)]


def test_a_keyboard_reads_two_staves() -> None:
    ((_, message, _),) = said("piano", "{clef: bass}", "voicings")
    assert message == "piano reads two staves, so that 'clef' has no use"
    assert not said("piano", "{clef: bass}", "melody")


def test_a_range_is_said_as_the_player_reads_it() -> None:
    lines = 'lines:\n  head: {sargam: "S R G m | P m G R || S,, - - -"}\n'
    text = with_heading(
        f"players: {{alto-sax: {{reads: {{transposes: concert}}}}}}\n{lines}", cycle="keherwa"
    )
    (beyond,) = [f for f in findings_of(text) if f.rule == "out-of-range"]
    assert "written" not in beyond.message
