"""Builds the part of each player: the whole form, passage by passage, with repeats.

A part is a ``Sheet`` whose strains are the steps of the form in the order played. Read with its
repeats it is exactly the timeline: bars are written once only where they are equal note by note.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache

from cyclechart.arrange.bars import Bar, Passage
from cyclechart.arrange.leader_texts import note_text, swing_text
from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.bar_fragments import Fragment
from cyclechart.arrange.parts.bar_places import BarPlace, metered_place
from cyclechart.arrange.parts.cues import Cues
from cyclechart.arrange.parts.dal_segno import jump_of, without_repeats
from cyclechart.arrange.parts.free_passages import free_passage
from cyclechart.arrange.parts.keyed_notes import borrowed_tones, in_passage_key, note_brackets
from cyclechart.arrange.parts.passage_builder import PassageBuilder
from cyclechart.arrange.parts.reader import reader_of
from cyclechart.arrange.parts.repeats import WrittenBar, bars_in_order
from cyclechart.arrange.parts.step_dynamics import step_levels, with_signs
from cyclechart.arrange.parts.step_texts import (
    drone_strains,
    heading_name,
    next_change,
    replay_text,
    solo_tones,
    step_name,
)
from cyclechart.arrange.parts.sung_verses import with_own_verses
from cyclechart.arrange.sheet.lead_sheet import liberty_text, line_remarks
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import STRAIN_KINDS, Sheet, StaffKey, Strain
from cyclechart.arrange.sheet.road_map import (
    form_letter,
    in_reader_letters,
    in_step_letters,
    tempo_text,
)
from cyclechart.arrange.sheet.tempo_marks import TempoChange, new_tempos, tempo_change_of
from cyclechart.arrange.sheet.time_signatures import with_time_signatures
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Free, Play, Solo, Step, Trade
from cyclechart.theory.mode import Mode
from cyclechart.theory.printed_accidentals import signature_remark
from cyclechart.theory.spelling import Tonic

CODA = "coda"
"""The name of a coda that begins within a step, and what its letter ends with."""


def part_sheet(band: Band, player: Player) -> Sheet:
    """Return the part of one player; a drone's has no staff but the tones of each step."""
    return _PartBuilder(band, player).sheet()


def part_sheet_with_places(band: Band, player: Player) -> tuple[Sheet, dict[int, BarPlace]]:
    """Return the part of one player, and the place in it of each played bar by its index in
    ``band.bars``. A count-in lies before the start of its strain."""
    maker = _PartBuilder(band, player)
    return maker.sheet(), maker.places


def part_in_score(band: Band, player: Player) -> Sheet:
    """Return the part of one player with the measures that all parts of a score share."""
    return _PartBuilder(band, player, together=True).sheet()


class _PartBuilder:
    def __init__(self, band: Band, player: Player, *, together: bool = False) -> None:
        self.band = band
        self.player = player
        self.together = together
        self.content = band.contents[player.name]
        self.fragments = band.fragments[player.name]
        self.unshown_grooves = dict(self.content.grooves)
        """The grooves of the cycles that have not appeared yet."""
        written_out = together or not player.role.plays_melody
        self.jump = None if written_out else jump_of(band)
        self.cues = Cues(band, player)
        self.road = in_reader_letters(
            in_step_letters(band.road), lambda sa: band.key(player, sa, band.piece.mode).tonic
        )
        self.new_tempos = new_tempos(band.piece)
        self.levels = step_levels(band.piece)
        self.places: dict[int, BarPlace] = {}
        """The place of each played bar, filled in strain by strain."""
        self.single_pass_places: list[BarPlace] = []
        """The places of the bars played from the sign on when no repeat is taken."""
        self.repeats_from_sign = False
        """True where bars that the jump leads back to are repeated."""

    def sheet(self) -> Sheet:
        """Return the whole part."""
        piece, road = self.band.piece, self.road
        strains: list[Strain] = []
        first = 0
        for passage in self.band.passages:
            count = len(passage.bars)
            if passage.step >= 0:
                of_step = self.strains(passage, first, len(strains))
                asked = piece.steps[passage.step].state.break_before
                of_step[0] = replace(of_step[0], break_before=asked)
                change = next_change(road, passage.step + 1)
                strains += [*of_step[:-1], replace(of_step[-1], next_change=change)]
            first += count
        if self.player.role.is_drone:
            strains = list(drone_strains(strains, self.player))
        key = self.key(piece.state.tonic, piece.mode)
        drawn = [not strain.silent for strain in strains]
        reader = reader_of(self.player, self.content.staff, strains)
        if self.together:  # in a score all have the names of the score
            reader = replace(reader, names="", script="", large=False)
        return Sheet(
            title=piece.title,
            composer=piece.composer,
            edition=piece.edition,
            tonic=key.tonic,
            mode=piece.mode,
            cycles=piece.cycles,
            tempo=piece.tempo,
            tuning=piece.tuning.name,
            eduppu=piece.eduppu,
            swing=swing_text(piece.swing) if piece.swing != 1 else "",
            fifths=key.fifths,
            signature=self.signature(key),
            strains=tuple(with_time_signatures(list(self.with_drones(strains)), drawn)),
            road=road,
            liberties=tuple(liberty_text(piece, number) for number in range(len(piece.liberties))),
            reader=reader,
            names=reader.names or "sargam",
            script=reader.script,
        )

    def signature(self, key: StaffKey) -> str:
        """Return the signature that was chosen, where a player reads tones and none fits them."""
        if self.content.staff != "pitched" or self.player.role.is_drone:
            return ""
        return signature_remark(key.tonic, key.mode.up | key.mode.down, key.fifths)

    def step_heading(self, step: Step) -> str:
        """Return the name of a step in a heading; over a score it is one for all."""
        piece = self.band.piece
        return step_name(step) if self.together else heading_name(piece, step, self.player)

    def key(self, tonic: Tonic, mode: Mode) -> StaffKey:
        return self.band.key(self.player, tonic, mode)

    def with_drones(self, strains: Sequence[Strain]) -> Iterator[Strain]:
        """Yield the strains, marking those that name the drone."""
        drone = None
        for strain in strains:
            here = strain.key.tonic, strain.key.mode.drone_second
            yield replace(strain, drone=here != drone)
            drone = drone if strain.silent else here

    def strains(self, passage: Passage, first: int, number: int) -> list[Strain]:
        """Return the strain of a step; ``first`` is the index of its first bar, ``number`` that of
        its strain.

        A step that is played from the sign on as far as the coda has two: a row in place of what
        is played again, with its letter, and the coda.
        """
        step = self.band.piece.steps[passage.step]
        if passage.free:
            return [self.free_strain(passage, step, first, number)]
        count_in = sum(bar.stretch.kind == "count-in" for bar in passage.bars)
        counting, bars = passage.bars[:count_in], passage.bars[count_in:]
        before = self.fragments[first : first + count_in]
        for at, bar in enumerate(counting, start=first):
            self.places[at] = metered_place(number, bar.start - counting[-1].end, bar.length)
        first += count_in
        replayed = self.replayed_count(first, len(bars))
        for at in range(first, first + replayed):
            self.places[at] = self.single_pass_places[at - self.jump.from_bar if self.jump else 0]
        before_coda = [self.replayed_strain(passage, step, bars[:replayed])] if replayed else []
        tempo = self.new_tempos[passage.step]
        if bars and replayed == len(bars):
            return before_coda
        number += len(before_coda)
        first, bars = first + replayed, bars[replayed:]
        end = first + len(bars)
        sections, fragments = self.band.sections[first:end], self.fragments[first:end]
        written = self.written_bars(first, len(bars))
        sung = with_own_verses(fragments, written, self.band.timeline)
        builder = PassageBuilder(self.cues.cue, self.together, bars, sections, sung, first)
        if counting:
            builder.add_pickup(
                before, counting, max(counting[-1].end - self.band.first_note, Fraction(0))
            )
        jumps = self.jumps(written, first, len(bars) // step.times)
        for written_bar in written:
            builder.add(
                written_bar,
                self.groove_for(bars[written_bar.at], fragments[written_bar.at]),
                jumps(written_bar),
            )
        self.add_places(written, builder, first, number)
        stretch = passage.bars[-1].stretch
        key = self.key(stretch.tonic, stretch.mode)
        key_of = cache(lambda sa: self.key(sa, stretch.mode))
        key = replace(key, borrowed=tuple(borrowed_tones(builder.notes, key, key_of)))
        levelled = with_signs(builder.notes, self.levels[passage.step], self.player)
        notes = tuple(in_passage_key(note, key, key_of) for note in levelled)
        letter = form_letter(passage.step)
        strain = Strain(
            letter=letter,
            name=self.step_heading(step),
            kind=STRAIN_KINDS[self.content.staff],
            cycle=stretch.cycle,
            key=key,
            first=False,
            notes=notes,
            measures=tuple(builder.measures),
            free=False,
            remark=", ".join(self.remarks(passage.step, step)),
            note=note_text(step, None if self.together else self.player),
            brackets=tuple(note_brackets(notes, self.band.timeline)),
            tones=solo_tones(key) if self.improvises_in(step) else "",
            tempo=tempo,
            tempo_change=self.tempo_change(bars, first, builder.measures),
        )
        if before_coda:
            strain = replace(
                strain, letter=f"{letter}{CODA}", name=CODA, remark="", note="", tones="",
                tempo=None, continues=True,
            )  # fmt: skip
        return [*before_coda, strain]

    def tempo_change(
        self, bars: Sequence[Bar], first: int, measures: Sequence[Measure]
    ) -> TempoChange | None:
        """Return the steady change of tempo in bars whose places in the ``measures`` are known;
        ``first`` is the index of the first."""
        change = tempo_change_of(bars)
        if change is None:
            return None
        bar, start, word = change
        place = self.places[first + bars.index(bar)]
        mark = TempoChange(word, place.at + start - bar.start)
        repeated = any(one.times and one.end > mark.start for one in measures)
        return mark.through_repeats() if repeated else mark

    def add_places(
        self, written: Sequence[WrittenBar], builder: PassageBuilder, first: int, number: int
    ) -> None:
        """Record the places of a passage's bars; ``first`` is the index of the first, ``number``
        that of the strain."""
        places = {
            at: metered_place(number, place, builder.bars[at].length)
            for at, place in builder.places.items()
        }
        for at, bar in enumerate(bars_in_order(written), start=first):
            self.places[at] = places[bar]
        if self.jump is not None and self.jump.sign <= first < self.jump.from_bar:
            self.single_pass_places += [
                places[written_bar.at] for written_bar in without_repeats(written)
            ]
            if first <= self.jump.leaves:
                self.repeats_from_sign |= any(bar.times or bar.ending for bar in written)

    def replayed_count(self, first: int, count: int) -> int:
        """Return the number of bars, of ``count`` from an index on, that the jump replaces."""
        jump = self.jump
        if jump is None or not jump.from_bar <= first < jump.coda:
            return 0
        return min(jump.coda - first, count)

    def replayed_strain(self, passage: Passage, step: Step, bars: Sequence[Bar]) -> Strain:
        """Return the strain of a step of which ``bars`` are played from the sign, not written."""
        stretch = passage.bars[-1].stretch
        back = self.jump.back_text if self.jump is not None else ""
        return Strain(
            letter=form_letter(passage.step),
            name=self.step_heading(step),
            kind="melody",
            cycle=stretch.cycle,
            key=self.key(stretch.tonic, stretch.mode),
            first=False,
            notes=(),
            measures=(),
            free=False,
            remark=", ".join(self.remarks(passage.step, step)),
            note=note_text(step, None if self.together else self.player),
            staff_text=replay_text(back, bars, repeats=self.repeats_from_sign),
            tempo=self.new_tempos[passage.step],
        )

    def jumps(
        self, written: Sequence[WrittenBar], first: int, turn_length: int
    ) -> Callable[[WrittenBar], list[str]]:
        """Return a function from a written bar of a passage to its marks of the jump.

        ``first`` is the index of the passage's first bar, ``turn_length`` the number of bars of
        each of its times.
        """
        jump = self.jump
        if jump is None or not written:
            return lambda bar: []
        count = self.band.bars_of_step[self.band.bars[first].stretch.step][-1] + 1 - first
        single_pass = without_repeats(written)
        place = jump.leaves - (first + count - turn_length)
        leaves = single_pass[place] if first <= jump.leaves < first + count else None

        def marks_at(bar: WrittenBar) -> list[str]:
            marks = []
            if bar is written[0] and first in (jump.sign, jump.coda):
                marks.append("segno" if first == jump.sign else "coda")
            if bar is leaves:
                marks.append(jump.leave_text)
            if bar is written[-1] and first + count == jump.from_bar:
                marks.append(jump.back_text)
            return marks

        return marks_at

    def improvises_in(self, step: Step) -> bool:
        """Return True if the player improvises tones in a step."""
        if self.content.staff != "pitched":
            return False
        own = isinstance(step, Solo) and step.player == self.player.name
        own = own or (isinstance(step, Free) and step.what == self.player.name)
        return own or (isinstance(step, Trade) and self.player.name in step.players)

    def written_bars(self, first: int, count: int) -> list[WrittenBar]:
        """Return the written bars of ``count`` bars of a passage from an index on."""
        if not count:
            return []
        if self.together:
            return self.band.score_bars(first, count)
        return self.cues.with_cues(self.band.part_bars(self.player.name, first, count), first)

    def groove_for(self, bar: Bar, fragments: tuple[Fragment, ...]) -> tuple[PartNote, ...]:
        """Return the groove to show in a bar of slashes, once for each cycle; () for none."""
        cycle = bar.stretch.cycle
        shown = bar.whole and bar.number and not bar.stretch.soloists and fragments
        if (
            not shown
            or cycle not in self.unshown_grooves
            or not all(fragment.slash for fragment in fragments)
        ):
            return ()
        return self.unshown_grooves.pop(cycle)

    def remarks(self, number: int, step: Step) -> Iterator[str]:
        """Yield the remarks beside the name of a passage."""
        box = self.road[number]
        tempo = self.new_tempos[number]
        changes = [text for text in box.changes if tempo is None or text != tempo_text(tempo)]
        if changes:
            yield ", ".join(changes)
        if box.detail:
            yield box.detail
        lines = [self.band.piece.lines[name] for name in step.uses if name in self.band.piece.lines]
        if isinstance(step, Play) and len(lines) == 1:
            piece = self.band.piece
            yield from line_remarks(piece.line_in(lines[0].name, step.cycle), piece.eduppu)

    def free_strain(self, passage: Passage, step: Step, first: int, number: int) -> Strain:
        """Return the strain of a passage without meter; ``first`` is the index of its first bar,
        ``number`` its own index."""
        stretch = passage.bars[0].stretch
        key = self.key(stretch.tonic, stretch.mode)
        key_of = cache(lambda sa: self.key(sa, stretch.mode))
        paper = free_passage(self.band, self.player, passage, first, self.together)
        measures = paper.measures
        for bar, (at, knots) in enumerate(paper.places, start=first):
            self.places[bar] = BarPlace(number, at, knots)
        levelled = with_signs(paper.notes, self.levels[passage.step], self.player)
        jump = self.jump
        if jump is not None and passage.bars[-1] is self.band.bars[jump.from_bar - 1]:
            measures = (*measures[:-1], replace(measures[-1], jumps=(jump.back_text,)))
        return Strain(
            letter=form_letter(passage.step),
            name=self.step_heading(step),
            kind=STRAIN_KINDS[self.content.staff],
            cycle=stretch.cycle,
            key=key,
            first=False,
            notes=tuple(in_passage_key(note, key, key_of) for note in levelled),
            measures=measures,
            free=True,
            remark=", ".join(self.remarks(passage.step, step)),
            note=note_text(step, None if self.together else self.player),
            tempo=self.new_tempos[passage.step],
            brackets=paper.brackets,
            tones=solo_tones(key) if self.improvises_in(step) else "",
        )
