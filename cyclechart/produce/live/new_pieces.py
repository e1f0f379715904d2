"""New pieces for the form of ``live``: what can be chosen, and the file of what was."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

from cyclechart.catalog.instruments import instrument, instrument_names
from cyclechart.catalog.library import Library
from cyclechart.draft import first_band, first_piece
from cyclechart.finding import Finding, Spot
from cyclechart.piece.heading import FASTEST, SLOWEST, read_tonic
from cyclechart.piece.load import MAX_TITLE
from cyclechart.piece.players import players_from
from cyclechart.produce.live.piece_shelf import PieceShelf
from cyclechart.text.excerpts import clip
from cyclechart.theory.exact import parse_exact
from cyclechart.theory.spelling import TONICS

MOST_PLAYERS = 16
MOST_OF_A_NAME = 60
"""Letters of a file's name that come from the title."""


class Refused(Exception):
    """A wish that no piece can be made of: the field that it is about, and a sentence."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


class Wish(NamedTuple):
    """What the form asks for, as it was typed."""

    title: str
    mode: str
    cycle: str
    tonic: str
    tempo: str
    players: tuple[str, ...]


def choices(shelf: PieceShelf) -> dict[str, Any]:
    """Return the pieces of the folder, and the names that the form offers."""
    library = Library.beside(shelf.folder)
    return {
        "folder": shelf.folder.resolve().name if shelf.folder is not None else "",
        "pieces": [piece._asdict() for piece in shelf.pieces()],
        "drafts": shelf.folder is not None,
        "modes": [name for one in library.modes for name in one.names()],
        "cycles": [name for one in library.cycles for name in one.names()],
        "tonics": [str(tonic) for tonic in TONICS],
        "instruments": [
            *(str(name) for bands in library.bands for name in bands.pairs),
            *instrument_names(),
        ],
    }


def make_piece(shelf: PieceShelf, sent: dict[str, Any]) -> dict[str, Any]:
    """Write a new file into the folder, under a name of its own, and return that; or say why it
    cannot be: ``{"refused": sentence, "field": name}``. Raises OSError."""
    folder = shelf.folder
    if folder is None:
        return {"refused": "There is no folder for new pieces.", "field": ""}
    try:
        wish = _wish(sent)
        text = _drafted(wish, folder)
        path = _written(folder, wish.title, text)
    except Refused as refused:
        return {"refused": str(refused), "field": refused.field}
    except OSError as error:
        return {"refused": f"{folder.name}: {error.strerror or error}.", "field": ""}
    return {"name": path.name}


def _wish(sent: dict[str, Any]) -> Wish:
    texts = {key: sent.get(key, "") for key in ("title", "mode", "cycle", "tonic", "tempo")}
    players = sent.get("players", [])
    for key, text in texts.items():
        if not isinstance(text, str) or not text.strip():
            raise Refused(key, f"Choose a {key}." if key != "tonic" else "Choose a letter for Sa.")
    if not isinstance(players, list) or not all(isinstance(one, str) for one in players):
        raise Refused("players", "Choose the players.")
    if not 1 <= len(players) <= MOST_PLAYERS:
        raise Refused("players", f"Choose 1 to {MOST_PLAYERS} players.")
    title = " ".join(texts["title"].split())
    if len(title) > MAX_TITLE or not title.isprintable():
        raise Refused("title", f"A title has at most {MAX_TITLE} letters that can be seen.")
    plain = {key: text.strip() for key, text in texts.items()} | {"title": title}
    return Wish(**plain, players=tuple(players))


def _drafted(wish: Wish, folder: Path) -> str:
    """Return the text of a piece."""
    library = Library.beside(folder)
    spot = Spot("", 1, 1)
    mode, found = library.mode(wish.mode, spot)
    if mode is None:
        raise Refused("mode", _sentence(found))
    cycle, found = library.cycle(wish.cycle, spot)
    if cycle is None:
        raise Refused("cycle", _sentence(found))
    tonic = read_tonic(wish.tonic)
    if tonic is None:
        raise Refused("tonic", f"'{clip(wish.tonic)}' is not a letter name: D, Eb or F#.")
    placed = first_band.placed(_band(library, wish.players), tonic)
    if placed is None:
        raise Refused("players", f"With Sa on {tonic} these players share too few tones.")
    tempo = _tempo(wish.tempo)
    drafted = first_piece.first_piece(
        first_piece.Wish(wish.title, wish.mode, mode, wish.cycle, cycle, tonic, tempo, placed),
        folder / _file_name(wish.title, 1),
    )
    if drafted is None or any(one.severity == "error" for one in drafted.findings):
        raise Refused("mode", f"No line of {mode.name} was found for {cycle.name} and this band.")
    return drafted.text


def _band(library: Library, names: tuple[str, ...]) -> first_band.Band:
    """Return the band of some instruments, or the one ensemble of the band's own that is named."""
    found = [instrument(name) for name in names]
    band = None
    if found == [None]:
        ensemble = library.ensemble(names[0], Spot("", 1, 1))
        if not isinstance(ensemble, Finding):
            players, _ = players_from(ensemble, library)
            band = first_band.ensemble_of(names[0], players)
    if band is None:
        for name, one in zip(names, found, strict=True):
            if one is None:
                raise Refused("players", f"There is no instrument '{clip(name)}'.")
        band = first_band.band_of(one for one in found if one is not None)
    if not band.melodic:
        raise Refused("players", "Nobody of these plays melodies; add somebody, such as a flute.")
    return band


def _tempo(text: str) -> Fraction:
    try:
        tempo = parse_exact(text)
    except ValueError:
        tempo = Fraction(0)
    if not SLOWEST <= tempo <= FASTEST:
        raise Refused("tempo", f"A tempo is {SLOWEST} to {FASTEST} beats a minute.")
    return tempo


def _sentence(findings: list[Finding]) -> str:
    first = findings[0]
    near = f"; did you mean {', '.join(first.tries)}?" if first.tries else "."
    return first.message[:1].upper() + first.message[1:] + near


def _file_name(title: str, number: int) -> str:
    plain = re.sub(r"[\W_]+", "-", title.lower())[:MOST_OF_A_NAME].strip("-") or "piece"
    return f"{plain}.yaml" if number == 1 else f"{plain}-{number}.yaml"


def _written(folder: Path, title: str, text: str) -> Path:
    """Write a text under a name that no file of the folder has. Raises OSError."""
    number = 1
    while True:
        path = folder / _file_name(title, number)
        try:
            with path.open("x", encoding="utf-8", newline="\n") as stream:
                stream.write(text)
        except FileExistsError:
            number += 1
            continue
        return path
