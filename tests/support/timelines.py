"""Timelines for the tests of roles, by hand and at random: no piece, no form."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.catalog.instruments import instrument
from cyclechart.catalog.library import Library
from cyclechart.catalog.roles import role_named
from cyclechart.finding import Spot
from cyclechart.piece.player import Player
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

LIBRARY = Library.beside(None)
HERE = Spot("", 1, 1)
D = Tonic("D")


def mode(name: str) -> Mode:
    made, _ = LIBRARY.mode(name, HERE)
    assert made is not None
    return made


def cycle(name: str) -> Cycle:
    made, _ = LIBRARY.cycle(name, HERE)
    assert made is not None
    return made


MODES = tuple(name for shelf in LIBRARY.modes for name in shelf.names())
CYCLES = tuple(dict.fromkeys(LIBRARY.cycle_spellings().values()))
ODD = (
    Cycle(
        name="Eleven and a Half",
        beats=Fraction(23, 2),
        sections=(Fraction(4), Fraction(4), Fraction(7, 2)),
        stressed=(Fraction(1), Fraction(9)),
        open=(Fraction(5),),
    ),
    Cycle(name="One", beats=Fraction(1), sections=(Fraction(1),), stressed=(Fraction(1),)),
    Cycle(name="A Half", beats=Fraction(1, 2), sections=(Fraction(1, 2),), stressed=()),
    Cycle(name="Long", beats=Fraction(29), sections=(Fraction(29),), stressed=(Fraction(1),)),
    Cycle(
        name="Open", beats=Fraction(5), sections=(Fraction(5),), stressed=(), open=(Fraction(1),)
    ),
    Cycle(
        name="Quarters",
        beats=Fraction(27, 4),
        sections=(Fraction(9, 4),) * 3,
        stressed=(Fraction(1),),
        open=(Fraction(13, 4),),
    ),
)


def player(name: str, plays: str, octave: int = 0) -> Player:
    made = instrument(name)
    assert made is not None
    return Player(name, made, role_named(plays), HERE, octave)


def stretch(
    cycle: Cycle, mode: Mode, cycles: int = 4, tempo: int = 92, tonic: Tonic = D, **more: object
) -> Stretch:
    """So many metered cycles from 0; ``timeline_of`` puts it in its place."""
    given: dict[str, object] = {"kind": "metered", "label": "", **more}
    end = cycle.beats * cycles
    return Stretch(
        start=Fraction(0), end=end, tempo=Fraction(tempo), cycle=cycle, mode=mode, tonic=tonic,
        **given,  # type: ignore[arg-type]
    )  # fmt: skip


def timeline_of(*stretches: Stretch, closing: Fraction | None = None) -> Timeline:
    """Stretches end to end."""
    now = Fraction(0)
    placed = []
    for one in stretches:
        length = one.end - one.start
        moved = {name: getattr(one, name) for name in one.__slots__}
        placed.append(Stretch(**{**moved, "start": now, "end": now + length}))
        now += length
    return Timeline(tuple(placed), (), now, closing)


EIGHTHS = st.integers(1, 56).map(lambda number: Fraction(number, 8))
WHOLE = st.integers(1, 9).map(Fraction)


@st.composite
def random_cycles(draw: st.DrawFn) -> Cycle:
    """Sections whole or in eighths, each clapped, open or neither, in any gati or none."""
    sections = tuple(draw(st.lists(WHOLE | WHOLE | EIGHTHS, min_size=1, max_size=5)))
    starts = [sum(sections[:number], Fraction(0)) for number in range(len(sections))]
    signs = [draw(st.sampled_from(["clap", "wave", ""])) for _ in sections]
    stressed = tuple(at + 1 for at, sign in zip(starts, signs, strict=True) if sign == "clap")
    waves = tuple(at + 1 for at, sign in zip(starts, signs, strict=True) if sign == "wave")
    gati = draw(st.sampled_from([0, 0, 3, 4, 5, 7, 9]))
    return Cycle(
        name="Random",
        beats=sum(sections, Fraction(0)),
        sections=sections,
        stressed=stressed,
        open=waves,
        gati=gati,
    )


@st.composite
def random_timelines(draw: st.DrawFn) -> Timeline:
    """Stretches of all kinds, of any mode, tonic and tempo, some of them changing gradually."""
    made = []
    tonic, kept = D, mode(draw(st.sampled_from(MODES)))
    for _ in range(draw(st.integers(1, 4))):
        if draw(st.booleans()):
            tonic = Tonic(draw(st.sampled_from("CDEFGAB")), draw(st.sampled_from([-1, 0, 0, 1])))
        if draw(st.booleans()):
            kept = mode(draw(st.sampled_from(MODES)))
        made.append(
            stretch(
                draw(random_cycles() | st.sampled_from(ODD)),
                kept,
                draw(st.integers(1, 5)),
                draw(st.integers(20, 400)),
                tonic,
                kind=draw(st.sampled_from(["metered", "metered", "free", "count-in", "lead-in"])),
                level=draw(st.sampled_from(["", "pp", "mf", "ff"])),
                to_tempo=draw(st.none() | st.integers(20, 400).map(Fraction)),
            )
        )
    return timeline_of(*made)
