"""What a bass player reads: the names of its tones, from the bass's own lowest Sa."""

from __future__ import annotations

import pytest
from support.making import piece_of

from cyclechart.arrange.bars import bars_of
from cyclechart.arrange.roles.bass import pedal_content, pedal_part
from cyclechart.arrange.unroller import unroll

PIECE = """\
players: {{flute: , double-bass: {{plays: pedal, octave: {octave}}}}}
lines:
  head: {{lands: free, sargam: S -}}
form:
  - groove: 4
"""


@pytest.mark.parametrize("octave", [-1, 0, 1])
@pytest.mark.parametrize("tonic", ["D", "A"])
def test_the_octave_of_a_name_is_that_of_the_bass(tonic: str, octave: int) -> None:
    """The lowest Sa of the bass is S without a dot, in whatever octave it plays; charukeshi's
    second tone P is the one above it or, with a dot, the one below."""
    piece = piece_of(PIECE.format(octave=octave), tonic=tonic, cycle="tintal")
    timeline = unroll(piece)
    bass = piece.players[1]
    part = pedal_part(timeline, bass)
    floor = min(sound.pitch for sound in part.sounds if sound.pitch % 12 == 0)
    assert floor < 0
    content = pedal_content(piece, timeline, bars_of(timeline), bass, part)
    assert len(content.notes) == len(part.sounds) > 4
    named = {note.pitch: note.under for note in content.notes}
    assert named == {pitch: (pitch - floor,) for pitch in {sound.pitch for sound in part.sounds}}
    assert named[floor] == (0,)
