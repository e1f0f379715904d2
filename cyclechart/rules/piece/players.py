"""Rules over the players: range and breath.

Ranges come from handbooks; hands, lips and voices differ, and the player's own word comes first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from cyclechart.catalog.library import fold
from cyclechart.finding import Finding, Suggestion, suggestions
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.piece_edits import player_key_edits, top_key_edits
from cyclechart.piece.player import Player
from cyclechart.piece.players import MOST_OCTAVES
from cyclechart.piece.steps import Free, Step
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.text.excerpts import listed
from cyclechart.theory.exact import show_exact
from cyclechart.theory.ranges import Range, better_octave, better_shifts
from cyclechart.theory.spelling import TONICS, Tonic, readable_tonic, spell, written_for

LONGEST_BREATH = 12
"""The most seconds that a wind player or singer goes without a rest (common practice)."""

MOST_PLACES = 3
"""The most places to breathe that are suggested for one line."""

GRACE = Fraction(1, 16)
"""The length of a grace note in beats, roughly."""

_NAMES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")


@rule("error")
def out_of_range(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A player's line has a note outside the range of the instrument.

    Reported once for each line, player and direction, at the note that is furthest out. Ranges
    come from handbooks; the player's own word comes first.

    wrong:  players: {flute: }     head: {sargam: S R G m | P m G R || S, - - -}     (on D)
    right:  players: {flute: }     head: {sargam: S R G m | P m G R || S - - -}
    """
    parts = list(player_lines(piece))
    limits = [(part, (part.range.lowest, part.range.highest)) for part in parts]
    yield from _beyond(piece, this, limits, WaysOut(piece, parts))


@rule("warning")
def strained_range(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A player's line has a note that the instrument can play only with effort.

    Warm up, do not force, stop when it hurts; better to move Sa or the octave.

    wrong:  players: {alto-sax: {octave: 1}}     head: {sargam: S' R' G' m' | P' m' G' R' || S'}
    right:  players: {alto-sax: }                head: {sargam: S R G m | P m G R || S}
    """
    parts = list(player_lines(piece))
    # What is out of reach has a finding of its own, and a better place for it is one for the rest.
    possible = [part for part in parts if part.is_possible(0)]
    limits = [(part, (part.range.low, part.range.high)) for part in possible]
    yield from _beyond(piece, this, limits, WaysOut(piece, parts))


@rule("advice")
def no_breath(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A wind or voice line goes on for more than 12 seconds at its tempo without a rest.

    wrong:  players: {flute: }     head: {sargam: (S - - - R - - - G - - - m - - -)*4 S}
    right:  players: {flute: }     head: {sargam: (S - - - R - - z)*8 S}
    """
    # All who have a line at one tempo have the same run without a rest.
    who: dict[tuple[str, Fraction], list[Player]] = {}
    lines: dict[str, Line] = {}
    for player, plays in _played(piece):
        if not player.instrument.breath:
            continue
        slowest: dict[str, Fraction] = {}
        for step, line in plays:
            tempo = min(step.state.tempo, step.state.to_tempo or step.state.tempo)
            slowest[line.name] = min(tempo, slowest.get(line.name, tempo))
            lines.setdefault(line.name, line)
        for at in slowest.items():
            who.setdefault(at, []).append(player)
    for (name, tempo), players in who.items():
        breathless = _breathless(piece, lines[name], 60 / tempo)
        if breathless is not None:
            first, seconds, tries = breathless
            have = "has" if len(players) == 1 else "have"
            message = f"{_who(players)} {have} no rest for {seconds} seconds from here on"
            place = place_of(piece, lines[name], first.start)
            yield this.found(first.spot, message, *tries, place=place)


def _breathless(piece: Piece, line: Line, beat: Fraction) -> tuple[Note, str, list[str]] | None:
    """Return the first run of a line that is too long for a breath: its notes, seconds and tries.

    A free line has none: its player breathes at will."""
    if line.free:
        return None
    run = next((run for run in line.breaths if _seconds(run, beat) > LONGEST_BREATH), None)
    if run is None:
        return None
    tries = list(_places_to_breathe(piece, line, run, beat)) or ["put in a rest, z"]
    return run[0], show_exact(Fraction(round(_seconds(run, beat)))), tries


def _seconds(run: tuple[Note, ...], beat: Fraction) -> Fraction:
    return (run[-1].end - run[0].start) * beat


def _places_to_breathe(
    piece: Piece, line: Line, run: tuple[Note, ...], beat: Fraction
) -> Iterator[str]:
    """Yield the places where a rest makes breaths short enough: after long notes first."""
    since = run[0].start
    for _ in range(MOST_PLACES):
        if (run[-1].end - since) * beat <= LONGEST_BREATH:
            return
        reached = [note for note in run[:-1] if since < note.end <= since + LONGEST_BREATH / beat]
        if not reached:
            return  # one note alone is longer
        # Not in the first half of a breath, if that can be: to breathe too often tires as well.
        late = [note for note in reached if (note.end - since) * beat > LONGEST_BREATH / 2]
        best = max(late or reached, key=lambda note: (note.length, note.end))
        place = place_of(piece, line, best.start)
        where = f"{place.cycle_name}, beat {show_exact(place.beat)}"
        yield f"end '{best.cell}' ({where}) with a rest, z"
        since = best.end


@dataclass(frozen=True)
class PlayerLine:
    """A line as one player has it on one Sa.

    ``seconds``: the total time that one beat of it sounds, over all steps in which they play it."""

    player: Player
    line: Line
    tonic: Tonic
    notes: tuple[tuple[Note, int], ...]
    """Each note with its pitch, and with those of its graces."""
    beats: Mapping[int, Fraction]
    """The beats that each pitch sounds for in the line."""
    seconds: Fraction
    octave: int = 0
    """By how many octaves the steps in which they have it put it higher."""

    @property
    def base(self) -> int:
        """The key on which this player sounds the middle Sa."""
        return self.tonic.midi + 12 * (self.player.octave_of_melodies + self.octave)

    @cached_property
    def bottom(self) -> int:
        """The lowest key."""
        return self.base + min(pitch for _, pitch in self.notes)

    @cached_property
    def top(self) -> int:
        """The highest key."""
        return self.base + max(pitch for _, pitch in self.notes)

    @property
    def range(self) -> Range:
        """The instrument's."""
        return range_of(self.player)

    def is_possible(self, shift: int) -> bool:
        """Return whether the instrument has every note of it, moved by so many semitones."""
        within = self.range
        return within.lowest <= self.bottom + shift and self.top + shift <= within.highest

    @property
    def sounding(self) -> Iterator[tuple[int, Fraction]]:
        """Each key with the seconds that it sounds in total."""
        for pitch, beats in self.beats.items():
            yield self.base + pitch, beats * self.seconds


StepLine = tuple[Step, Line]
"""A line as it is played in a step."""


def range_of(player: Player) -> Range:
    """The range of a player's instrument."""
    on = player.instrument
    return Range(on.lowest, on.low, on.high, on.highest)


def _played(piece: Piece, *, everybody: bool = False) -> list[tuple[Player, list[StepLine]]]:
    """Return the lines of each player of melodies, step by step.

    Only of players that the piece names, for stand-ins have no range of their own; or of
    ``everybody``."""
    players = [
        player
        for player in piece.players
        if player.can_play("melody") and (everybody or player.spot.file)
    ]
    plays: dict[str, list[StepLine]] = {player.name: [] for player in players}
    for step in piece.steps if plays else ():
        for name in step.all_lines:
            if name in piece.lines and piece.lines[name].kind == "melody":
                line = piece.line_in(name, step.cycle)
                for player in piece.players_of(step, name):
                    if player.name in plays:
                        plays[player.name].append((step, line))
    return [(player, plays[player.name]) for player in players]


def player_lines(piece: Piece, *, everybody: bool = False) -> Iterator[PlayerLine]:
    """Yield every melody line of every player who plays it, on each Sa that they have it on.

    Only of players that the piece names, or of ``everybody``."""
    notes: dict[str, tuple[tuple[Note, int], ...]] = {}
    beats: dict[str, Mapping[int, Fraction]] = {}
    for player, plays in _played(piece, everybody=everybody):
        seconds: dict[tuple[str, Tonic, int], Fraction] = {}
        lines: dict[tuple[str, Tonic, int], Line] = {}
        for step, line in plays:
            octave = step.directions.octave_of(player.name)
            at = (line.name, step.state.tonic, octave)
            lines.setdefault(at, line)
            seconds[at] = seconds.get(at, Fraction(0)) + step.times * _beat(step, line)
        for (name, tonic, octave), line in lines.items():
            if name not in notes:
                notes[name] = tuple(_notes(line))
                beats[name] = _beats(line)
            if notes[name]:
                yield PlayerLine(
                    player,
                    line,
                    tonic,
                    notes[name],
                    beats[name],
                    seconds[name, tonic, octave],
                    octave,
                )


def _notes(line: Line) -> Iterator[tuple[Note, int]]:
    for note in line.notes:
        for pitch in (*note.grace, note.pitch):
            if isinstance(pitch, int):
                yield note, pitch


def _beats(line: Line) -> dict[int, Fraction]:
    """Return the beats that each pitch of a line sounds for; a grace note counts for a little."""
    sums: dict[int, Fraction] = {}
    for note in line.notes:
        lengths = [(pitch, GRACE) for pitch in note.grace]
        for pitch, length in (*lengths, (note.pitch, note.length)):
            if isinstance(pitch, int):
                sums[pitch] = sums.get(pitch, Fraction(0)) + length
    return sums


def _beat(step: Step, line: Line) -> Fraction:
    """Return the seconds of a beat of a line in a step, at the tempo that it begins in."""
    if isinstance(step, Free) and step.seconds and line.length:
        return step.seconds / line.length
    return 60 / step.state.tempo


Limits = tuple[int, int]
"""The lowest and the highest key that are within a range."""


def _beyond(
    piece: Piece, this: Rule, parts: Sequence[tuple[PlayerLine, Limits]], ways_out: WaysOut
) -> Iterator[Finding]:
    """Yield the lowest note under and the highest over a range, one finding for all players of
    whom the same can be said."""
    found: dict[Finding, list[Player]] = {}
    settings: dict[tuple[str, str], set[tuple[Tonic, int]]] = {}
    for part, _ in parts:
        played = settings.setdefault((part.player.name, part.line.name), set())
        played.add((part.tonic, part.octave))
    for part, limits in parts:
        where = _setting(part, settings[part.player.name, part.line.name])
        for finding in _of_one_player(piece, this, part, limits, where):
            found.setdefault(finding, []).append(part.player)
    for finding, players in found.items():
        tries = dict.fromkeys(one for player in players for one in ways_out.of(player))
        message = finding.message.replace(_PLAYERS, _who(players), 1)
        yield replace(finding, message=message, suggestions=suggestions(tries))


_PLAYERS = "{players}"
"""Stands for the names of the players until all are known of whom a finding is true."""


def _setting(part: PlayerLine, played: set[tuple[Tonic, int]]) -> str:
    """Return the Sa and the octave of a line, where its player has it in others too."""
    tonic = f", on {part.tonic}" if len({tonic for tonic, _ in played}) > 1 else ""
    octave = f", at octave {part.octave:+}" if len({octave for _, octave in played}) > 1 else ""
    return tonic + octave


def _of_one_player(
    piece: Piece, this: Rule, part: PlayerLine, limits: Limits, where: str
) -> Iterator[Finding]:
    low, high = limits
    for way, beyond, pick, limit in (
        ("low", part.bottom < low, min, low),
        ("high", part.top > high, max, high),
    ):
        if not beyond:
            continue
        note, pitch = pick(part.notes, key=lambda one: one[1])
        of_it = "is too " + way if this.name == "out-of-range" else "is a strain"
        edge = "lowest" if way == "low" else "highest"
        ease = "" if this.name == "out-of-range" else "comfortable "
        message = (
            f"{_as_heard_and_written(piece, part, pitch)} {of_it} for {_PLAYERS}, whose "
            f"{edge} {ease}note is {_limit(part.player, limit)}{where}"
        )
        yield this.found(note.spot, message, place=place_of(piece, part.line, note.start))


def _limit(player: Player, key: int) -> str:
    """The end of a range as it sounds, and as a transposing player reads it."""
    by = player.as_read.transposes
    keys = (key, key - by) if by % 12 else (key,)
    sounds, *written = (f"{_NAMES[one % 12]}{one // 12 - 1}" for one in keys)
    return f"{sounds} (written {written[0]})" if written else sounds


def _as_heard_and_written(piece: Piece, part: PlayerLine, pitch: int) -> str:
    """A note by letter and octave as it sounds, and as a transposing player reads it."""
    on, key = part.player.as_read, part.base + pitch
    called = _called(readable_tonic(part.tonic, piece.mode.tones), pitch, key)
    if on.transposes % 12 == 0:
        return called
    reads = readable_tonic(written_for(part.tonic, on.transposes), piece.mode.tones)
    return f"{called} (written {_called(reads, pitch, key - on.transposes)})"


def _called(tonic: Tonic, pitch: int, key: int) -> str:
    """A key by the letter that a pitch from this Sa has, and its octave: 60 is C4."""
    spelled = spell(tonic, pitch)
    return f"{spelled}{spelled.octave + (key - spelled.midi) // 12}"


def _who(players: Sequence[Player]) -> str:
    """Return the players' names, with the instrument where a name does not say it."""
    return listed([_named(player) for player in players])


def _named(player: Player) -> str:
    on = player.instrument
    said = {fold(name) for name in (on.name, on.title, *on.aka)}
    return player.name if fold(player.name) in said else f"{player.name} ({on.title})"


class WaysOut:
    """For each player an octave, or a Sa, that puts all their lines in a comfortable range."""

    def __init__(self, piece: Piece, parts: Sequence[PlayerLine]) -> None:
        self._piece = piece
        self._ends: dict[str, tuple[int, int]] = {}
        for part in parts:
            bottom, top = self._ends.get(part.player.name, (part.bottom, part.top))
            self._ends[part.player.name] = min(bottom, part.bottom), max(top, part.top)
        possible = [part for part in parts if part.is_possible(0)]
        # Sa on A lies above Sa on B♭: the middle octave begins between them.
        self._tonics: dict[int, Tonic] = {}
        # Tonics that the form changes to do not move with the piece's own.
        if all(part.tonic == piece.tonic for part in parts):
            for tonic in TONICS:
                shift = tonic.midi - piece.tonic.midi
                # No help for one that puts another out of reach.
                if shift and all(part.is_possible(shift) for part in possible):
                    self._tonics[shift] = tonic

    def of(self, player: Player) -> list[Suggestion]:
        """Return the suggestions for a player, as they would be written."""
        within = range_of(player)
        bottom, top = self._ends[player.name]
        octaves = range(-MOST_OCTAVES - player.octave, MOST_OCTAVES - player.octave + 1)
        octave = better_octave(bottom, top, within, octaves)
        tries = []
        if octave:
            value = str(player.octave + octave)
            edits = player_key_edits(self._piece, player.name, "octave", value)
            tries.append(Suggestion(f"{player.name}: {{octave: {value}}}", edits))
        for shift in better_shifts(bottom, top, within, self._tonics)[:1]:
            tonic = str(self._tonics[shift])
            tries.append(Suggestion(f"tonic: {tonic}", top_key_edits(self._piece, "tonic", tonic)))
        return tries
