"""Parts of random bands and forms as files: how long every note is, ties, strokes, signatures.

Read in the order played (``playing_musicxml``); what is expected is worked out from the placed
lines.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

import pytest
from support.bands import NAMES, band_of, part_element
from support.making import piece_of
from support.playing_musicxml import NATURAL, playing_order
from support.reading_musicxml import Element, measure_beats, parsed, voices
from write.musicxml.test_parts_written import check_part

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.catalog.roles import LineKind
from cyclechart.piece.player import Player
from cyclechart.write.musicxml.document import band_xml

every_piece = pytest.mark.parametrize("name", NAMES)

ODD = (
    "cycle: {beats: 6 3/4, sections: [2 1/4, 2 1/4, 2 1/4]}\n"
    "players:\n  flute: {plays: melody}\n  tabla: {plays: theka}\n"
    "lines:\n  head: {sargam: S R G}\n"
    "form:\n  - {solo: tabla, cycles: 2}\n  - {play: head, cycle: jhaptal}\n"
)

SMALL = (
    "cycle: rupak\nplayers:\n  flute: {{plays: melody}}\n  alto-sax: {{plays: melody}}\n"
    '  tabla: {{plays: theka}}\nlines:\n  head: {{sargam: "{}"}}\n'
    "  tail: {{sargam: P m G R S - S}}\nform:\n"
)


@dataclass(frozen=True)
class Heard:
    """A note as it is read, from its beginning to the end of its last tie.

    ``text`` stands under it; ``head``: ``cue``, ``slash``, another, or "" for an oval one.
    """

    start: Fraction
    length: Fraction
    keys: tuple[int, ...]
    text: str
    head: str
    open: bool = False


@lru_cache(maxsize=64)
def heard(part: Element) -> tuple[list[Heard], Fraction]:
    """All notes in the order played, tied ones as one, and the total length. A tie ends in a
    note of the same keys that begins where the first ends."""
    found, length = _heard_voice(part, 0)
    if part.find("measure/backup") is not None:
        by_start = {note.start: note for note in found}
        for note in _heard_voice(part, 1)[0]:
            upper = by_start.get(note.start)
            if upper is not None:
                keys = tuple(sorted({*upper.keys, *note.keys}))
                note = replace(upper, keys=keys, text=upper.text or note.text)
            by_start[note.start] = note
        found = [by_start[start] for start in sorted(by_start)]
    return found, length


def _heard_voice(part: Element, number: int) -> tuple[list[Heard], Fraction]:
    """The notes of one voice (0 for the first) and the total length; silence where a measure has no
    such voice."""
    measures = list(part.iterfind("measure"))
    divisions = int(str(part.findtext("measure/attributes/divisions")))
    semitones = int(part.findtext("measure/attributes/transpose/chromatic", "0"))
    semitones += 12 * int(part.findtext("measure/attributes/transpose/octave-change", "0"))
    found: list[Heard] = []
    now = Fraction(0)
    for index in playing_order(measures):
        tied_in: Heard | None = None
        in_measure = voices(measures[index])
        if number >= len(in_measure):
            now += measure_beats(measures[index], divisions)
            continue
        for note in in_measure[number]:
            if note.find("grace") is not None:
                continue
            if note.find("chord") is not None:
                keys = tuple(sorted({*found[-1].keys, *_keys(note, semitones)}))
                found[-1] = replace(found[-1], keys=keys)
                if tied_in is not None:
                    _tie(found, tied_in)
                    tied_in = None if found[-1].start == tied_in.start else tied_in
                continue
            assert tied_in is None, "a tied chord that is not taken up whole"
            length = Fraction(int(str(note.findtext("duration"))), divisions)
            ties = {one.get("type") for one in note.iterfind("notations/tied")}
            if note.find("rest") is None:
                head = "cue" if note.find("cue") is not None else note.findtext("notehead", "")
                text = note.findtext("lyric[@number='1']/text", "")
                one = Heard(now, length, _keys(note, semitones), text, head, "start" in ties)
                if "stop" in ties:
                    tied_in = found[-1]
                    assert tied_in.open and tied_in.start + tied_in.length == now
                    assert tied_in.head == one.head
                    found.append(one)
                    _tie(found, tied_in)
                    tied_in = None if found[-1].start == tied_in.start else tied_in
                else:
                    assert not (found and found[-1].open), "a tie into nothing"
                    found.append(one)
            else:
                assert not (found and found[-1].open), "a tie into a rest"
            now += length
    assert not (found and found[-1].open)
    return found, now


def _tie(found: list[Heard], before: Heard) -> None:
    """The last note is one with that before it as soon as both have the same keys."""
    last = found[-1]
    if last.keys == before.keys:
        found.pop()
        found[-1] = replace(before, length=before.length + last.length, open=last.open)


def _keys(note: Element, semitones: int) -> tuple[int, ...]:
    pitch = note.find("pitch")
    if pitch is None:
        return ()
    octave, alter = int(str(pitch.findtext("octave"))), int(pitch.findtext("alter", "0"))
    return (12 * (octave + 1) + NATURAL[str(pitch.findtext("step"))] + alter + semitones,)


def passages(band: Band) -> tuple[list[tuple[Fraction, Fraction | None]], Fraction]:
    """For each passage where it begins in the part and on the timeline (None for a free one), and
    how long the part is. Of a count-in only a pickup's room is written; a free passage is as long
    as its line is, or four beats."""
    at = Fraction(0)
    found: list[tuple[Fraction, Fraction | None]] = []
    for passage in band.passages:
        if passage.step < 0:
            continue
        if passage.free:
            step = band.piece.steps[passage.step]
            line = band.piece.lines.get(step.uses[0]) if step.uses else None
            found.append((at, None))
            at += (line.length if line is not None else Fraction(4)) * len(passage.bars)
            continue
        begin = passage.bars[0].start
        if passage.bars[0].stretch.kind == "count-in":
            counted = [bar.end for bar in passage.bars if bar.stretch.kind == "count-in"][-1]
            begin = min(band.first_note, counted)
        found.append((at, begin))
        at += passage.bars[-1].end - begin
    return found, at


def metered(band: Band, notes: list[Heard]) -> Iterator[Heard]:
    """The notes outside free passages, in beats of the timeline."""
    places, _ = passages(band)
    starts = [at for at, _ in places]
    for note in notes:
        at, begin = places[bisect_left(starts, note.start + Fraction(1, 10**6)) - 1]
        if begin is not None:
            yield replace(note, start=note.start - at + begin)


def composed(band: Band, player: Player, kind: LineKind) -> list[Heard]:
    """The notes of a player's lines as they are placed; a new entry takes over from the one
    before."""
    found: list[Heard] = []
    for placed in band.timeline.placed_lines:
        if placed.line.kind != kind or placed.line.free or player.name not in placed.players:
            continue
        new = []
        base = placed.state.tonic.midi + 12 * player.octave
        for note in placed.line.notes:
            start, end = placed.start_of(note), placed.start_of(note) + placed.length_of(note)
            if placed.until is not None:
                end = min(end, placed.until)
            if start < end:
                keys = () if note.pitch is None else (base + note.pitch,)
                new.append(Heard(start, end - start, keys, note.syllable, ""))
        if new:
            found = [note for note in found if note.start < new[0].start]
            if found and found[-1].start + found[-1].length > new[0].start:
                found[-1] = replace(found[-1], length=new[0].start - found[-1].start)
            found += new
    return [note for note in found if band.timeline.at(note.start).kind != "free"]


def reading(band: Band) -> list[Player]:
    return [player for player in band.piece.players if player.plays != "drone"]


@every_piece
def test_every_part_is_valid_and_plays_the_timeline(name: str) -> None:
    band = band_of(name)
    for player in reading(band):
        check_part(band.piece, band, player, part_element(band, player))
    score = parsed(band_xml(score_sheets(band)))
    assert {heard(part)[1] for part in score.iterfind("part")} == {passages(band)[1]}


@every_piece
def test_every_part_is_as_long_as_the_form(name: str) -> None:
    band = band_of(name)
    for player in reading(band):
        _, length = heard(part_element(band, player))
        assert length == passages(band)[1], (name, player.name)


@every_piece
def test_every_note_is_as_long_as_it_is_composed(name: str) -> None:
    # But for those that ring into a bar of the player's own, where he goes on at its first beat, or
    # over a free passage, before which they end on paper.
    band = band_of(name)
    for player in reading(band):
        if player.plays != "melody":
            continue
        own = [
            bar
            for bar, mine in zip(band.bars, band.contents[player.name].left_open, strict=True)
            if mine
        ]
        free = [bar.start for bar in band.bars if bar.stretch.kind == "free"]
        notes, _ = heard(part_element(band, player))
        found = {n.start: n for n in metered(band, notes) if n.head not in ("cue", "slash")}
        want = composed(band, player, "melody")
        assert len(found) == len(want)
        for note in want:
            read = found[note.start]
            assert read.keys == note.keys
            end = min([note.start + note.length, *(at for at in free if at > note.start)])
            if any(bar.start < end and bar.end > note.start for bar in own):
                assert read.length <= note.length
            else:
                assert read.length == end - note.start, (name, player.name, note)


@every_piece
def test_composed_strokes_are_read_by_who_has_them(name: str) -> None:
    band = band_of(name)
    for player in reading(band):
        if player.plays != "theka" or player.instrument.is_kit:
            continue
        want = composed(band, player, "strokes")
        notes, _ = heard(part_element(band, player))
        read = list(metered(band, notes))
        struck = {n.start: n.text.split(") ")[-1] for n in read if n.head == "x"}
        for note in want:
            assert struck[note.start] == note.text, (name, note)
        for bar in band.bars:
            here = [note.start for note in want if bar.start <= note.start < bar.end]
            if here and band.timeline.closing != bar.start:
                assert here == [at for at in struck if bar.start <= at < bar.end]


@every_piece
def test_time_signatures_are_those_of_the_cycles(name: str) -> None:
    # Every measure that opens a cycle begins one as long as the signature in force says; the
    # numbers tell which.
    band = band_of(name)
    bars = {bar.number: bar for bar in band.bars if bar.number}
    for player in reading(band):
        said = Fraction(0)
        part = part_element(band, player)
        divisions = int(str(part.findtext("measure/attributes/divisions")))
        lengths: dict[int, Fraction] = {}
        for measure in part.iterfind("measure"):
            time = measure.find("attributes/time")
            if time is not None and not time.get("print-object"):
                said = sum(
                    (
                        Fraction(4 * int(one), int(str(kind.text)))
                        for beats, kind in zip(
                            time.iterfind("beats"), time.iterfind("beat-type"), strict=True
                        )
                        for one in str(beats.text).split("+")
                    ),
                    Fraction(0),
                )
            digits = str(measure.get("number")).rstrip("abcdefghijklmnopqrstuvwxyz")
            if digits.isdigit() and digits != "0":
                number = int(digits)
                assert said == bars[number].stretch.cycle.beats, (name, player.name, number)
                held = measure_beats(measure, divisions)
                lengths[number] = lengths.get(number, Fraction(0)) + held
        assert {n: length for n, length in lengths.items() if length != bars[n].length} == {}


def test_rests_are_exact_in_a_cycle_of_a_fraction_of_a_beat() -> None:
    band = Band(piece_of(ODD))
    _, length = heard(part_element(band, band.piece.players[0]))
    assert length == passages(band)[1]


@pytest.mark.parametrize(
    ("head", "form"),
    [
        # A part with a sign, whose last passage before the jump is free.
        (
            "S R G m P d n",
            "  - {play: head, times: 2}\n  - {play: tail}\n  - {play: head}\n  - {play: tail}\n"
            "  - {free: flute, seconds: 8}\n"
            "  - {play: head}\n  - {play: tail}\n  - {play: head}\n  - {play: tail}\n",
        ),
        # A cue whose first note is held from the bar before, and one whose last is held into the
        # reader's entry.
        (
            "S R G m P d n S' n d P m G R S R G m P d n - - - - R S n, S",
            "  - {play: head, by: [flute], times: 2}\n  - {play: tail}\n",
        ),
        (
            "S R G m P d n S' n d P m G R S R G m P d n - R G m P d n - -",
            "  - {play: head, by: [flute]}\n  - {play: tail, by: [alto-sax]}\n",
        ),
        # A note that rings over a free passage.
        (
            "S R G m P d n - - -",
            "  - {play: head}\n  - {free: alto-sax, seconds: 8}\n  - {play: tail}\n",
        ),
    ],
    ids=["sign-and-free", "cue-held-in", "cue-held-out", "rings-over-free"],
)
def test_ties_and_jumps_at_the_edges(head: str, form: str) -> None:
    band = Band(piece_of(SMALL.format(head) + form))
    for player in reading(band):
        assert heard(part_element(band, player))[1] == passages(band)[1], player.name


LANDINGS = {
    "a-solo": ("  - {free: alto-sax, seconds: 8}\n", ""),
    "twice": ("  - {free: alto-sax, seconds: 8, times: 3}\n", ""),
    "in-the-own": ("  - {free: flute, seconds: 8}\n", ""),
    "over-anothers-line": (
        "  - {free: air, by: [alto-sax]}\n",
        '  air: {sargam: "S - R - G - - - P - m - G - R - S - - -", lands: free}\n',
    ),
}


@pytest.mark.parametrize(("free", "line"), LANDINGS.values(), ids=LANDINGS)
@pytest.mark.parametrize("landing", ["S' - -", "S'"])
def test_what_lands_in_a_free_passage_is_written(landing: str, free: str, line: str) -> None:
    form = f"  - {{play: head}}\n{free}  - {{play: tail}}\n"
    text = SMALL.format(f"S R G m P d n {landing}") + form
    text = text.replace("  tail:", f"{line}  roll: {{strokes: dha - dha - ti - ta dha}}\n  tail:")
    text = text.replace("{play: head}", "{play: {flute: head, alto-sax: head, tabla: roll}}")
    band = Band(piece_of(text))
    flute, _, tabla = band.piece.players
    sounded = next(part for part in arrange(band.piece).parts if part.name == "flute").sounds
    for part in (part_element(band, flute), parsed(band_xml(score_sheets(band))).find("part")):
        assert part is not None
        notes = [note for note in heard(part)[0] if note.head not in ("cue", "slash")]
        tonic = band.piece.tonic.midi
        assert [note.keys for note in notes] == [(tonic + sound.pitch,) for sound in sounded]
        assert heard(part)[1] == passages(band)[1]
    read = [note for note in heard(part_element(band, tabla))[0] if note.head == "x"]
    at = passages(band)[0][1][0]
    assert [note.text for note in read if note.start == at] == ["dha"]
    saxophone = heard(part_element(band, band.piece.players[1]))[0]
    if "alto-sax, seconds: 8}" in free:
        slashes = [note for note in saxophone if note.head == "slash"]
        assert [note.start for note in slashes] == [at + 1, at + 2, at + 3]


def test_a_bass_holds_its_sa_through_a_free_passage() -> None:
    form = "  - {play: head}\n  - {free: alto-sax, seconds: 8}\n  - {play: tail}\n"
    text = SMALL.format("S R G m P d n S' - -") + form
    band = Band(piece_of(text.replace("  tabla:", "  double-bass: {plays: pedal}\n  tabla:")))
    bass = band.piece.players[2]
    at = passages(band)[0][1][0]
    part = part_element(band, bass)
    held = [note for note in heard(part)[0] if at <= note.start < at + 4]
    assert [(note.start, note.length, note.text) for note in held] == [(at, 4, "S")]
    assert "strike again at will" in [one.text for one in part.iterfind(".//direction//words")]
