"""Kit lines: what a drummer plays as written, when, how loud, and that one person can play it."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import findings_of, piece_of, with_heading

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.roles.kit_lines import kit_line_hits
from cyclechart.arrange.score import Hit
from cyclechart.catalog.kit import DRUM, DRUMS, FASTEST, HATS
from cyclechart.piece.model import Piece
from cyclechart.sound.kit_drums import HITS

BAND = "players: {flute: {octave: 1}, drum-kit: {plays: theka}, tabla: {plays: theka}}\n"
NAME = {drum.key: drum.name for drum in DRUMS}


def kit_piece(kit: str, form: str, cycle: str = "keherwa", **heading: str) -> Piece:
    lines = f"lines:\n  head: {{sargam: S R G m | P d n d}}\n  rock:\n    kit: |\n      {kit}\n"
    return piece_of(f"{BAND}{lines}form: {form}\n", cycle=cycle, **heading)


def kit_hits(piece: Piece) -> tuple[Hit, ...]:
    return next(part.hits for part in arrange(piece).parts if part.name == "drum-kit")


def struck(hits: tuple[Hit, ...], start: int, end: int) -> list[tuple[F, str]]:
    return [(hit.start - start, NAME[hit.key]) for hit in hits if start <= hit.start < end]


ROCK = "k+h h s+h h | k+h kh s+h o"
ONE_ROUND = sorted(
    (at, name)
    for at, names in (
        (F(0), "kick hat"), (F(1), "hat"), (F(2), "snare hat"), (F(3), "hat"),
        (F(4), "kick hat"), (F(5), "kick"), (F(11, 2), "hat"), (F(6), "snare hat"),
        (F(7), "open-hat"),
    )
    for name in names.split()
)  # fmt: skip


def test_the_line_alone_sounds_while_it_lasts_and_time_goes_on_after_it() -> None:
    # A count-in of 8, a groove of the kit's own, two rounds of the line, a groove again.
    piece = kit_piece(ROCK, "[groove: 1, {play: rock, times: 2}, groove: 1]")
    hits = kit_hits(piece)
    for start in (16, 24):
        assert sorted(struck(hits, start, start + 8)) == ONE_ROUND
    before, after = struck(hits, 8, 16), struck(hits, 32, 40)
    assert before and after
    assert {"ride", "hat"} & {name for _, name in after}
    assert sorted(before) != ONE_ROUND


def test_it_loops_under_a_melody_and_under_a_solo() -> None:
    piece = kit_piece(
        ROCK,
        "[{play: {flute: head, drum-kit: rock}, times: 2}, {solo: flute, cycles: 2, over: rock}]",
    )
    hits = kit_hits(piece)
    for start in (8, 16, 24, 32):
        assert sorted(struck(hits, start, start + 8)) == ONE_ROUND


def test_hand_drums_go_on_with_the_theka() -> None:
    piece = kit_piece(ROCK, "[{play: rock, times: 2}]")
    tabla = next(part for part in arrange(piece).parts if part.name == "tabla")
    assert {int(hit.start) for hit in tabla.hits} >= set(range(8, 24))


def test_louder_where_the_cycle_leans_and_by_dynamics_and_accents() -> None:
    def velocities(kit: str, **step: str) -> list[int]:
        keys = "".join(f", {key}: {value}" for key, value in step.items())
        hits = kit_hits(kit_piece(kit, f"[{{play: rock{keys}}}]"))
        return [hit.velocity for hit in hits if 8 <= hit.start < 16]

    hats = velocities("h h hh hhhh | h h h h")
    sam, beat, half, quarter = hats[0], hats[1], hats[3], hats[5]
    assert sam > beat > half > quarter
    assert velocities("h h h h | h h h h", dynamics="p")[1] < beat
    soft, loud = velocities("!p!h h h h | !f!h h h h")[1:6:4]
    assert soft < beat < loud
    plain, accented = velocities("h s !accent!s h | h h h h")[1:3]
    assert accented > plain


@pytest.mark.parametrize(("kit", "graces"), [("h {s}s h h", 1), ("h {ss}s h h", 2)])
def test_a_flam_and_a_drag_come_just_before_the_beat_and_softer(kit: str, graces: int) -> None:
    piece = kit_piece(f"{kit} | h h h h", "[play: rock]", tempo="120")
    snares = [hit for hit in kit_hits(piece) if NAME[hit.key] == "snare"]
    assert len(snares) == graces + 1
    assert snares[-1].start == 9
    # Within a tenth of a second (from memory); at 120 a beat lasts half a second.
    assert all(F(0) < 9 - hit.start <= F(1, 5) for hit in snares[:-1])
    assert all(hit.velocity < snares[-1].velocity for hit in snares[:-1])


def test_composed_strokes_that_enter_end_a_kit_line() -> None:
    text = (
        f"{BAND}lines:\n  rock: {{kit: '{ROCK}'}}\n"
        "  turn: {begins: 5, strokes: 'dha dha dha dha || dha ge na ti na ka dhi na'}\n"
        "form: [{play: rock, times: 2}, play: turn]\n"
    )
    hits = kit_hits(piece_of(text, cycle="keherwa"))
    assert sorted(struck(hits, 8, 16)) == ONE_ROUND
    assert "open-hat" not in {name for _, name in struck(hits, 16, 24)}


# On paper


def test_a_looped_line_is_written_as_one_bar_repeated() -> None:
    piece = kit_piece(ROCK, "[{solo: flute, cycles: 6, over: rock}, groove: 2]")
    band = Band(piece)
    bars = [at for at, bar in enumerate(band.bars) if bar.stretch.kind == "metered"]
    (bar,) = band.part_bars("drum-kit", bars[0], 6)
    assert (bar.repeat_start, bar.times) == (True, 6)
    written = [
        (note.start - 8, name)
        for note in band.contents["drum-kit"].notes
        if 8 <= note.start < 16
        for name in (note.syllable, *note.also)
    ]
    assert sorted(written) == ONE_ROUND
    after = [note for note in band.contents["drum-kit"].notes if note.start >= 8 + 48]
    assert after[0].text == "time"
    assert {note.head for note in after} == {"slash"}


CYCLES = (
    "keherwa", "jhaptal", "rupak",
    "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}",
)  # fmt: skip


@st.composite
def kit_texts(draw: st.DrawFn) -> str:
    """Texts of a kit that one person can play: what the rule lets through is checked below."""
    letters = [drum.letter for drum in DRUMS if drum.letter]
    mark = st.sampled_from(["", "", "!accent!", "!p!", "!ff!", "!staccato!"])
    grace = st.sampled_from(["", "", "", "{s}", "{ss}", "{k}", "{tm}"])
    at_once = st.lists(st.sampled_from(letters), min_size=1, max_size=4, unique=True)
    note = st.builds(lambda m, g, drums: m + g + "+".join(drums), mark, grace, at_once)
    element = st.one_of(note, note, st.sampled_from(["-", "z"]))
    cell = st.builds(
        lambda parts, over: "".join(parts) + over,
        st.lists(element, min_size=1, max_size=2),
        st.sampled_from(["", "", "", "/2", "/3"]),
    )
    cells = draw(st.lists(cell, min_size=1, max_size=12))
    return " ".join(cells)


@settings(max_examples=40, deadline=None)
@given(kit_texts(), st.sampled_from(CYCLES), st.sampled_from(["60", "133 1/3", "400"]))
def test_no_limb_is_asked_twice_at_once(kit: str, cycle: str, tempo: str) -> None:
    text = (
        f"{BAND}lines:\n  head: {{sargam: S R G m}}\n  rock: {{kit: '{kit}'}}\n"
        "form: [groove: 1, {play: rock, times: 2}, groove: 2]\n"
    )
    text = with_heading(text, cycle=cycle, tempo=tempo)
    assert not [f for f in findings_of(text) if f.rule == "bad-cell"]
    # What is tried is clean: cells are rewritten until nothing is unplayable.
    for _ in range(40):
        left = [f for f in findings_of(text) if f.rule == "unplayable-kit"]
        if not left:
            break
        new, old = left[0].tries[0].removeprefix("write ").split(" for ")
        text = _rewritten(text, old, new)
    assert not [f for f in findings_of(text) if f.rule == "unplayable-kit"]
    at: dict[F, list[str]] = defaultdict(list)
    for hit in kit_hits(piece_of(text)):
        assert hit.key in HITS
        assert 1 <= hit.velocity <= 127 and hit.length > 0 and hit.start >= 0
        at[hit.start].append(NAME[hit.key])
    for names in at.values():
        assert len(names) == len(set(names))
        assert sum(not DRUM[name].by_foot for name in names) <= 2
    own = {hit.start for hit in _line_hits(piece_of(text))}
    for start in own:  # the groove of its own closes the hat with foot and stick
        assert sum(name in HATS for name in at[start]) <= 1
    _covers_lines(piece_of(text))


def _line_hits(piece: Piece) -> list[Hit]:
    player = next(one for one in piece.players if one.name == "drum-kit")
    return kit_line_hits(Band(piece).timeline, player)


def _rewritten(text: str, old: str, new: str) -> str:
    """The text with a cell of the kit line written otherwise, wherever it stands."""
    head, _, rest = text.partition("{kit: '")
    kit, _, tail = rest.partition("'")
    cells = [new if cell == old else cell for cell in kit.split()]
    return f"{head}{{kit: '{' '.join(cells)}'{tail}"


def _covers_lines(piece: Piece) -> None:
    """What is written in the part is what the kit sounds, graces apart."""
    hits = {(hit.start, NAME[hit.key]) for hit in kit_hits(piece)}
    for note in Band(piece).contents["drum-kit"].notes:
        if not note.head:
            assert {(note.start, name) for name in (note.syllable, *note.also)} <= hits


def test_the_fastest_limbs_are_those_of_a_person() -> None:
    assert FASTEST["right hand"] == FASTEST["left hand"] < FASTEST["right foot"]


def test_the_stroke_that_a_fill_lands_on_is_played_and_time_goes_on_after_it() -> None:
    piece = piece_of(
        "cycle: keherwa\ncount-in: 0\nplayers: {drum-kit: {plays: theka}}\n"
        "lines: {fill: {kit: ss ss tt tt mm mm ll ll c+k}}\n"
        "form: [groove: 1, {play: fill, times: 2}, groove: 1]\n"
    )
    part = next(part for part in arrange(piece).parts if part.name == "drum-kit")
    struck = {hit.key for hit in part.hits if hit.start == 24}
    assert struck == {DRUM["crash"].key, DRUM["kick"].key}
    assert {hit.key for hit in part.hits if hit.start == 16} == {DRUM["snare"].key}
    assert any(hit.start == 25 for hit in part.hits)
    written = [n for n in Band(piece).contents["drum-kit"].notes if n.start == 24]
    assert [{note.syllable, *note.also} for note in written] == [{"kick", "crash"}]
