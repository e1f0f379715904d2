"""The card of a mode as a page: tones, paths and phrases on a staff, a picture of its moves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Any

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.finding import Spot
from cyclechart.piece.line import Lands, Line
from cyclechart.piece.model import ANY_CYCLE, Piece
from cyclechart.piece.note import Note, Phrase
from cyclechart.text.display import as_read, settable, shown
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic, readable_tonic, spell
from cyclechart.theory.tones import SARGAM, dotted
from cyclechart.theory.tuning import JUST_TUNING
from cyclechart.write.engraving.systems import engrave
from cyclechart.write.paper.charts import LARGE
from cyclechart.write.paper.typesetting import template, typeset

NOWHERE = Spot("", 1, 1)


LAST = Fraction(2)
"""The beats of the last tone of a row; the others have one each."""


def mode_page(mode: Mode, tonic: Tonic, kind: str) -> list[bytes]:
    """Return the card as one PDF (``kind`` pdf), or a PNG for each page (``kind`` png).

    The same mode and tonic give the same bytes.
    """
    files: dict[str, bytes] = {"main.typ": template("mode.typ")}
    rows = [*_paths("ascent", mode.ascents), *_paths("descent", mode.descents)]
    rows += [(f"phrase {number}", phrase) for number, phrase in enumerate(mode.phrases, start=1)]
    piece = _piece(mode, tonic, rows)
    sheet = sheet_of(piece)
    staves = []
    for strain in sheet.strains:
        names = []
        for number, svg in enumerate(engrave(sheet, strain, first=False).systems):
            names.append(f"{strain.letter}-{number}.svg")
            files[names[-1]] = svg.encode()
        staves.append({"name": strain.name, "systems": names})
    texts = {**_texts(mode, tonic), "staves": staves}
    return typeset(files, texts, kind)


def _paths(which: str, paths: Sequence[tuple[int, ...]]) -> Iterator[tuple[str, tuple[int, ...]]]:
    """Yield the printed forms of a path with their names."""
    for number, path in enumerate(paths, start=1):
        yield which if number == 1 else f"{which}, form {number}", path


def _piece(mode: Mode, tonic: Tonic, rows: Sequence[tuple[str, tuple[int, ...]]]) -> Piece:
    """Return a piece whose lines are the rows, free of any cycle."""
    lines = {name: _line(name, pitches) for name, pitches in rows}
    return Piece(
        file="",
        title=mode.name,
        composer="",
        tonic=tonic,
        mode=mode,
        cycle=ANY_CYCLE,
        tempo=Fraction(60),
        tuning=JUST_TUNING,
        lines=lines,
        form=(),
        liberties=(),
        counts_in=False,
        spot=NOWHERE,
    )


def _line(name: str, pitches: tuple[int, ...]) -> Line:
    last = len(pitches) - 1
    notes = tuple(
        Note(Fraction(at), LAST if at == last else Fraction(1), NOWHERE, pitch)
        for at, pitch in enumerate(pitches)
    )
    length = Fraction(last) + LAST
    return Line(
        name=name,
        phrase=Phrase(kind="melody", notes=notes, section_lines=(), speeds=(), length=length),
        begins=Fraction(1),
        spot=NOWHERE,
        lands=Lands("free"),
    )


def leans_of(mode: Mode) -> str:
    """Return the vadi, samvadi and resting tones of a mode, and its hour, in one line."""
    leans = [
        f"{label} {SARGAM[tone]}"
        for label, tone in (("vadi", mode.vadi), ("samvadi", mode.samvadi))
        if tone is not None
    ]
    if mode.rests:
        leans.append("rests on " + " ".join(SARGAM[tone] for tone in mode.rests))
    if mode.weak:
        leans.append("weak " + " ".join(SARGAM[tone] for tone in mode.weak))
    if mode.hour:
        leans.append(settable(mode.hour))
    return " · ".join(leans)


def _texts(mode: Mode, tonic: Tonic) -> dict[str, Any]:
    written = readable_tonic(tonic, mode.tones)
    return {
        "plain_title": as_read(shown(mode.name)),
        "title": settable(mode.name, LARGE),
        "tonic": str(written),
        "leans": leans_of(mode),
        "also": settable(", ".join(mode.aka)),
        "family": settable(mode.family),
        "tones": [_tone(mode, written, tone) for tone in sorted(mode.tones)],
        "rises": list(_moves(mode.ascents)),
        "falls": list(_moves(mode.descents)),
        "places": [[dotted(p), p] for p in _places(mode)],
        "note": settable(" ".join(mode.note.split())),
        "source": settable(" ".join(mode.source.split())),
    }


def _tone(mode: Mode, tonic: Tonic, tone: int) -> dict[str, str]:
    """Return a row of the table of tones."""
    ratio, cents = mode.sized(tone)
    if tone in mode.up and tone in mode.down:
        place = ""
    elif tone in mode.up:
        place = "rising"
    elif tone in mode.down:
        place = "falling"
    else:
        place = "in phrases"
    return {
        "sargam": SARGAM[tone],
        "letter": str(spell(tonic, tone)),
        "ratio": ratio,
        "cents": f"{cents:.1f}",
        "off": f"{cents - 100 * tone:+.1f}",
        "where": place,
    }


def _places(mode: Mode) -> list[int]:
    """Return every pitch of the paths, low to high."""
    return sorted({pitch for path in (*mode.ascents, *mode.descents) for pitch in path})


def _moves(paths: Sequence[tuple[int, ...]]) -> Iterator[list[int]]:
    """Yield the moves [from, to] of the paths, each once."""
    for before, after in dict.fromkeys(move for path in paths for move in pairwise(path)):
        if before != after:
            yield [before, after]
