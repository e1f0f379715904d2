"""From a file to a piece: (data, findings). A user's mistake never raises."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from cyclechart.catalog.library import Library
from cyclechart.finding import Finding, Spot
from cyclechart.piece.form import form_from, liberties_from, refuse_endless
from cyclechart.piece.heading import cycle_of, mode_of, tempo_from, tonic_from, tuning_from
from cyclechart.piece.lines import line_from
from cyclechart.piece.model import Line, Piece
from cyclechart.piece.shape import PieceShape
from cyclechart.text import faults
from cyclechart.text.nodes import Mapping, Node, Scalar, comments_after, read
from cyclechart.text.shaping import fit
from cyclechart.text.source import MAX_BYTES, Source, decode
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

MAX_LINES = 400
MAX_NOTES = 100_000
"""In all the lines of a piece."""
MAX_TITLE = 300
"""Letters, of the composer too."""
MAX_NAME = 60

_STAND_INS = {
    "title": "Untitled",
    "tonic": "C",
    "mode": "?",
    "cycle": "?",
    "tempo": "60",
    "lines": {},
}
_ANY_MODE = Mode("unknown", tuple(range(13)), tuple(range(12, -1, -1)))
_ANY_CYCLE = Cycle("unknown", Fraction(1), (Fraction(1),), ())
_PROSE = {"title", "composer", "why", "source", "note", "name", "hour", "words"}


@dataclass(frozen=True)
class Loaded:
    """What a file gave.

    ``piece`` is None where nothing can be made of it. Where ``findings`` hold an error it is a
    draft: good for more judging, not for a chart. ``sources`` are the texts of the files that
    findings can point into, by file name.
    """

    piece: Piece | None
    findings: tuple[Finding, ...]
    sources: dict[str, Source]


def load(path: Path, rules: Iterable[str] = ()) -> Loaded:
    """Read a piece file. ``rules`` are the names that liberties may use.

    Raises OSError where the file cannot be opened.
    """
    with path.open("rb") as stream:
        data = stream.read(MAX_BYTES + 1)
    return read_piece(str(path), data, rules, path.parent)


def read_piece(
    file: str, data: bytes, rules: Iterable[str] = (), folder: Path | None = None
) -> Loaded:
    """Read a piece from the bytes of a file named ``file`` in ``folder``."""
    source, findings = decode(file, data)
    if source is None:
        return Loaded(None, tuple(findings), {})
    sources = {file: source}
    root, more = read(source)
    findings += more
    if root is None:
        return Loaded(None, tuple(findings), sources)
    library = Library.beside(folder)
    findings += library.findings
    sources |= {shared.file: shared for shared in library.sources}
    piece, more = _piece(file, root, library, list(rules))
    findings += more
    # An alias, or a name looked up twice, says the same again at the same place.
    return Loaded(piece, tuple(dict.fromkeys(findings)), sources)


def _piece(
    file: str, root: Node, library: Library, rules: list[str]
) -> tuple[Piece | None, list[Finding]]:
    shape, findings = fit(PieceShape, root, _STAND_INS)
    if shape is None or not isinstance(root, Mapping):
        return None, findings
    findings += _comments(root)
    tonic = tonic_from(root.get("tonic"), findings)
    mode = mode_of(root.get("mode"), library, findings)
    cycle = cycle_of(root.get("cycle"), library, findings)
    tempo = tempo_from(shape.tempo, root.get("tempo"), findings)
    tuning = tuning_from(root.get("tuning"), findings)
    if "players" in root.pairs:
        what = "players beyond one melody, hand drums and drone ('players')"
        findings.append(faults.not_yet(root.key("players").spot, what))
    for key, text in (("title", shape.title), ("composer", shape.composer)):
        if len(text) > MAX_TITLE:
            what = f"a {key} has at most {MAX_TITLE} letters, not {len(text)}"
            findings.append(faults.too_long(root.pairs[key][1].spot, what))
    lines = _lines(shape, root, tonic, cycle, findings)
    form, more = form_from(shape.form or [], root.get("form"), lines)
    findings += more
    liberties, more = liberties_from(shape.liberties or [], root.get("liberties"), lines, rules)
    findings += more
    piece = Piece(
        file,
        " ".join(shape.title.split()),
        " ".join(shape.composer.split()),
        tonic,
        mode or _ANY_MODE,
        cycle or _ANY_CYCLE,
        tempo,
        tuning,
        {name: line for name, line in lines.items() if line is not None},
        form,
        liberties,
        _counts_in(shape, root, findings),
        Spot(file, 1, 1),
    )
    findings += refuse_endless(piece, *_played(root))
    return piece, findings


def _played(root: Mapping) -> tuple[Node | None, bool]:
    """What says how the piece is played out: its form, or without one the key of its lines."""
    if "form" in root.pairs:
        return root.get("form"), True
    return (root.key("lines") if "lines" in root.pairs else None), False


def _lines(
    shape: PieceShape,
    root: Mapping,
    tonic: Tonic,
    cycle: Cycle | None,
    findings: list[Finding],
) -> dict[str, Line | None]:
    """The lines by name; None for one that has no text to make notes of."""
    node = root.get("lines")
    made: dict[str, Line | None] = {}
    if not isinstance(node, Mapping):
        return made
    if not node.pairs:
        findings.append(
            faults.wrong_value(node.spot, "the piece has no line yet", ["head:\n  sargam: S R G m"])
        )
    if len(node.pairs) > MAX_LINES:
        what = f"a piece has at most {MAX_LINES} lines, not {len(node.pairs)}"
        findings.append(faults.too_long(node.spot, what))
        return made
    notes = 0
    for name, (key, below) in node.pairs.items():
        made[name] = None
        unfit = _unfit_name(key)
        if unfit is not None:
            findings.append(unfit)
            continue
        line_shape = shape.lines.get(name)
        if line_shape is None or not isinstance(below, Mapping):
            continue
        line, more = line_from(key, line_shape, below, tonic, cycle.beats if cycle else None)
        made[name] = line
        findings += more
        notes += len(line.notes) if line else 0
        if notes > MAX_NOTES:
            what = f"the lines up to here have {notes:,} notes; a piece has at most {MAX_NOTES:,}"
            findings.append(faults.too_long(key.spot, what))
            break
    return made


def _unfit_name(key: Scalar) -> Finding | None:
    """What is wrong with a line's name: it stands in the form, on the chart and in track names."""
    name = key.text
    if not name.strip():
        return faults.wrong_value(key.spot, "a line's name is blank", ["head:"])
    if not name.isprintable():
        what = "a line's name stands on one line, without control characters"
        return faults.wrong_value(key.spot, what, ["head:"])
    if len(name) > MAX_NAME:
        what = f"a line's name has at most {MAX_NAME} letters, not {len(name)}"
        return faults.too_long(key.spot, what, [f"{name[:20].strip()}:"])
    return None


def _counts_in(shape: PieceShape, root: Mapping, findings: list[Finding]) -> bool:
    """Whether a cycle is counted in; ``count-in: 0`` says no."""
    text = shape.count_in
    if text is None:
        return True
    if text.strip() in ("0", "1"):
        return text.strip() == "1"
    what = f"count-in is 1 (one cycle, as without it) or 0 (none), not '{faults.clip(text)}'"
    findings.append(faults.wrong_value(root.pairs["count-in"][1].spot, what, ["count-in: 0"]))
    return True


def _comments(root: Mapping) -> list[Finding]:
    """Values that lose a tail to a comment: prose with any, others with a # glued to a letter.

    In a line's text ``# …`` is a comment anyhow, but ``#4`` is a tone. After a tonic a # that is
    one space away may be meant as a sharp; set further off it is plainly a comment.
    """
    found = []
    for path, scalar, comment in comments_after(root):
        key = path[-1] if path else ""
        glued = not comment.startswith(("# ", "#\t")) and len(comment) > 1
        if path == ("tonic",):
            if glued or not scalar.source.text.startswith("  ", scalar.end):
                tries = [f"tonic: {scalar.text}#", "put the comment on a line of its own"]
                found.append(faults.lost_to_comment(scalar.spot, scalar.text, comment, tries))
        elif key in _PROSE or glued:
            found.append(faults.lost_to_comment(scalar.spot, scalar.text, comment))
    return found
