"""The parts of the players of any band: letters, tones, cues, rests, theka, names, transposition.

The bands and forms are random: lines at once, other Sas and modes on the way, solos, trades.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from support.bands import band_of, every_piece, parts_of, staves

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.roles.theka import theka
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Free, Solo, Trade
from cyclechart.text.display import player_title

LONG_REST = 4
"""Cycles of rest before an entry that a cue leads to."""
PLACES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
SIGNS = {"♯": 1, "♭": -1, "𝄪": 2, "𝄫": -2, "#": 1, "b": -1}


def notes_of(strain: Strain) -> Iterator[PartNote]:
    for note in strain.notes:
        assert isinstance(note, PartNote)
        yield note


def step_of(piece: Piece, sheet: Sheet, strain: Strain) -> int:
    letter = re.sub("[a-z]+", "", strain.letter)  # a coda within a step has the step's and a word
    return [box.letter for box in sheet.road].index(letter)


def tone_of(letter: str) -> int:
    """Semitones above C of a letter with its sign."""
    return (PLACES[letter[0]] + sum(SIGNS[sign] for sign in letter[1:])) % 12


@every_piece
def test_letters_are_unique_and_the_same_for_all(name: str) -> None:
    sheets = list(parts_of(name).values())
    letters = [strain.shown_letter for strain in sheets[0].strains if strain.shown_letter]
    assert len(set(letters)) == len(letters)
    for sheet in sheets:
        assert [strain.shown_letter for strain in sheet.strains if strain.shown_letter] == letters
        own = [strain.letter for strain in sheet.strains]
        assert len(set(own)) == len(own)
        plain = [replace(box, changes=()) for box in sheet.road]
        assert plain == [replace(box, changes=()) for box in sheets[0].road]
        assert set(letters) <= {box.letter for box in sheet.road}


@every_piece
def test_a_solo_is_slashes_and_the_modes_tones_in_the_readers_letters(name: str) -> None:
    piece = band_of(name).piece
    for player, sheet in staves(name):
        for strain in sheet.strains:
            step = piece.steps[step_of(piece, sheet, strain)]
            own = (
                (isinstance(step, Solo) and step.player == player.name)
                or (isinstance(step, Trade) and player.name in step.players)
                or (isinstance(step, Free) and step.what == player.name)
            )
            pitched = player.plays != "theka"
            assert bool(strain.tones) == (own and pitched), (player.name, strain.letter)
            if not strain.tones:
                continue
            assert any(note.head == "slash" for note in strain.notes) or not strain.measures
            state = step.state
            sa = (state.tonic.midi - player.instrument.transposes) % 12
            said = re.fullmatch(r"(.*): up (.*), down ([^,]*)(?:, lean on (.*))?", strain.tones)
            assert said is not None and said[1] == state.mode.name
            for letters, path in ((said[2], state.mode.ascent), (said[3], state.mode.descent)):
                assert [tone_of(one) for one in letters.split()] == [(sa + t) % 12 for t in path]
            leans = [tone for tone in (state.mode.vadi, state.mode.samvadi) if tone is not None]
            told = [tone_of(one.split()[0]) for one in (said[4] or "").split(", ") if one]
            assert told == [(sa + tone) % 12 for tone in leans]


@every_piece
def test_slashes_fill_a_bar_of_the_players_own(name: str) -> None:
    # Every beat of such a bar has a slash or one of the player's notes sounds on it.
    band = band_of(name)
    for player, _ in staves(name):
        content = band.contents[player.name]
        composed = [
            (placed.start, placed.start + placed.line.length)
            for placed in band.timeline.placed_lines
            if player.name in placed.players and not placed.line.free
        ]
        composed += [(stop.start, stop.end) for stop in band.timeline.stops]
        for bar, held, own in zip(
            band.bars, band.fragments[player.name], content.left_open, strict=True
        ):
            slashed = [one.note for one in held if one.slash]
            # Elsewhere only for a chord that is held.
            assert own or not slashed or player.plays == "voicings"
            if not own:
                continue
            for _, at, length in bar.stretch.cycle.walk():
                soloing = player.name in bar.stretch.soloists_at(bar.start + at)
                if any(since <= bar.start + at < until for since, until in composed):
                    continue  # a rest within a composed line is a rest
                if at < bar.length and (soloing or not bar.stretch.split):
                    end = min(at + length, bar.length)
                    notes = [one.note for one in held]
                    assert any(n.start < end and n.start + n.length > at for n in notes)
            for note in slashed:
                others = [one.note for one in held if one.note is not note]
                end = note.start + note.length
                assert not any(n.start < end and n.start + n.length > note.start for n in others)


def cue_is_of(text: str, player: str) -> bool:
    """Return whether the words over a cue name a player."""
    return text.split(" (sounds ")[0] == player_title(player)


@every_piece
def test_an_entry_after_four_cycles_of_rest_has_a_cue(name: str) -> None:
    band = band_of(name)
    melodies = [player.name for player in band.piece.players if player.plays == "melody"]
    starts = {passage.step: passage for passage in band.passages}
    for player, sheet in staves(name):
        if player.plays == "theka":
            continue
        mine = band.fragments[player.name]
        strains = {step_of(band.piece, sheet, strain): strain for strain in sheet.strains}
        for at in range(1, len(band.bars)):
            silent = 0
            while silent < at and not mine[at - 1 - silent] and band.bars[at - 1 - silent].number:
                silent += 1
            bar = band.bars[at - 1]
            others = [who for who in melodies if who != player.name]
            led = [
                who for who in others if any(not one.slash for one in band.fragments[who][at - 1])
            ]
            strain = strains.get(bar.stretch.step)
            if not (mine[at] and silent >= LONG_REST and led and strain and strain.measures):
                continue
            numbered = [m for m in strain.measures if m.cycle == bar.number]
            rests = [m for m in strain.measures if m.rests and m.cycle]
            covered = any(m.cycle <= bar.number < m.cycle + m.rests for m in rests)
            assert not covered, (player.name, bar.number)
            if not numbered:
                continue  # It is in a repeat, written for an earlier time.
            begin, end = numbered[0].start, numbered[-1].end
            cue = [note for note in notes_of(strain) if begin <= note.start < end]
            inside = len(starts[bar.stretch.step].bars) > sum(
                max(1, m.rests) for m in strain.measures if m.cycle and m.opens
            )
            if inside and not cue:
                continue  # Rests of a repeat.
            assert cue and {note.head for note in cue} == {"cue"}, (player.name, bar.number)
            assert any(cue_is_of(cue[0].text, one) for one in led)
            assert not any(note.text for note in cue[1:])


@every_piece
def test_a_cue_is_what_another_plays_then(name: str) -> None:
    band = band_of(name)
    numbers = {bar.number: at for at, bar in enumerate(band.bars) if bar.number}
    for player, sheet in staves(name):
        if player.plays == "theka":
            continue
        for strain in sheet.strains:
            cues = [note for note in notes_of(strain) if note.head == "cue"]
            for measure in (m for m in strain.measures if m.opens and m.cycle):
                last = [m for m in strain.measures if m.cycle == measure.cycle][-1]
                held = [note for note in cues if measure.start <= note.start < last.end]
                if not held:
                    continue
                at = numbers[measure.cycle]
                assert not band.fragments[player.name][at]
                other = next(one for one in band.piece.players if cue_is_of(held[0].text, one.name))
                theirs = [f.note for f in band.fragments[other.name][at] if not f.slash]
                assert [n.start - measure.start for n in held] == [n.start for n in theirs]
                sounding = strain.key.tonic.midi + strain.key.shift + player.instrument.transposes
                for mine, his in zip(held, theirs, strict=True):
                    assert his.sa is not None and his.pitch is not None and mine.pitch is not None
                    sounds = his.sa.midi + his.pitch + 12 * other.octave
                    away, rest = divmod(sounding + mine.pitch - sounds, 12)
                    assert rest == 0
                    words = "" if away == 0 else "lower" if away > 0 else "higher"
                    count = "8ve" if abs(away) == 1 else f"{abs(away)} 8ves"
                    wanted = f"(sounds {count} {words})" if away else ""
                    assert held[0].text.partition("(")[2] == wanted.removeprefix("(")


@every_piece
def test_rests_are_counted(name: str) -> None:
    band = band_of(name)
    by_number = {bar.number: at for at, bar in enumerate(band.bars) if bar.number}
    for player, sheet in staves(name):
        held, own = band.fragments[player.name], band.contents[player.name].left_open
        for strain in sheet.strains:
            if strain.free:
                continue
            for measure in strain.measures:
                if not measure.rests or not measure.cycle:
                    continue
                first = by_number[measure.cycle]
                silent = range(first, first + measure.rests)
                assert not any(held[at] or own[at] for at in silent)
                bars = [band.bars[at] for at in silent]
                assert measure.length == sum((bar.length for bar in bars), Fraction(0))
                assert {bar.stretch.step for bar in bars} == {step_of(band.piece, sheet, strain)}


@every_piece
def test_a_drummer_has_the_theka_of_each_cycle_once(name: str) -> None:
    band = band_of(name)
    for player, sheet in staves(name):
        if player.plays != "theka" or player.instrument.is_kit:
            continue
        told: dict[object, int] = {}
        for strain in sheet.strains:
            pattern = [(beat.at, beat.syllable) for beat in theka(strain.cycle)]
            for measure in (m for m in strain.measures if m.opens and m.cycle):
                last = [m for m in strain.measures if m.cycle == measure.cycle][-1]
                said = [
                    (note.start - measure.start, note.syllable)
                    for note in notes_of(strain)
                    if measure.start <= note.start < last.end
                    if not note.head and note.origin == (-1, -1)
                ]
                if said == pattern and len(said) > 1:
                    told[strain.cycle] = told.get(strain.cycle, 0) + 1
        assert set(told.values()) <= {1}
        kept = {
            bar.stretch.cycle
            for bar, own, held in zip(
                band.bars,
                band.contents[player.name].left_open,
                band.fragments[player.name],
                strict=True,
            )
            if own and bar.whole and not bar.stretch.soloist and all(f.slash for f in held)
        }
        single = {cycle for cycle in kept if len(theka(cycle)) == 1}
        assert set(told) == kept - single, player.name


@every_piece
def test_the_names_under_notes_are_their_own(name: str) -> None:
    piece = band_of(name).piece
    for player, sheet in staves(name):
        if player.plays == "theka":
            continue
        for strain in sheet.strains:
            state = piece.steps[step_of(piece, sheet, strain)].state
            sounding = strain.key.tonic.midi + strain.key.shift + player.instrument.transposes
            for note in notes_of(strain):
                if note.pitch is None or note.head:
                    continue
                sa = note.sa or state.tonic
                under = (note.pitch,) if note.under is None else note.under
                keys = [sounding + note.pitch]
                if player.plays == "voicings":
                    keys += [sounding + tone for tone in note.also if isinstance(tone, int)]
                    assert keys == sorted(set(keys))
                assert [(key - sa.midi) % 12 for key in keys] == [tone % 12 for tone in under]


@every_piece
def test_what_is_written_sounds_as_composed(name: str) -> None:
    band = band_of(name)
    for player, sheet in staves(name):
        if player.plays != "melody":
            continue
        for strain in sheet.strains:
            if strain.free:
                continue
            assert sheet.reader is not None
            sounding = strain.key.tonic.midi + strain.key.shift + sheet.reader.transposes
            for note in notes_of(strain):
                if note.head or note.pitch is None:
                    continue
                number, index = note.origin
                placed = band.timeline.placed_lines[number]
                composed = placed.line.notes[index]
                assert composed.pitch is not None and player.name in placed.players
                tonic = placed.state.tonic.midi + 12 * player.octave
                assert sounding + note.pitch == tonic + composed.pitch
                assert [sounding + int(tone) for tone in note.grace] == [
                    tonic + int(tone) for tone in composed.grace
                ]


@every_piece
def test_what_is_read_is_in_the_mode_and_on_the_sa_of_its_bars(name: str) -> None:
    # The Sa that is read is as far from the one that sounds as the instrument says, by octaves.
    band = band_of(name)
    last = {passage.step: passage.bars[-1].stretch for passage in band.passages}
    for player, sheet in staves(name):
        for strain in sheet.strains:
            here = last[step_of(band.piece, sheet, strain)]
            assert strain.key.mode == here.mode
            apart = strain.key.tonic.midi + player.instrument.transposes - here.tonic.midi
            assert apart % 12 == 0 and strain.key.shift % 12 == 0
