"""A chart as pages: heading, cycle, form and the engraved systems of the strains; PDF or PNG."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from fractions import Fraction
from typing import Any

from cyclechart.arrange.roles.theka_rows import beat_counts, beat_strokes, is_counted
from cyclechart.arrange.sheet.model import Reader, Sheet
from cyclechart.arrange.sheet.road_map import FormBox, cycle_title
from cyclechart.piece.set import gig
from cyclechart.text.display import as_read, breakable, settable, shown, tidy
from cyclechart.text.excerpts import clip
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.spelling import TONICS, spell
from cyclechart.theory.tones import SARGAM, dotted
from cyclechart.write.files.cautions import CAUTION
from cyclechart.write.files.paper_sizes import A4, Paper
from cyclechart.write.musicxml.part_list import player_label
from cyclechart.write.musicxml.staff import plain_number
from cyclechart.write.paper.typesetting import template, typeset

SHORT = 90
"""The most letters of a title at the foot of a page."""

LARGE, NARROW = 22, 15
"""The letters after which a long word may be broken, in large type and in a narrow column."""


def set_pages(
    sheet: Sheet, systems: Mapping[str, list[str]], kind: str, paper: Paper = A4
) -> list[bytes]:
    """Return a lead sheet or part as one PDF (``kind`` pdf), or a PNG for each page (``kind`` png).

    ``systems``: the SVGs of each strain by its letter, none for a silent one. Texts reach the page
    as data, so that no title is ever read as markup; the same input gives the same bytes.
    """
    files: dict[str, bytes] = {"main.typ": template("chart.typ")}
    strains = []
    for strain in sheet.strains:
        names = []
        for number, svg in enumerate(systems.get(strain.letter, ())):
            name = f"{strain.letter}-{number}.svg"
            files[name] = svg.encode()
            names.append(name)
        strains.append(
            {
                "letter": strain.letter,
                "name": settable(strain.name),
                "remark": settable(strain.remark),
                "tones": settable(strain.tones),
                "turn": settable(strain.next_change),
                "rests": strain.rests,
                "holds": strain.staff_text,
                "systems": names,
            }
        )
    texts = {**heading(sheet), "paper": asdict(paper), "strains": strains}
    return typeset(files, texts, kind)


def heading(sheet: Sheet) -> dict[str, Any]:
    """Return the texts over the music."""
    mode = sheet.mode
    letters = [[SARGAM[tone], str(spell(sheet.tonic, tone))] for tone in sorted(mode.tones)]
    second = mode.drone_second
    tones = [spell(sheet.tonic, 0), *([spell(sheet.tonic, second)] if second else [])]
    return {
        "plain_title": as_read(shown(sheet.title)),
        "plain_composer": as_read(shown(sheet.composer)),
        "title": settable(sheet.title, LARGE),
        "short_title": settable(clip(sheet.title, SHORT)),
        "composer": settable(sheet.composer, NARROW),
        "tonic": str(sheet.tonic),
        "mode_name": settable(mode.name, LARGE),
        "ascent": [dotted(pitch) for pitch in mode.ascent],
        "descent": [dotted(pitch) for pitch in mode.descent],
        "letters": letters,
        "drone": "drone " + " ".join(map(str, tones)),
        "tempo": shown_tempo(sheet.tempo),
        "tuning": " · ".join(
            filter(None, [_tuning(sheet.tuning), _eduppu(sheet.eduppu), sheet.signature])
        ),
        "cycles": list(map(_cycle, sheet.cycles)),
        "sounding": _sounding(sheet),
        "reader": _reader(sheet.reader),
        "road": [_form_box(step, sheet.reader) for step in sheet.road],
        "total": _minutes(sum(step.seconds + step.count_in_seconds for step in sheet.road))
        + (", count-in included" if any(step.count_in_seconds for step in sheet.road) else ""),
        "liberties": list(map(settable, sheet.liberties)),
        "caution": CAUTION,
    }


def _tuning(name: str) -> str:
    return {"just": "just tuning", "equal": "equal tuning"}.get(name, "own tuning")


def _eduppu(eduppu: Fraction) -> str:
    """Return where the lines come home, or "" where that is the first beat."""
    return f"eduppu {show_exact(eduppu)}" if eduppu else ""


def _sounding(sheet: Sheet) -> str | None:
    """Return the letter on which Sa sounds, where it is written on another."""
    if sheet.reader is None or sheet.reader.transposes % 12 == 0:
        return None
    key = (sheet.tonic.semitone + sheet.reader.transposes) % 12
    return str(TONICS[key])


def _reader(reader: Reader | None) -> dict[str, str] | None:
    if reader is None:
        return None
    return {"player": settable(reader.player), "title": settable(player_label(reader))}


def _form_box(step: FormBox, reader: Reader | None) -> dict[str, Any]:
    """Return the box of a step of the form."""
    length = [_minutes(step.seconds)]
    if step.cycles:
        count = -(-step.cycles // 1)
        length.insert(0, f"{count} cycle{'' if count == 1 else 's'}")
    return {
        "letter": step.letter,
        "name": settable(step.name),
        "detail": settable(step.detail),
        "turns_to": settable(step.changes_text),
        "length": " · ".join(filter(None, length)),
        "own": reader is not None and reader.player in step.players,
    }


def _minutes(seconds: Fraction | int) -> str:
    return gig.clock_time(Fraction(seconds) / 60) if seconds else ""


def _cycle(cycle: Cycle) -> dict[str, Any]:
    """Return the rows of a cycle's table: its beats, claps and waves, strokes, spoken count."""
    strokes, counted = beat_strokes(cycle), is_counted(cycle)
    return {
        "name": breakable(
            cycle_title(replace(cycle, name=shown(clip(cycle.name, SHORT))), ", "), 10
        ),
        "beats": [show_exact(offset + 1) for offset, _ in strokes],
        "signs": [cycle.signs.get(offset, "") for offset, _ in strokes],
        "strokes": [text for _, text in strokes],
        "counts": [text if counted else "" for _, text in beat_counts(cycle)],
        "counted": counted,
        "starts": [i for i, (offset, _) in enumerate(strokes) if offset in cycle.starts],
    }


def user_texts(sheet: Sheet) -> list[str]:
    """Return every text on the page that the user wrote."""
    texts = [sheet.title, sheet.composer, sheet.mode.name, *sheet.liberties]
    texts += [cycle.name for cycle in sheet.cycles]
    texts += [text for step in sheet.road for text in (step.name, step.detail, step.changes_text)]
    for strain in sheet.strains:
        texts += [
            strain.name,
            strain.remark,
            strain.next_change,
            *(note.word for note in strain.notes),
        ]
    return list(map(tidy, texts))


def shown_tempo(tempo: Fraction) -> str:
    """Return a tempo for print: a short decimal where that is exact, else with a fraction."""
    plain = plain_number(tempo)
    return plain if Fraction(plain) == tempo else show_exact(tempo)
