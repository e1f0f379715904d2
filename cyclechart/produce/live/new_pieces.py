"""New pieces for the form of ``live``: what can be chosen, and the file of what was."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from cyclechart.catalog.instruments import instrument_names
from cyclechart.catalog.library import Library
from cyclechart.draft import answers, first_band, first_piece
from cyclechart.produce.live.piece_shelf import PieceShelf
from cyclechart.theory.spelling import TONICS


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
    title = " ".join(texts["title"].split())
    plain = {key: text.strip() for key, text in texts.items()} | {"title": title}
    return Wish(**plain, players=tuple(players))


def _drafted(wish: Wish, folder: Path) -> str:
    """Return the text of a piece."""
    library = Library.beside(folder)
    title = _answer("title", answers.title_in, wish.title)
    mode_name, mode = _answer("mode", partial(answers.mode_in, library), wish.mode)
    cycle_name, cycle = _answer("cycle", partial(answers.cycle_in, library), wish.cycle)
    tonic = _answer("tonic", answers.tonic_in, wish.tonic)
    band = _answer("players", partial(answers.band_in, library), wish.players)
    tempo = _answer("tempo", answers.tempo_in, wish.tempo)
    placed = first_band.placed(band, tonic)
    if placed is None:
        raise Refused("players", f"With Sa on {tonic} these players share too few tones.")
    drafted = first_piece.first_piece(
        first_piece.Wish(title, mode_name, mode, cycle_name, cycle, tonic, tempo, placed),
        folder / _file_name(title, 1),
    )
    if drafted is None or any(one.severity == "error" for one in drafted.findings):
        raise Refused("mode", f"No line of {mode.name} was found for {cycle.name} and this band.")
    return drafted.text


Given = TypeVar("Given")
Meant = TypeVar("Meant")


def _answer(field: str, read: Callable[[Given], Meant], given: Given) -> Meant:
    """Return what is meant by what a field has; refuse it in a sentence where that is nothing."""
    try:
        return read(given)
    except answers.NoAnswer as error:
        sentence = str(error)
        end = "" if sentence.endswith(("?", ".")) else "."
        raise Refused(field, sentence[:1].upper() + sentence[1:] + end) from error


def _file_name(title: str, number: int) -> str:
    plain = answers.file_name_of(title)
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
