"""A chart as pages: heading, cycle, form and the engraved systems of the strains; PDF or PNG."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import asdict, replace
from fractions import Fraction
from typing import Any

from cyclechart.arrange.roles.theka_rows import beat_counts, beat_strokes, is_counted
from cyclechart.arrange.sheet.model import Reader, Sheet, StaffKey
from cyclechart.arrange.sheet.road_map import FormBox, cycle_title
from cyclechart.piece.set import gig
from cyclechart.text.display import as_read, breakable, player_title, settable, shown, tidy
from cyclechart.text.excerpts import clip
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import TONICS, Tonic, spell
from cyclechart.theory.tones import dotted
from cyclechart.write.engraving.kit_key import kit_key
from cyclechart.write.files.cautions import CAUTION
from cyclechart.write.files.paper_sizes import A4, Paper
from cyclechart.write.musicxml.part_list import player_label
from cyclechart.write.musicxml.staff import plain_number
from cyclechart.write.musicxml.tone_names import svara_namer
from cyclechart.write.paper.chart_music import ChartMusic
from cyclechart.write.paper.page_plan import Row
from cyclechart.write.paper.reading_notes import reading_notes
from cyclechart.write.paper.typesetting import template, typeset

SHORT = 90
"""The most letters of a title at the foot of a page."""

LARGE, NARROW = 22, 15
"""The letters after which a long word may be broken, in large type and in a narrow column."""


def set_pages(sheet: Sheet, music: ChartMusic, kind: str, paper: Paper = A4) -> list[bytes]:
    """Return a lead sheet or part as one PDF (``kind`` pdf), or a PNG for each page (``kind`` png).

    Texts reach the page as data, so that no title is ever read as markup; the same input gives the
    same bytes.
    """
    files, texts = page_data(sheet, music, paper)
    return typeset(files, texts, kind)


def page_data(
    sheet: Sheet, music: ChartMusic, paper: Paper
) -> tuple[dict[str, bytes], dict[str, Any]]:
    """Return the files and the texts of which the template sets the pages of a chart."""
    files: dict[str, bytes] = {
        "main.typ": template("chart.typ"),
        "paths.typ": template("paths.typ"),
    }
    for strain, systems in enumerate(music.systems):
        for number, svg in enumerate(systems):
            files[_system_name(strain, number)] = svg.encode()
    drones = dict(changed_drones(sheet))
    strains = [
        {
            "letter": strain.shown_letter,
            "name": settable(strain.name),
            "tempo": shown_tempo(strain.tempo) if strain.tempo is not None else "",
            "remark": settable(", ".join(filter(None, [strain.remark, drones.get(number)]))),
            "note": settable(strain.note),
            "tones": settable(strain.tones),
            "turn": settable(strain.next_change),
            "rests": strain.rests,
            "holds": strain.staff_text,
        }
        for number, strain in enumerate(sheet.strains)
    ]
    key = kit_key(sheet)
    if key is not None:
        files["key.svg"] = key.svg.encode()
    return files, {
        **heading(sheet),
        "heading": music.heading,
        "paper": asdict(paper),
        "strains": strains,
        "rows": [_row(row, music) for row in music.plan.rows],
        "pages": music.plan.pages,
        "key_width": key.width if key is not None else 0,
        "reading": reading_notes(sheet),
    }


def _system_name(strain: int, number: int) -> str:
    return f"{strain}-{number}.svg"


def _row(row: Row, music: ChartMusic) -> dict[str, Any]:
    """Return what stands side by side, and what a page turn before it costs."""
    cells = [
        {
            "strain": cell.strain,
            "system": _system_name(cell.strain, cell.system) if cell.system >= 0 else "",
            "share": cell.share,
            "first": cell.system <= 0,
            "last": cell.system < 0 or cell.system == len(music.systems[cell.strain]) - 1,
        }
        for cell in row.cells
    ]
    return {
        "cells": cells,
        "cost": row.turn.cost,
        "asked": row.turn.asked,
        "hurried": music.turned and row.turn.hurried,
    }


def changed_drones(sheet: Sheet) -> Iterator[tuple[int, str]]:
    """Yield each strain before which the drone changes, by its number, with the new drone."""
    before = drone_text(sheet.tonic, sheet.mode)
    for number, strain in enumerate(sheet.strains):
        here = drone_text(strain.key.tonic, strain.key.mode)
        if strain.drone and here != before and not strain.staff_text:
            yield number, here
        if not strain.silent:
            before = here


def drone_text(tonic: Tonic, mode: Mode) -> str:
    """Return the tones of the drone in letters, such as ``drone E♭ B♭``."""
    second = mode.drone_second
    tones = [spell(tonic, 0), *([spell(tonic, second)] if second else [])]
    return "drone " + " ".join(map(str, tones))


def heading(sheet: Sheet) -> dict[str, Any]:
    """Return the texts over the music."""
    mode, svara = sheet.mode, _svaras(sheet)
    letters = [[svara(tone), str(spell(sheet.tonic, tone))] for tone in sorted(mode.tones)]
    return {
        "plain_title": as_read(shown(sheet.title)),
        "plain_composer": as_read(shown(sheet.composer)),
        "title": settable(sheet.title, LARGE),
        "short_title": settable(clip(sheet.title, SHORT)),
        "composer": settable(sheet.composer, NARROW),
        "edition": settable(sheet.edition),
        "tonic": str(sheet.tonic),
        "mode_name": settable(mode.name, LARGE),
        "ascent": [svara(pitch) for pitch in mode.ascent],
        "descent": [svara(pitch) for pitch in mode.descent],
        "letters": letters,
        "drone": drone_text(sheet.tonic, mode),
        "tempo": shown_tempo(sheet.tempo),
        "tuning": " · ".join(
            text
            for text in (
                sheet.swing,
                _tuning(sheet.tuning),
                _eduppu(sheet.eduppu),
                sheet.signature,
            )
            if text
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


def _svaras(sheet: Sheet) -> Callable[[int], str]:
    """Return the namer of the tones of a heading: in the reader's script, or sargam."""
    if not sheet.script:
        return dotted
    return svara_namer(StaffKey(sheet.tonic, sheet.mode, 0), sheet.names, sheet.script)


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
    title, label = player_title(reader.player), player_label(reader)
    return {"player": settable(title), "title": settable(label)}


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
        "for_all": settable(step.for_leader) if reader is None else "",
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
    texts = [sheet.title, sheet.composer, sheet.edition, sheet.mode.name, *sheet.liberties]
    texts += [cycle.name for cycle in sheet.cycles]
    for step in sheet.road:
        texts += [step.name, step.detail, step.changes_text, step.for_leader]
    for strain in sheet.strains:
        texts += [
            strain.name,
            strain.remark,
            strain.note,
            strain.next_change,
            *(note.word for note in strain.notes),
            *(word for note in strain.notes for word in note.verses),
        ]
    return list(map(tidy, texts))


def shown_tempo(tempo: Fraction) -> str:
    """Return a tempo for print: a short decimal where that is exact, else with a fraction."""
    plain = plain_number(tempo)
    return plain if Fraction(plain) == tempo else show_exact(tempo)
