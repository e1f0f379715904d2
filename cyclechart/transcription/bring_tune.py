"""A tune brought: which voices, which Sa, mode and cycle, and the text of the piece."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from cyclechart.catalog.library import Library
from cyclechart.finding import Spot
from cyclechart.piece.heading import read_tonic
from cyclechart.text.excerpts import clip
from cyclechart.text.near_names import nearest_names
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic
from cyclechart.transcription.cycle_choice import CycleChoice, choices, named
from cyclechart.transcription.losses import Losses
from cyclechart.transcription.mode_choice import ModeChoice, Sa, guessed_mode, guessed_sa
from cyclechart.transcription.piece_draft import MeterKey, Setting, draft_of, key_of
from cyclechart.transcription.refusal import CannotRead
from cyclechart.transcription.sections import Section, Sections, sections_of
from cyclechart.transcription.tune import Loss, Meter, Tune, TuneNote, TuneVoice

MOST_VOICES = 6
"""The most voices that are brought together."""


class Wishes(NamedTuple):
    """What somebody gives themselves in place of a guess; None for each that they do not."""

    tonic: str | None = None
    mode: str | None = None
    cycle: str | None = None
    voice: str | None = None


class Brought(NamedTuple):
    """A piece's text, what was chosen and why (a sentence each), and what was lost."""

    text: str
    chosen: tuple[str, ...]
    losses: tuple[Loss, ...]


Ask = Callable[[Meter, Sequence[CycleChoice]], CycleChoice]
"""Chooses one of several cycles that fit a meter."""


def the_likeliest(_meter: Meter, fitting: Sequence[CycleChoice]) -> CycleChoice:
    """Choose the first."""
    return fitting[0]


def bring_tune(tune: Tune, library: Library, wishes: Wishes, ask: Ask = the_likeliest) -> Brought:
    """Return a tune as a piece."""
    losses = Losses()
    voices, said = _voices(tune, wishes.voice)
    given = None if wishes.cycle is None else _given_cycle(library, wishes.cycle)
    if given is not None and not any(meter.beats for meter in tune.meters):
        tune = replace(tune, meters=(Meter(Fraction(0), given[1].beats, name=given[0].name),))
    parted = sections_of(tune, losses)
    cycles = _cycles(library, parted, given, ask)
    sa = _sa(tune, voices, wishes.tonic)
    mode = _mode(library, tune, voices, parted, sa.tonic, wishes.mode)
    setting = Setting(sa.letter, sa.tonic, mode.written, cycles)
    draft = draft_of(tune, voices, parted, setting, losses)
    chosen = (*said, *_reasons(sa, mode, cycles, wishes))
    return Brought(draft.text, chosen, (*tune.losses, *draft.losses))


def _voices(tune: Tune, wanted: str | None) -> tuple[tuple[TuneVoice, ...], list[str]]:
    """Return the voices that are asked for, or the first, and which there are."""
    names = [voice.name for voice in tune.voices]
    listed = ", ".join(f"{at} {name}" for at, name in enumerate(names, start=1))
    if wanted is None:
        first = tune.voices[:1]
        if len(tune.voices) == 1:
            return first, []
        return first, [f"voice: 1 {names[0]}, the first of {listed}; --voice takes others, or all"]
    if wanted.strip().lower() == "all":
        found = list(range(len(names)))
    else:
        found = [_voice(one.strip(), names, listed) for one in wanted.split(",")]
    if len(found) > MOST_VOICES:
        what = f"at most {MOST_VOICES} voices can be brought together, not {len(found)}"
        raise CannotRead(what, "", "--voice 1,2")
    return tuple(tune.voices[at] for at in dict.fromkeys(found)), []


def _voice(wanted: str, names: Sequence[str], listed: str) -> int:
    """Return the index of a voice that is named or numbered."""
    if wanted.isascii() and wanted.isdigit() and len(wanted) < 4 and 0 < int(wanted) <= len(names):
        return int(wanted) - 1
    for at, name in enumerate(names):
        if name.lower() == wanted.lower():
            return at
    raise CannotRead(f"there is no voice '{clip(wanted)}'; it has {listed}", "", "--voice 1")


def _given_cycle(library: Library, name: str) -> tuple[CycleChoice, Cycle]:
    choice = named(library, name)
    if choice is None:
        near = nearest_names(name, library.cycle_spellings())
        raise CannotRead(f"there is no cycle '{clip(name)}'", "", *near)
    return choice, _cycle_of(library, choice)


def _cycle_of(library: Library, choice: CycleChoice) -> Cycle:
    """Return the cycle of a choice; for one that is written out its beats are enough."""
    found = library.cycle(choice.name, Spot("", 1, 1, 0))[0] if choice.name else None
    if found is not None:
        return found
    return Cycle(name="", beats=choice.beats, sections=choice.sections, stressed=(Fraction(1),))


def _cycles(
    library: Library, parted: Sections, given: tuple[CycleChoice, Cycle] | None, ask: Ask
) -> dict[MeterKey, tuple[CycleChoice, Cycle]]:
    """Return the cycle of each meter, in the order in which the meters come."""
    found: dict[MeterKey, tuple[CycleChoice, Cycle]] = {}
    for section in parted.sections:
        key = key_of(section.meter)
        if not section.meter.beats or key in found:
            continue
        if given is not None:
            found[key] = given
            continue
        same = [one for one in parted.sections if key_of(one.meter) == key]
        fitting = choices(library, section.meter, same)
        choice = ask(section.meter, fitting) if len(fitting) > 2 else fitting[0]
        found[key] = choice, _cycle_of(library, choice)
    if not found:
        plain = Meter(Fraction(0), Fraction(8), name="no meter")
        choice = choices(library, plain, [])[0]._replace(reason="the tune has no meter")
        found[key_of(plain)] = choice, _cycle_of(library, choice)
    return found


def _sa(tune: Tune, voices: Sequence[TuneVoice], wanted: str | None) -> Sa:
    letter = wanted if wanted is not None else tune.tonic
    if letter:
        tonic = read_tonic(letter)
        if tonic is None:
            what = f"'{clip(letter)}' is not a letter name for Sa"
            raise CannotRead(what, "", "--tonic D", "--tonic Eb")
        reason = "given" if wanted is not None else "as the file names it"
        return Sa(letter.strip(), tonic, reason)
    if tune.from_sa:
        return Sa("C", Tonic("C"), "the file names no letter for Sa")
    return guessed_sa(tune, voices[0].notes)


def _mode(
    library: Library,
    tune: Tune,
    voices: Sequence[TuneVoice],
    parted: Sections,
    tonic: Tonic,
    wanted: str | None,
) -> ModeChoice:
    name = wanted if wanted is not None else tune.mode
    if name:
        found = library.mode(name, Spot("--mode", 1, 1, len(name)))
        if found[0] is not None:
            reason = "given" if wanted is not None else "as the file names it"
            return ModeChoice(name, name, reason, ())
        if wanted is not None:
            near = [one for finding in found[1] for one in finding.tries]
            raise CannotRead(f"there is no mode '{clip(name)}'", "", *near)
    lines = [_in_section(voice.notes, section) for voice in voices for section in parted.sections]
    return guessed_mode(library, lines, 0 if tune.from_sa else tonic.midi, tune.title)


def _in_section(notes: Sequence[TuneNote], section: Section) -> list[TuneNote]:
    return [note for note in notes if section.start <= note.start < section.end]


def _reasons(
    sa: Sa,
    mode: ModeChoice,
    cycles: dict[MeterKey, tuple[CycleChoice, Cycle]],
    wishes: Wishes,
) -> Iterator[str]:
    """Yield a sentence on each choice that nobody made themselves."""
    if wishes.tonic is None:
        yield f"tonic: {sa.letter} ({sa.reason})"
    if wishes.mode is None:
        others = f"; next best: {', '.join(mode.others)}" if mode.others else ""
        yield f"mode: {mode.name or 'written out'} ({mode.reason}{others})"
    if wishes.cycle is None:
        for choice, _ in cycles.values():
            others = f"; also: {', '.join(choice.others)}" if choice.others else ""
            yield f"cycle: {choice.name or 'written out'} ({choice.reason}{others})"
