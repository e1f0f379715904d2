"""The arrangement of a piece as its players read it: bars, contents and fragments."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property

from cyclechart.arrange.arranger import Arrangement
from cyclechart.arrange.bars import Bar, Passage, passages_of
from cyclechart.arrange.part_content import StaffContent
from cyclechart.arrange.parts.bar_fragments import Fragment, fragments_of
from cyclechart.arrange.parts.repeats import WrittenBar, fold_bars
from cyclechart.arrange.roles.registry import staff_content
from cyclechart.arrange.sheet.measures import Measure, measures_of
from cyclechart.arrange.sheet.model import StaffKey
from cyclechart.arrange.sheet.road_map import FormBox, road_map_of
from cyclechart.piece.player import Player
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
                self.piece, self.timeline, self.bars, player, self.part(player)
            )
            for player in self.piece.players
        }

    @cached_property
    def fragments(self) -> dict[str, list[tuple[Fragment, ...]]]:
        """The fragments of notes of each player (by name) in each bar."""
        return {
            name: fragments_of(content.notes, self.bars) for name, content in self.contents.items()
        }

    def content_key(self, player: str, index: int) -> int:
        """Return a number that is equal for bars in which a player reads the same."""
        return self._content_keys[player][index]

    @cached_property
    def _content_keys(self) -> dict[str, list[int]]:
        """The key of each bar by player: long keys are numbered, so that bars compare fast."""
        numbers: dict[Hashable, int] = {}

        def number(key: Hashable) -> int:
            return numbers.setdefault(key, len(numbers))

        settings = [number(bar_setting(bar)) for bar in self.bars]
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
        keys = [tuple(self.content_key(name, at) for name in self.contents) for at in indices]
        plain = [
            all(fragment.slash for parts in self.fragments.values() for fragment in parts[at])
            for at in indices
        ]
        return self._folded(first, keys, [False for _ in indices], plain)

    def part_bars(self, player: str, first: int, count: int) -> list[WrittenBar]:
        """Return the written bars of ``count`` bars from an index on for one player, without
        cues."""
        indices = range(first, first + count)
        left_open, fragments = self.contents[player].left_open, self.fragments[player]
        keys = [self.content_key(player, at) for at in indices]
        resting = [not fragments[at] and not left_open[at] for at in indices]
        plain = [
            left_open[at] and all(fragment.slash for fragment in fragments[at]) for at in indices
        ]
        return self._folded(first, keys, resting, plain)

    def _folded(
        self,
        first: int,
        keys: Sequence[Hashable],
        resting: Sequence[bool],
        plain: Sequence[bool],
    ) -> list[WrittenBar]:
        """Return the written bars from an index on; a count-in or lead-in is folded separately."""
        bars = self.bars[first : first + len(keys)]
        lead = sum(bar.stretch.kind != "metered" for bar in bars)
        written = fold_bars(keys[:lead], resting[:lead], plain[:lead]) if lead else []
        later = fold_bars(keys[lead:], resting[lead:], plain[lead:]) if lead < len(bars) else []
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
        transposes = player.instrument.transposes
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
    """Return all that is the same for every player of a bar: cycle, mode, Sa, tempo, length."""
    stretch = bar.stretch
    tempo = stretch.tempo_at(bar.start), stretch.tempo_at(bar.end)
    return stretch.kind, stretch.cycle, stretch.mode, stretch.tonic, tempo, bar.length
