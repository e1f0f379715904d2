"""From a file to a piece: (data, findings). A user's mistake never raises."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from cyclechart.catalog.library import Library
from cyclechart.catalog.tunings import tuning_from
from cyclechart.finding import Finding, Spot
from cyclechart.piece.form import form_from
from cyclechart.piece.heading import cycle_of, mode_of, tempo_from, tonic_from
from cyclechart.piece.liberties import liberties_from
from cyclechart.piece.line_builder import lines_from
from cyclechart.piece.model import ANY_CYCLE, Line, Piece
from cyclechart.piece.players import players_from
from cyclechart.piece.shape import PieceShape
from cyclechart.piece.size_limits import refuse_endless
from cyclechart.piece.step_state import begins_within, cycles_played, forces_through
from cyclechart.piece.steps import Force
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Node, comments_after, read
from cyclechart.text.shape_fitting import fit
from cyclechart.text.source import MAX_BYTES, Source, decode
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import JUST_TUNING

MAX_SEED = 1_000_000
MAX_TITLE = 300
"""Letters, of the composer too."""

_STAND_INS = {
    "title": "Untitled",
    "tonic": "C",
    "mode": "?",
    "cycle": "?",
    "tempo": "60",
    "lines": {},
}
_ANY_MODE = Mode("unknown", tuple(range(13)), tuple(range(12, -1, -1)))
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
    own = mode.tuning if mode is not None and mode.tuning is not None else JUST_TUNING
    tuning = tuning_from(root.get("tuning"), findings, own)
    players = players_from(root.get("players"), library, findings)
    for key, text in (("title", shape.title), ("composer", shape.composer)):
        if len(text) > MAX_TITLE:
            what = f"a {key} has at most {MAX_TITLE} letters, not {len(text)}"
            findings.append(reading_rules.too_long(root.pairs[key][1].spot, what))
    first = Force(cycle or ANY_CYCLE, mode or _ANY_MODE, tonic, tempo)
    forces, more = forces_through(root.get("form"), first, library)
    findings += more
    played = cycles_played(root.get("form"), forces)
    # A line is read in the first cycle that it is played in.
    lines = lines_from(
        shape, root, tonic, lambda name: next(iter(played.get(name, ())), cycle), findings
    )
    findings += begins_within(shape.lines, root.get("lines"), played)
    form, more = form_from(shape.form or [], root.get("form"), lines, forces, players)
    findings += more
    liberties, more = liberties_from(shape.liberties or [], root.get("liberties"), lines, rules)
    findings += more
    piece = Piece(
        file,
        " ".join(shape.title.split()),
        " ".join(shape.composer.split()),
        tonic,
        mode or _ANY_MODE,
        cycle or ANY_CYCLE,
        tempo,
        tuning,
        {name: line for name, line in lines.items() if line is not None},
        form,
        liberties,
        _counts_in(shape, root, findings),
        Spot(file, 1, 1),
        _variants(shape, root, tonic, lines, played),
        players,
        _seed(shape, root, findings),
    )
    findings += refuse_endless(piece, *_played(root))
    return piece, findings


def _variants(
    shape: PieceShape,
    root: Mapping,
    tonic: Tonic,
    lines: dict[str, Line | None],
    played: dict[str, list[Cycle]],
) -> dict[tuple[str, Cycle], Line]:
    """Lines with a cadence in the further cycles that they are played in: worked out anew."""
    closing = {name for name, line in lines.items() if line is not None and line.cadences}
    further = {cycle: None for name in closing for cycle in played.get(name, ())[1:]}
    made: dict[tuple[str, Cycle], Line] = {}
    for cycle in further:
        again = lines_from(shape, root, tonic, _always(cycle), [])
        for name in closing:
            line = again.get(name)
            if line is not None and cycle in played.get(name, ())[1:]:
                made[name, cycle] = line
    return made


def _always(cycle: Cycle) -> Callable[[str], Cycle]:
    return lambda _: cycle


def _played(root: Mapping) -> tuple[Node | None, bool]:
    """What says how the piece is played out: its form, or without one the key of its lines."""
    if "form" in root.pairs:
        return root.get("form"), True
    return (root.key("lines") if "lines" in root.pairs else None), False


def _counts_in(shape: PieceShape, root: Mapping, findings: list[Finding]) -> bool:
    """Whether a cycle is counted in; ``count-in: 0`` says no."""
    text = shape.count_in
    if text is None:
        return True
    if text.strip() in ("0", "1"):
        return text.strip() == "1"
    what = f"count-in is 1 (one cycle, as without it) or 0 (none), not '{clip(text)}'"
    findings.append(
        reading_rules.wrong_value(root.pairs["count-in"][1].spot, what, ["count-in: 0"])
    )
    return True


def _seed(shape: PieceShape, root: Mapping, findings: list[Finding]) -> int:
    """``seed: 7``: another number, other little choices of the drummers; ``seed: 0``, none."""
    seed = shape.seed
    if seed is None:
        return 1
    if seed.denominator == 1 and 0 <= seed <= MAX_SEED:
        return int(seed)
    what = f"seed is a whole number from 0 to {MAX_SEED:,}"
    findings.append(reading_rules.wrong_value(root.pairs["seed"][1].spot, what, ["seed: 7"]))
    return 1


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
                found.append(
                    reading_rules.lost_to_comment(scalar.spot, scalar.text, comment, tries)
                )
        elif key in _PROSE or glued:
            found.append(reading_rules.lost_to_comment(scalar.spot, scalar.text, comment))
    return found
