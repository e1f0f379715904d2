"""Checks of a cycle's definition.

Each finding names the numbers and, where there is one, a correction that is known to be sound."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import lcm

from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Finding, Spot
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Sequence
from cyclechart.text.reading import read_line
from cyclechart.text.source import PlacedText
from cyclechart.text.timing import time_line
from cyclechart.theory.cycle import KINDS, LIMBS, Cycle
from cyclechart.theory.exact import show_beats, show_exact

MAX_BEATS = 256
MAX_SECTIONS = 64
FINEST = 8
"""The smallest part of a beat that a time signature can express: an eighth."""
LIMB_BEATS = {"I": tuple(KINDS.values()), "O": (2,), "U": (1,)}


class CycleCheck:
    """The findings on one cycle, each at the key of ``node`` that it is about."""

    def __init__(self, cycle: Cycle, node: Mapping) -> None:
        self.cycle = cycle
        self.node = node
        self.found: list[Finding] = []

    def say(self, key: str, message: str, *tries: str) -> None:
        """A finding at the value of a key, or at the whole where the key is not written."""
        value = self.node.get(key) or self.node
        self.found.append(reading_rules.cycle_unsound(value.spot, message, tries))

    def run(self, gati: Fraction | None) -> list[Finding]:
        """Return all findings: on sizes first, then on signs and limbs.

        Where sizes are wrong, signs and limbs are reported only if they are wrong in any case.
        """
        self.sizes()
        sized = not self.found
        if sized:
            self.total()
        summed = not self.found
        if summed:
            self.signs()
        else:
            self.signs_of_unsound_sections(sized)
        if not self.strange_limb() and summed:
            self.limbs()
        if gati is not None and gati not in KINDS.values():
            pulses = sorted(KINDS.values(), key=lambda kind: (abs(kind - gati), kind))
            what = f"a gati must be 3, 4, 5, 7 or 9 pulses to the beat, not {show_exact(gati)}"
            self.say("gati", what, *(f"gati: {kind}" for kind in pulses[:2]))
        return self.found

    def sizes(self) -> None:
        """Report wrong sizes of the cycle and of each section."""
        cycle = self.cycle
        if not 1 <= cycle.beats <= MAX_BEATS:
            self.say(
                "beats", f"a cycle must have 1 to {MAX_BEATS} beats, not {show_exact(cycle.beats)}"
            )
            return
        written = self.node.get("sections")
        if isinstance(written, Sequence) and not written.items:
            what = "a cycle must have at least one section"
            self.say("sections", what, f"sections: [{show_exact(cycle.beats)}]")
        if len(cycle.sections) > MAX_SECTIONS:
            what = f"a cycle has at most {MAX_SECTIONS} sections, not {len(cycle.sections)}"
            self.say("sections", what)
            return
        told: set[Fraction] = set()
        for size in (cycle.beats, *cycle.sections):
            key = "beats" if size == cycle.beats else "sections"
            if size in told:
                continue
            told.add(size)
            if size <= 0:
                self.say(key, f"a section cannot have {show_beats(size)}")
            elif FINEST % size.denominator:
                what = (
                    f"{show_exact(size)} is not in whole beats, halves, quarters or eighths, "
                    "as a time signature needs"
                )
                self.say(key, what, *self.counted_faster())

    def counted_faster(self) -> Iterable[str]:
        """Yield the same cycle in shorter beats, all whole."""
        sizes = (self.cycle.beats, *self.cycle.sections)
        times = lcm(*(size.denominator for size in sizes))
        beats = self.cycle.beats * times
        if beats > MAX_BEATS or min(sizes) <= 0 or sum(sizes[1:]) != self.cycle.beats:
            return
        sections = _list(size * times for size in self.cycle.sections)
        yield f"count {times} beats for each of these: beats: {beats}, sections: {sections}"

    def total(self) -> None:
        """Report sections that do not add up to the cycle."""
        cycle = self.cycle
        total = sum(cycle.sections, Fraction(0))
        if total == cycle.beats:
            return
        last = cycle.sections[-1] + cycle.beats - total
        tries = [f"beats: {show_exact(total)}"] if 1 <= total <= MAX_BEATS else []
        if last > 0:
            tries.append(f"sections: {_list((*cycle.sections[:-1], last))}")
        sections = " + ".join(map(show_exact, cycle.sections))
        what = (
            f"the sections {sections} add up to {show_exact(total)}, not {show_exact(cycle.beats)}"
        )
        self.say("sections", what, *tries)

    def signs(self) -> None:
        """Report claps and waves off section starts, double ones, and beats with both."""
        cycle = self.cycle
        starts = [start + 1 for start in cycle.starts]
        where = ", ".join(map(show_exact, starts))
        for key, sign, beats in (
            ("stressed", "clapped", cycle.stressed),
            ("open", "waved", cycle.open),
        ):
            for beat in sorted(set(beats)):
                if beat not in starts:
                    what = (
                        f"no section begins on beat {show_exact(beat)}; sections begin on {where}"
                    )
                    self.say(key, what, self.nearest_free_starts(key, starts))
                elif beats.count(beat) > 1:
                    what = f"beat {show_exact(beat)} is {sign} more than once"
                    self.say(key, what, self.nearest_free_starts(key, starts))
        self.both(lambda beat: beat in starts)

    def signs_of_unsound_sections(self, sized: bool) -> None:
        """Check the claps and waves of a cycle whose sections are wrong.

        A beat that begins no section now may begin one later, so it is not reported. ``sized``: the
        beats and each section are sound, and only do not add up.
        """
        cycle = self.cycle
        total = sum(cycle.sections, Fraction(0))
        end = max(cycle.beats, total) + 1 if sized else None

        def can_be(beat: Fraction) -> bool:
            return beat >= 1 and (end is None or beat < end)

        for key, sign, beats in (
            ("stressed", "clapped", cycle.stressed),
            ("open", "waved", cycle.open),
        ):
            for beat in sorted(set(beats)):
                if beat < 1:
                    self.say(key, f"there is no beat {show_exact(beat)}; beats count from 1")
                elif not can_be(beat):
                    what = f"beat {show_exact(beat)} is past the end of the cycle: it has "
                    what += f"{show_beats(cycle.beats)}, its sections {show_exact(total)}"
                    self.say(key, what)
                elif beats.count(beat) > 1:
                    what = f"beat {show_exact(beat)} is {sign} more than once"
                    self.say(key, what, f"{key}: {_list(sorted(filter(can_be, set(beats))))}")
        self.both(can_be)

    def both(self, can_be: Callable[[Fraction], bool]) -> None:
        """Report beats that are both clapped and waved; a try keeps only beats that can be."""
        cycle = self.cycle
        for beat in sorted(set(cycle.stressed) & set(cycle.open)):
            tries = []
            for key, beats in (("open", cycle.open), ("stressed", cycle.stressed)):
                rest = [other for other in beats if other != beat]
                if all(map(can_be, rest)):
                    tries.append(f"{key}: {_list(rest)}" if rest else f"leave {key} out")
            self.say("open", f"beat {show_exact(beat)} cannot be both clapped and waved", *tries)

    def nearest_free_starts(self, key: str, starts: list[Fraction]) -> str:
        """The beats that begin a section, and for the others the nearest that still have no sign.

        Where all have one, what is left over is left out.
        """
        written = self.node.get("open" if key == "stressed" else "stressed") is not None
        others = self.cycle.open if key == "stressed" else self.cycle.stressed
        beats = set(self.cycle.stressed if key == "stressed" else self.cycle.open)
        free = [start for start in starts if not (written and start in others)]
        kept = beats & set(free)
        for beat in sorted(beats - set(starts)):
            left = [start for start in free if start not in kept]
            if left:
                kept.add(_nearest_start(beat, left))
        return f"{key}: {_list(sorted(kept))}" if kept else f"leave {key} out"

    def strange_limb(self) -> bool:
        """Report a letter that is not a limb; return whether there is one."""
        strange = sorted(set(self.cycle.limbs) - set(LIMBS))
        if strange:
            what = f"'{clip(strange[0])}' is not a limb; limbs are I (laghu), O (drutam) and U"
            self.say("limbs", f"{what} (anudrutam)")
        return bool(strange)

    def limbs(self) -> None:
        """Report limbs that do not match the sections in number or size."""
        cycle, limbs = self.cycle, self.cycle.limbs
        if limbs and len(limbs) != len(cycle.sections):
            count = len(cycle.sections)
            what = f"there are {len(limbs)} limbs for {count} section{'s' if count > 1 else ''}"
            self.say("limbs", what, *self.sections_of_limbs())
        else:
            for number, (limb, size) in enumerate(zip(limbs, cycle.sections, strict=bool(limbs))):
                if size not in LIMB_BEATS[limb]:
                    can = ", ".join(map(str, LIMB_BEATS[limb]))
                    what = f"section {number + 1} has {show_beats(size)}, but limb {limb} "
                    self.say("limbs", f"{what}({LIMBS[limb]}) lasts {can}")

    def sections_of_limbs(self) -> Iterable[str]:
        """The sections that the limbs make, where one jati fills the cycle."""
        for jati in KINDS.values():
            sizes = [{"I": jati, "O": 2, "U": 1}[limb] for limb in self.cycle.limbs]
            if sum(sizes) == self.cycle.beats:
                yield f"sections: {_list(map(Fraction, sizes))}"
                return


def _nearest_start(beat: Fraction, starts: list[Fraction]) -> Fraction:
    """The section start nearest to a beat, the earlier of two."""
    return min(starts, key=lambda start: (abs(start - beat), start))


def _list(numbers: Iterable[Fraction]) -> str:
    return f"[{', '.join(map(show_exact, numbers))}]"


def judge_theka(cycle: Cycle, passage: PlacedText, spot: Spot) -> list[Finding]:
    """Return the findings on a theka: unreadable strokes, wrong length, misplaced section lines."""
    items, found = read_line(passage, strokes().script())
    timed, late = time_line(items, passage)
    found.extend(late)
    if found:
        return found
    over = timed.length - cycle.beats
    if over:
        what = (
            f"the strokes last {show_beats(timed.length)}, but the cycle {show_beats(cycle.beats)}"
        )
        bars = [Fraction(0), *(line.offset for line in timed.section_lines), timed.length]
        barred = [end - start for start, end in pairwise(bars)]
        if len(barred) == len(cycle.sections) > 1:
            astray = [
                f"section {number} has {show_beats(size)} of strokes, not {show_exact(wanted)}"
                for number, (size, wanted) in enumerate(
                    zip(barred, cycle.sections, strict=True), start=1
                )
                if size != wanted
            ]
            what += f" ({'; '.join(astray)})"
        tried = f"{'take' if over > 0 else 'add'} {show_beats(abs(over))}"
        tried += " away" if over > 0 else ", or hold a stroke longer with -"
        found.append(reading_rules.cycle_unsound(spot, what, [tried]))
    for line in timed.section_lines:
        if line.offset % cycle.beats not in cycle.starts:
            beat = show_exact(line.offset % cycle.beats + 1)
            starts = ", ".join(show_exact(start + 1) for start in cycle.starts)
            what = f"a section line stands on beat {beat}, where no section begins; "
            what += f"sections begin on {starts}"
            found.append(reading_rules.cycle_unsound(replace(line.spot, width=1), what))
    return found
