"""From a file to a set list: (data, findings, sources). A user's mistake never raises."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import islice
from pathlib import Path, PurePosixPath, PureWindowsPath

from cyclechart.catalog.library import Library
from cyclechart.finding import Finding, Findings, Spot
from cyclechart.piece.heading import edition_of, read_tonic
from cyclechart.piece.load import MAX_TITLE, Loaded, read_piece
from cyclechart.piece.lost_comments import lost_to_comments
from cyclechart.piece.player import Player
from cyclechart.piece.players import players_from
from cyclechart.piece.set.shape import BreakShape, SetlistShape, TuneShape
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence, read
from cyclechart.text.shape_fitting import fit
from cyclechart.text.source import Source, bytes_of, decode
from cyclechart.theory.exact import show_exact
from cyclechart.theory.spelling import Tonic

MAX_ENTRIES = 100
"""Pieces and breaks: more than two nights of music."""
MAX_NOTE = 300
LONGEST = Fraction(24 * 60)
"""Minutes of anything in a set."""
USUAL_RETUNE = Fraction(2)
"""Minutes that drone and drums are given to come to another Sa (common practice)."""

_STAND_INS = {"title": "Untitled", "pieces": []}
_PROSE = {"title", "date", "venue", "version", "note"}
_EXAMPLE = "pieces:\n  - ferry-at-first-light.yaml"
_OF_A_SET = re.compile(r"^pieces[ \t]*:", re.MULTILINE)
_OF_A_PIECE = re.compile(r"^lines[ \t]*:", re.MULTILINE)
_MOST_NEIGHBOURS = 1000
"""Files of a folder that are looked at for a name like the one that is not there."""


@dataclass(frozen=True, kw_only=True)
class Tune:
    """A piece where it stands in the set, with what is said of it for this gig.

    ``number`` counts the pieces of the set from 1. ``tonic`` and ``minutes`` are None where the
    set list does not say them. ``without``: the players who sit out.
    """

    spot: Spot
    number: int
    file: str
    loaded: Loaded
    tonic: Tonic | None = None
    minutes: Fraction | None = None
    note: str = ""
    without: tuple[str, ...] = ()

    @property
    def is_ready(self) -> bool:
        """Return whether the piece could be read whole: a draft has no chart and no length."""
        errors = any(finding.severity == "error" for finding in self.loaded.findings)
        return self.loaded.piece is not None and not errors


@dataclass(frozen=True)
class Break:
    """So many minutes without music. ``note`` is what the set list says of it, or ""."""

    spot: Spot
    minutes: Fraction
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Setlist:
    """A set list as read. All times are minutes.

    ``players`` are those who are there; () where the set list does not say, and each piece has its
    own. ``length`` is what the set must fit into, or None. ``starts`` is the minute of the day on
    which it starts, or None. ``edition``: its version, for the foot of its pages. ``loaded``: every
    piece by its file, read once. Entries that could not be read are left out of ``entries``.
    """

    file: str
    title: str
    date: str
    venue: str
    entries: tuple[Tune | Break, ...]
    retune: Fraction
    players: tuple[Player, ...]
    length: Fraction | None
    starts: int | None
    edition: str
    spot: Spot
    """The place of its list of pieces."""
    length_spot: Spot
    loaded: dict[str, Loaded] = field(default_factory=dict)

    @property
    def tunes(self) -> tuple[Tune, ...]:
        """The pieces in order, without the breaks."""
        return tuple(entry for entry in self.entries if isinstance(entry, Tune))


def load_setlist(
    path: Path, rules: Iterable[str] = ()
) -> tuple[Setlist | None, list[Finding], dict[str, Source]]:
    """Read a set list and its pieces. ``rules`` are the names that liberties of a piece may use.

    The findings are those of the set list's own file; what is wrong in a piece stands in its
    ``Loaded``. The sources are of all the files. Raises OSError where the set list cannot be
    opened.
    """
    findings = Findings()
    source = findings.take(decode(str(path), bytes_of(path)))
    if source is None:
        return None, findings, {}
    root = findings.take(read(source))
    if root is None:
        return None, findings, {str(path): source}
    reader = _SetlistReader(path, list(rules))
    setlist = reader.setlist(root)
    findings += reader.findings
    return setlist, list(dict.fromkeys(findings)), {str(path): source, **reader.sources}


class _SetlistReader:
    """Reads a set list and its pieces; collects the findings and the sources of all files."""

    def __init__(self, path: Path, rules: list[str]) -> None:
        self.path = path
        self.rules = rules
        self.findings = Findings()
        self.sources: dict[str, Source] = {}
        self.loaded: dict[str, Loaded] = {}

    def setlist(self, root: Node) -> Setlist | None:
        """Return the set list of a file's root; None where it is not a mapping of its keys."""
        shape = self.findings.take(fit(SetlistShape, root, _STAND_INS))
        if shape is None or not isinstance(root, Mapping):
            return None
        self.findings += lost_to_comments(root, _PROSE)
        retune = self.minutes(root, "retune", shape.retune, least=Fraction(0))
        length = self.minutes(root, "length", shape.length)
        players = self.players(root.get("players"), root.get("pieces"))
        entries = self.entries(root.get("pieces"), players)
        listed = root.key("pieces").spot if "pieces" in root.pairs else root.spot
        length_spot = root.key("length").spot if "length" in root.pairs else listed
        return Setlist(
            file=str(self.path),
            title=self.text(root, "title", shape.title, MAX_TITLE),
            date=self.text(root, "date", shape.date, MAX_TITLE),
            venue=self.text(root, "venue", shape.venue, MAX_TITLE),
            entries=entries,
            retune=USUAL_RETUNE if retune is None else retune,
            players=players,
            length=length,
            starts=shape.starts,
            edition=self.findings.take(edition_of(root, shape.version, "")),
            spot=listed,
            length_spot=length_spot,
            loaded=self.loaded,
        )

    def players(self, node: Node | None, pieces: Node | None) -> tuple[Player, ...]:
        """Return the players who are there; () where the set list does not say.

        An ensemble is looked for beside the set list, then where its pieces look for it.
        """
        if node is None:
            return ()
        library = Library.beside(self.path.parent, *self.folders(pieces))
        self.findings += library.findings
        self.sources.update({shared.file: shared for shared in library.sources})
        players = self.findings.take(players_from(node, library))
        return tuple(player for player in players if player.spot.file)

    def folders(self, pieces: Node | None) -> Iterator[Path]:
        """Yield the folders of the pieces that the set list names."""
        for item in pieces.items if isinstance(pieces, Sequence) else ():
            named = item.get("piece") if isinstance(item, Mapping) else item
            if isinstance(named, Scalar) and not PurePosixPath(named.text).is_absolute():
                yield (self.path.parent / named.text.strip()).parent

    def entries(self, node: Node | None, players: tuple[Player, ...]) -> tuple[Tune | Break, ...]:
        if node is None:  # the shape has reported it
            return ()
        if not isinstance(node, Sequence) or not node.items:
            what = "'pieces' must be a list of files, in the order of the set"
            self.findings.append(reading_rules.wrong_value(node.spot, what, [_EXAMPLE]))
            return ()
        if len(node.items) > MAX_ENTRIES:
            what = f"a set has at most {MAX_ENTRIES} pieces and breaks, not {len(node.items):,}"
            self.findings.append(reading_rules.too_long(node.spot, what))
            return ()
        entries: list[Tune | Break | None] = []
        number = 0
        for item in node.items:
            if isinstance(item, Mapping) and "break" in item.pairs and "piece" not in item.pairs:
                entries.append(self.a_break(item))
            else:
                number += 1
                entries.append(self.tune(item, number, players))
        return tuple(entry for entry in entries if entry is not None)

    def a_break(self, node: Mapping) -> Break | None:
        """Return a break; None where its minutes cannot be read."""
        shape = self.findings.take(fit(BreakShape, node))
        if shape is None:
            return None
        minutes = self.minutes(node, "break", shape.break_)
        note = self.text(node, "note", shape.note, MAX_NOTE)
        return None if minutes is None else Break(node.spot, minutes, note)

    def tune(self, node: Node, number: int, players: tuple[Player, ...]) -> Tune | None:
        """Return a piece of the set: ``- ferry.yaml``, or a mapping that says more."""
        if isinstance(node, Scalar):
            file = self.piece(node)
            return (
                None
                if file is None
                else Tune(spot=node.spot, number=number, file=file, loaded=self.loaded[file])
            )
        if not isinstance(node, Mapping):
            what = (
                "an entry of the set must be a piece's file, or a mapping of its keys, not a list"
            )
            self.findings.append(reading_rules.wrong_value(node.spot, what, [_EXAMPLE]))
            return None
        shape = self.findings.take(fit(TuneShape, node))
        at = node.get("piece")
        file = self.piece(at) if shape is not None and isinstance(at, Scalar) else None
        if shape is None or file is None:
            return None
        loaded = self.loaded[file]
        return Tune(
            spot=node.spot,
            number=number,
            file=file,
            loaded=loaded,
            tonic=self.tonic(node.get("tonic")) if shape.tonic is not None else None,
            minutes=self.minutes(node, "minutes", shape.minutes),
            note=self.text(node, "note", shape.note, MAX_NOTE),
            without=self.without(node.get("without"), loaded, players),
        )

    def tonic(self, node: Node | None) -> Tonic | None:
        """Return the Sa that a piece is played on at the gig."""
        if not isinstance(node, Scalar):
            return None
        tonic = read_tonic(node.text)
        if tonic is None:
            what = f"'{clip(node.text)}' is not a letter name for Sa"
            tries = ["tonic: D", "tonic: Eb", "tonic: F#"]
            self.findings.append(reading_rules.wrong_value(node.spot, what, tries))
        return tonic

    def without(
        self, node: Node | None, loaded: Loaded, players: tuple[Player, ...]
    ) -> tuple[str, ...]:
        """Return who sits out: one or more players of the piece or of the set."""
        if node is None or loaded.piece is None:
            return ()
        known = [player.name for player in (*loaded.piece.players, *players)]
        names = []
        for item in node.items if isinstance(node, Sequence) else (node,):
            name = " ".join(item.text.split()) if isinstance(item, Scalar) else ""
            if name in known:
                names.append(name)
            elif name:
                self.findings.append(reading_rules.unknown_name(item.spot, "player", name, known))
            else:
                what = "'without' must name the players who sit out"
                tries = ["without: [guitar]"]
                self.findings.append(reading_rules.wrong_value(item.spot, what, tries))
        return tuple(dict.fromkeys(names))

    def minutes(
        self, node: Mapping, key: str, value: Fraction | None, least: Fraction | None = None
    ) -> Fraction | None:
        """Return a time in minutes: more than nothing, or at least so many."""
        if value is None or key not in node.pairs:
            return None
        enough = value > 0 if least is None else value >= least
        if enough and value <= LONGEST:
            return value
        most = show_exact(LONGEST)
        low = "more than 0" if least is None else show_exact(least)
        what = f"'{key}' must be {low} to {most} minutes, not {show_exact(value)}"
        self.findings.append(
            reading_rules.wrong_value(node.pairs[key][1].spot, what, [f"{key}: 5"])
        )
        return None

    def text(self, node: Mapping, key: str, text: str | None, most: int) -> str:
        """Return a text on one line, cut to its longest."""
        if text is not None and len(text) > most:
            what = f"a {key} has at most {most} letters, not {len(text)}"
            self.findings.append(reading_rules.too_long(node.pairs[key][1].spot, what))
            return clip(text, most)
        return " ".join((text or "").split())

    def piece(self, node: Scalar) -> str | None:
        """Return the name of the file at a path, and read its piece once; None for no piece."""
        text = node.text.strip()
        if not text:
            what = "an entry of the set is empty"
            self.findings.append(reading_rules.wrong_value(node.spot, what, [_EXAMPLE]))
            return None
        if PurePosixPath(text).is_absolute() or PureWindowsPath(text).anchor:
            what = f"'{clip(text)}' is not a path from the set list's own folder"
            tries = ["write it as in ../ferry-at-first-light.yaml"]
            self.findings.append(reading_rules.wrong_value(node.spot, what, tries))
            return None
        path = self.path.parent / text
        try:
            if not path.exists():
                unknown = reading_rules.unknown_name(
                    node.spot, "file", text, _neighbours(path, text)
                )
                self.findings.append(unknown)
                return None
            if not path.is_file():
                what = f"'{clip(text)}' is not a file with a piece"
                self.findings.append(reading_rules.wrong_value(node.spot, what, [_EXAMPLE]))
                return None
            return self.read(node, _normal(path))
        except (OSError, ValueError) as error:
            why = error.strerror if isinstance(error, OSError) else str(error)
            what = f"'{clip(text)}' cannot be opened: {why}"
            self.findings.append(reading_rules.wrong_value(node.spot, what))
            return None

    def read(self, node: Scalar, path: Path) -> str | None:
        """Return the file's name with its piece among the loaded ones; None for a set list."""
        file = str(path)
        if file in self.loaded:
            return file
        data = bytes_of(path)
        head = data.decode("utf-8", "replace")
        if _OF_A_SET.search(head) and not _OF_A_PIECE.search(head):
            what = f"'{clip(node.text)}' is a set list, but a set can only contain pieces"
            tries = ["list its pieces here"]
            self.findings.append(reading_rules.wrong_value(node.spot, what, tries))
            return None
        loaded = read_piece(file, data, self.rules, path.parent)
        self.loaded[file] = loaded
        self.sources.update(loaded.sources)
        return file


def _normal(path: Path) -> Path:
    """Return a path without ``x/..`` in it, where that is the same file."""
    plain = Path(os.path.normpath(path))
    return plain if plain.exists() and plain.samefile(path) else path


def _neighbours(path: Path, text: str) -> list[str]:
    """Return the files beside a missing one, their paths written as its path is."""
    if not path.parent.is_dir():
        return []
    beside = sorted(file.name for file in islice(path.parent.iterdir(), _MOST_NEIGHBOURS))
    above = text[: len(text) - len(PurePosixPath(text).name)]
    return [above + name for name in beside if name.endswith((".yaml", ".yml"))]
