"""The sound of each player as it goes into the mix, filtered if it is for loudspeakers."""

from __future__ import annotations

from collections.abc import Iterator

from cyclechart.catalog.roles import Speaker
from cyclechart.sound.loudspeaker import SpeakerFilter
from cyclechart.sound.rate import Wave
from cyclechart.write.audio.performance import KIT, PartEvents
from cyclechart.write.audio.sound_options import SoundOptions
from cyclechart.write.audio.stems import stem

KIT_SPEAKER = Speaker(level=0.0, shelf=2.0, partials=-3.0)
"""A drum kit's, whose bass drum is below what a phone plays."""


def speaker_of(part: PartEvents) -> Speaker:
    """Return how a player differs on a loudspeaker."""
    return KIT_SPEAKER if part.voice == KIT else part.role.speaker


def player_stem(
    part: PartEvents, frames: int, options: SoundOptions, seamless: bool = False
) -> Iterator[Wave]:
    """Yield the first ``frames`` of a player in mono blocks, as ``stem`` does."""
    if not options.for_loudspeakers:
        yield from stem(part, frames, seamless, options.font)
        return
    _, shelf, partials = speaker_of(part)
    speaker = SpeakerFilter(shelf, partials)
    if seamless:
        # At the beginning of a loop the filters still ring from its end.
        for block in stem(part, frames, True, options.font):
            speaker.filtered(block)
    for block in stem(part, frames, seamless, options.font):
        yield speaker.filtered(block)
