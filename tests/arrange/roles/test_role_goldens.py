"""What the roles make of cycles, modes and single notes, as text in tests/golden/arrange.

To renew all after a change that is meant: ``python tests/arrange/test_goldens.py``. The tests
beside this one hold that each is right; here nothing moves unseen.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction as F
from pathlib import Path
from typing import get_args

import pytest

ROOT = Path(__file__).parents[3]
sys.path.insert(0, str(ROOT / "tests"))

from support.text_dumps import flat  # noqa: E402
from support.timelines import (  # noqa: E402
    CYCLES,
    HERE,
    MODES,
    ODD,
    cycle,
    mode,
    player,
    stretch,
    timeline_of,
)

from cyclechart.arrange.roles.bass import bass_figure, lead_into_sa, pedal_part  # noqa: E402
from cyclechart.arrange.roles.drone import drone_part, string_pitches  # noqa: E402
from cyclechart.arrange.roles.drummer import stretch_claps  # noqa: E402
from cyclechart.arrange.roles.ornaments import next_above, next_below, note_sounds  # noqa: E402
from cyclechart.arrange.roles.theka import ThekaStroke, theka  # noqa: E402
from cyclechart.arrange.roles.theka_rows import beat_strokes  # noqa: E402
from cyclechart.arrange.roles.theka_variations import (  # noqa: E402
    Variation,
    cycle_plan,
    theka_variation,
    varied_theka,
    with_fill,
)
from cyclechart.arrange.roles.voicing_choices import voiced_tones  # noqa: E402
from cyclechart.arrange.roles.voicings import voicings_part  # noqa: E402
from cyclechart.arrange.score import Sound  # noqa: E402
from cyclechart.piece.note import Note  # noqa: E402
from cyclechart.theory.cycle import KINDS, Cycle, groups_of  # noqa: E402
from cyclechart.theory.spelling import Tonic  # noqa: E402
from cyclechart.theory.tuning import EQUAL, JUST_TUNING  # noqa: E402

GOLDEN = ROOT / "tests" / "golden" / "arrange"
EVERY_CYCLE = [*map(cycle, CYCLES), *ODD]
SOME = [cycle(name) for name in ("tintal", "jhaptal", "rupak", "adi", "dhamar")] + list(ODD)
GATIS = [one.in_gati(kind) for one in (*SOME[2:4], ODD[0]) for kind in KINDS]
SECONDS = (F(1, 10), F(1, 4), F(1, 2), F(4, 5), F(2), F(4))


def said(beats: Sequence[ThekaStroke]) -> str:
    """Strokes with their times, a row."""
    return " ".join(f"{beat.at}+{beat.length}:{beat.syllable}" for beat in beats)


def thekas() -> Iterator[str]:
    """Every cycle's strokes, its row of text, and how it is clapped."""
    for one in [*EVERY_CYCLE, *GATIS]:
        yield f"{one.name}: {said(theka(one))}"
        yield "  " + " ".join(f"{at}:{text}" for at, text in beat_strokes(one))
        claps = stretch_claps(stretch(one, mode("yaman"), 1))
        yield "  " + " ".join(f"{hit.start}+{hit.length}:{hit.key} {hit.velocity}" for hit in claps)
    for size in range(13):
        yield f"{size}: {groups_of(size)}"
    for sections in range(1, 20):
        yield said(theka(_plain(sections)))
        yield said(theka(_plain(sections, F(3, 4), F(2))))
        yield said(theka(_plain(sections, F(1, 3), F(1))))


def _plain(size: int, *more: F) -> Cycle:
    """A cycle of a long section and some short ones."""
    sections = (F(size) + sum(more[:1]), F(1), F(2), F(size), *more)
    return Cycle(
        name="plain", beats=sum(sections, F(0)), sections=sections, stressed=(F(1),),
        open=(1 + sections[0],),
    )  # fmt: skip


def variations() -> Iterator[str]:
    """Thekas varied: by way, by number, by speed."""
    for every, seed in ((4, 1), (4, 7), (3, 2), (0, 5), (4, 0)):
        plans = [cycle_plan(number, every, seed) for number in range(17)]
        yield flat([f"{plan.variation} {plan.into_sam}" for plan in plans])
    for one in [*SOME, *GATIS[::3]]:
        pattern = theka(one)
        for way in get_args(Variation):
            for seconds in SECONDS[1::2]:
                beats = theka_variation(one, pattern, way, 1, 3, seconds)
                yield f"{one.name} {way} {seconds}: {said(beats)}"
        for seconds in (F(1, 20), *SECONDS):
            for number in (1, 3, 5, 7):
                beats = varied_theka(one, pattern, number, 11, seconds)
                yield f"{one.name} {number} {seconds}: {said(beats)}"
        for length in (F(1, 2), F(1), F(3), F(9)):
            for parts in (1, 2, 4):
                beats = with_fill(one, pattern, length, 3, 2, parts)
                yield f"{one.name} {length} {parts}: {said(beats)}"


def modes() -> Iterator[str]:
    """What drone_part, bass, voicings_part and ornaments take from each mode."""
    for name in MODES:
        one = mode(name)
        above = [next_above(pitch, one) for pitch in range(-3, 14)]
        below = [next_below(pitch, one) for pitch in range(-3, 14)]
        facts = (string_pitches(one), lead_into_sa(one), sorted(voiced_tones(one)), above, below)
        yield f"{name}: {flat(facts)}"


def basses() -> Iterator[str]:
    """Figures of the bass for every cycle."""
    for one in [*EVERY_CYCLE, _plain(4, F(3, 4), F(2))]:
        for name in ("yaman", "marwa", "bhimpalasi", "malkauns"):
            for number in range(4):
                figure = list(bass_figure(one, mode(name), number))
                yield f"{one.name} {name} {number}: {flat(figure)}"


def _sounds(sounds: Sequence[Sound]) -> str:
    return " ".join(
        f"{s.start}+{s.length}:{s.pitch} {s.velocity} {s.voice} {s.base or ''}" for s in sounds
    )


def accompaniments() -> Iterator[str]:
    """Voicings, bass and drone_part under stretches of several kinds."""
    for tonic, name, tempo in (
        ("C", "yaman", 92), ("F#", "marwa", 33), ("Bb", "malkauns", 210), ("E", "hamsadhwani", 410),
        ("A", "bhairav", 150), ("G", "lalit", 60),
    ):  # fmt: skip
        sa = Tonic(tonic[0], {"": 0, "#": 1, "b": -1}[tonic[1:]])
        for one in (SOME[0], SOME[2], ODD[0], cycle("dadra")):
            timeline = timeline_of(
                stretch(one, mode(name), 1, tempo, sa, kind="count-in"),
                stretch(one, mode(name), 5, tempo, sa, level="pp"),
                stretch(one, mode("bhimpalasi"), 1, tempo, sa, kind="free"),
                stretch(one, mode("bhimpalasi"), 4, tempo, Tonic("D", -1), to_tempo=F(tempo + 40)),
                stretch(one, mode("bhimpalasi"), 3, tempo, Tonic("D", -1), soloist="piano"),
            )
            head = f"{tonic} {name} {one.name} {tempo}"
            chords = voicings_part(timeline, player("piano", "voicings")).sounds
            yield f"{head} voicings {_sounds(chords)}"
            high = player("guitar", "voicings", 1)
            yield f"{head} an octave up {_sounds(voicings_part(timeline, high).sounds[:30])}"
            bass = pedal_part(timeline, player("double-bass", "pedal")).sounds
            drone = drone_part(timeline, player("tanpura", "drone")).sounds
            yield f"{head} bass {_sounds(bass)}"
            yield f"{head} drone {_sounds(drone[:60])}"
            parts = [flat(list(one.even_parts(seconds))) for one in timeline.stretches[:3]
                     for seconds in (3, 8)]  # fmt: skip
            yield f"{head} parts {' '.join(parts)}"


MARKS = ("", "trill", "mordent", "gamak", "andolan", "staccato", "staccato tenuto", "fermata")


def ornaments() -> Iterator[str]:
    """Single notes as they are heard: sounds, lengths, curves."""
    yaman = mode("yaman")
    after = Note(F(0), F(1), HERE, pitch=7, grace=(9,))
    for marks in MARKS:
        for grace in ((), (2,), (2, 5), (2, 5, 2, 5, 7), (2, "x")):
            for glides, following in ((False, after), (True, after), (True, None)):
                for tempo in (F(17), F(45), F(92), F(251))[len(grace) // 2 :]:
                    for length in (F(1, 8), F(1), F(7, 3), F(6)):
                        if (grace or following is None) and length not in (1, F(7, 3)):
                            continue
                        note = Note(
                            F(0), length, HERE, pitch=4, grace=grace, glides=glides,
                            marks=tuple(marks.split()),
                        )  # fmt: skip
                        tuning = JUST_TUNING if tempo > 60 else EQUAL
                        heard = note_sounds(note, following, F(3), length, tempo, 90, yaman, tuning)
                        whole = tempo == 92 and length > 1 and not grace
                        yield f"{marks} {grace} {glides} {following is None} {tempo} {length}: " + (
                            "; ".join(flat(one, whole_curves=whole) for one in heard)
                        )


KINDS_OF: dict[str, Callable[[], Iterator[str]]] = {
    "thekas": thekas,
    "variations": variations,
    "modes": modes,
    "basses": basses,
    "accompaniments": accompaniments,
    "ornaments": ornaments,
}


def made(kind: str) -> str:
    """The text of a kind."""
    return "\n".join(KINDS_OF[kind]()) + "\n"


@pytest.mark.parametrize("kind", KINDS_OF)
def test_what_a_role_makes_is_what_it_made_before(kind: str) -> None:
    assert made(kind) == (GOLDEN / f"{kind}.txt").read_text("utf-8")


if __name__ == "__main__":
    for kind in KINDS_OF:
        (GOLDEN / f"{kind}.txt").write_text(made(kind), "utf-8")
