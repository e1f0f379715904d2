"""The renderings for rehearsing a piece: the band, all but one player, single lines, slower
versions, loops of sections, and the drone.

Each is a score with a name; no sound is computed here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.bars import Passage
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.rehearse import score_transforms as renderings
from cyclechart.arrange.rehearse import sing_back as practice
from cyclechart.arrange.roles.drone import PLUCK_SECONDS, SOFT, string_pitches
from cyclechart.arrange.roles.drone_plucks import varied_sounds
from cyclechart.arrange.score import PLUCKED, Marker, Part, Score, Sound, TempoMark, is_plucked
from cyclechart.catalog.roles import DRONE
from cyclechart.piece.heading import FASTEST, SLOWEST
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Free, Play, Step
from cyclechart.theory.exact import show_exact

LADDER = tuple(Fraction(percent, 100) for percent in (60, 70, 80, 90))
"""The factors of the slower versions; the full tempo is the band itself."""
ROUNDS, MOST_LOOPED = 4, 32
"""The times that a section is looped, and the most cycles in all."""
DRONE_MINUTES = 30
ROUND_SECONDS = 90
"""Seconds of one round of the drone, which is repeated without a seam."""
LINE_TIMES = 2
"""The times that a single line is played."""


@dataclass(frozen=True)
class Rendering:
    """A file to rehearse with: ``name`` is its stem, ``about`` a description for readers.

    ``out``: names of the score's players who are silent. ``rounds``: the times that it is repeated
    without a seam; 0 for once, with its last notes ringing out.
    """

    name: str
    about: str
    score: Score
    out: frozenset[str] = frozenset()
    rounds: int = 0


def renderings_of(piece: Piece, *, plain: bool = False) -> tuple[Rendering, ...]:
    """Return all renderings of a piece in the order in which they are listed; ``plain``: without
    phrasing."""
    names: set[str] = set()
    return tuple(
        replace(rendering, name=_unique(rendering.name, names))
        for rendering in _all_renderings(piece, Band(piece, plain))
    )


def _all_renderings(piece: Piece, band: Band) -> Iterator[Rendering]:
    score = band.score
    yield Rendering("band", "the whole band", score)
    sounding = [
        part for part in score.parts if not part.role.is_count and (part.sounds or part.hits)
    ]
    for part in sounding if len(sounding) > 1 else ():
        yield Rendering(
            f"without-{part.name}", f"without {part.name}", score, frozenset({part.name})
        )
    for factor in LADDER:
        slowest = min((mark.tempo for mark in score.tempos), default=SLOWEST)
        if SLOWEST <= slowest * factor <= FASTEST:
            percent = show_exact(factor * 100)
            yield Rendering(
                f"slow-{percent}", f"the whole band at {percent}% of the tempo",
                renderings.at_tempo(score, factor),
            )  # fmt: skip
    yield from _line_renderings(piece, band.plain)
    for passage in band.passages:
        yield from _loop_renderings(piece, band, score, passage)
    if any(line.kind == "melody" and not line.free for line in piece.standing_lines):
        yield Rendering(
            "sing-back", "each melody, then as long to sing it back",
            arrange(practice.call_and_response(piece), plain=band.plain),
        )  # fmt: skip
    claps = renderings.with_claps(score, practice.timeline_claps(band.timeline))
    others = frozenset(part.name for part in claps.parts if not part.role.is_count)
    if len(others) < len(claps.parts):
        yield Rendering("claps", "claps and waves alone, all through", claps, others)
    yield drone_alone(piece)


def _unique(name: str, taken: set[str]) -> str:
    plain = re.sub(r"[^\w-]+", "-", name.lower()).strip("-_")[:60] or "rendering"
    name, number = plain, 2
    while name in taken:
        name, number = f"{plain}-{number}", number + 1
    taken.add(name)
    return name


def _line_renderings(piece: Piece, plain: bool) -> Iterator[Rendering]:
    """Yield a rendering of each melody line alone, with drone and hand drums and a count-in."""
    for line in piece.standing_lines:
        if line.kind != "melody":
            continue
        step = next((candidate for candidate in piece.steps if line.name in candidate.uses), None)
        line_piece = _line_piece(piece, line, step)
        score = arrange(line_piece, plain=plain)
        # Not every melody player has this line.
        first = next((part for part in score.parts if part.role.plays_melody and part.sounds), None)
        drums = [part for part in score.parts if part.role.keeps_time]
        out = {
            part.name for part in score.parts if not _is_accompaniment(part) and part is not first
        }
        out |= {part.name for part in drums[1:]}
        yield Rendering(
            f"line-{line.name}", _about_line(line), score, frozenset(out),
        )  # fmt: skip


def _is_accompaniment(part: Part) -> bool:
    """Return True for a part that keeps Sa or the time under a line."""
    return part.role.is_drone or part.role.keeps_time or part.role.is_count


def _about_line(line: Line) -> str:
    with_drums = "the drone" if line.free else "drone and hand drums"
    return f"the line {line.name}, twice, with {with_drums}"


def _line_piece(piece: Piece, line: Line, step: Step | None) -> Piece:
    """Return a piece of one line, in the cycle, mode and Sa of its step in the form."""
    state = replace(step.state if step is not None else piece.state, to_tempo=None)
    if isinstance(step, Free):
        # Keeps the length that the form gives it.
        return replace(piece, form=(replace(step, times=LINE_TIMES, state=state),))
    who: tuple[Player, ...] = ()
    if step is not None:
        who = tuple(piece.players_of(step, line.name))
    parts = ((line.name, tuple(player.name for player in who[:1])),)
    return replace(piece, form=(Play(spot=line.spot, times=LINE_TIMES, state=state, parts=parts),))


def _loop_renderings(
    piece: Piece, band: Band, score: Score, passage: Passage
) -> Iterator[Rendering]:
    """Yield a loop of a section with a count-in; nothing for a free passage."""
    numbers = [bar.number for bar in passage.bars if bar.number]
    whole = [bar for bar in passage.bars if bar.number and bar.whole]
    if passage.step < 0 or passage.free:
        return
    box = band.road[passage.step]
    name = f"loop-{box.letter}-{box.name}"
    if not whole:
        about = f"section {box.letter}, {box.name}"
        yield from _pickup_renderings(band, name, about, passage)
        return
    first, last = numbers[0], whole[-1].number
    times = max(1, min(ROUNDS, MOST_LOOPED // (last - first + 1)))
    start = next(bar.start for bar in passage.bars if bar.number == first)
    pickup = practice.pickup_to(band.timeline, start)
    loop = renderings.only_cycles(
        score, first, last, count=practice.cycle_claps(band.timeline, start), pickup=pickup
    )
    about = f"section {box.letter}, {box.name}"
    if times > 1:
        loop = practice.looped_with_pickup(loop, times, pickup)
        about += f", {times} times over"
    yield Rendering(name, about, loop)


def _pickup_renderings(band: Band, name: str, about: str, passage: Passage) -> Iterator[Rendering]:
    """Yield a loop of a step that is only a pickup (a last cadence), with room before each time."""
    piece = band.piece
    step = piece.steps[passage.step]
    if isinstance(step, Play):
        state = replace(step.state, to_tempo=None)
        form = (replace(step, times=ROUNDS, state=state),)
        score = arrange(replace(piece, form=form), plain=band.plain)
        yield Rendering(name, f"{about}, {ROUNDS} times over", score)


def drone_alone(piece: Piece) -> Rendering:
    """Return half an hour of the drone, in the tuning at the beginning of the piece.

    Its score is one round, which is repeated without a seam.
    """
    player = next((candidate for candidate in piece.players if candidate.role.is_drone), None)
    octave = player.octave if player is not None else 0
    pitches = [pitch + 12 * octave for pitch in string_pitches(piece.mode, player)]
    # At 60 beats a minute a beat is a second.
    end = int(ROUND_SECONDS / PLUCK_SECONDS) * PLUCK_SECONDS
    voice = player.instrument.voice if player is not None else PLUCKED
    sounds = _round_of_plucks(pitches, end, varied=is_plucked(DRONE, voice))
    name = player.name if player is not None else "drone"
    part = Part(name, DRONE, 0, sounds, voice=voice)
    score = Score(
        title=piece.title,
        composer=piece.composer,
        tonic=piece.tonic,
        tuning=piece.tuning,
        tempos=(TempoMark(Fraction(0), Fraction(60)),),
        meters=(),
        markers=(Marker(Fraction(0), "drone"),),
        parts=(part,),
        end=end,
    )
    about = f"the drone alone for {DRONE_MINUTES} minutes; it comes round without a seam"
    return Rendering("drone", about, score, rounds=DRONE_MINUTES * 60 // ROUND_SECONDS)


def _round_of_plucks(pitches: Sequence[int], end: Fraction, varied: bool) -> tuple[Sound, ...]:
    """Return the plucks of a round of the drone, in seconds; strings ring over its end into the
    next one, until they are plucked again."""
    strings = len(pitches)
    even = [
        Sound(number * PLUCK_SECONDS, strings * PLUCK_SECONDS, pitches[number % strings],
              SOFT, voice=number % strings)
        for number in range(int(end / PLUCK_SECONDS))
    ]  # fmt: skip
    plucks = varied_sounds(even, [Fraction(1)] * len(even), "round") if varied else even
    again = [*plucks, *(replace(pluck, start=pluck.start + end) for pluck in plucks[:strings])]
    return tuple(
        replace(pluck, length=after.start - pluck.start)
        for pluck, after in zip(plucks, again[strings:], strict=True)
    )
