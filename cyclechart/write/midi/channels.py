"""The channel plan: the voices of all parts on the fifteen pitched channels of a MIDI port.

A bend moves everything on its channel, so a tuned voice shares one only with voices that are bent
alike whenever both sound. Voices of one part share where they can; parts share only where channels
run out. Where even that is not enough, the least important parts lose their tuning, then their own
program; each loss is reported in a sentence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.score import Part, Score, Sound

DRUM_CHANNEL = 9
PITCHED_CHANNELS = tuple(channel for channel in range(16) if channel != DRUM_CHANNEL)

_FAMILY = 8
"""The programs in a family of General MIDI."""

Voice = tuple[int, int]
"""(index of the part, voice of its sounds)."""


@dataclass(frozen=True)
class ChannelPlan:
    """The channel of each voice, the program of each channel, and a sentence about each loss.

    ``tuned``: the indices of the parts that sound tuned, with their curves; the others are in equal
    temperament. ``given_up``: the sentences.
    """

    channels: Mapping[Voice, int]
    programs: Mapping[int, int]
    tuned: frozenset[int]
    given_up: tuple[str, ...] = ()

    def channel_of(self, part: int, voice: int) -> int:
        """Return the channel (from 0) of a voice of a part."""
        return self.channels[part, voice]


def plan_channels(score: Score, *, tuning_standard: bool = False) -> ChannelPlan:
    """Return the channel plan of a score; the same score gives the same plan.

    With ``tuning_standard`` channels are retuned as a whole where the tonic moves, so that sounds
    that overlap on one have to be above the same Sa too.
    """
    return _Planner(score, tuning_standard).run()


@dataclass(frozen=True, slots=True)
class _TunedSpan:
    """The beginning, end, key and tuning of a sound.

    ``tuned``: the setting that its channel needs: cents of its bend, and the key of Sa where
    channels are retuned; None where its pitch moves.
    """

    start: Fraction
    end: Fraction
    key: int
    tuned: tuple[float, int] | None

    def clashes(self, other: _TunedSpan) -> bool:
        """Return whether two sounds that overlap cannot be on one channel."""
        return self.key == other.key or self.tuned is None or self.tuned != other.tuned


@dataclass
class _ChannelGroup:
    """The voices on one channel. ``equal``: none is bent, and clashing notes are cut short."""

    program: int
    voices: list[Voice]
    equal: bool = False

    @property
    def part(self) -> int:
        """The index of the part that was on the channel first."""
        return self.voices[0][0]

    @property
    def parts(self) -> set[int]:
        """The indices of the parts on the channel."""
        return {part for part, _ in self.voices}


class _Planner:
    """Plans the channels of a score, and collects the losses of its parts."""

    def __init__(self, score: Score, retunes: bool) -> None:
        self.score = score
        self.retunes = retunes
        self.pitched = [n for n, part in enumerate(score.parts) if part.program is not None]
        self.tuned = {n for n in self.pitched if score.parts[n].bends}
        self.lost: dict[int, str] = {}
        self.spans_by_voice: dict[Voice, list[_TunedSpan]] = {}

    def run(self) -> ChannelPlan:
        """Return the plan."""
        groups = [group for number in self.pitched for group in self.groups_of(number)]
        if len(groups) > len(PITCHED_CHANNELS):
            groups = self.share_alike(groups)
        for number in self.by_importance():
            if len(groups) <= len(PITCHED_CHANNELS):
                break
            groups = self.on_equal_keys(groups, number)
        while len(groups) > len(PITCHED_CHANNELS):
            groups = self.without_own_program(groups)
        channels = dict(zip(PITCHED_CHANNELS, groups, strict=False))
        return ChannelPlan(
            {voice: channel for channel, group in channels.items() for voice in group.voices},
            {channel: group.program for channel, group in channels.items()},
            frozenset(self.tuned),
            tuple(self.lost[number] for number in sorted(self.lost)),
        )

    def groups_of(self, number: int) -> list[_ChannelGroup]:
        """Return a part's voices on as few channels as they fit on without a clash."""
        part = self.score.parts[number]
        groups: list[_ChannelGroup] = []
        for voice in sorted({sound.voice for sound in part.sounds}):
            alone = _ChannelGroup(part.program or 0, [(number, voice)])
            home = next((group for group in groups if self.fits(group, alone)), None)
            if home is None:
                groups.append(alone)
            else:
                home.voices += alone.voices
        return groups

    def share_alike(self, groups: list[_ChannelGroup]) -> list[_ChannelGroup]:
        """Return the groups after parts of one program share channels, the last part first.

        Nothing is lost by it.
        """
        left = list(groups)
        for group in reversed(groups):
            if len(left) <= len(PITCHED_CHANNELS):
                break
            for home in left[: left.index(group)]:
                alike = self.bends(home) == self.bends(group) and home.program == group.program
                if alike and self.fits(home, group):
                    home.voices += group.voices
                    left.remove(group)
                    break
        return left

    def fits(self, one: _ChannelGroup, other: _ChannelGroup) -> bool:
        """Return whether two groups can be on one channel with nothing lost."""
        return _can_share(
            [self.spans(voice) for voice in one.voices],
            [self.spans(voice) for voice in other.voices],
        )

    def spans(self, voice: Voice) -> list[_TunedSpan]:
        """Return the sounds of a voice; worked out once, and only where they are compared."""
        spans = self.spans_by_voice.get(voice)
        if spans is None:
            number, wanted = voice
            part = self.score.parts[number]
            sounds = [sound for sound in part.sounds if sound.voice == wanted]
            spans = self.spans_by_voice[voice] = [self.span(part, sound) for sound in sounds]
        return spans

    def span(self, part: Part, sound: Sound) -> _TunedSpan:
        base = self.score.tonic.midi if sound.base is None else sound.base
        tuned: tuple[float, int] | None = (0.0, 0)
        if part.bends:
            bend = self.score.tuning.bend(sound.pitch)
            tuned = None if sound.curve else (bend, base if self.retunes else 0)
        return _TunedSpan(sound.start, sound.start + sound.length, base + sound.pitch, tuned)

    def by_importance(self) -> list[int]:
        """Return the pitched parts, that whose tuning is missed least first.

        Of one rank the part listed last comes first.
        """
        parts = self.score.parts
        return sorted(self.pitched, key=lambda n: (parts[n].role.tuning_rank, -n))

    def on_equal_keys(self, groups: list[_ChannelGroup], number: int) -> list[_ChannelGroup]:
        """Return the groups with one part on equal keys on one channel, where that frees any."""
        own = [group for group in groups if number in group.parts]
        if not own:
            return groups
        home = _equal_group(groups, own)
        alone = [group for group in own if group.parts == {number}]
        if len(alone) <= (home is None):
            return groups
        voices = _take_voices_out(own, number)
        if home is None:
            alone[0].voices, alone[0].equal = voices, True
            loss = "has all its voices on one channel"
        else:
            loss = f"shares a channel with {self.name(home.part)}"
            home.voices += voices
        equal = ["is in equal temperament"] if number in self.tuned else []
        self.tuned.discard(number)
        self.lose(number, [*equal, loss])
        return [group for group in groups if group.voices]

    def without_own_program(self, groups: list[_ChannelGroup]) -> list[_ChannelGroup]:
        """Return the groups with the least important part on the channel of another, in its sound.

        The other one is chosen by rank: one already in equal temperament, then the least
        important, then one of the same General MIDI family.
        """
        by_part = {group.part: group for group in groups}
        number = next(number for number in self.by_importance() if number in by_part)
        own = by_part[number]
        others = [group for group in groups if group is not own]
        home = min(
            others,
            key=lambda group: (
                not group.equal,
                self.score.parts[group.part].role.tuning_rank,
                group.program // _FAMILY != own.program // _FAMILY,
                -group.part,
            ),
        )
        for group in (own, home):
            for part in group.parts & self.tuned:
                self.tuned.discard(part)
                self.lose(part, ["is in equal temperament"])
        for part in dict.fromkeys(part for part, _ in own.voices):
            self.lose(part, [f"shares the channel and the sound of {self.name(home.part)}"])
        home.voices += own.voices
        home.equal = True
        return others

    def bends(self, group: _ChannelGroup) -> bool:
        return self.score.parts[group.part].bends

    def name(self, number: int) -> str:
        return self.score.parts[number].name

    def lose(self, number: int, losses: Sequence[str]) -> None:
        """Add losses to the sentence about a part."""
        before = self.lost.get(number)
        if before is None:
            sentence = f"{self.name(number)}: there are 15 channels, so it {' and '.join(losses)}"
        else:
            sentence = f"{before} and {' and '.join(losses)}"
        self.lost[number] = sentence


def _equal_group(
    groups: Sequence[_ChannelGroup], own: Sequence[_ChannelGroup]
) -> _ChannelGroup | None:
    """Return a group in equal temperament with the program of a part's own groups, or None."""
    program = own[0].program
    others = (group for group in groups if group not in own)
    return next((group for group in others if group.equal and group.program == program), None)


def _take_voices_out(groups: Sequence[_ChannelGroup], number: int) -> list[Voice]:
    """Take the voices of a part out of its groups, and return them."""
    voices = [voice for group in groups for voice in group.voices if voice[0] == number]
    for group in groups:
        group.voices = [voice for voice in group.voices if voice[0] != number]
    return voices


def _can_share(one: Sequence[Sequence[_TunedSpan]], other: Sequence[Sequence[_TunedSpan]]) -> bool:
    """Return whether no sound of one side clashes with a sound of the other."""
    sides = [[span for spans in side for span in spans] for side in (one, other)]
    bends = {span.tuned for side in sides for span in side}
    if len(bends) == 1 and None not in bends:
        keys = [{span.key for span in side} for side in sides]
        if not keys[0] & keys[1]:
            return True
    ringing: tuple[list[_TunedSpan], list[_TunedSpan]] = ([], [])
    for start, side, span in _in_time(sides):
        for spans in ringing:
            spans[:] = [before for before in spans if before.end > start]
        if any(span.clashes(before) for before in ringing[1 - side]):
            return False
        ringing[side].append(span)
    return True


def _in_time(sides: Sequence[Sequence[_TunedSpan]]) -> list[tuple[Fraction, int, _TunedSpan]]:
    """Return the sounds of both sides in order of time: the start, the number of the side, the
    sound."""
    entries = [(span.start, number, span) for number, side in enumerate(sides) for span in side]
    return sorted(entries, key=lambda entry: entry[:2])
