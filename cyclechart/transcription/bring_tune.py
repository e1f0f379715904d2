"""A tune brought: which voices, which Sa, mode and cycle, and the text of the piece."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from cyclechart.catalog.library import Library
from cyclechart.catalog.search import ModeEntry, entries
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


def bring_tune(
    tune: Tune,
    library: Library,
    wishes: Wishes,
    ask: Ask = the_likeliest,
    *,
    known: Sequence[ModeEntry] | None = None,
) -> Brought:
    """Return a tune as a piece; ``known`` are the modes of the library, where they are at hand."""
    losses = Losses()
    voices, said = _voices(tune, wishes.voice)
    given = None if wishes.cycle is None else _given_cycle(library, wishes.cycle)
    if given is not None and not any(meter.beats for meter in tune.meters):
        tune = replace(tune, meters=(Meter(Fraction(0), given[1].beats, name=given[0].name),))
    tune = _from_first_note(replace(tune, voices=voices), voices, losses)
    layout = sections_of(tune, losses)
    cycles = _cycles(library, layout, given, ask)
    sa = _sa(tune, voices, wishes.tonic)
    mode = _given_mode(library, tune, wishes.mode)
    if mode is None:
        known = entries(library)[0] if known is None else known
        sa_key = 0 if tune.from_sa else sa.tonic.midi
        mode = guessed_mode(known, _lines(voices, layout), sa_key, tune.title)
    setting = Setting(sa.letter, sa.tonic, mode.written, cycles)
    draft = draft_of(tune, voices, layout, setting, losses)
    chosen = (*said, *_reasons(sa, mode, cycles, wishes))
    of_voices = (loss for voice in voices for loss in voice.losses)
    lost = tuple(dict.fromkeys((*tune.losses, *of_voices, *draft.losses)))
    return Brought(draft.text, chosen, lost)


def _from_first_note(tune: Tune, voices: Sequence[TuneVoice], losses: Losses) -> Tune:
    """Return a tune without the silent bars at its beginning."""
    first = min(voice.notes[0].start for voice in voices)
    silent = 0
    for bar in tune.bars:
        if bar.end > first or bar.opens_repeat or bar.closes_repeat or bar.endings:
            break
        silent += 1
    if not silent:
        return tune
    numbers = [bar.number for bar in tune.bars[:silent]]
    where = numbers[0] if silent == 1 else f"{numbers[0]} to {numbers[-1]}"
    losses.add("silence before the first note is left out", where)
    bars = list(tune.bars[silent:])
    late = first - bars[0].start
    if not tune.pickup and late * 2 >= bars[0].length:  # what is left of the bar is a pickup
        bars[0] = replace(bars[0], start=first, length=bars[0].length - late)
    return replace(tune, bars=tuple(bars))


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
    library: Library, layout: Sections, given: tuple[CycleChoice, Cycle] | None, ask: Ask
) -> dict[MeterKey, tuple[CycleChoice, Cycle]]:
    """Return the cycle of each meter, in the order in which the meters come."""
    found: dict[MeterKey, tuple[CycleChoice, Cycle]] = {}
    for section in layout.sections:
        key = key_of(section.meter)
        if not section.meter.beats or key in found:
            continue
        if given is not None:
            found[key] = given
            continue
        same = [one for one in layout.sections if key_of(one.meter) == key]
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


def _given_mode(library: Library, tune: Tune, wanted: str | None) -> ModeChoice | None:
    """Return the mode that somebody or the file names; None where nobody does."""
    name = wanted if wanted is not None else tune.mode
    if not name:
        return None
    found, findings = library.mode(name, Spot("--mode", 1, 1, len(name)))
    if found is not None:
        return ModeChoice(name, name, "given" if wanted is not None else "as the file names it", ())
    if wanted is None:
        return None
    near = [one for finding in findings for one in finding.tries]
    raise CannotRead(f"there is no mode '{clip(name)}'", "", *near)


def _lines(voices: Sequence[TuneVoice], layout: Sections) -> list[list[TuneNote]]:
    """Return the notes of each section of each voice."""
    return [_in_section(voice.notes, section) for voice in voices for section in layout.sections]


def _in_section(notes: Sequence[TuneNote], section: Section) -> list[TuneNote]:
    return [note for span in section.spans for note in notes if span.start <= note.start < span.end]


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
