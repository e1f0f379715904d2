"""A piece with the cells of its texts lined up under each other.

Only white space between cells changes, in texts of several rows and in blocks; what a text says is
the same before and after, or it is left as it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from cyclechart.draft.cell_columns import TableRows, lined_up
from cyclechart.draft.text_rows import RowedText, TextRow, rowed_text
from cyclechart.draft.words_rows import signs_of_words, words_rows
from cyclechart.finding import Edit, Spot
from cyclechart.piece.heading import tonic_from
from cyclechart.piece.line_text import script_named
from cyclechart.piece.shape import SCRIPTS, TEXTS
from cyclechart.piece.words import verses_in
from cyclechart.text.chord_script import CHORDS, chords_script
from cyclechart.text.display import columns
from cyclechart.text.edits import with_edits
from cyclechart.text.nodes import Mapping, Scalar, read
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import Script
from cyclechart.text.source import PlacedText, Source
from cyclechart.theory.spelling import Tonic

MOST_CELLS = 20_000
"""Cells of one text that are lined up; a longer one is no music that anybody reads."""


def tidy(source: Source) -> list[Edit]:
    """Return the edits that tidy a piece file's text; none where it cannot be read."""
    root, _ = read(source)
    return list(tidy_nodes(source, root)) if isinstance(root, Mapping) else []


def tidied(source: Source) -> str:
    """Return a piece file's text with the cells of its texts lined up."""
    return with_edits(source, tidy(source))


def tidy_nodes(source: Source, root: Mapping) -> Iterator[Edit]:
    """Yield the edits that tidy a piece whose file is read already."""
    tonic, _ = tonic_from(root.get("tonic"))
    lines = root.get("lines")
    if not isinstance(lines, Mapping):
        return
    done: set[int] = set()  # an alias gives a text twice
    for _, line in lines.pairs.values():
        if not isinstance(line, Mapping):
            continue
        for text, script, words in _texts(line, tonic):
            if text.start not in done:
                done.add(text.start)
                yield from _Table(source, text, script, words).edits()


def _texts(line: Mapping, tonic: Tonic) -> Iterator[tuple[Scalar, Script, list[Scalar]]]:
    """Yield the texts of a line: each with its script and the words that are sung on it."""
    words, _ = verses_in(line.get("words"))
    for key in TEXTS:
        text = line.get(key)
        if isinstance(text, Scalar):
            yield text, _script(key, text, tonic), words
    cadence = line.get("cadence")
    if isinstance(cadence, Mapping):
        yield from ((text, script, []) for text, script in _of_cadence(cadence, tonic, 0))


def _of_cadence(cadence: Mapping, tonic: Tonic, depth: int) -> Iterator[tuple[Scalar, Script]]:
    """Yield the texts of a cadence and of those in it; a body is in the script of its statement."""
    for place in (cadence, cadence.get("first")):
        for key in SCRIPTS:
            text = place.get(key) if isinstance(place, Mapping) else None
            if isinstance(text, Scalar):
                yield text, _script(key, text, tonic)
    body, key = cadence.get("body"), _key_of_statement(cadence)
    if isinstance(body, Scalar) and key:
        yield body, _script(key, body, tonic)
    inner = cadence.get("cadence")
    if isinstance(inner, Mapping) and inner is not cadence and depth < 8:
        yield from _of_cadence(inner, tonic, depth + 1)


def _key_of_statement(cadence: Mapping) -> str:
    """Return the key that the statement of a cadence is written under; "" for another line."""
    for _ in range(8):
        key = next((key for key in SCRIPTS if key in cadence.pairs), "")
        inner = cadence.get("cadence")
        if key or not isinstance(inner, Mapping):
            return key
        cadence = inner
    return ""


def _script(key: str, text: Scalar, tonic: Tonic) -> Script:
    return chords_script(text.passage().text, tonic) if key == CHORDS else script_named(key, tonic)


class _Table:
    """A text of several rows, or in a block, with the words that are sung on it."""

    def __init__(
        self, source: Source, text: Scalar, script: Script, words: Iterable[Scalar]
    ) -> None:
        self.source, self.text, self.script = source, text, script
        self.passage = text.passage()
        self.words = [one for one in words if one.style in ("|", ">")]

    def edits(self) -> Iterator[Edit]:
        """Yield the edits of the text's rows, and of the words' rows."""
        if not self.is_table():
            return
        music = rowed_text(self.passage, self.script)
        if music is None or sum(len(row.entries) for row in music.rows) > MOST_CELLS:
            return
        verses = [words_rows(one.passage().text, music) for one in self.words]
        indent = self.indent(self.text, self.passage)
        said: dict[int, str] = {}
        sung: list[dict[int, str]] = [{} for _ in verses]
        sung_on: dict[int, list[tuple[int, int]]] = {}
        for verse, words in enumerate(verses):
            for number, (row, _) in words.items():
                sung_on.setdefault(row, []).append((verse, number))
        for table in _tables(music.rows):
            entries = [row.entries for row in table if row.entries]
            places = [one for row in table for one in sung_on.get(row.number, ())]
            below = [verses[verse][number][1] for verse, number in places]
            if not entries:
                continue
            grid = lined_up([*entries, *below], indent)
            if not grid.by_cell:
                grid = lined_up(entries, indent)
            said |= _with_comments(table, grid)
            for (verse, number), text in zip(places, grid.rows[len(entries) :], strict=False):
                sung[verse][number] = text
        if self.says_the_same(said, music):
            yield from self.replaced(self.text, self.passage, said, indent)
        for one, rows in zip(self.words, sung, strict=True):
            yield from self.words_replaced(one, rows, music)

    def is_table(self) -> bool:
        """Return whether a text has rows of its own that can be told apart in the file."""
        if self.text.style in ("|", ">"):
            return True
        written = self.text.source.text[self.text.start : self.text.end]
        return "\n" in written and not (self.text.style == '"' and "\\" in written)

    def indent(self, node: Scalar, passage: PlacedText) -> int:
        """Return the column, from 0, at which the rows of a text begin."""
        if node.style not in ("|", ">"):
            return passage.spot(0).column - 1
        head = node.source.text[node.start : node.end].split("\n", 1)[0]
        said = node.said_indent(head)
        if said is not None:
            return said
        rows = (row for row in passage.text.split("\n") if row.strip())
        first = next(rows, "")
        return len(first) - len(first.lstrip(" "))

    def says_the_same(self, rows: dict[int, str], music: RowedText) -> bool:
        """Return whether a text with new rows has the same cells, bars and brackets."""
        items, findings = read_line(self.new_passage(self.passage, rows), self.script)
        return not findings and items == music.items

    def new_passage(self, passage: PlacedText, rows: dict[int, str]) -> PlacedText:
        old = passage.text.split("\n")
        text = "\n".join(rows.get(number, row) for number, row in enumerate(old))
        return PlacedText(self.source, text, 0)

    def words_replaced(
        self, words: Scalar, rows: dict[int, str], music: RowedText
    ) -> Iterator[Edit]:
        """Yield the edits of the rows of words, if they are sung on the same notes as before."""
        passage = words.passage()
        new = self.new_passage(passage, rows).text
        before, after = (
            [(sign.text, sign.note, sign.sung) for sign in signs_of_words(text, music)]
            for text in (passage.text, new)
        )
        if before == after:
            yield from self.replaced(words, passage, rows, self.indent(words, passage))

    def replaced(
        self, node: Scalar, passage: PlacedText, rows: dict[int, str], indent: int
    ) -> Iterator[Edit]:
        """Yield an edit for each row of a text that changes."""
        first = passage.spot(0)
        block = node.style in ("|", ">")
        for number, new in rows.items():
            whole = self.source.line(first.line + number)
            begins = first.column - 1 if not number and not block else 0
            ends = len(whole)
            if not block and number + 1 == passage.text.count("\n") + 1:
                ends = node.source.spot(node.end - (node.style is not None)).column - 1
            text = new.replace("'", "''") if node.style == "'" else new
            text = text if begins else " " * indent + text
            old = whole[begins:ends]
            if old != text:
                yield Edit(Spot(self.source.file, first.line + number, begins + 1, len(old)), text)


def _tables(rows: Iterable[TextRow]) -> Iterator[list[TextRow]]:
    """Yield the rows that stand together without an empty row between."""
    for written, group in groupby(rows, key=lambda row: bool(row.entries or row.comment)):
        if written:
            yield list(group)


def _with_comments(table: list[TextRow], grid: TableRows) -> dict[int, str]:
    """Return the rows of a table by number, comments behind cells under each other."""
    texts = iter(grid.rows)
    rows = [(row, next(texts) if row.entries else "") for row in table]
    ends = max(
        (columns(text) for row, text in rows if row.comment and columns(text) <= grid.ends),
        default=0,
    )
    found = {}
    for row, text in rows:
        gap = max(2, ends + 2 - columns(text)) if row.entries else 0
        found[row.number] = text + " " * gap + row.comment if row.comment else text
    return found
