"""From a file to a piece: (data, findings). A user's mistake never raises."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from cyclechart.catalog.library import Library
from cyclechart.catalog.tunings import tuning_from
from cyclechart.finding import MOST_OF_A_RULE, Finding, Findings, Spot
from cyclechart.piece.form import form_from
from cyclechart.piece.heading import (
    cycle_of,
    edition_of,
    eduppu_from,
    mode_of,
    tempo_from,
    tonic_from,
)
from cyclechart.piece.key_words import PIECE_WORDS
from cyclechart.piece.liberties import liberties_from
from cyclechart.piece.line import Line
from cyclechart.piece.line_modes import LineModes, line_modes
from cyclechart.piece.line_octaves import with_line_octaves
from cyclechart.piece.lines import lines_from
from cyclechart.piece.lost_comments import lost_to_comments
from cyclechart.piece.mode_settings import over_band_drone, without_andolan
from cyclechart.piece.model import ANY_CYCLE, Piece
from cyclechart.piece.players import players_from
from cyclechart.piece.shape import PieceShape
from cyclechart.piece.size_limits import refuse_endless
from cyclechart.piece.sources import with_sources
from cyclechart.piece.step_state import begins_within, cycles_played, eduppu_within, states_through
from cyclechart.piece.steps import StepState
from cyclechart.piece.swing import STRAIGHT, swing_from
from cyclechart.piece.under import playable_under, read_under
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.key_words import meant_key
from cyclechart.text.nodes import Mapping, Node, Scalar, read
from cyclechart.text.passage_edits import FileNodes
from cyclechart.text.shape_fitting import fit
from cyclechart.text.source import Source, bytes_of, decode
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
_ANY_MODE = Mode(name="unknown", ascent=tuple(range(13)), descent=tuple(range(12, -1, -1)))
_PROSE = {"title", "composer", "date", "version", "why", "source", "note", "name", "hour", "words"}


@dataclass(frozen=True)
class Loaded:
    """The result of reading a piece file.

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
    return read_piece(str(path), bytes_of(path), rules, path.parent)


def read_piece(
    file: str, data: bytes, rules: Iterable[str] = (), folder: Path | None = None
) -> Loaded:
    """Read a piece from the bytes of a file named ``file`` in ``folder``."""
    findings = Findings()
    source = findings.take(decode(file, data))
    if source is None:
        return Loaded(None, tuple(findings), {})
    sources = {file: source}
    root = findings.take(read(source))
    if root is None:
        return Loaded(None, tuple(findings), sources)
    library = Library.beside(folder)
    findings += library.findings
    sources |= {shared.file: shared for shared in library.sources}
    piece = findings.take(_piece(file, root, library, list(rules)))
    # An alias, or a name looked up twice, says the same again at the same place.
    once = _listed(dict.fromkeys(findings))
    if once:
        # Only a piece with mistakes needs it, and every check pays for what is loaded.
        from cyclechart.piece.try_edits import with_try_edits

        once = tuple(with_try_edits(once, FileNodes(root)))
    return Loaded(piece, once, sources)


def _listed(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the first findings of each rule; the last of them says where there are more."""
    of_rule: dict[str, int] = {}
    kept: list[Finding] = []
    last: dict[str, int] = {}
    for finding in findings:
        count = of_rule[finding.rule] = of_rule.get(finding.rule, 0) + 1
        if count <= MOST_OF_A_RULE:
            last[finding.rule] = len(kept)
            kept.append(finding)
    for rule, count in of_rule.items():
        if count > MOST_OF_A_RULE:
            one = kept[last[rule]]
            kept[last[rule]] = replace(one, message=f"{one.message} (and there are more)")
    return tuple(kept)


def _piece(
    file: str, root: Node, library: Library, rules: list[str]
) -> tuple[Piece | None, list[Finding]]:
    """Return the piece of a file's root; None where nothing can be read from it."""
    findings = Findings()
    if isinstance(root, Mapping) and not PieceShape.keys.keys() >= root.pairs.keys():
        from cyclechart.text.nesting import with_names_beneath  # hardly any file needs it

        root = findings.take(with_names_beneath(root, ("lines", "players"), _is_name))
    shape = findings.take(fit(PieceShape, root, _STAND_INS))
    if shape is None or not isinstance(root, Mapping):
        return None, findings
    findings += lost_to_comments(root, _PROSE, with_tonic=True)
    tonic = findings.take(tonic_from(root.get("tonic")))
    mode = findings.take(mode_of(root.get("mode"), library))
    cycle = findings.take(cycle_of(root.get("cycle"), library))
    tempo = findings.take(tempo_from(shape.tempo, root.get("tempo")))
    own = mode.tuning if mode is not None and mode.tuning is not None else JUST_TUNING
    tuning = findings.take(tuning_from(root.get("tuning"), own))
    players = findings.take(players_from(root.get("players"), library))
    for key, text in (("title", shape.title), ("composer", shape.composer)):
        if len(text) > MAX_TITLE:
            message = f"a {key} has at most {MAX_TITLE} letters, not {len(text)}"
            findings.append(reading_rules.too_long(root.pairs[key][1].spot, message))
    swing = findings.take(swing_from(root.pairs["swing"][1])) if "swing" in root.pairs else STRAIGHT
    under = findings.take(read_under(root.pairs["under"][1])) if "under" in root.pairs else ()
    first = StepState(cycle or ANY_CYCLE, mode or _ANY_MODE, tonic, tempo, swing=swing, under=under)
    form_node = root.get("form")
    states = findings.take(states_through(form_node, first, library))
    played = with_sources(cycles_played(form_node, states), root.get("lines"))
    modes = line_modes(form_node, states, root.get("lines"), first.mode, library)
    # A line is read in the first cycle that it is played in.
    lines = findings.take(
        lines_from(shape, root, tonic, lambda name: next(iter(played.get(name, ())), cycle), modes)
    )
    findings += begins_within(shape.lines, root.get("lines"), played)
    findings += eduppu_within(shape, root, played, cycle)
    band = {player.name: player for player in players}
    playable = findings.take(
        playable_under([under, *(state.under for state in states)], lines, band)
    )
    form = findings.take(form_from(shape.form or [], form_node, lines, states, players, playable))
    liberties = findings.take(
        liberties_from(shape.liberties or [], root.get("liberties"), lines, rules)
    )
    piece = Piece(
        file=file,
        title=" ".join(shape.title.split()),
        composer=" ".join(shape.composer.split()),
        edition=findings.take(edition_of(root, shape.version, shape.date)),
        tonic=tonic,
        mode=mode or _ANY_MODE,
        cycle=cycle or ANY_CYCLE,
        tempo=tempo,
        tuning=tuning,
        lines={name: line for name, line in lines.items() if line is not None},
        form=form,
        liberties=liberties,
        counts_in=findings.take(_counts_in(shape, root)),
        spot=Spot(file, 1, 1),
        variants=_variants(shape, root, tonic, lines, played, modes),
        players=players,
        swing=swing,
        under=tuple(one for one in under if one in playable),
        eduppu=eduppu_from(shape.eduppu, root.get("eduppu"))[0],
        seed=findings.take(_seed(shape, root)),
        nodes=FileNodes(root),
    )
    findings += refuse_endless(piece, *_form_or_lines(root))
    piece = with_line_octaves(over_band_drone(piece))
    if findings.take(_is_plain(root.get("sound"))):
        piece = without_andolan(piece)
    return piece, findings


def _is_name(key: str, value: Node) -> bool:
    """Return whether what stands beside the keys of a piece can be the name of a line or player."""
    if key in PieceShape.keys:
        return False
    return isinstance(value, Mapping) or not meant_key(key, PIECE_WORDS)


def _is_plain(node: Node | None) -> tuple[bool, list[Finding]]:
    """Return True for ``sound: plain``: no tone shakes unless a line says so."""
    if node is None or (isinstance(node, Scalar) and node.text.strip() == "plain"):
        return node is not None, []
    message = "sound can only be plain: without the shakes that a mode gives its tones"
    return False, [reading_rules.wrong_value(node.spot, message, ["sound: plain"])]


def _variants(
    shape: PieceShape,
    root: Mapping,
    tonic: Tonic,
    lines: dict[str, Line | None],
    played: dict[str, list[Cycle]],
    modes: LineModes,
) -> dict[tuple[str, Cycle], Line]:
    """Return lines with a cadence worked out again in each further cycle they are played in."""
    closing = {name for name, line in lines.items() if line is not None and line.cadences}
    further = {cycle: None for name in closing for cycle in played.get(name, ())[1:]}
    variants: dict[tuple[str, Cycle], Line] = {}
    for cycle in further:
        # Their findings are those of the first cycle over again.
        lines_in_cycle, _ = lines_from(shape, root, tonic, _always(cycle), modes)
        for name in closing:
            line = lines_in_cycle.get(name)
            if line is not None and cycle in played.get(name, ())[1:]:
                variants[name, cycle] = line
    return variants


def _always(cycle: Cycle) -> Callable[[str], Cycle]:
    """Return a function that gives this cycle for every line."""
    return lambda _: cycle


def _form_or_lines(root: Mapping) -> tuple[Node | None, bool]:
    """Return the node that orders the piece and whether it is a form; else the key of its lines."""
    if "form" in root.pairs:
        return root.get("form"), True
    return (root.key("lines") if "lines" in root.pairs else None), False


def _counts_in(shape: PieceShape, root: Mapping) -> tuple[bool, list[Finding]]:
    """Return whether a cycle is counted in; ``count-in: 0`` says no."""
    text = shape.count_in
    if text is None:
        return True, []
    if text.strip() in ("0", "1"):
        return text.strip() == "1", []
    spot = root.pairs["count-in"][1].spot
    message = f"count-in must be 1 (one cycle, the default) or 0 (none), not '{clip(text)}'"
    return True, [reading_rules.wrong_value(spot, message, ["count-in: 0"])]


def _seed(shape: PieceShape, root: Mapping) -> tuple[int, list[Finding]]:
    """Return the seed of the drummers' little choices; ``seed: 0`` asks for none."""
    seed = shape.seed
    if seed is None:
        return 1, []
    if seed.denominator == 1 and 0 <= seed <= MAX_SEED:
        return int(seed), []
    message = f"seed must be a whole number from 0 to {MAX_SEED:,}"
    return 1, [reading_rules.wrong_value(root.pairs["seed"][1].spot, message, ["seed: 7"])]
