"""What can be written where the cursor stands."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from cyclechart.catalog import kit
from cyclechart.catalog.instruments import instrument, instrument_names
from cyclechart.catalog.roles import ROLES
from cyclechart.catalog.strokes import strokes
from cyclechart.catalog.svara_scripts import SCRIPT_NAMES
from cyclechart.editor.analysis import Analysis
from cyclechart.editor.cursor import ITEM, Cursor, cursor_at, named_rows, names_under
from cyclechart.editor.key_help import key_help
from cyclechart.editor.keys import place_of, text_key
from cyclechart.piece import reads
from cyclechart.piece.line_text import script_named
from cyclechart.piece.steps import BREAKS, LEVELS
from cyclechart.rules.judge import RULE_NAMES
from cyclechart.text.line_tree import MARKS, SPEEDS
from cyclechart.theory.cadence import YATIS
from cyclechart.theory.spelling import TONICS, spell
from cyclechart.theory.tones import SARGAM


class Offer(NamedTuple):
    """Something to write: its kind (``key``, ``name``, ``word``, ``tone``), what it is in a few
    words, and more on it. ``text`` is written in place of ``label`` where it is set."""

    label: str
    kind: str
    detail: str = ""
    about: str = ""
    text: str = ""


def offers(analysis: Analysis, row: int, column: int) -> tuple[Cursor, list[Offer]]:
    """Return where the cursor stands and what can be written there, plainest first."""
    rows = analysis.source.text.split("\n")
    cursor = cursor_at(rows, row, column)
    key = text_key(cursor.path)
    if key and cursor.writes in ("text", "value"):
        return cursor, list(_in_text(analysis, cursor, key))
    names = _Names(analysis, rows)
    if cursor.writes == "key":
        return cursor, list(_keys(cursor, names, rows, row))
    if cursor.writes == "value":
        return cursor, list(_values(cursor, names))
    return cursor, []


class _Names:
    """The user's own names and those of the catalogue."""

    def __init__(self, analysis: Analysis, rows: list[str]) -> None:
        self.analysis, self.rows = analysis, rows

    def lines(self) -> Iterator[Offer]:
        piece = self.analysis.piece
        known = list(piece.lines) if piece else []
        for name in dict.fromkeys([*names_under(self.rows, "lines"), *known]):
            kind = piece.lines[name].kind if piece and name in piece.lines else "line"
            yield Offer(name, "name", kind)

    def players(self) -> Iterator[Offer]:
        piece = self.analysis.piece
        known = {one.name: one.role.name for one in piece.players} if piece else {}
        for name in dict.fromkeys([*names_under(self.rows, "players"), *known]):
            yield Offer(name, "name", known.get(name, "player"))

    def modes(self) -> Iterator[Offer]:
        for shelf in self.analysis.library.modes:
            yield from (Offer(name, "name", "mode") for name in shelf.names())

    def cycles(self) -> Iterator[Offer]:
        for shelf in self.analysis.library.cycles:
            yield from (Offer(name, "name", "cycle") for name in shelf.names())

    def ensembles(self) -> Iterator[Offer]:
        for band in self.analysis.library.bands:
            yield from (Offer(name, "name", "ensemble") for name in band.pairs)

    def instruments(self) -> Iterator[Offer]:
        for name in instrument_names():
            known = instrument(name)
            roles = [role.name for role in known.roles] if known else []
            yield Offer(name, "name", ", ".join(roles))


def _keys(cursor: Cursor, names: _Names, rows: list[str], row: int) -> Iterator[Offer]:
    """Yield the keys of the mapping at the cursor that are not written yet."""
    place = place_of(cursor.path)
    if place == "players":
        yield from names.instruments()
        return
    if place in ("under", "of-player"):
        yield from names.players()
        return
    if cursor.path[-1:] == ("form",) and not cursor.before:
        for verb in ("play", "solo", "trade", "groove", "free"):
            help_ = key_help()["step"][verb]
            yield Offer(f"- {verb}", "key", help_.example, help_.meaning, f"- {verb}: ")
        return
    written = _siblings(cursor.path, rows, row)
    for key, help_ in key_help().get(place, {}).items():
        if key not in written:
            yield Offer(key, "key", help_.example, help_.meaning, f"{key}: ")
    if place == "" and cursor.path[-1:] == (ITEM,):
        # A word in a list may be a key still, or a value.
        yield from _values(cursor, names)


def _siblings(path: tuple[str, ...], rows: list[str], row: int) -> set[str]:
    """Return the keys that are written beside the cursor in rows of their own; {} in a list, whose
    items are not told apart by their keys."""
    if ITEM in path:
        return set()
    found = (one for one in named_rows(rows) if one.row != row)
    return {one.path[-1] for one in found if one.path[:-1] == path}


def _values(cursor: Cursor, names: _Names) -> Iterator[Offer]:
    """Yield the values of the key at the cursor."""
    keys = [key for key in cursor.path if key != ITEM]
    key = keys[-1] if keys else ""
    place = place_of(
        cursor.path[: len(cursor.path) - 1 - cursor.path[::-1].index(key)] if key else ()
    )
    if key == "mode":
        yield from names.modes()
    elif key == "cycle":
        yield from names.cycles()
    elif key == "tonic":
        yield from _words(str(one).replace("♭", "b").replace("♯", "#") for one in TONICS)
    elif place == "piece" and key == "players":
        yield from names.ensembles()
    elif key == "instrument":
        yield from names.instruments()
    elif key == "plays" or place == "players":
        yield from _words(ROLES)
    elif key in ("play", "over", "line", "from", "chain") or place == "under":
        yield from names.lines()
        yield from _words(["none"] if place == "under" and "under" in keys else [])
    elif key == "hits":
        yield from names.lines()
        yield from _words(["accents"])
    elif key == "rhythm":
        yield from _words(["own", "written"])
        yield from names.lines()
    elif key == "free":
        yield from names.lines()
        yield from names.players()
    elif key in ("solo", "trade") or (key == "by" and place in ("step", "hits")):
        yield from names.players()
    else:
        yield from _words(_FEW.get((place, key), _FEW.get(("", key), ())))


_FEW: dict[tuple[str, str], Iterable[str]] = {
    ("piece", "tuning"): ("just", "equal"),
    ("", "sound"): ("plain",),
    ("", "under"): ("none",),
    ("", "lands"): ("free", "anagat 1/2", "atit 1/2"),
    ("", "reversed"): ("true",),
    ("", "halves"): ("true",),
    ("", "on-cue"): ("true",),
    ("", "stop"): ("true",),
    ("", "fermata"): ("true",),
    ("", "break"): BREAKS,
    ("", "dynamics"): LEVELS,
    ("", "yati"): YATIS,
    ("", "gap"): ("auto",),
    ("cadence", "begins"): ("auto",),
    ("", "rule"): RULE_NAMES,
    ("liberty", "tone"): SARGAM,
    ("mode", "register"): ("mandra", "purvang", "uttarang", "tar"),
    ("reads", "names"): reads.NAMES,
    ("reads", "script"): SCRIPT_NAMES,
    ("reads", "clef"): reads.CLEFS,
    ("reads", "transposes"): (*reads.KEYS, reads.CONCERT),
    ("reads", "print"): reads.PRINTS,
    ("line", "speed"): SPEEDS,
    ("player", "drone"): ("P", "m", "N"),
}
"""The words of keys that take few, by the mapping that they stand in, or by any."""


def _words(words: Iterable[str]) -> Iterator[Offer]:
    return (Offer(word, "word") for word in words)


def _in_text(analysis: Analysis, cursor: Cursor, key: str) -> Iterator[Offer]:
    """Yield what can be written in the text of a line."""
    before = cursor.before
    if key == "words" or _in_comment(before):
        return
    bang = before.rfind("!")
    if (
        bang >= 0
        and before.count("!") % 2
        and before[bang + 1 :].isalpha() | (bang + 1 == len(before))
    ):
        yield from (Offer(f"!{mark}!", "word", "decoration") for mark in MARKS)
        return
    cell = before[max(before.rfind(" "), before.rfind("\t")) + 1 :]
    if "]" in cell:
        yield from (Offer(word, "word", "speed") for word in ("x3/2", *SPEEDS))
        return
    if key == "strokes" or (key == "body" and "strokes" in cursor.path):
        yield from (Offer(name, "tone", "drum syllable") for name in strokes().syllables)
    elif key == "kit":
        for drum in kit.DRUMS:
            if drum.letter:
                yield Offer(drum.letter, "tone", drum.words)
    elif key not in ("chords", "body"):
        yield from _tones(analysis, key)
    elif key == "body":
        yield from _tones(analysis, "sargam")


def _tones(analysis: Analysis, key: str) -> Iterator[Offer]:
    """Yield the tones of the piece's mode as a script writes them."""
    piece = analysis.piece
    if piece is None:
        return
    script = script_named(key, piece.tonic)
    for semitone in sorted(piece.mode.tones):
        letter = spell(piece.tonic, semitone)
        cents = piece.tuning.cents[semitone]
        yield Offer(script.write(semitone), "tone", f"{letter}, {cents:.0f} cents above Sa")


def _in_comment(before: str) -> bool:
    return before.startswith("#") or " #" in before
