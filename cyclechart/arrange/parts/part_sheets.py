"""The part of each player: the whole form for him to read, passage by passage, folded.

A part is a ``Sheet`` whose strains are the steps of the form in the order played. What is written
is what the timeline plays: bars are folded only where they are alike note by note.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.bars import Bar, Passage
from cyclechart.arrange.part_notes import Written
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.bar_fragments import Fragment
from cyclechart.arrange.parts.bar_places import BarPlace, metered_place
from cyclechart.arrange.parts.cues import Cues
from cyclechart.arrange.parts.dal_segno import jump_of, single
from cyclechart.arrange.parts.free_passages import free_layout
from cyclechart.arrange.parts.keyed_notes import borrowed_tones, brackets_over, keyed
from cyclechart.arrange.parts.layout import Layout
from cyclechart.arrange.parts.repeats import Fold, bars_in_order
from cyclechart.arrange.sheet.lead_sheet import liberty_text, remarks_of
from cyclechart.arrange.sheet.model import KIND_OF, Key, Reader, Sheet, Strain
from cyclechart.arrange.sheet.road_map import RoadStep, letter, lettered
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Free, Play, Solo, Step, Trade
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic, spell
from cyclechart.theory.tones import SARGAM

LOWEST_TREBLE = 57
"""A keyboard or guitar part that lies lower than this key on the whole is in the bass clef."""


def part_of(band: Band, player: Player) -> Sheet:
    """The part of one player; a drone's has no staff, but says what to sound through each step."""
    return _PartMaker(band, player).sheet()


def part_with_places(band: Band, player: Player) -> tuple[Sheet, dict[int, BarPlace]]:
    """The part of one player, and where each bar as it is played (its index in ``band.bars``)
    stands in it. A count-in lies before its strain."""
    maker = _PartMaker(band, player)
    return maker.sheet(), maker.places


def score_of(band: Band) -> tuple[Sheet, ...]:
    """The parts of all who read a staff, with the same measures, one under the other.

    Bars are folded where they are alike for everybody; nobody's rests are drawn together.
    """
    reading = [player for player in band.piece.players if player.role.reads_staff]
    return tuple(_PartMaker(band, player, together=True).sheet() for player in reading)


class _PartMaker:
    def __init__(self, band: Band, player: Player, *, together: bool = False) -> None:
        self.band = band
        self.player = player
        self.together = together
        self.content = band.contents[player.name]
        self.fragments = band.fragments[player.name]
        self.untold = dict(self.content.time)
        """What keeping time is, for the cycles that have not come yet."""
        written_out = together or not player.role.plays_melody
        self.jump = None if written_out else jump_of(band)
        self.cues = Cues(band, player)
        self.road = lettered(band.road, lambda sa: band.key(player, sa, band.piece.mode).tonic)
        self.places: dict[int, BarPlace] = {}
        """Where each bar stands, as soon as its strain is there."""
        self.once: list[BarPlace] = []
        """From the sign on, the places of what is played when no repeat is taken."""

    def sheet(self) -> Sheet:
        """All of it."""
        piece, road = self.band.piece, self.road
        strains: list[Strain] = []
        first = 0
        for passage in self.band.passages:
            count = len(passage.bars)
            if passage.step >= 0:
                strains.append(self.strain(passage, first, len(strains)))
            first += count
        told = [passage.step for passage in self.band.passages if passage.step >= 0]
        strains = [
            replace(strain, turn=_turn(road, step + 1))
            for step, strain in zip(told, strains, strict=True)
        ]
        if self.player.role.is_drone:
            strains = list(_held(strains))
        key = self.key(piece.force.tonic, piece.mode)
        return Sheet(
            title=piece.title,
            composer=piece.composer,
            tonic=key.tonic,
            mode=piece.mode,
            cycles=piece.cycles,
            tempo=piece.tempo,
            tuning=piece.tuning.name,
            fifths=key.fifths,
            strains=tuple(self.timed(strains)),
            road=road,
            liberties=tuple(liberty_text(piece, number) for number in range(len(piece.liberties))),
            reader=self.reader(strains),
        )

    def reader(self, strains: Sequence[Strain]) -> Reader:
        """How the player reads."""
        instrument = self.player.instrument
        clef = instrument.clef
        if self.player.role.low_in_bass_clef and clef == "treble":
            keys = [
                strain.key.tonic.midi + strain.key.shift + note.pitch
                for strain in strains
                for note in strain.notes
                if note.pitch is not None
            ]
            if keys and sum(keys) < LOWEST_TREBLE * len(keys):
                clef = "bass"
        return Reader(
            player=self.player.name,
            instrument=instrument.title,
            clef=clef,
            transposes=instrument.transposes,
            staff=self.content.staff,
            program=instrument.program,
        )

    def key(self, tonic: Tonic, mode: Mode) -> Key:
        return self.band.key(self.player, tonic, mode)

    def timed(self, strains: Sequence[Strain]) -> Iterator[Strain]:
        """The strains, of which those that begin in another cycle show their time signature."""
        before = drone = None
        for strain in strains:
            here = strain.key.tonic, strain.key.mode.drone_second
            strain = replace(strain, drone=here != drone)
            drone = drone if strain.silent else here
            if strain.free or not strain.measures:
                yield strain
                continue
            yield replace(strain, first=strain.cycle != before)
            before = strain.cycle

    def strain(self, passage: Passage, first: int, number: int) -> Strain:
        """One step, the strain of a number; ``first`` is the index of its first bar among all."""
        step = self.band.piece.steps[passage.step]
        if passage.free:
            return self.free(passage, step, first, number)
        counted = sum(bar.stretch.kind == "count-in" for bar in passage.bars)
        counting, bars = passage.bars[:counted], passage.bars[counted:]
        before = self.fragments[first : first + counted]
        for at, bar in enumerate(counting, start=first):
            self.places[at] = metered_place(number, bar.start - counting[-1].end, bar.length)
        first += counted
        again = self.played_again(first, len(bars))
        for at in range(first, first + again):
            self.places[at] = self.once[at - self.jump.from_bar if self.jump else 0]
        if bars and again == len(bars):
            return self.again(passage, step)
        first, bars = first + again, bars[again:]
        held = self.fragments[first : first + len(bars)]
        made = Layout(self.cues.cue, self.together, bars, held, first)
        if counting:
            made.pickup(before, counting, max(counting[-1].end - self.band.first_note, Fraction(0)))
        folds = self.folds(first, len(bars))
        jumps = self.jumps(folds, first, len(bars) // step.times)
        for one in folds:
            made.add(one, self.time_for(bars[one.at], held[one.at]), jumps(one))
        self.add_places(folds, made, first, number)
        force = passage.bars[-1].stretch
        key = self.key(force.tonic, force.mode)
        key = replace(key, borrowed=tuple(borrowed_tones(made.notes, key, self.key)))
        notes = tuple(keyed(note, key, self.key) for note in made.notes)
        return Strain(
            letter=letter(passage.step),
            name=_name(step),
            kind=KIND_OF[self.content.staff],
            cycle=force.cycle,
            key=key,
            first=False,
            notes=notes,
            measures=tuple(made.measures),
            free=False,
            remark=", ".join(self.remarks(passage.step, step)),
            spans=tuple(brackets_over(notes, self.band.timeline)),
            tones=self.tones(key) if self.solos(step) else "",
        )

    def add_places(self, folds: Sequence[Fold], layout: Layout, first: int, number: int) -> None:
        """Note where the bars of a passage from an index on stand, which is the strain of a
        number."""
        written = {
            at: metered_place(number, place, layout.bars[at].length)
            for at, place in layout.places.items()
        }
        for at, bar in enumerate(bars_in_order(folds), start=first):
            self.places[at] = written[bar]
        if self.jump is not None and self.jump.sign <= first < self.jump.from_bar:
            self.once += [written[fold.at] for fold in single(folds)]

    def played_again(self, first: int, count: int) -> int:
        """How many of the bars from an index on are played from the sign and not written."""
        jump = self.jump
        if jump is None or not jump.from_bar <= first < jump.coda:
            return 0
        return min(jump.coda - first, count)

    def again(self, passage: Passage, step: Step) -> Strain:
        """A step that is not written, for it is played from the sign."""
        stretch = passage.bars[-1].stretch
        back = self.jump.back if self.jump is not None else ""
        return Strain(
            letter=letter(passage.step),
            name=_name(step),
            kind="melody",
            cycle=stretch.cycle,
            key=self.key(stretch.tonic, stretch.mode),
            first=False,
            notes=(),
            measures=(),
            free=False,
            remark=", ".join(self.remarks(passage.step, step)),
            holds=f"{back}, no repeats",
        )

    def jumps(self, folds: Sequence[Fold], first: int, turn: int) -> Callable[[Fold], list[str]]:
        """What of the jump stands at a fold of a passage; ``first`` is the index of its first bar,
        ``turn`` how many bars each of its times has."""
        jump = self.jump
        if jump is None or not folds:
            return lambda fold: []
        count = self.band.of_step[self.band.bars[first].stretch.step][-1] + 1 - first
        once = single(folds)
        place = jump.leaves - (first + count - turn)
        leaves = once[place] if first <= jump.leaves < first + count else None

        def found(fold: Fold) -> list[str]:
            said = []
            if fold is folds[0] and first in (jump.sign, jump.coda):
                said.append("segno" if first == jump.sign else "coda")
            if fold is leaves:
                said.append(jump.leaving)
            if fold is folds[-1] and first + count == jump.from_bar:
                said.append(jump.back)
            return said

        return found

    def solos(self, step: Step) -> bool:
        """Whether the player improvises tones in a step."""
        if self.content.staff != "pitched":
            return False
        own = isinstance(step, Solo) and step.player == self.player.name
        own = own or (isinstance(step, Free) and step.what == self.player.name)
        return own or (isinstance(step, Trade) and self.player.name in step.players)

    def folds(self, first: int, count: int) -> list[Fold]:
        """How so many bars of a passage from an index on are written."""
        if self.together:
            return self.band.folds(first, count)
        return self.cues.led(self.band.folds_for(self.player.name, first, count), first)

    def time_for(self, bar: Bar, held: tuple[Fragment, ...]) -> tuple[Written, ...]:
        """What keeping time is in the cycle of a bar of slashes, told once; () for nothing to
        tell."""
        cycle = bar.stretch.cycle
        told = bar.whole and bar.number and not bar.stretch.soloist and held
        if not told or cycle not in self.untold or not all(one.slash for one in held):
            return ()
        return self.untold.pop(cycle)

    def tones(self, key: Key) -> str:
        """The mode for a soloist, in the letters that he reads."""
        mode = key.mode
        up, down = (
            " ".join(f"{spell(key.tonic, pitch)}" for pitch in path)
            for path in (mode.ascent, mode.descent)
        )
        leans = [tone for tone in (mode.vadi, mode.samvadi) if tone is not None]
        on = ", lean on " + ", ".join(
            f"{spell(key.tonic, tone)} ({SARGAM[tone]})" for tone in leans
        )
        return f"{mode.name}: up {up}, down {down}{on if leans else ''}"

    def remarks(self, number: int, step: Step) -> Iterator[str]:
        """What stands beside the name of a passage."""
        box = self.road[number]
        if box.turns_to:
            yield box.turns_to
        if box.detail:
            yield box.detail
        lines = [self.band.piece.lines[name] for name in step.uses if name in self.band.piece.lines]
        if isinstance(step, Play) and len(lines) == 1:
            yield from remarks_of(self.band.piece.line_in(lines[0].name, step.cycle))

    def free(self, passage: Passage, step: Step, first: int, number: int) -> Strain:
        """A stretch without meter, the strain of a number; ``first`` is the index of its first bar
        among all."""
        stretch = passage.bars[0].stretch
        key = self.key(stretch.tonic, stretch.mode)
        laid = free_layout(self.band, self.player, passage, first, self.together)
        measures = laid.measures
        for bar, (at, knots) in enumerate(laid.places, start=first):
            self.places[bar] = BarPlace(number, at, knots)
        jump = self.jump
        if jump is not None and passage.bars[-1] is self.band.bars[jump.from_bar - 1]:
            measures = (*measures[:-1], replace(measures[-1], jumps=(jump.back,)))
        return Strain(
            letter=letter(passage.step),
            name=_name(step),
            kind=KIND_OF[self.content.staff],
            cycle=stretch.cycle,
            key=key,
            first=False,
            notes=tuple(keyed(note, key, self.key) for note in laid.notes),
            measures=measures,
            free=True,
            remark=", ".join(self.remarks(passage.step, step)),
            spans=laid.spans,
            tones=self.tones(key) if self.solos(step) else "",
        )


def _turn(road: Sequence[RoadStep], number: int) -> str:
    """What changes at a box, told before it."""
    if number >= len(road) or not road[number].turns_to:
        return ""
    return f"next {road[number].letter}: {road[number].turns_to}"


def _held(strains: Sequence[Strain]) -> Iterator[Strain]:
    """What a drone sounds through each, and where it is tuned anew."""
    before = ""
    for strain in strains:
        tonic, second = strain.key.tonic, strain.key.mode.drone_second
        tones = [spell(tonic, 0), *([spell(tonic, second)] if second else [])]
        said = " ".join(map(str, tones))
        retune = "tune to " if before and said != before else "drone "
        before = said
        yield replace(strain, holds=retune + said)


def _name(step: Step) -> str:
    if isinstance(step, Solo):
        return f"solo {step.player}"
    if isinstance(step, Trade):
        return f"trade {' / '.join(step.players)}"
    if isinstance(step, Free):
        return step.what
    return " + ".join(step.uses) if step.uses else "groove"
