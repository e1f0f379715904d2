"""Set lists for tests: a folder of small pieces, and set lists over them."""

from __future__ import annotations

from pathlib import Path

from support.making import with_heading

from cyclechart.arrange.set_book import gig_of
from cyclechart.finding import Finding
from cyclechart.piece.set.gig import Gig
from cyclechart.piece.set.setlist import Setlist, load_setlist
from cyclechart.rules.judge import RULE_NAMES

LOOP = "lines:\n  head: {sargam: S R G m P d n S' n d}\n"
"""One cycle of ten beats, which loops."""
HIGH = "lines:\n  head: {sargam: S' R' G' m' P' m' G' R' S' -}\n"
BAND = "players: {flute: {octave: 1}, guitar: , tabla: , tanpura: }\n"
SOLO = f"{BAND}{LOOP}form: [play: head, {{solo: flute, cycles: 1}}]\n"
_REEDS = "players: {{reeds: {{instrument: {}, plays: melody}}, tanpura: }}\n"

BOOK: dict[str, str] = {
    **{f"on-{name}": with_heading(LOOP, title=f"On {name.upper()}", tonic=name[0].upper())
       for name in ("d", "d2", "d3", "g", "g2", "g3", "a")},
    "band": with_heading(SOLO, title="Band"),
    "drums": with_heading(f"players: {{flute: {{octave: 1}}, drum-kit: }}\n{LOOP}", title="Drums",
                          tonic="A"),
    "alto": with_heading(_REEDS.format("alto-sax") + LOOP, title="Alto"),
    "clarinet": with_heading(_REEDS.format("clarinet") + LOOP, title="Clarinet"),
    **{f"high-{n}": with_heading(f"players: {{alto-sax: , tanpura: }}\n{HIGH}", title=f"High {n}")
       for n in (1, 2, 3, 4, 5)},
    "guitar": with_heading(f"players: {{guitar: {{plays: melody}}, tanpura: }}\n{LOOP}",
                           title="Guitar"),
    "twice": with_heading(f"{LOOP}form: [play: head, {{play: head, tonic: G}}]\n", title="Twice"),
    "half-done": with_heading("lines:\n  head: {sargam: S R X}\n", title="Half Done"),
}  # fmt: skip
"""Pieces by file name. Those that name no players have a flute, a tabla and a tanpura."""

SHARED = """trio: {flute: {octave: 1}, tabla: , tanpura: }
quartet: {flute: {octave: 1}, guitar: , tabla: , tanpura: }
"""


def folder_of_pieces(folder: Path) -> Path:
    """The book written out, with the band's ensembles beside it."""
    (folder / "shared").mkdir(exist_ok=True)
    (folder / "shared" / "players.yaml").write_text(SHARED, "utf-8")
    for name, text in BOOK.items():
        (folder / f"{name}.yaml").write_text(text, "utf-8")
    return folder


def read_set(folder: Path, text: str) -> tuple[Setlist | None, list[Finding]]:
    """A set list in a folder with the book; ``title`` is given where the text has none."""
    path = folder_of_pieces(folder) / "set.yaml"
    if "title:" not in text:
        text += "\ntitle: A Test\n"
    path.write_text(text, "utf-8")
    setlist, findings, sources = load_setlist(path, RULE_NAMES)
    assert all(finding.spot.file in sources for finding in findings)
    return setlist, findings


def gig(folder: Path, text: str) -> Gig:
    """A gig of a set list in which nothing is wrong to read."""
    setlist, findings = read_set(folder, text)
    assert not findings, findings
    assert setlist is not None
    return gig_of(setlist)
