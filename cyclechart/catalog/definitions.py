"""Reading a mode or a cycle from its written form, with findings on unsound ones."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import zip_longest

from cyclechart.catalog.cycle_checks import CycleCheck, judge_theka
from cyclechart.catalog.mode_traits import traits_of
from cyclechart.catalog.shapes import CycleShape, ModeShape
from cyclechart.catalog.tone_rows import goes_the_way, row_of_tones, rows_under
from cyclechart.catalog.tunings import tuning_from
from cyclechart.finding import Finding, Findings, Severity
from cyclechart.text import reading_rules
from cyclechart.text.edits import Edits, between
from cyclechart.text.excerpts import clip, quoted
from cyclechart.text.nodes import Mapping, Node, Scalar
from cyclechart.text.shape_fitting import fit
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SARGAM, SEMITONE

FEWEST_TONES = 5
_JATI = re.compile(r"[1-7]-[1-7](\s+or\s+[1-7]-[1-7])*")


def mode_from(node: Node, name: str = "") -> tuple[Mode | None, list[Finding]]:
    """Return the mode of a definition: None where it has errors, for warnings do no harm."""
    findings = Findings()
    shape = findings.take(fit(ModeShape, node))
    if shape is None or not isinstance(node, Mapping):
        return None, findings
    ascent = findings.take(_path(node, "ascent"))
    descent = findings.take(_path(node, "descent"))
    paths_read = not findings.has_errors
    vadi = findings.take(_tone(node, "vadi"))
    samvadi = findings.take(_tone(node, "samvadi"))
    printed = findings.take(_jatis(node))
    tuning_node = node.get("tuning")
    tuning = findings.take(tuning_from(tuning_node)) if tuning_node is not None else None
    rests = [
        pitch for item in rows_under(node, "rests") for pitch in findings.take(row_of_tones(item))
    ]
    rows = rows_under(node, "phrases")
    phrases = [findings.take(_phrase(item, after)) for item, after in zip_longest(rows, rows[1:])]
    traits = findings.take(traits_of(node))
    mode = Mode(
        name=_one_row(shape.name or name) or "the piece's own mode",
        ascent=ascent,
        descent=descent,
        vadi=vadi,
        samvadi=samvadi,
        rests=tuple(pitch % 12 for pitch in rests),
        phrases=tuple(phrases),
        hour=shape.hour,
        aka=tuple(shape.aka),
        source=shape.source,
        note=shape.note,
        family=shape.family,
        tuning=tuning,
        tuning_source=shape.tuning_source,
        **traits._asdict(),
    )
    if paths_read:
        findings.extend(_judge_mode(mode, node, printed))
    return (None if findings.has_errors else mode), findings


def _one_row(name: str) -> str:
    """A name as it stands on a chart and in a track's name: without line breaks."""
    return " ".join(name.split())


def _path(node: Mapping, key: str) -> tuple[tuple[int, ...], list[Finding]]:
    """Return the tones under a key; () without one."""
    value = node.get(key)
    return row_of_tones(value) if value is not None else ((), [])


def _phrase(item: Scalar, after: Scalar | None) -> tuple[tuple[int, ...], list[Finding]]:
    """Return the tones of a phrase; one of a single tone is doubtful: with the phrase after it, it
    may be one that is cut at an octave comma."""
    phrase, findings = row_of_tones(item)
    if len(phrase) == 1 and not findings:
        source = item.source
        edits: Edits = ()
        if after is not None and source.text[item.end : after.start].strip() == ",":
            whole = quoted(source.text[item.start : after.end])
            edits = (between(source, item.start, after.end, whole),)
        findings.append(reading_rules.one_tone_phrase(item.spot, item.text, edits))
    return phrase, findings


def _tone(node: Mapping, key: str) -> tuple[int | None, list[Finding]]:
    """Return the one tone under a key, None without one."""
    value = node.get(key)
    if not isinstance(value, Scalar):
        return None, []
    if value.text not in SEMITONE:
        message = f"{key} must be one tone without octave marks, not '{clip(value.text)}'"
        tries = [f"one of {' '.join(SARGAM)}"]
        return None, [reading_rules.wrong_value(value.spot, message, tries)]
    return SEMITONE[value.text], []


def _jatis(node: Mapping) -> tuple[list[str], list[Finding]]:
    """Return the printed counts of tones up and down: one, or each that a book gives."""
    value = node.get("jati")
    if not isinstance(value, Scalar):
        return [], []
    if not _JATI.fullmatch(value.text.strip()):
        message = f"jati must be the numbers of tones up and down, not '{clip(value.text)}'"
        return [], [reading_rules.wrong_value(value.spot, message, ["5-7", "6-7 or 7-7"])]
    return value.text.split()[::2], []


def jati_of(mode: Mode) -> str:
    """The tones of the first printed ascent and descent, counted by name (both fourths are one):
    ``5-7``."""
    return f"{_named(mode.ascent)}-{_named(mode.descent)}"


def jatis_of(mode: Mode) -> set[str]:
    """The counts of every printed ascent with every printed descent."""
    ups, downs = (set(map(_named, paths)) for paths in (mode.ascents, mode.descents))
    return {f"{up}-{down}" for up in ups for down in downs}


def _named(path: Iterable[int]) -> int:
    return len({SARGAM[pitch % 12].upper() for pitch in path})


def _turned_round(mode: Mode, otherwise: str) -> tuple[str, ...]:
    """Return the tries for a path that goes the wrong way: the two may have changed places."""
    up, down = mode.ascent, mode.descent
    if up and down and up[0] > up[-1] and down[0] < down[-1]:
        return ("swap ascent and descent", otherwise)
    return (otherwise,)


def _judge_mode(mode: Mode, node: Mapping, printed: list[str]) -> Iterator[Finding]:
    """Yield the findings on a mode whose paths could be read."""
    yield from _judge_paths(mode, node)
    yield from _judge_chief_tones(mode, node)
    counted = jati_of(mode)
    if printed and not jatis_of(mode) & set(printed):
        message = (
            f"the jati is given as {' or '.join(printed)}, but the paths have {counted}; "
            "books do not count every turned or weak tone"
        )
        yield _unsound(node, "jati", message, severity="warning")
    for key, tones in (
        ("weak", frozenset(mode.weak)),
        ("andolan", frozenset(tone for tone, _ in mode.andolan)),
    ):
        if tones - mode.tones:
            letters = " ".join(SARGAM[tone] for tone in sorted(tones - mode.tones))
            message = f"{key} names {letters}, which the mode does not have"
            yield _unsound(node, key, message)
    brought = mode.tones - mode.up - mode.down
    if brought:
        letters = " ".join(SARGAM[tone] for tone in sorted(brought))
        message = f"the phrases use {letters}, which neither path has"
        yield _unsound(node, "phrases", message, severity="warning")


def _judge_paths(mode: Mode, node: Mapping) -> Iterator[Finding]:
    """Yield errors: an ascent that does not rise, a descent that does not fall, too few tones."""
    if not goes_the_way(mode.ascent, rising=True):
        tries = _turned_round(mode, "end it on S'")
        yield _unsound(node, "ascent", "the ascent does not rise to S' or above", tries)
    if not goes_the_way(mode.descent, rising=False):
        tries = _turned_round(mode, "end it on S")
        yield _unsound(node, "descent", "the descent does not fall to S or below", tries)
    count = len(mode.up | mode.down)
    if count < FEWEST_TONES:
        message = f"ascent and descent have {count} tones; a mode needs at least {FEWEST_TONES}"
        yield _unsound(node, "ascent", message)


def _judge_chief_tones(mode: Mode, node: Mapping) -> Iterator[Finding]:
    """Yield what is wrong with vadi and samvadi: silent ones, or an odd interval between them."""
    vadi, samvadi = mode.vadi, mode.samvadi
    for key, tone in (("vadi", vadi), ("samvadi", samvadi)):
        if tone is not None and tone not in mode.tones:
            message = f"the {key} {SARGAM[tone]} is in neither ascent, descent nor any phrase"
            yield _unsound(node, key, message)
    if vadi is not None and samvadi is not None and (vadi - samvadi) % 12 not in (5, 7):
        message = (
            f"{SARGAM[samvadi]} is not a fourth or fifth from the vadi {SARGAM[vadi]}; "
            "in most printed modes the samvadi is"
        )
        yield _unsound(node, "samvadi", message, severity="warning")


def _unsound(
    node: Mapping, key: str, message: str, tries: Iterable[str] = (), severity: Severity = "error"
) -> Finding:
    """Return a finding at the value of a key, or at the whole mode where the key is not written."""
    value = node.get(key) or node
    return reading_rules.mode_unsound(value.spot, message, tries, severity)


def cycle_from(node: Node, name: str = "") -> tuple[Cycle | None, list[Finding]]:
    """A cycle from its definition; None with findings where it cannot be."""
    shape, findings = fit(CycleShape, node)
    if shape is None or not isinstance(node, Mapping):
        return None, findings
    whole_gati = shape.gati is not None and shape.gati.denominator == 1
    cycle = Cycle(
        name=_one_row(shape.name or name) or "the piece's own cycle",
        beats=shape.beats,
        sections=tuple(shape.sections) or (shape.beats,),
        stressed=tuple(sorted(shape.stressed)) or ((Fraction(1),) if not shape.open else ()),
        open=tuple(sorted(shape.open)),
        strokes=shape.strokes.strip(),
        aka=tuple(shape.aka),
        source=shape.source,
        note=shape.note,
        gati=int(shape.gati) if shape.gati is not None and whole_gati else 0,
        spoken=shape.spoken.strip(),
        sarvalaghu=shape.sarvalaghu.strip(),
        sarvalaghu_source=shape.sarvalaghu_source,
        limbs="".join(shape.limbs.split()).upper(),
        southern=any(text.strip() for text in (shape.spoken, shape.sarvalaghu, shape.limbs)),
    )
    findings.extend(CycleCheck(cycle, node).run(shape.gati))
    if any(finding.severity == "error" for finding in findings):
        return None, findings
    for key in ("strokes", "spoken", "sarvalaghu"):
        written = node.get(key)
        if isinstance(written, Scalar):
            findings.extend(judge_theka(cycle, written.passage(), written.spot))
    return cycle, findings
