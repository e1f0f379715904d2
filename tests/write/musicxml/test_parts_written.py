"""The parts as files: valid, in measures that fill the cycle, and played as the timeline plays."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from fractions import Fraction
from pathlib import Path

import music21
import pytest
from lxml import etree
from support.making import DEMO_BOOK, FEW_PIECE_SEEDS, ROOT, load_text, random_piece
from support.playing_musicxml import PlayedNote, played_notes
from support.reading_musicxml import Element, check_measure, measure_beats, parsed

from cyclechart.arrange.assigned_lines import assigned_spans
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.write.musicxml.document import band_xml, part_xml

PLAYERS = (
    "  alto-sax: {plays: melody}\n  cello: {plays: melody, octave: -1}\n"
    "  piano: {plays: voicings}\n  double-bass: {plays: pedal}\n  tabla: {plays: theka}\n"
    "  drum-kit: {plays: theka}\n  tanpura: {plays: drone}\n"
)


def demo(path: Path) -> Piece:
    piece = load(path).piece
    assert piece is not None
    return piece


def random_band(seed: int) -> Piece:
    """A random piece for a band of seven."""
    piece = load_text(random_piece(seed) + f"players:\n{PLAYERS}", ROOT).piece
    assert piece is not None
    return piece


def reading(piece: Piece) -> list[Player]:
    return [player for player in piece.players if player.plays != "drone"]


def expected(band: Band, player: Player) -> list[tuple[Fraction, int]]:
    """Return the notes that a melody player strikes in meter, from the placed lines alone."""
    struck: list[tuple[Fraction, int]] = []
    for placed in band.timeline.placed_lines:
        if placed.line.kind != "melody" or placed.line.free or player.name not in placed.players:
            continue
        new = [
            (placed.start_of(note), placed.state.tonic.midi + note.pitch + 12 * player.octave)
            for note in placed.line.notes
            if note.pitch is not None
            and (placed.until is None or placed.start_of(note) < placed.until)
        ]
        if new:
            del struck[bisect_left([start for start, _ in struck], new[0][0]) :]
            struck += new
    return struck


def shifted(band: Band, found: list[PlayedNote]) -> list[tuple[Fraction, tuple[int, ...]]]:
    """Return the played notes in beats of the timeline, without free passages.

    A part has no count-in but for a pickup, and a free passage there is as long as its line is
    written.
    """
    at = Fraction(0)
    spans = []
    for passage in band.passages:
        if passage.free:
            step = band.piece.steps[passage.step]
            line = band.piece.lines.get(step.uses[0]) if step.uses else None
            length = (line.length if line is not None else Fraction(4)) * len(passage.bars)
            spans.append((at, at + length, None))
            at += length
            continue
        counted = [bar for bar in passage.bars if bar.stretch.kind == "count-in"]
        begin = passage.bars[0].start
        if counted:
            begin = min(band.first_note, counted[-1].end)
            # Whole sections are written: a pickup inside one has its section's rests before it.
        end = passage.bars[-1].end
        spans.append((at, at + end - begin, begin))
        at += end - begin
    result = []
    for one in found:
        begin, _, start = next(span for span in spans if span[0] <= one.start < span[1])
        if start is not None and one.keys:
            result.append((one.start - begin + start, one.keys))
    return result


def check_cycles(part: Element, divisions: int) -> None:
    """From one first beat to the next the measures fill the time signature; but for the last of
    the part, which may be cut off."""
    said = Fraction(0)
    filled: Fraction | None = None
    for measure in part.iterfind("measure"):
        time = next(
            iter(measure.xpath("attributes/time[not(@print-object) or senza-misura]")), None
        )
        opens = measure.get("implicit") is None
        if opens or (time is not None and time.find("senza-misura") is not None):
            assert filled in (None, said)
            filled = Fraction(0) if opens else None
        if time is not None and time.find("beats") is not None:
            pairs = zip(time.iterfind("beats"), time.iterfind("beat-type"), strict=True)
            said = sum(
                (
                    Fraction(4 * sum(map(int, str(beats.text).split("+"))), int(str(kind.text)))
                    for beats, kind in pairs
                ),
                Fraction(0),
            )
        if filled is not None:
            filled += measure_beats(measure, divisions)


def valid_part(sheet: Sheet) -> Element:
    """The part in a player's file, which must be valid."""
    part = parsed(part_xml(sheet)).find("part")
    assert part is not None
    return part


def check_part(piece: Piece, band: Band, player: Player, part: Element) -> None:
    divisions = int(str(part.findtext("measure/attributes/divisions")))
    numbers = Counter(measure.get("number") for measure in part.iterfind("measure"))
    assert max(numbers.values()) == 1
    for measure in part.iterfind("measure"):
        check_measure(measure)
        assert measure_beats(measure, divisions) > 0
    check_cycles(part, divisions)
    found, _ = played_notes(part)
    if player.plays == "melody":
        # What lands in a passage without meter, as a fermata, is written there.
        metered = [one for one in expected(band, player) if band.timeline.at(one[0]).kind != "free"]
        assert shifted(band, found) == [(at, (key,)) for at, key in metered]
    if player.plays in ("voicings", "pedal"):
        score = band.score
        sounds = band.part(player).sounds  # even halves, as they are written
        struck: dict[Fraction, set[int]] = {}
        # Of a line of chords the page has symbols, not tones.
        symbols = assigned_spans(band.timeline, player.name, ("chords",))

        def has_tones(time: Fraction) -> bool:
            return not any(start <= time < end for start, end in symbols)

        for sound in sounds:
            if band.timeline.at(sound.start).kind != "free" and has_tones(sound.start):
                base = sound.base if sound.base is not None else score.tonic.midi
                struck.setdefault(sound.start, set()).add(base + sound.pitch)
        assert [one for one in shifted(band, found) if has_tones(one[0])] == [
            (at, tuple(sorted(keys))) for at, keys in sorted(struck.items())
        ]


@pytest.mark.parametrize("seed", FEW_PIECE_SEEDS[::2])
def test_every_part_of_random_pieces_is_valid_and_plays_the_timeline(seed: int) -> None:
    piece = random_band(seed)
    band = Band(piece)
    for player in reading(piece):
        check_part(piece, band, player, valid_part(part_sheet(band, player)))
    parsed(band_xml(score_sheets(band)))


UNROLLED = {
    "ferry-at-first-light": ("alto-sax",),
    "salt-road": ("flute", "alto-sax", "guitar", "double-bass"),
    "silt-and-lanterns": ("violin", "guitar"),
    "the-delta-post": ("flute",),
    "two-tides": ("alto-sax", "double-bass"),
}
"""Parts of the demo book that have between them what all have: signs to go back to, endings,
repeats played twice and more, rests in a row, cues, graces, chords and each transposition."""


@pytest.mark.parametrize("name", UNROLLED)
def test_music21_plays_the_parts_alike(name: str) -> None:
    # Read, unrolled and brought to sounding pitch by music21 alone; compared with our own reader,
    # which is compared with the timeline above.
    piece = demo(next(path for path in DEMO_BOOK if path.stem == name))
    band = Band(piece)
    for player in piece.players:
        if player.name not in UNROLLED[name]:
            continue
        data = part_xml(part_sheet(band, player))
        root = parsed(data)
        # What is a cue is not kept through its unrolling.
        for cue in root.iterfind(".//note[cue]"):
            cue.replace(cue[1], etree.Element("rest"))
        text = etree.tostring(root).decode()
        part = music21.converter.parse(text, format="musicxml").parts[0]
        notes = part.expandRepeats().toSoundingPitch().flatten().notes
        theirs = [
            tuple(sorted(pitch.midi for pitch in note.pitches))
            for note in notes
            if note.isNote or (note.isChord and "Symbol" not in type(note).__name__)
            if not note.duration.isGrace
            if note.tie is None or note.tie.type == "start"
        ]
        ours, _ = played_notes(parsed(data).find("part"))
        assert theirs == [one.keys for one in ours if one.keys], player.name
