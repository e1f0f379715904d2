"""A piece arranged once for all its parts: the bars, and what every player has in each."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property

from cyclechart.arrange.arranger import Arrangement
from cyclechart.arrange.bars import Bar, Passage, passages_of
from cyclechart.arrange.part_content import Content
from cyclechart.arrange.parts.bar_fragments import Fragment, fragments_of
from cyclechart.arrange.parts.repeats import Fold, fold
from cyclechart.arrange.roles.registry import staff_content
from cyclechart.arrange.sheet.model import Key
from cyclechart.arrange.sheet.road_map import RoadStep, road_of
from cyclechart.piece.player import Player
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import (
    Tonic,
    fifths_of,
    nearest_signature,
    written_for,
    written_tonic,
)


@dataclass(frozen=True, eq=False)
class Band(Arrangement):
    """An arrangement as its players read it."""

    _keys: dict[tuple[str, Tonic, Mode], Key] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def passages(self) -> tuple[Passage, ...]:
        """The steps of the form, bar by bar."""
        return passages_of(self.timeline)

    @cached_property
    def bars(self) -> tuple[Bar, ...]:
        """All bars in the order played."""
        return tuple(bar for passage in self.passages for bar in passage.bars)

    @cached_property
    def of_step(self) -> dict[int, list[int]]:
        """The bars of each step, by index."""
        found: dict[int, list[int]] = {}
        for at, bar in enumerate(self.bars):
            found.setdefault(bar.stretch.step, []).append(at)
        return found

    @cached_property
    def road(self) -> tuple[RoadStep, ...]:
        """The form in boxes."""
        return road_of(self.piece, self.timeline)

    @cached_property
    def contents(self) -> dict[str, Content]:
        """What each player reads, by name."""
        return {
            player.name: staff_content(
                self.piece, self.timeline, self.bars, player, self.part(player)
            )
            for player in self.piece.players
        }

    @cached_property
    def fragments(self) -> dict[str, list[tuple[Fragment, ...]]]:
        """What each player has in each bar."""
        return {
            name: fragments_of(content.notes, self.bars) for name, content in self.contents.items()
        }

    def look(self, player: str, index: int) -> Hashable:
        """What has to be alike for a player in bars that are folded."""
        bar = self.bars[index]
        stretch = bar.stretch
        tempo = stretch.tempo_at(bar.start), stretch.tempo_at(bar.end)
        return (
            stretch.kind, stretch.cycle, stretch.mode, stretch.tonic, tempo, bar.length,
            self.contents[player].own[index],
            tuple(fragment.look for fragment in self.fragments[player][index]),
        )  # fmt: skip

    def folds(self, first: int, count: int) -> list[Fold]:
        """How so many bars from an index on are written where all have the same measures."""
        every = range(first, first + count)
        looks = [tuple(self.look(name, at) for name in self.contents) for at in every]
        plain = [
            all(one.slash for parts in self.fragments.values() for one in parts[at]) for at in every
        ]
        return self.folded(first, looks, [False for _ in every], plain)

    def folds_for(self, player: str, first: int, count: int) -> list[Fold]:
        """How they are written for one player alone, cues apart."""
        every = range(first, first + count)
        own, held = self.contents[player].own, self.fragments[player]
        looks = [self.look(player, at) for at in every]
        resting = [not held[at] and not own[at] for at in every]
        plain = [own[at] and all(one.slash for one in held[at]) for at in every]
        return self.folded(first, looks, resting, plain)

    def folded(
        self,
        first: int,
        looks: Sequence[Hashable],
        resting: Sequence[bool],
        plain: Sequence[bool],
    ) -> list[Fold]:
        """Bars from an index on folded; what leads in stands before the others."""
        bars = self.bars[first : first + len(looks)]
        lead = sum(bar.stretch.kind != "metered" for bar in bars)
        folds = fold(looks[:lead], resting[:lead], plain[:lead]) if lead else []
        later = fold(looks[lead:], resting[lead:], plain[lead:]) if lead < len(bars) else []
        return folds + [replace(one, at=one.at + lead) for one in later]

    @cached_property
    def first_note(self) -> Fraction:
        """When the first composed note of a metered line sounds; the end where there is none."""
        starts = (
            note.start
            for content in self.contents.values()
            for note in content.notes
            if self.timeline.at(note.start).kind != "free"
        )
        return min(starts, default=self.timeline.end)

    @cached_property
    def tones(self) -> frozenset[int]:
        """Every tone that the piece sounds or that its modes have."""
        used = {
            note.pitch % 12
            for line in self.piece.lines.values()
            for note in line.notes
            if note.pitch is not None
        }
        return frozenset(used).union(*(mode.up | mode.down for mode in self.piece.modes))

    def key(self, player: Player, tonic: Tonic, mode: Mode) -> Key:
        """How a player reads a mode on a Sa, reckoned once."""
        asked = player.name, tonic, mode
        known = self._keys.get(asked)
        if known is None:
            known = self._keys[asked] = self._key(player, tonic, mode)
        return known

    def _key(self, player: Player, tonic: Tonic, mode: Mode) -> Key:
        transposes = player.instrument.transposes
        read = tonic if transposes % 12 == 0 else written_for(tonic, transposes)
        tones = mode.up | mode.down
        read = written_tonic(read, self.tones, tones)
        # What is an accidental for one reader is one for all: the signature moves with the Sa.
        sounding = written_tonic(tonic, self.tones, tones)
        like = nearest_signature(sounding, tones) + fifths_of(read) - fifths_of(sounding)
        shift = tonic.midi + 12 * player.octave_of_lines - transposes - read.midi
        return Key(read, mode, nearest_signature(read, tones, like), shift)
