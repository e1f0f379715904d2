"""A tune as the draft of a piece: its lines, its form, and why Sa, mode and cycle are what they
are."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from cyclechart.draft.piece_text import DraftKey, DraftLine, DraftPiece, piece_text
from cyclechart.piece.heading import FASTEST, FINEST_EDUPPU, SLOWEST
from cyclechart.piece.note import Note
from cyclechart.piece.phrase_text import sections_of as section_lines
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.landing import stand
from cyclechart.theory.spelling import Tonic
from cyclechart.transcription.cycle_choice import CycleChoice
from cyclechart.transcription.line_cells import notes_in, rows_of, words_under
from cyclechart.transcription.losses import Losses
from cyclechart.transcription.sections import Section, Sections
from cyclechart.transcription.tune import Loss, Meter, Tune, TuneVoice

USUAL_TEMPO = Fraction(96)
MOST_OFF = Fraction(4)
"""The most beats that a line may say it lands before or after a first beat."""
MeterKey = tuple[Fraction, Fraction, tuple[Fraction, ...]]


class Setting(NamedTuple):
    """What a tune is set in: Sa, the mode as it is written, and the cycle of each meter."""

    letter: str
    tonic: Tonic
    mode: str
    cycles: dict[MeterKey, tuple[CycleChoice, Cycle]]


class Draft(NamedTuple):
    """The text of a piece and what was lost on the way."""

    text: str
    losses: tuple[Loss, ...]


def key_of(meter: Meter) -> MeterKey:
    """Return what two stretches in one meter have in common."""
    return meter.beats, meter.unit, meter.groups


def draft_of(
    tune: Tune, voices: Sequence[TuneVoice], layout: Sections, setting: Setting, losses: Losses
) -> Draft:
    """Return the draft of a piece with the chosen voices of a tune."""
    return _Drafter(tune, voices, layout, setting, losses).draft()


class _Drafter:
    def __init__(
        self,
        tune: Tune,
        voices: Sequence[TuneVoice],
        layout: Sections,
        setting: Setting,
        losses: Losses,
    ) -> None:
        self.tune = tune
        self.voices = voices
        self.layout = layout
        self.setting = setting
        self.losses = losses
        self.lines: dict[tuple[int, int], DraftLine] = {}
        """The line of each section and voice; none where that is silent."""

    def draft(self) -> Draft:
        """Return the text of the piece."""
        for number, section in enumerate(self.layout.sections):
            for voice in range(len(self.voices)):
                line = self.line(section, voice)
                if line is not None:
                    self.lines[number, voice] = line
        players = self.players()
        self.tell_tempos()
        piece = DraftPiece(
            comments=(),
            keys=tuple(self.keys()),
            players=players,
            lines=tuple(self.lines.values()),
            form=tuple(self.form(players)),
        )
        return Draft(piece_text(piece), self.losses.all())

    def keys(self) -> list[DraftKey]:
        """Return the keys at the top of the piece."""
        setting = self.setting
        composer = [DraftKey("composer", self.tune.composer)] if self.tune.composer else []
        first = self.cycle_of(self.first_section())
        swing = [DraftKey("swing", f"{self.tune.swing}/1")] if self.tune.swing != 1 else []
        return [
            DraftKey("title", self.tune.title or "Untitled"),
            *composer,
            DraftKey("tonic", setting.letter),
            DraftKey("mode", setting.mode, ready=setting.mode.startswith("{")),
            DraftKey("cycle", first[0].written, ready=first[0].written.startswith("{")),
            DraftKey("tempo", show_exact(self.tempo_at(self.first_section()))),
            *swing,
        ]

    def first_section(self) -> Section:
        """Return the section that is played first, in meter if any is."""
        played = [self.layout.sections[number] for number, _ in self.layout.order]
        metered = [one for one in played if one.meter.beats]
        return (metered or played)[0]

    def cycle_of(self, section: Section) -> tuple[CycleChoice, Cycle]:
        """Return the cycle that a section is in; that of the piece where it has no meter."""
        cycles = self.setting.cycles
        return cycles.get(key_of(section.meter)) or next(iter(cycles.values()))

    def tempo_at(self, section: Section) -> Fraction:
        """Return the beats a minute of a section."""
        unit = section.meter.unit
        marks = [mark for mark in self.tune.tempos if mark.start <= section.start]
        mark = marks[-1] if marks else next(iter(self.tune.tempos), None)
        tempo = mark.units / unit if mark is not None else USUAL_TEMPO
        return min(max(tempo, SLOWEST), FASTEST)

    def tell_tempos(self) -> None:
        """Say where the tempo changes within a line."""
        starts = {section.start for section in self.layout.sections}
        for mark in self.tune.tempos[1:]:
            if mark.start not in starts:
                bars = [bar.number for bar in self.tune.bars if bar.start <= mark.start]
                what = "a change of tempo within a line is left out"
                self.losses.add(what, bars[-1] if bars else "")

    def line(self, section: Section, voice: int) -> DraftLine | None:
        """Return a section of a voice as a line; None where the voice is silent in it."""
        notes = notes_in(
            self.voices[voice].notes,
            section,
            section.meter.unit,
            0 if self.tune.from_sa else self.setting.tonic.midi,
            self.losses,
        )
        if not notes:
            return None
        length = section.length / section.meter.unit
        name = section.name if voice == 0 else f"{section.name}-voice-{voice + 1}"
        keys, comments = [], []
        marks: list[tuple[Fraction, bool]] = []
        if section.meter.beats:
            cycle = self.cycle_of(section)[1]
            begins = self.begins(section, cycle)
            length = _filled(length, begins, cycle)
            home = _home(notes, length, begins, cycle)
            at_eduppu = home.key is not None and home.key.key == "eduppu"
            if begins != 1 or at_eduppu:  # without it a line begins on its eduppu
                keys.append(DraftKey("begins", show_exact(begins)))
            length += home.more
            marks = section_lines(cycle, begins, length)
            if home.key is not None:
                keys.append(home.key)
                comments.append("no note is struck on the first beat that opens it")
        else:
            keys.append(DraftKey("lands", "free"))
        words = words_under(notes)
        if words:
            keys.append(DraftKey("words", words, ready=True))
        return DraftLine(
            name, "sargam", rows_of(notes, length, marks), tuple(keys), tuple(comments)
        )

    @staticmethod
    def begins(section: Section, cycle: Cycle) -> Fraction:
        """Return the beat of the cycle on which a section begins."""
        pickup = section.pickup / section.meter.unit
        return (-pickup) % cycle.beats + 1

    def players(self) -> tuple[DraftKey, ...]:
        """Return the players, where there are several voices."""
        if len(self.voices) == 1:
            return ()
        melodies = [
            DraftKey(f"voice-{number}", "{plays: melody, instrument: violin}", ready=True)
            for number in range(1, len(self.voices) + 1)
        ]
        others = [
            DraftKey("tabla", "{plays: theka}", ready=True),
            DraftKey("tanpura", "{plays: drone}", ready=True),
        ]
        return (*melodies, *others)

    def form(self, players: Sequence[DraftKey]) -> list[tuple[DraftKey, ...]]:
        """Return the steps in which the sections are played."""
        steps = []
        cycle_before = self.cycle_of(self.first_section())[0].written
        tempo_before = self.tempo_at(self.first_section())
        for number, times in self.layout.order:
            section = self.layout.sections[number]
            verb = self.verb(number, section, players)
            keys = [] if verb is None else [verb]
            if verb is None or not keys:
                continue
            if times > 1:
                keys.append(DraftKey("times", str(times)))
            cycle = self.cycle_of(section)[0].written
            if section.meter.beats and cycle != cycle_before:
                keys.append(DraftKey("cycle", cycle, ready=cycle.startswith("{")))
                cycle_before = cycle
            tempo = self.tempo_at(section)
            if tempo != tempo_before:
                keys.append(DraftKey("tempo", show_exact(tempo)))
                tempo_before = tempo
            steps.append(tuple(keys))
        return steps

    def verb(self, number: int, section: Section, players: Sequence[DraftKey]) -> DraftKey | None:
        """Return the verb of a step: who plays what, or cycles in which nobody has a note."""
        names = {
            voice: self.lines[number, voice].name
            for voice in range(len(self.voices))
            if (number, voice) in self.lines
        }
        if not names:
            if not section.meter.beats:
                return None
            beats = section.length / section.meter.unit
            cycles = -(-beats // self.cycle_of(section)[1].beats)
            return DraftKey("groove", str(cycles))
        verb = "play" if section.meter.beats else "free"
        if not players or verb == "free":
            if len(names) > 1:
                self.losses.add(f"of '{section.name}', which has no meter, one voice is kept")
                for voice in list(names)[1:]:
                    del self.lines[number, voice]
            return DraftKey(verb, next(iter(names.values())))
        parts = ", ".join(f"{players[voice].key}: {name}" for voice, name in names.items())
        return DraftKey(verb, f"{{{parts}}}", ready=True)


def _filled(length: Fraction, begins: Fraction, cycle: Cycle) -> Fraction:
    """Return the length of a line with rests up to the end of its last cycle."""
    pickup = (1 - begins) % cycle.beats
    body = length - pickup
    return pickup + -(-body // cycle.beats) * cycle.beats if body > 0 else length


class _Home(NamedTuple):
    """The key that says where a line comes home, None for one that is sound without; and the beats
    of rest that this adds at its end."""

    key: DraftKey | None = None
    more: Fraction = Fraction(0)


def _home(notes: Sequence[Note], length: Fraction, begins: Fraction, cycle: Cycle) -> _Home:
    """Return where a line comes home that neither lands on a first beat nor strikes the one that
    opens it: so much before or after a first beat, else at the place of its first note there."""
    onsets = tuple(note.start for note in notes)
    standing = stand(onsets, length, begins, cycle.beats)
    if standing.shape in ("lands", "loops"):
        return _Home()
    if standing.short <= MOST_OFF:
        return _Home(DraftKey("lands", f"anagat {show_exact(standing.short)}"))
    if standing.over <= MOST_OFF:
        return _Home(DraftKey("lands", f"atit {show_exact(standing.over)}"))
    pickup = (1 - begins) % cycle.beats
    eduppu = next((onset - pickup for onset in onsets if onset >= pickup), None)
    if eduppu is None or eduppu >= cycle.beats or FINEST_EDUPPU % eduppu.denominator:
        return _Home()
    return _Home(DraftKey("eduppu", show_exact(eduppu)), eduppu)
