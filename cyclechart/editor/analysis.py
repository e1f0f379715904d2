"""What is known of the text of a piece while it is written: its nodes, its piece, its findings."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cached_property
from pathlib import Path

from cyclechart.catalog.library import Library
from cyclechart.finding import Finding
from cyclechart.piece.load import Loaded, read_piece
from cyclechart.piece.model import Piece
from cyclechart.rules.judge import RULE_NAMES, findings_on
from cyclechart.text.nodes import Mapping, read
from cyclechart.text.source import Source, decode, with_plain_ends

_KEY = re.compile(r"^(title|tonic|mode|cycle|tempo|lines|form|players)[ ]*:", re.MULTILINE)
_LINES = re.compile(r"^lines[ ]*:", re.MULTILINE)
_SET = re.compile(r"^pieces[ ]*:", re.MULTILINE)


class Analysis:
    """A text as it stands in the editor, worked out as far as it is asked for.

    ``file`` names it in findings; ``folder`` is where its shared/ is looked for, if anywhere.
    """

    def __init__(
        self, file: str, text: str, folder: Path | None, before: Analysis | None = None
    ) -> None:
        """``before``: the text as it was, whose lines are taken over where they are the same."""
        self.file, self.folder = file, folder
        self._lines = dict(before.piece.lines) if before is not None and before.piece else {}
        self.mark = text.startswith("\ufeff")
        self.data = text.encode("utf-8", "surrogatepass")
        plain = with_plain_ends(text.removeprefix("\ufeff"))
        self.source = Source.of(file, plain)

    @cached_property
    def is_piece(self) -> bool:
        """Whether the text has the keys of a piece, or enough of them: a set list and other YAML
        get no findings."""
        text = self.source.text
        if _LINES.search(text):
            return True
        return not _SET.search(text) and len({*_KEY.findall(text)}) > 1

    @cached_property
    def loaded(self) -> Loaded:
        """The text read as a piece."""
        loaded = read_piece(self.file, self.data, RULE_NAMES, self.folder)
        if loaded.piece is None:
            return loaded
        # What a line has worked out of itself is then known.
        lines = {
            name: self._lines[name] if self._lines.get(name) == line else line
            for name, line in loaded.piece.lines.items()
        }
        return replace(loaded, piece=replace(loaded.piece, lines=lines))

    @property
    def piece(self) -> Piece | None:
        """The piece, or as much of it as could be read."""
        return self.loaded.piece

    @cached_property
    def findings(self) -> list[Finding]:
        """All findings on the text."""
        return findings_on(self.loaded)

    @cached_property
    def root(self) -> Mapping | None:
        """The nodes of the text; None where YAML cannot read it."""
        source, _ = decode(self.file, self.data)
        root = read(source)[0] if source is not None else None
        return root if isinstance(root, Mapping) else None

    @cached_property
    def library(self) -> Library:
        """The modes, cycles and ensembles that the piece can name."""
        return Library.beside(self.folder)
