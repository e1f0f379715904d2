"""Finding a mode or a cycle by name: the band's folder first, then the built-in catalogue.

A data file is one mapping, name -> definition. A name's definition is read only when asked for.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Generic, NamedTuple, TypeVar

from cyclechart.catalog.definitions import cycle_from, mode_from
from cyclechart.catalog.melas import NAMES as MELAS
from cyclechart.catalog.melas import mela, mela_by_sound, mela_number, sounded
from cyclechart.catalog.names_by_sound import LONGEST, fold, nearest_by_sound, without_kind
from cyclechart.catalog.suladi import NAMES as SULADI
from cyclechart.catalog.suladi import kind_of, split_gati, suladi
from cyclechart.catalog.time_signatures import time_signature
from cyclechart.catalog.unprinted import Unprinted, unprinted
from cyclechart.finding import Finding, Spot, suggestions
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.near_names import nearest_names
from cyclechart.text.nodes import Mapping, Node, read
from cyclechart.text.source import Source, bytes_of, decode
from cyclechart.theory.cycle import KINDS, Cycle
from cyclechart.theory.mode import Mode

__all__ = ["LONGEST", "Library", "fold"]

Made = TypeVar("Made", bound=Mode | Cycle)
_AKA = re.compile(r"^\s+aka:\s*\[([^\]]*)\]", re.MULTILINE)
_TOP = re.compile(r"^([a-z0-9][a-z0-9-]*):", re.MULTILINE)


CATALOGUE = "catalogue/"
"""Begins the names of our own data files in findings."""

MODE_FILES = (
    "thaats", "kalyan", "bilawal", "khamaj", "kafi", "asavari", "bhairavi", "bhairav", "todi",
    "purvi", "marwa", "southern_scales", "northern_from_memory", "southern_ragas",
)  # fmt: skip
"""The files of ``catalog/modes/``, in the order in which their modes are listed."""

Make = Callable[[Node, str], tuple[Made | None, list[Finding]]]
"""Makes a mode or a cycle of its definition and name."""


class Definition(NamedTuple):
    """The lines of a data file that hold one definition."""

    source: Source
    start: int
    end: int

    @property
    def text(self) -> str:
        """The definition as it is written."""
        return self.source.text[self.start : self.end]


@dataclass
class Shelf(Generic[Made]):
    """The modes or cycles of one data file of a band, or of all files of the catalogue."""

    make: Make[Made]
    definitions: dict[str, Definition]
    root: Mapping | None = None
    """The whole file, where it is read already (a band's own)."""
    known: dict[str, tuple[Made | None, tuple[Finding, ...]]] = field(default_factory=dict)
    """The definitions of the catalogue that were asked for before."""

    @classmethod
    def read_whole(cls, root: Mapping, make: Make[Made]) -> Shelf[Made]:
        """Return a band's own file: small, and its keys may be any text."""
        definitions = {
            name: Definition(root.source, key.start, value.end)
            for name, (key, value) in root.pairs.items()
        }
        return cls(make, definitions, root)

    @classmethod
    def of(cls, sources: Iterable[Source], make: Make[Made]) -> Shelf[Made]:
        """Return files of the catalogue: their definitions are found by their first lines alone."""
        definitions: dict[str, Definition] = {}
        for source in sources:
            heads = [(match[1], match.start()) for match in _TOP.finditer(source.text)]
            ends = [start for _, start in heads[1:]] + [len(source.text)]
            for (name, start), end in zip(heads, ends, strict=True):
                definitions[name] = Definition(source, start, end)
        return cls(make, definitions)

    def names(self) -> list[str]:
        """The names of the file, in its order."""
        return list(self.definitions)

    def get(self, name: str) -> tuple[Made | None, list[Finding]] | None:
        """The definition of a name, or None where the file has none such."""
        if name not in self.definitions:
            return None
        if self.root is not None:
            return self.make(self.root.pairs[name][1], name)
        if name not in self.known:
            made, findings = self._read(name)
            self.known[name] = made, tuple(findings)
        made, kept = self.known[name]
        return made, list(kept)

    def _read(self, name: str) -> tuple[Made | None, list[Finding]]:
        """Return a definition of the catalogue, read by itself."""
        definition = self.definitions[name]
        # Blank lines in place of what stands before keep every line number true.
        above = definition.source.text.count("\n", 0, definition.start)
        part = Source.of(definition.source.file, "\n" * above + definition.text)
        root, wrong = read(part)
        if not isinstance(root, Mapping) or name not in root.pairs:
            return None, wrong
        made = self.make(root.pairs[name][1], name)
        # What is odd in a printed form is in its note: no user can mend the catalogue.
        errors = [finding for finding in made[1] if finding.severity == "error"]
        return made[0], [*wrong, *errors]

    def alias(self, name: str) -> str | None:
        """The name whose own or other spelling folds to the same letters."""
        wanted = fold(name[:LONGEST])
        if not wanted:  # a name in another script folds to nothing: it has no other spelling here
            return None
        for known in self.definitions:
            if fold(known) == wanted:
                return known
        for known, definition in self.definitions.items():
            if wanted in fold(definition.text):
                made = self.get(known)
                if made and made[0] and wanted in {fold(other) for other in made[0].aka}:
                    return known
        return None

    def spellings(self) -> Iterator[tuple[str, str]]:
        """Yield every spelling with the name that it finds."""
        for known, definition in self.definitions.items():
            yield known, known
            listed = _AKA.search(definition.text)
            for other in listed[1].split(",") if listed else ():
                yield " ".join(other.split()), known

    def by_sound(self, name: str) -> str | None:
        """The name that sounds like this one: Shuddha Kalyāṇ, Reethigowla."""
        wanted = sounded(fold(name[:LONGEST]))
        if not wanted:
            return None
        for known, definition in self.definitions.items():
            listed = _AKA.search(definition.text)
            others = listed[1].split(",") if listed else ()
            if any(sounded(fold(one)) == wanted for one in (known, *others)):
                return known
        return None


@lru_cache(maxsize=len(MODE_FILES) + 1)
def _built_in(name: str) -> Source:
    """Return a data file of the catalogue by its path there."""
    text = (Path(__file__).parent / name).read_text("utf-8")
    return Source.of(f"{CATALOGUE}{name}", text)


@lru_cache(maxsize=1)
def built_in_modes() -> Shelf[Mode]:
    """Return the modes of the catalogue, family by family."""
    return Shelf.of([_built_in(f"modes/{family}.yaml") for family in MODE_FILES], mode_from)


@lru_cache(maxsize=1)
def built_in_cycles() -> Shelf[Cycle]:
    """Return the cycles of the catalogue."""
    return Shelf.of([_built_in("cycles.yaml")], cycle_from)


@dataclass
class Library:
    """The modes and cycles that a piece can name."""

    modes: list[Shelf[Mode]]
    cycles: list[Shelf[Cycle]]
    findings: list[Finding] = field(default_factory=list)
    sources: list[Source] = field(default_factory=list)
    bands: list[Mapping] = field(default_factory=list)
    """The band's own ensembles: name -> its players, as they are written."""

    @classmethod
    def beside(cls, *folders: Path | None) -> Library:
        """The library for a piece in a folder: shared/ in it or beside it, and no further. A set
        list adds the folders of its pieces; the first folder with a name wins."""
        library = cls([], [])
        found = [shared for folder in folders if folder for shared in _shared_folders(folder)]
        for shared in _once(found):
            library._add(shared / "modes.yaml", library.modes, mode_from)
            library._add(shared / "cycles.yaml", library.cycles, cycle_from)
            bands = library._read(shared / "players.yaml")
            library.bands += [] if bands is None else [bands]
        library.modes.append(built_in_modes())
        library.cycles.append(built_in_cycles())
        return library

    def _add(self, path: Path, shelves: list[Shelf[Made]], make: Make[Made]) -> None:
        root = self._read(path)
        if root is not None:
            shelves.append(Shelf.read_whole(root, make))

    def _read(self, path: Path) -> Mapping | None:
        """A file of the band's folder; None where there is none, or no mapping in it."""
        if not path.is_file():
            return None
        root: Node | None = None
        source, findings = decode(str(path), bytes_of(path))
        if source is not None:
            root, more = read(source)
            findings = findings + more
            self.sources.append(source)
            if root is not None and not isinstance(root, Mapping):
                what = "this file must be a mapping of names to definitions"
                findings.append(reading_rules.wrong_value(root.spot, what))
        self.findings.extend(findings)
        return root if isinstance(root, Mapping) else None

    def ensemble(self, name: str, spot: Spot) -> Mapping | Finding:
        """The players of one of the band's ensembles as they are written, or a finding."""
        for bands in self.bands:
            for known, (_, below) in bands.pairs.items():
                if known == name or (fold(name) and fold(known) == fold(name)):
                    if isinstance(below, Mapping):
                        return below
                    what = f"'{clip(known)}' names no players"
                    return reading_rules.wrong_value(below.spot, what, ["flute: {plays: melody}"])
        names = [known for bands in self.bands for known in bands.pairs]
        return reading_rules.unknown_name(spot, "ensemble", name, names)

    def mode(self, name: str, spot: Spot) -> tuple[Mode | None, list[Finding]]:
        """A mode by name, one of the 72 melas among them (by name or as ``mela 15``), then by how
        the name sounds; a finding with the nearest names where there is none."""
        found = _find(self.modes, name)
        if found is not None:
            return found
        folded = fold(name[:LONGEST])
        number = mela_number(folded)
        if number is None:
            for shelf in self.modes:
                like = shelf.by_sound(name)
                if like is not None and (made := shelf.get(like)) is not None:
                    return made
            number = mela_by_sound(folded)
        if number is not None:
            return mela(number), []
        bare = without_kind(name)
        if bare and fold(bare) != fold(name[:LONGEST]):
            made = self.mode(bare, spot)
            if made[0] is not None:
                return made
        near = nearest_by_sound(name, self.mode_spellings())
        unknown = reading_rules.unknown_name(spot, "mode", name, ())
        return None, [replace(unknown, suggestions=suggestions(near))]

    def cycle(self, name: str, spot: Spot) -> tuple[Cycle | None, list[Finding]]:
        """A cycle by name, a suladi tala or one in a gati among them, or a finding."""
        found = self._cycle(name) or self._cycle_by_sound(name)
        if found is not None:
            return found
        signature = time_signature(name)
        if signature is not None:
            return None, [signature.finding(spot, self._of_beats)]
        parted = split_gati(name[:LONGEST])
        if parted is not None:
            return self._in_gati(*parted, spot)
        known_of = self.unprinted(name)
        if known_of is not None:
            return None, [known_of.finding(spot)]
        return None, [self._unknown_cycle(name, spot)]

    def _cycle(self, name: str) -> tuple[Cycle | None, list[Finding]] | None:
        found = _find(self.cycles, name)
        made = suladi(name[:LONGEST]) if found is None else None
        return found if made is None else (made, [])

    def _cycle_by_sound(self, name: str) -> tuple[Cycle | None, list[Finding]] | None:
        """A cycle whose name or other spelling sounds like this one: Aadi Taal."""
        if time_signature(name) or split_gati(name[:LONGEST]) or self.unprinted(name):
            return None
        for shelf in self.cycles:
            like = shelf.by_sound(name)
            if like is not None:
                return shelf.get(like)
        return None

    def _in_gati(self, word: str, base: str, spot: Spot) -> tuple[Cycle | None, list[Finding]]:
        """A cycle with its beats in 3, 4, 5, 7 or 9 pulses (gati, nadai)."""
        kind = kind_of(word)
        if kind is None:
            close = nearest_names(word, KINDS) or list(KINDS)
            unknown = reading_rules.unknown_name(spot, "gati", word, ())
            return None, [
                replace(unknown, suggestions=suggestions(f"{one}-gati-{base}" for one in close))
            ]
        found = self._cycle(base)
        if found is not None:
            return found[0] and found[0].in_gati(kind), found[1]
        known_of = self.unprinted(base)
        if known_of is not None:
            return None, [known_of.finding(spot)]
        unknown = self._unknown_cycle(base, spot)
        return None, [
            replace(
                unknown, suggestions=suggestions(f"{kind}-gati-{close}" for close in unknown.tries)
            )
        ]

    def _unknown_cycle(self, name: str, spot: Spot) -> Finding:
        """Return the finding on a name that is no cycle's, with the cycles whose names or other
        spellings are nearest."""
        near = nearest_by_sound(name, self.cycle_spellings())
        unknown = reading_rules.unknown_name(spot, "cycle", name, ())
        return replace(unknown, suggestions=suggestions(near))

    def _of_beats(self, beats: Fraction) -> list[str]:
        """The cycles of so many beats, by name; forms of one that is among them are left out."""
        every = [(name, shelf.get(name)) for shelf in self.cycles for name in shelf.names()]
        found = {
            made[0].name: name
            for name, made in every
            if made and made[0] and made[0].beats == beats
        }
        return [name for full, name in found.items() if not _is_form_of(full, found)]

    def unprinted(self, name: str) -> Unprinted | None:
        """A cycle that is known and has no printed form; None for a name of the band's own.

        Asked for in a gati it is the same cycle.
        """
        parted = split_gati(name[:LONGEST])
        name = parted[1] if parted and kind_of(parted[0]) else name
        wanted = fold(name[:LONGEST])
        for key, known_of in unprinted().items():
            if wanted in {fold(spelling) for spelling in (key, known_of.name, *known_of.aka)}:
                return None if self._cycle(name) else known_of
        return None

    def mode_spellings(self) -> dict[str, str]:
        """Every spelling that finds a mode, the 72 melas among them, and the name that it finds."""
        spelled: dict[str, str] = {}
        for shelf in self.modes:
            for spelling, name in shelf.spellings():
                spelled.setdefault(spelling, name)
        return dict(zip(MELAS, MELAS, strict=True)) | spelled

    def cycle_spellings(self) -> dict[str, str]:
        """Every spelling that finds a cycle, but for gatis, and the name that it finds."""
        spelled: dict[str, str] = {}
        for shelf in self.cycles:
            for spelling, name in shelf.spellings():
                spelled.setdefault(spelling, name)
        return spelled | dict(zip(SULADI, SULADI, strict=True))


def _is_form_of(name: str, others: Iterable[str]) -> bool:
    """Return whether a name with a remark in brackets has its plain name among others."""
    return "(" in name and name.partition(" (")[0] in others


def _once(folders: Iterable[Path]) -> Iterator[Path]:
    """Each folder once, by whichever path it comes first."""
    seen = set()
    for folder in folders:
        real = folder.resolve()
        if real not in seen:
            seen.add(real)
            yield folder


def _shared_folders(folder: Path) -> tuple[Path, Path]:
    """shared/ in the piece's folder and beside it; the parent of '.' is '..', not '.' again."""
    beside = folder / ".." if folder.name in ("", "..") else folder.parent
    return folder / "shared", beside / "shared"


def _find(shelves: list[Shelf[Made]], name: str) -> tuple[Made | None, list[Finding]] | None:
    """A name in the shelves, the band's first: on each by its own spelling, then by another."""
    for shelf in shelves:
        for find in (Shelf.get, _by_alias):
            found = find(shelf, name)
            if found is not None:
                return found
    return None


def _by_alias(shelf: Shelf[Made], name: str) -> tuple[Made | None, list[Finding]] | None:
    alias = shelf.alias(name)
    return shelf.get(alias) if alias else None
