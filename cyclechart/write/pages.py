"""Engraved systems set on pages: the heading, the cycle, the form, the strains; PDF or PNG."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

import typst

from cyclechart.arrange.sheet import Sheet, titled
from cyclechart.text.faults import clip
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.spelling import spell
from cyclechart.theory.tones import SARGAM, dotted
from cyclechart.write.cards import beat_strokes
from cyclechart.write.staff import plain_number

PNG_PPI = 144
SHORT = 90
"""Letters of a title that the foot of a page has room for."""

CAUTION = (
    "Mode grammars differ by teacher and lineage: your own teacher's word goes before this page. "
    "Keep the drone soft enough to talk over."
)


@lru_cache(maxsize=1)
def _template() -> bytes:
    return (Path(__file__).parent / "chart.typ").read_bytes()


def set_pages(sheet: Sheet, systems: Mapping[str, list[str]], kind: str) -> list[bytes]:
    """The lead sheet as one PDF (``kind`` pdf), or as a PNG for each page (``kind`` png).

    ``systems`` are the SVGs of each strain by its letter. Texts reach the page as data, so that
    no title is ever read as markup; the same input gives the same bytes.
    """
    files: dict[str, bytes] = {"main.typ": _template()}
    strains = []
    for strain in sheet.strains:
        names = []
        for number, svg in enumerate(systems[strain.letter]):
            name = f"{strain.letter}-{number}.svg"
            files[name] = svg.encode()
            names.append(name)
        strains.append(
            {
                "letter": strain.letter,
                "name": breakable(strain.name),
                "remark": breakable(strain.remark),
                "systems": names,
            }
        )
    data = json.dumps({**_heading(sheet), "strains": strains}, ensure_ascii=False)
    made: bytes | list[bytes] = typst.compile(  # type: ignore[call-overload]  # takes a dict too
        files,
        format=kind,
        ppi=float(PNG_PPI) if kind == "png" else None,
        sys_inputs={"data": data},
        ignore_system_fonts=True,
        timestamp=0,
    )
    return made if isinstance(made, list) else [made]


def _heading(sheet: Sheet) -> dict[str, Any]:
    mode = sheet.mode
    letters = [[SARGAM[tone], str(spell(sheet.tonic, tone))] for tone in sorted(mode.tones)]
    second = mode.drone_second
    tones = [spell(sheet.tonic, 0), *([spell(sheet.tonic, second)] if second else [])]
    return {
        "plain_title": sheet.title,
        "plain_composer": sheet.composer,
        "title": breakable(sheet.title),
        "short_title": breakable(clip(sheet.title, SHORT)),
        "composer": breakable(sheet.composer),
        "tonic": str(sheet.tonic),
        "mode_name": breakable(mode.name),
        "ascent": [dotted(pitch) for pitch in mode.ascent],
        "descent": [dotted(pitch) for pitch in mode.descent],
        "letters": letters,
        "drone": "drone " + " ".join(map(str, tones)),
        "tempo": shown_tempo(sheet.tempo),
        "tuning": {"just": "just tuning", "equal": "equal tuning"}.get(sheet.tuning, "own tuning"),
        "cycles": list(map(_cycle, sheet.cycles)),
        "road": [
            {
                "letter": step.letter,
                "name": breakable(step.name),
                "detail": breakable(step.detail),
                "turns_to": breakable(step.turns_to),
            }
            for step in sheet.road
        ],
        "liberties": list(map(breakable, sheet.liberties)),
        "caution": CAUTION,
    }


def _cycle(cycle: Cycle) -> dict[str, Any]:
    """The rows of a cycle's table: its beats, claps and waves, strokes."""
    strokes = beat_strokes(cycle)
    return {
        "name": breakable(titled(cycle, ", "), 14),
        "beats": [show_exact(offset + 1) for offset, _ in strokes],
        "signs": [cycle.signs.get(offset, "") for offset, _ in strokes],
        "strokes": [text for _, text in strokes],
        "starts": [i for i, (offset, _) in enumerate(strokes) if offset in cycle.starts],
    }


def breakable(text: str, most: int = 30) -> str:
    """A text whose words can be broken after so many letters: the page breaks no word by itself."""
    return re.sub(rf"\S{{{most}}}(?=\w)", "\\g<0>\u200b", text)


def shown_tempo(tempo: Fraction) -> str:
    """A tempo as it is printed: a short decimal where that is exact, else with a fraction."""
    plain = plain_number(tempo)
    return plain if Fraction(plain) == tempo else show_exact(tempo)
