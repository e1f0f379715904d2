"""Pieces with lines of chords, given to players on their timeline."""

from __future__ import annotations

from dataclasses import replace

from support.making import piece_of

from cyclechart.arrange.timeline import Timeline
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player

BAND = (
    "players: {flute: , guitar: {plays: voicings}, piano: {plays: voicings}, "
    "vibraphone: {plays: voicings}, accordion: {plays: voicings}, double-bass: {plays: pedal}, "
    "tabla: , tanpura: }\n"
)


def chord_piece(chords: str, more: str = "", form: str = "[{play: comp}]", **heading: str) -> Piece:
    """A piece whose form plays the line ``comp``; ``more``: further keys of it."""
    heading = {"cycle": "keherwa", "mode": "bilawal", **heading}
    lines = f"lines:\n  comp: {{chords: '{chords}'{more}}}\n"
    return piece_of(f"{BAND}{lines}form: {form}\n", **heading)


def played_by(piece: Piece, *players: str) -> Timeline:
    """The timeline of a piece with its lines given to players."""
    timeline = unroll(piece)
    placed = tuple(replace(one, players=players) for one in timeline.placed_lines)
    return replace(timeline, placed_lines=placed)


def player_of(piece: Piece, name: str) -> Player:
    return next(player for player in piece.players if player.name == name)
