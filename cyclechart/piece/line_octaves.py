"""The octave in which a bass, a guitar or a keyboard plays the melodies it is given.

A riff is written around the middle Sa like every line, and lies where the instrument plays best.
"""

from __future__ import annotations

from dataclasses import replace

from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player

OCTAVES = range(-3, 4)

BASS_CENTRE = 14
"""Semitones from the lowest note of a bass to where its riffs lie: the middle of its staff, for
what is higher sounds as a solo (our choice)."""


def with_line_octaves(piece: Piece) -> Piece:
    """Return the piece with the octave of the lines of each player who has a role of another kind:
    the one in which fewest notes leave the range, then in which the lines lie nearest its middle,
    or on a bass nearest the middle of its staff.
    """
    players = tuple(
        player
        if player.role.plays_melody or player.role.staff != "pitched"
        else replace(player, line_octave=_best_octave(_keys(piece, player), player))
        for player in piece.players
    )
    return piece if players == piece.players else replace(piece, players=players)


def _keys(piece: Piece, player: Player) -> list[int]:
    """Return the MIDI keys of every note of a player's melodies as they are written."""
    keys: list[int] = []
    known: set[tuple[str, int]] = set()
    for step in piece.steps:
        for name in step.all_lines:
            line, midi = piece.lines.get(name), step.state.tonic.midi
            if line is None or line.kind != "melody" or (name, midi) in known:
                continue
            if player in piece.players_of(step, name):
                known.add((name, midi))
                keys += [midi + note.pitch for note in line.notes if note.pitch is not None]
    return keys


def _best_octave(keys: list[int], player: Player) -> int:
    on = player.instrument
    centre = 2 * (on.low + BASS_CENTRE) if player.role.plays_roots else on.low + on.high

    def cost(octave: int) -> tuple[int, int, int]:
        moved = [key + 12 * octave for key in keys]
        out = sum(not on.lowest <= key <= on.highest for key in moved)
        strained = sum(not on.low <= key <= on.high for key in moved)
        return out, strained, abs(2 * sum(moved) - centre * len(moved))

    return min(OCTAVES, key=cost) if keys else 0
