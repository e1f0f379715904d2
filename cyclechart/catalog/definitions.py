"""A mode or a cycle from its written form: sound ones are made, unsound ones get findings."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction

from cyclechart.catalog.cycle_checks import CycleCheck, judge_theka
from cyclechart.catalog.shapes import CycleShape, ModeShape
from cyclechart.catalog.tunings import tuning_from
from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.line_tree import Cell, Group, Repeat
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.shape_fitting import fit
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM, SEMITONE

MAX_PATH = 64
FEWEST_TONES = 5
_JATI = re.compile(r"[1-7]-[1-7](\s+or\s+[1-7]-[1-7])*")


def mode_from(node: Node, name: str = "") -> tuple[Mode | None, list[Finding]]:
    """A mode from its definition. Errors make it None; warnings do not."""
    shape, findings = fit(ModeShape, node)
    if shape is None or not isinstance(node, Mapping):
        return None, findings
    ascent = _path(node, "ascent", findings)
    descent = _path(node, "descent", findings)
    paths_read = not any(finding.severity == "error" for finding in findings)
    vadi = _tone(node, "vadi", findings)
    samvadi = _tone(node, "samvadi", findings)
    printed = _jatis(node, findings)
    said = node.get("tuning")
    tuning = tuning_from(said, findings) if said is not None else None
    rests = tuple(
        pitch % 12 for item in _items(node, "rests") for pitch in read_path(item, findings)
    )
    phrases = []
    for item in _items(node, "phrases"):
        before = len(findings)
        phrase = read_path(item, findings)
        if len(phrase) == 1 and len(findings) == before:
            findings.append(reading_rules.one_tone_phrase(item.spot, item.text))
        phrases.append(phrase)
    mode = Mode(
        _one_row(shape.name or name) or "the piece's own mode",
        ascent, descent, vadi, samvadi, rests, tuple(phrases),
        shape.hour, tuple(shape.aka), shape.source, shape.note, shape.family, tuning,
    )  # fmt: skip
    if paths_read:
        findings.extend(_judge_mode(mode, node, printed))
    broken = any(finding.severity == "error" for finding in findings)
    return (None if broken else mode), findings


def _one_row(name: str) -> str:
    """A name as it stands on a chart and in a track's name: without line breaks."""
    return " ".join(name.split())


def read_path(node: Node, findings: list[Finding]) -> tuple[int, ...]:
    """Tones in sargam, parted or run together; octave marks as in a line."""
    if not isinstance(node, Scalar):
        findings.append(
            reading_rules.wrong_value(node.spot, "a row of tones stands here", ["S R G m P"])
        )
        return ()
    passage = node.passage()
    items, wrong = read_line(passage, SARGAM_SCRIPT)
    findings.extend(wrong)
    for item in items:
        if isinstance(item, Group | Repeat):
            what = "a row of tones has no groups and no repeats"
            spot = passage.spot(item.at, item.width)
            findings.append(reading_rules.bad_cell(spot, what, ["write the tones out"]))
    pitches = [
        element.value
        for item in items
        if isinstance(item, Cell)
        for element in item.elements
        if isinstance(element.value, int)
    ]
    if len(pitches) > MAX_PATH:
        findings.append(reading_rules.too_long(node.spot, f"a path has at most {MAX_PATH} tones"))
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
        what = f"{key} is one tone without octave marks, not '{clip(value.text)}'"
        findings.append(reading_rules.wrong_value(value.spot, what, [f"one of {' '.join(SARGAM)}"]))
        return None
    return SEMITONE[value.text]


def _jatis(node: Mapping, findings: list[Finding]) -> list[str]:
    """The printed counts of tones up and down: one, or each that a book gives."""
    value = node.get("jati")
    if not isinstance(value, Scalar):
        return []
    if not _JATI.fullmatch(value.text.strip()):
        what = f"jati is the tones up and down, not '{clip(value.text)}'"
        findings.append(reading_rules.wrong_value(value.spot, what, ["5-7", "6-7 or 7-7"]))
        return []
    return value.text.split()[::2]


def jati_of(mode: Mode) -> str:
    """The tones of ascent and descent, counted by name (both fourths are one): ``5-7``."""
    return f"{_named(mode.up)}-{_named(mode.down)}"


def _named(tones: Iterable[int]) -> int:
    return len({SARGAM[tone].upper() for tone in tones})


def _turned_round(mode: Mode, otherwise: str) -> tuple[str, ...]:
    """What to try where a path does not go its way: the two may have changed places."""
    up, down = mode.ascent, mode.descent
    if up and down and up[0] > up[-1] and down[0] < down[-1]:
        return ("put the one in place of the other", otherwise)
    return (otherwise,)


def _judge_mode(mode: Mode, node: Mapping, printed: list[str]) -> list[Finding]:
    found: list[Finding] = []

    def say(key: str, message: str, *tries: str, warning: bool = False) -> None:
        value = node.get(key) or node
        severity = "warning" if warning else "error"
        found.append(reading_rules.mode_unsound(value.spot, message, tries, severity))  # type: ignore[arg-type]

    if not mode.ascent or mode.ascent[-1] < 12 or mode.ascent[-1] <= mode.ascent[0]:
        say(
            "ascent",
            "the ascent does not rise to S' or above",
            *_turned_round(mode, "end it on S'"),
        )
    if not mode.descent or mode.descent[-1] > 0 or mode.descent[-1] >= mode.descent[0]:
        say(
            "descent",
            "the descent does not fall to S or below",
            *_turned_round(mode, "end it on S"),
        )
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
    counted = jati_of(mode)
    if printed and counted not in printed:
        say(
            "jati",
            f"the jati is given as {' or '.join(printed)}, and the paths have {counted}; "
            "books do not count every turned or weak tone",
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
    whole_gati = shape.gati is not None and shape.gati.denominator == 1
    cycle = Cycle(
        _one_row(shape.name or name) or "the piece's own cycle",
        shape.beats,
        tuple(shape.sections) or (shape.beats,),
        tuple(sorted(shape.stressed)) or ((Fraction(1),) if not shape.open else ()),
        tuple(sorted(shape.open)),
        shape.strokes.strip() or shape.spoken.strip(),
        tuple(shape.aka),
        shape.source,
        shape.note,
        int(shape.gati) if shape.gati is not None and whole_gati else 0,
        bool(shape.spoken.strip()) and not shape.strokes.strip(),
        "".join(shape.limbs.split()).upper(),
    )
    findings.extend(CycleCheck(cycle, node).run(shape.gati))
    if any(finding.severity == "error" for finding in findings):
        return None, findings
    for key in ("strokes", "spoken"):
        written = node.get(key)
        if isinstance(written, Scalar):
            findings.extend(judge_theka(cycle, written.passage(), written.spot))
    return cycle, findings
