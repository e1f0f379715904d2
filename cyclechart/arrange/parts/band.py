"""The arrangement of a piece as its players read it: bars, contents and fragments."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from cyclechart.arrange.arranger import Arrangement
from cyclechart.arrange.bars import Bar, Passage, passages_of
from cyclechart.arrange.part_content import StaffContent
from cyclechart.arrange.parts.bar_fragments import Fragment, fragments_of
from cyclechart.arrange.parts.pickup_labels import with_pickup_labels
from cyclechart.arrange.parts.repeats import LINE, TIME, WrittenBar, fold_bars
from cyclechart.arrange.roles.registry import staff_content
from cyclechart.arrange.sheet.measures import Measure, measures_of
from cyclechart.arrange.sheet.model import StaffKey
from cyclechart.arrange.sheet.road_map import FormBox, road_map_of
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Solo
from cyclechart.theory.mode import Mode
from cyclechart.theory.printed_accidentals import written_signature
from cyclechart.theory.spelling import (
    Tonic,
    fifths_of,
    nearest_signature,
    written_for,
    written_tonic,
)


@dataclass(frozen=True, eq=False)
class Band(Arrangement):
    """An arrangement with the bars and contents of its players' parts."""

    _keys: dict[tuple[str, Tonic, Mode], StaffKey] = field(
        default_factory=dict, init=False, repr=False
    )

    @cached_property
    def passages(self) -> tuple[Passage, ...]:
        """The bars grouped by step of the form."""
        return passages_of(self.timeline)

    @cached_property
    def bars(self) -> tuple[Bar, ...]:
        """All bars in the order played."""
        return tuple(bar for passage in self.passages for bar in passage.bars)

    @cached_property
    def sections(self) -> tuple[tuple[Measure, ...], ...]:
        """The sections of each bar as measures, counted from its start."""
        return tuple(
            measures_of(bar.stretch.cycle, Fraction(0), bar.length, bar.whole) for bar in self.bars
        )

    @cached_property
    def bars_of_step(self) -> dict[int, list[int]]:
        """The indices of the bars of each step."""
        indices: dict[int, list[int]] = {}
        for at, bar in enumerate(self.bars):
            indices.setdefault(bar.stretch.step, []).append(at)
        return indices

    @cached_property
    def road(self) -> tuple[FormBox, ...]:
        """The road map of the piece."""
        return road_map_of(self.piece, self.timeline)

    @cached_property
    def contents(self) -> dict[str, StaffContent]:
        """The staff content of each player, by name."""
        return {
            player.name: staff_content(
                self.piece, self.timeline, self.bars, player, self.role_part(player)
            )
            for player in self.piece.players
        }

    @cached_property
    def fragments(self) -> dict[str, list[tuple[Fragment, ...]]]:
        """The fragments of notes of each player (by name) in each bar."""
        labelled = {
            player.name: with_pickup_labels(self.contents[player.name].notes, self.timeline, player)
            for player in self.piece.players
        }
        return {name: fragments_of(notes, self.bars) for name, notes in labelled.items()}

    def content_key(self, player: str, index: int) -> Hashable:
        """Return a key that is equal for bars in which a player reads the same at the same tempo,
        with the same words over it."""
        return (
            self._music_keys[player][index], self._tempos[index], self.labels[player][index]
        )  # fmt: skip

    def music_key(self, player: str, index: int) -> int:
        """Return a number that is equal for bars in which a player reads the same, words and a
        steady change of tempo over the whole step apart."""
        return self._music_keys[player][index]

    @cached_property
    def labels(self) -> dict[str, list[Hashable]]:
        """The words over each bar by player, with their places; () for none."""
        return {
            name: [
                tuple(
                    (fragment.note.start, fragment.note.text)
                    for fragment in bar
                    if fragment.note.text
                )
                for bar in fragments
            ]
            for name, fragments in self.fragments.items()
        }

    @cached_property
    def _tempos(self) -> list[tuple[Fraction, Fraction]]:
        """The tempo at the beginning and the end of each bar."""
        return [
            (bar.stretch.tempo_at(bar.start), bar.stretch.tempo_at(bar.end)) for bar in self.bars
        ]

    @cached_property
    def _music_keys(self) -> dict[str, list[int]]:
        """The key of each bar by player: long keys are numbered, so that bars compare fast."""
        numbers: dict[Hashable, int] = {}

        def number(key: Hashable) -> int:
            return numbers.setdefault(key, len(numbers))

        settings = [
            number((bar_setting(bar), None if changes_through(bar) else tempo))
            for bar, tempo in zip(self.bars, self._tempos, strict=True)
        ]
        return {
            name: [
                number((setting, is_open, tuple([fragment.content_key for fragment in bar])))
                for setting, is_open, bar in zip(
                    settings, self.contents[name].left_open, fragments, strict=True
                )
            ]
            for name, fragments in self.fragments.items()
        }

    def score_bars(self, first: int, count: int) -> list[WrittenBar]:
        """Return the written bars of ``count`` bars from an index on, the same for all players."""
        indices = range(first, first + count)
        keys = [tuple(self.music_key(name, at) for name in self.contents) for at in indices]
        labels = [
            tuple(labels[at] for labels in self.labels.values())
            if any(labels[at] for labels in self.labels.values())
            else ()
            for at in indices
        ]
        plain = [
            all(fragment.slash for parts in self.fragments.values() for fragment in parts[at])
            for at in indices
        ]
        levels = self._levels(first, count, None)
        return self._folded(first, keys, [False for _ in indices], plain, labels, levels)

    def part_bars(self, player: str, first: int, count: int) -> list[WrittenBar]:
        """Return the written bars of ``count`` bars from an index on for one player, without
        cues."""
        indices = range(first, first + count)
        left_open, fragments = self.contents[player].left_open, self.fragments[player]
        keys = [self.music_key(player, at) for at in indices]
        resting = [not fragments[at] and not left_open[at] for at in indices]
        plain = [
            left_open[at] and all(fragment.slash for fragment in fragments[at]) for at in indices
        ]
        labels = [self.labels[player][at] for at in indices]
        levels = self._levels(first, count, player)
        return self._folded(first, keys, resting, plain, labels, levels)

    def _levels(self, first: int, count: int, player: str | None) -> list[int]:
        """Return the boundary of the form at each of ``count`` bars from an index on: a new time of
        the step, a turn of trading, or a line of the player's own.

        Where the player has no line, and in a score (no player), the line under a solo counts.
        """
        bars = self.bars[first : first + count]
        step = self.piece.steps[bars[0].stretch.step]
        under = {step.over} if isinstance(step, Solo) else set()
        own = self.line_starts.get(player, frozenset()) if player is not None else frozenset()
        inside = range(first + 1, first + count)
        if player is None or not any(self.bars[at].start in own for at in inside):
            own = frozenset().union(*(self.starts_of_line.get(name, ()) for name in under if name))
        levels = [0]
        for before, bar in pairwise(bars):
            if bar.stretch.turn != before.stretch.turn:
                levels.append(TIME)
            elif bar.stretch is not before.stretch or bar.start in own:
                levels.append(LINE)
            else:
                levels.append(0)
        return levels

    @cached_property
    def line_starts(self) -> dict[str, frozenset[Fraction]]:
        """The beats on which the bodies of a player's metered lines begin, by player."""
        starts: dict[str, set[Fraction]] = {}
        for placed in self.timeline.placed_lines:
            for name in placed.players:
                starts.setdefault(name, set()).add(placed.body_start)
        return {name: frozenset(found) for name, found in starts.items()}

    @cached_property
    def starts_of_line(self) -> dict[str, frozenset[Fraction]]:
        """The beats on which the bodies of each line begin, by its name."""
        starts: dict[str, set[Fraction]] = {}
        for placed in self.timeline.placed_lines:
            starts.setdefault(placed.line.name, set()).add(placed.body_start)
        return {name: frozenset(found) for name, found in starts.items()}

    def _folded(
        self,
        first: int,
        keys: Sequence[Hashable],
        resting: Sequence[bool],
        plain: Sequence[bool],
        labels: Sequence[Hashable],
        levels: Sequence[int],
    ) -> list[WrittenBar]:
        """Return the written bars from an index on; a count-in or lead-in is folded separately."""
        bars = self.bars[first : first + len(keys)]
        lead = sum(bar.stretch.kind != "metered" for bar in bars)

        def fold(some: slice) -> list[WrittenBar]:
            return fold_bars(keys[some], resting[some], plain[some], labels[some], levels[some])

        written, later = fold(slice(lead)), fold(slice(lead, None))
        return written + [replace(bar, at=bar.at + lead) for bar in later]

    @cached_property
    def first_note(self) -> Fraction:
        """The start of the first composed note of a metered line in beats; the end of the timeline
        where there is none."""
        starts = (
            note.start
            for content in self.contents.values()
            for note in content.notes
            if self.timeline.at(note.start).kind != "free"
        )
        return min(starts, default=self.timeline.end)

    @cached_property
    def tones(self) -> frozenset[int]:
        """Every tone (0 to 11 above Sa) in the piece's lines or modes."""
        used = {
            note.pitch % 12
            for line in self.piece.lines.values()
            for note in line.notes
            if note.pitch is not None
        }
        return frozenset(used).union(*(mode.up | mode.down for mode in self.piece.modes))

    def key(self, player: Player, tonic: Tonic, mode: Mode) -> StaffKey:
        """Return the key in which a player reads a mode on a Sa; computed once."""
        query = player.name, tonic, mode
        known = self._keys.get(query)
        if known is None:
            known = self._keys[query] = self._key(player, tonic, mode)
        return known

    def _key(self, player: Player, tonic: Tonic, mode: Mode) -> StaffKey:
        transposes = player.as_read.transposes
        read = tonic if transposes % 12 == 0 else written_for(tonic, transposes)
        tones = mode.up | mode.down
        read = written_tonic(read, self.tones, tones)
        # The signature moves with the Sa, so that all readers have the same accidentals.
        sounding = written_tonic(tonic, self.tones, tones)
        like = nearest_signature(sounding, tones) + fifths_of(read) - fifths_of(sounding)
        shift = tonic.midi + 12 * player.octave_of_lines - transposes - read.midi
        measures = [
            [pitch + shift for pitch in pitches]
            for pitches in self._written_pitches(player, tonic, mode)
        ]
        return StaffKey(read, mode, written_signature(read, tones, measures, like), shift)

    def _written_pitches(self, player: Player, tonic: Tonic, mode: Mode) -> Iterator[list[int]]:
        """Yield the pitches that a player reads in each section of the bars in a mode on a Sa."""
        for bar, sections, fragments in zip(
            self.bars, self.sections, self.fragments[player.name], strict=True
        ):
            if (bar.stretch.tonic, bar.stretch.mode) == (tonic, mode):
                for section in sections:
                    yield [
                        tone
                        for fragment in fragments
                        if section.start <= fragment.note.start < section.end
                        and fragment.note.sa in (None, tonic)
                        for tone in (fragment.note.pitch, *fragment.note.also)
                        if isinstance(tone, int)
                    ]


def bar_setting(bar: Bar) -> Hashable:
    """Return all but the tempo that is the same for every player of a bar: cycle, mode, Sa and
    length."""
    stretch = bar.stretch
    return stretch.kind, stretch.cycle, stretch.mode, stretch.tonic, bar.length


def changes_through(bar: Bar) -> bool:
    """Return whether the tempo changes steadily over the whole of a bar's step."""
    return bar.stretch.to_tempo is not None and bar.stretch.since is None
