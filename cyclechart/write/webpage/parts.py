"""A part for the rehearsal page: engraved, and which of its notes sounds when.

A part is folded: what comes again is written once (repeats, endings, rests in a row, from a sign).
For each bar as it is played ``standings`` says where it stands in the part, worked out from the
folds as ``arrange.parts`` lays them; a written note is then known by its place within the bar, not
by its pitch. Places are in beats of the strain, in exact fractions.
"""

from __future__ import annotations

import json
import zlib
from base64 import b64encode
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, MutableMapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from itertools import pairwise

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.bars import Bar, Passage
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.cues import Cues
from cyclechart.arrange.parts.dal_segno import jump_of, single
from cyclechart.arrange.parts.free_passages import free_laid
from cyclechart.arrange.parts.part_sheets import part_of
from cyclechart.arrange.parts.repeats import Fold, unfolded
from cyclechart.arrange.sheet.key_signatures import signed
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.arrange.transpose import moved
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.text.display import as_read, shown
from cyclechart.theory.spelling import TONICS
from cyclechart.write.audio.performance import FrameClock
from cyclechart.write.files.fingerprint import key_of
from cyclechart.write.files.paper_sizes import A4, Look
from cyclechart.write.musicxml.rhythm import spell_measure
from cyclechart.write.musicxml.staff import fill, grid_of
from cyclechart.write.webpage.schema import PartData
from cyclechart.write.webpage.svg_slimming import ids_of, slim

Drawn = MutableMapping[str, list[str]]
"""The systems of strains that were drawn before, each under a key that names all that they come
from, and last the places at which measures are cut for them (``7/2 11``); a page that is made again
and again draws what has changed."""

DECIMALS = 5
"""Of a second."""

PAGE_LOOK = Look(paper=replace(A4, name="page", line=1000))
"""Half the line of a sheet of paper: on a phone a system is as wide as the screen, on a wide one
several stand in a row."""

Span = tuple[Fraction, Fraction, str]
"""From where to where in a strain, and the id of what is written there."""


@dataclass(frozen=True)
class Standing:
    """Where a bar as it is played stands: in which strain, and where its beginning is in that.

    ``knots``: (beats on paper from there, beats played from the bar's beginning), joined by
    straight lines; the two differ in a free passage alone.
    """

    strain: int
    at: Fraction
    knots: tuple[tuple[Fraction, Fraction], ...]

    @property
    def end(self) -> Fraction:
        """Where it ends in its strain."""
        return self.at + self.knots[-1][0]

    def played(self, place: Fraction) -> Fraction:
        """Beats from the bar's beginning to a place of the strain within it."""
        paper = place - self.at
        for (before, since), (after, until) in pairwise(self.knots):
            if paper <= after:
                return since + (paper - before) * (until - since) / (after - before)
        return self.knots[-1][1]


def packed_parts(
    piece: Piece,
    shift: int = 0,
    look: Look | None = None,
    drawn: Drawn | None = None,
    clock: FrameClock | None = None,
) -> dict[str, str]:
    """The parts of all who read on a Sa so many semitones from the piece's own, by player: each a
    ``PartData`` as JSON, deflated (raw), base64. What is drawn is kept in ``drawn``; the ``clock``
    is that of the score on any Sa, if it is there already."""
    clock = clock or FrameClock(arrange(piece))
    if shift:
        piece = moved(piece, TONICS[(piece.tonic.semitone + shift) % 12])
    band = Band(piece)
    parts = (part_data(band, player, look, drawn, clock) for player in piece.players)
    return {part["player"]: packed(part) for part in parts if part is not None}


def packed(part: PartData) -> str:
    """A part as JSON, deflated without a header, in base64."""
    said = json.dumps(part, ensure_ascii=False, separators=(",", ":"))
    press = zlib.compressobj(9, zlib.DEFLATED, -15)
    return b64encode(press.compress(said.encode()) + press.flush()).decode()


def part_data(
    band: Band,
    player: Player,
    look: Look | None = None,
    drawn: Drawn | None = None,
    clock: FrameClock | None = None,
) -> PartData | None:
    """A player's part; None for a drone, and for who has nothing to read."""
    look, drawn = look or PAGE_LOOK, {} if drawn is None else drawn
    sheet = part_of(band, player)
    if player.plays == "drone" or all(strain.silent for strain in sheet.strains):
        return None
    sheet = signed(replace(sheet, names=look.names), look.signature)
    systems: list[str] = []
    heads: list[tuple[int, str, str, str]] = []
    marks: list[tuple[list[Span], list[Span]]] = []
    for strain in sheet.strains:
        heads.append((len(systems), strain.letter, _plain(strain.name), _remark(strain)))
        if strain.silent:
            marks.append(([], []))
            continue
        made, strain = _systems(sheet, strain, look, drawn)
        known = dict.fromkeys(name for system in made for name in ids_of(system))
        marks.append((written(strain), measured(strain, known)))
        systems += made
    clock = clock or FrameClock(arrange(band.piece))
    notes, bars = [], []
    for bar, standing in sorted(standings(band, player).items()):
        seconds = partial(_seconds, clock, band.bars[bar], standing)
        spans, measures = marks[standing.strain]
        notes += list(_sounded(spans, standing, seconds))
        bars += list(_sounded(measures, standing, seconds))
    return {
        "player": _plain(player.name),
        "systems": systems,
        "notes": notes,
        "heads": heads,
        "sa": str(sheet.tonic),
        "measures": bars,
    }


def _plain(text: str) -> str:
    """A text as it is read, without what steers writing."""
    return as_read(shown(text))


def _remark(strain: Strain) -> str:
    """What stands beside a strain's name."""
    rests = strain.rests if strain.silent and not strain.holds else 0
    silent = f"rest {rests} cycle{'s' if rests > 1 else ''}" if rests else ""
    told = (strain.remark, silent, strain.holds, strain.tones, strain.turn)
    return _plain("; ".join(filter(None, told)))


def _systems(sheet: Sheet, strain: Strain, look: Look, drawn: Drawn) -> tuple[list[str], Strain]:
    """The pictures of a strain, as they were drawn or drawn now, and the strain with its measures
    as they are drawn: one that is cut has its notes spelled otherwise."""
    last = strain.letter == sheet.strains[-1].letter
    plain = replace(strain, name="", remark="", tones="", holds="", turn="")
    # The last strain of a part has another barline at its end.
    key = key_of(_alone(sheet, plain), look.paper) + ("-end" if last else "")
    found = drawn.get(key)
    if found is None:
        from cyclechart.write.engraving.systems import engrave

        made = engrave(sheet, strain, first=strain.first, line=look.paper.line)
        cuts = {one.start for one in made.measures} - {one.start for one in strain.measures}
        pictures = [
            slim(drawing, f"{strain.letter}{at}") for at, drawing in enumerate(made.drawings)
        ]
        found = [*pictures, " ".join(map(str, sorted(cuts)))]
        drawn[key] = found
    *systems, said = found
    places = [Fraction(place) for place in said.split()]
    measures = tuple(piece for measure in strain.measures for piece in measure.cut(places))
    return systems, replace(strain, measures=measures)


def _alone(sheet: Sheet, strain: Strain) -> Sheet:
    """All that a strain is drawn from."""
    return replace(
        sheet, title="", composer="", cycles=(), strains=(strain,), road=(), liberties=()
    )


def standings(band: Band, player: Player) -> dict[int, Standing]:
    """Where each bar (its index in ``band.bars``) stands in a player's part; a count-in lies before
    its strain. Strains are counted from 0."""
    return dict(_Followed(band, player).all())


class _Followed:
    """The folds of a part anew, in the order in which it is laid."""

    def __init__(self, band: Band, player: Player) -> None:
        self.band = band
        self.player = player
        self.jump = jump_of(band) if player.plays == "melody" else None
        self.cues = Cues(band, player)
        self.once: list[Standing] = []
        """From the sign on, what is played when no repeat is taken."""

    def all(self) -> Iterator[tuple[int, Standing]]:
        """Each bar and where it stands, passage by passage."""
        first, strain = 0, -1
        for passage in self.band.passages:
            begin, first = first, first + len(passage.bars)
            if passage.step < 0:
                continue
            strain += 1
            if passage.free:
                yield from self.free(passage, begin, strain)
                continue
            counted = sum(bar.stretch.kind == "count-in" for bar in passage.bars)
            begin += counted
            for at in range(begin - counted, begin):
                before = self.band.bars[at].start - self.band.bars[begin - 1].end
                yield at, self.standing(strain, before, at)
            again = self.again(begin, first)
            yield from ((begin + at, self.once[self.read(begin) + at]) for at in range(again))
            yield from self.laid(begin + again, first, strain)

    def again(self, begin: int, end: int) -> int:
        """How many of some bars are played from the sign."""
        if self.jump is None or not self.jump.from_bar <= begin < self.jump.coda:
            return 0
        return min(self.jump.coda, end) - begin

    def read(self, bar: int) -> int:
        """How many bars from the sign on are read before one."""
        return bar - self.jump.from_bar if self.jump is not None else 0

    def laid(self, first: int, end: int, strain: int) -> Iterator[tuple[int, Standing]]:
        """The bars of a passage that is written."""
        if first == end:
            return
        folds = self.cues.led(self.band.folds_for(self.player.name, first, end - first), first)
        bars = self.band.bars
        found: dict[int, Standing] = {}
        """By the bar that is written, from the first one here."""
        at = Fraction(0)
        for fold in folds:
            for bar in range(fold.at, fold.at + max(1, fold.rests)):
                found[bar] = self.standing(strain, at, first + bar)
                at += bars[first + bar].length
        for number, bar in enumerate(_unfolded(folds)):
            yield first + number, found[bar]
        if self.jump is not None and self.jump.sign <= first < self.jump.from_bar:
            self.once += [found[fold.at] for fold in single(folds)]

    def standing(self, strain: int, at: Fraction, bar: int) -> Standing:
        length = self.band.bars[bar].length
        return Standing(strain, at, ((Fraction(0), Fraction(0)), (length, length)))

    def free(self, passage: Passage, first: int, strain: int) -> Iterator[tuple[int, Standing]]:
        """The bars of a passage without meter: what is played has the time that it has, what is
        written beside it is spread over the rest."""
        band, bars = self.band, passage.bars
        measures = free_laid(band, self.player, passage, first, False).measures
        apart = len(bars) > 1 and not measures[0].forward
        length = measures[-1].end / (2 if apart else 1)
        step = band.piece.steps[passage.step]
        line = band.piece.lines.get(step.uses[0]) if step.uses else None
        reads = line is not None and self.player in band.piece.players_of(step, line.name)
        for number, bar in enumerate(bars):
            held = () if reads else band.fragments[self.player.name][first + number]
            begun = {one.note.start for one in held if not one.note.tied_in}
            knots = [(start, start) for start in sorted({Fraction(0), *begun}) if start < length]
            at = length if apart and number else Fraction(0)
            yield first + number, Standing(strain, at, (*knots, (length, bar.length)))


def _unfolded(folds: Sequence[Fold]) -> Iterator[int]:
    """``unfolded``, but for the bars of a rest each by itself."""
    before, count = -1, 0
    rests = {fold.at: fold.rests for fold in folds}
    for bar in unfolded(folds):
        count = count + 1 if bar == before and rests[bar] > 1 else 0
        before = bar
        yield bar + count


def written(strain: Strain) -> list[Span]:
    """Every written note of a strain, in order: each part of what is tied is one by itself, under
    the id that ``write.notes`` gives it."""
    beat = grid_of([strain])
    found: list[Span] = []
    before, piece_number = -1, 1
    for measure, filled in zip(strain.measures, fill(strain, beat), strict=True):
        if filled.rests == (True,) or measure.rests:
            continue
        pieces = spell_measure(beat, filled.length, filled.lead, filled.bounds, filled.rests)
        for piece in pieces:
            index = filled.indices[piece.span]
            if index < 0:
                continue
            piece_number = piece_number + 1 if index == before else 1
            name = f"n-{strain.letter}-{index}" + (f"-{piece_number}" if index == before else "")
            start = measure.start + Fraction(piece.start, beat)
            end = start + Fraction(piece.length, beat)
            found.append((start, end, name))
            before = index
    return found


def measured(strain: Strain, known: Iterable[str]) -> list[Span]:
    """The measures of a strain as they are drawn."""
    names = [name for name in known if name.startswith("m-")]
    pairs = zip(strain.measures, names, strict=True)
    return [(measure.start, measure.end, name) for measure, name in pairs]


def _seconds(clock: FrameClock, bar: Bar, standing: Standing, place: Fraction) -> float:
    """When a place of the strain is played in a bar."""
    return round(float(clock.seconds(bar.start + standing.played(place))), DECIMALS)


def _sounded(
    spans: Sequence[Span], standing: Standing, seconds: Callable[[Fraction], float]
) -> Iterator[tuple[float, float, str]]:
    """What of a strain is played in a bar, in seconds; the bars of a rest share its measure."""
    begun = bisect_right(spans, standing.at, key=lambda span: span[1])
    until = bisect_left(spans, standing.end, key=lambda span: span[0])
    for start, end, name in spans[begun:until]:
        yield seconds(max(start, standing.at)), seconds(min(end, standing.end)), name
