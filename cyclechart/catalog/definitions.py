"""A mode or a cycle from its written form: sound ones are made, unsound ones get findings."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.catalog.shapes import CycleShape, ModeShape
from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Finding, Spot
from cyclechart.text import faults
from cyclechart.text.cells import Cell, Group, Repeat
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.shaping import fit
from cyclechart.text.source import Passage
from cyclechart.text.timing import time_line
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM, SEMITONE

MAX_BEATS = 256
MAX_SECTIONS = 64
MAX_PATH = 64
FEWEST_TONES = 5


def mode_from(node: Node, name: str = "") -> tuple[Mode | None, list[Finding]]:
    """A mode from its definition. Errors make it None; warnings do not."""
    shape, findings = fit(ModeShape, node)
    if shape is None or not isinstance(node, Mapping):
        return None, findings
    ascent = _path(node, "ascent", findings)
    descent = _path(node, "descent", findings)
    vadi = _tone(node, "vadi", findings)
    samvadi = _tone(node, "samvadi", findings)
    rests = tuple(
        pitch % 12 for item in _items(node, "rests") for pitch in read_path(item, findings)
    )
    phrases = []
    for item in _items(node, "phrases"):
        before = len(findings)
        phrase = read_path(item, findings)
        if len(phrase) == 1 and len(findings) == before:
            findings.append(faults.one_tone_phrase(item.spot, item.text))
        phrases.append(phrase)
    mode = Mode(
        _one_row(shape.name or name) or "the piece's own mode",
        ascent, descent, vadi, samvadi, rests, tuple(phrases),
        shape.hour, tuple(shape.aka), shape.source, shape.note, shape.family,
    )  # fmt: skip
    if not any(finding.severity == "error" for finding in findings):
        findings.extend(_judge_mode(mode, node))
    broken = any(finding.severity == "error" for finding in findings)
    return (None if broken else mode), findings


def _one_row(name: str) -> str:
    """A name as it stands on a chart and in a track's name: without line breaks."""
    return " ".join(name.split())


def read_path(node: Node, findings: list[Finding]) -> tuple[int, ...]:
    """Tones in sargam, parted or run together; octave marks as in a line."""
    if not isinstance(node, Scalar):
        findings.append(faults.wrong_value(node.spot, "a row of tones stands here", ["S R G m P"]))
        return ()
    passage = node.passage()
    items, wrong = read_line(passage, SARGAM_SCRIPT)
    findings.extend(wrong)
    for item in items:
        if isinstance(item, Group | Repeat):
            what = "a row of tones has no groups and no repeats"
            spot = passage.spot(item.at, item.width)
            findings.append(faults.bad_cell(spot, what, ["write the tones out"]))
    pitches = [
        element.value
        for item in items
        if isinstance(item, Cell)
        for element in item.elements
        if isinstance(element.value, int)
    ]
    if len(pitches) > MAX_PATH:
        findings.append(faults.too_long(node.spot, f"a path has at most {MAX_PATH} tones"))
    return tuple(pitches[:MAX_PATH])


def _path(node: Mapping, key: str, findings: list[Finding]) -> tuple[int, ...]:
    value = node.get(key)
    return read_path(value, findings) if value is not None else ()


def _items(node: Mapping, key: str) -> list[Scalar]:
    value = node.get(key)
    items = value.items if isinstance(value, Sequence) else ()
    return [item for item in items if isinstance(item, Scalar)]


def _tone(node: Mapping, key: str, findings: list[Finding]) -> int | None:
    value = node.get(key)
    if not isinstance(value, Scalar):
        return None
    if value.text not in SEMITONE:
        what = f"{key} is one tone without octave marks, not '{faults.clip(value.text)}'"
        findings.append(faults.wrong_value(value.spot, what, [f"one of {' '.join(SARGAM)}"]))
        return None
    return SEMITONE[value.text]


def _judge_mode(mode: Mode, node: Mapping) -> list[Finding]:
    found: list[Finding] = []

    def say(key: str, message: str, *tries: str, warning: bool = False) -> None:
        value = node.get(key) or node
        severity = "warning" if warning else "error"
        found.append(faults.mode_unsound(value.spot, message, tries, severity))  # type: ignore[arg-type]

    if not mode.ascent or mode.ascent[-1] < 12 or mode.ascent[-1] <= mode.ascent[0]:
        say("ascent", "the ascent does not rise to S' or above", "end it on S'")
    if not mode.descent or mode.descent[-1] > 0 or mode.descent[-1] >= mode.descent[0]:
        say("descent", "the descent does not fall to S or below", "end it on S")
    count = len(mode.up | mode.down)
    if count < FEWEST_TONES:
        say("ascent", f"ascent and descent have {count} tones; a mode has at least {FEWEST_TONES}")
    for key, tone in (("vadi", mode.vadi), ("samvadi", mode.samvadi)):
        if tone is not None and tone not in mode.tones:
            say(key, f"the {key} {SARGAM[tone]} is in neither ascent, descent nor any phrase")
    vadi, samvadi = mode.vadi, mode.samvadi
    if vadi is not None and samvadi is not None and (vadi - samvadi) % 12 not in (5, 7):
        say(
            "samvadi",
            f"{SARGAM[samvadi]} is no fourth or fifth from the vadi {SARGAM[vadi]}; "
            "some printed modes are so, most are not",
            warning=True,
        )
    brought = mode.tones - mode.up - mode.down
    if brought:
        letters = " ".join(SARGAM[tone] for tone in sorted(brought))
        say("phrases", f"the phrases bring in {letters}, which neither path has", warning=True)
    return found


def cycle_from(node: Node, name: str = "") -> tuple[Cycle | None, list[Finding]]:
    """A cycle from its definition; None with findings where it cannot be."""
    shape, findings = fit(CycleShape, node)
    if shape is None or not isinstance(node, Mapping):
        return None, findings
    cycle = Cycle(
        _one_row(shape.name or name) or "the piece's own cycle",
        shape.beats,
        tuple(shape.sections) or (shape.beats,),
        tuple(sorted(shape.stressed)) or ((Fraction(1),) if not shape.open else ()),
        tuple(sorted(shape.open)),
        shape.strokes.strip(),
        tuple(shape.aka),
        shape.source,
        shape.note,
    )
    findings.extend(_judge_cycle(cycle, node))
    if any(finding.severity == "error" for finding in findings):
        return None, findings
    theka = node.get("strokes")
    if isinstance(theka, Scalar):
        findings.extend(_judge_theka(cycle, theka.passage(), theka.spot))
    return cycle, findings


def _judge_cycle(cycle: Cycle, node: Mapping) -> list[Finding]:
    found: list[Finding] = []

    def say(key: str, message: str, *tries: str) -> None:
        value = node.get(key) or node
        found.append(faults.cycle_unsound(value.spot, message, tries))

    if not 1 <= cycle.beats <= MAX_BEATS:
        say("beats", f"a cycle has 1 to {MAX_BEATS} beats, not {show_exact(cycle.beats)}")
        return found
    if len(cycle.sections) > MAX_SECTIONS:
        say("sections", f"a cycle has at most {MAX_SECTIONS} sections, not {len(cycle.sections)}")
        return found
    for size in (cycle.beats, *cycle.sections):
        if size <= 0:
            say("sections", f"a section of {show_beats(size)} is none")
        elif 8 % size.denominator:
            say(
                "sections" if size != cycle.beats else "beats",
                f"{show_exact(size)} is not in whole beats, halves, quarters or eighths, "
                "which is what a time signature can say",
            )
    if found:
        return found
    total = sum(cycle.sections, Fraction(0))
    if total != cycle.beats:
        sections = " + ".join(map(show_exact, cycle.sections))
        last = cycle.sections[-1] + cycle.beats - total
        tries = [f"beats: {show_exact(total)}"]
        if last > 0:
            mended = ", ".join(map(show_exact, (*cycle.sections[:-1], last)))
            tries.append(f"sections: [{mended}]")
        say(
            "sections",
            f"{sections} is {show_exact(total)}, not the {show_exact(cycle.beats)} of the cycle",
            *tries,
        )
        return found
    starts = [start + 1 for start in cycle.starts]
    for key, beats in (("stressed", cycle.stressed), ("open", cycle.open)):
        for beat in beats:
            if beat not in starts:
                where = ", ".join(map(show_exact, starts))
                say(key, f"beat {show_exact(beat)} begins no section; they begin on {where}")
    for beat in sorted(set(cycle.stressed) & set(cycle.open)):
        say("open", f"beat {show_exact(beat)} cannot be both clapped and waved")
    return found


def _judge_theka(cycle: Cycle, passage: Passage, spot: Spot) -> list[Finding]:
    items, found = read_line(passage, strokes().script())
    timed, late = time_line(items, passage)
    found.extend(late)
    if found:
        return found
    if timed.length != cycle.beats:
        found.append(
            faults.cycle_unsound(
                spot,
                f"the strokes last {show_beats(timed.length)}, the cycle {show_beats(cycle.beats)}",
            )
        )
    for line in timed.section_lines:
        if line.offset % cycle.beats not in cycle.starts:
            beat = show_exact(line.offset % cycle.beats + 1)
            found.append(
                faults.cycle_unsound(
                    passage.spot(line.at),
                    f"a section line stands on beat {beat}, where none begins",
                )
            )
    return found
