"""The texts over the steps of a part: their names, tones and what changes at the next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.roles.drone import second_tone
from cyclechart.arrange.sheet.model import StaffKey, Strain
from cyclechart.arrange.sheet.road_map import FormBox, free_title
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Free, Hold, Play, Solo, Step, Trade
from cyclechart.text.display import player_title
from cyclechart.theory.spelling import spell
from cyclechart.theory.tones import SARGAM


def next_change(road: Sequence[FormBox], number: int) -> str:
    """Return the warning of the changes at a box, or ""."""
    if number >= len(road) or not road[number].changes_text:
        return ""
    return f"next {road[number].letter}: {road[number].changes_text}"


def drone_strains(strains: Sequence[Strain], player: Player) -> Iterator[Strain]:
    """Yield the strains of a drone's part with its tones, and a note where it is retuned."""
    before = ""
    for strain in strains:
        tonic, second = strain.key.tonic, second_tone(strain.key.mode, player)
        tones = [spell(tonic, 0), *([spell(tonic, second)] if second else [])]
        text = " ".join(map(str, tones))
        retune = "tune to " if before and text != before else "drone "
        before = text
        yield replace(strain, staff_text=retune + text)


def heading_name(piece: Piece, step: Step, player: Player) -> str:
    """Return the name of a step in a player's part: of several lines at once, those of others are
    named after their own, as ``bridge (with stabs)``."""
    lines = [name for name in step.uses if name in piece.lines]
    own = [name for name in lines if player in piece.players_of(step, name)]
    others = [name for name in lines if name not in own]
    if not isinstance(step, Play) or not own or not others:
        return step_name(step)
    return f"{' + '.join(own)} (with {' + '.join(others)})"


def step_name(step: Step) -> str:
    """Return the name of a step in the heading of its strain."""
    if isinstance(step, Solo):
        return f"solo {player_title(step.player)}"
    if isinstance(step, Trade):
        return f"trade {' / '.join(map(player_title, step.players))}"
    if isinstance(step, Free):
        return free_title(step)
    if isinstance(step, Hold):
        return "fermata"
    return " + ".join(step.uses) if step.uses else "groove"


def solo_tones(key: StaffKey) -> str:
    """Return the tones of the mode for a soloist, in the letters that they read."""
    mode = key.mode
    up, down = (
        " ".join(f"{spell(key.tonic, pitch)}" for pitch in path)
        for path in (mode.ascent, mode.descent)
    )
    leans = [tone for tone in (mode.vadi, mode.samvadi) if tone is not None]
    on = ", lean on " + ", ".join(f"{spell(key.tonic, tone)} ({SARGAM[tone]})" for tone in leans)
    return f"{mode.name}: up {up}, down {down}{on if leans else ''}"


def replay_text(back: str, bars: Sequence[Bar], *, repeats: bool) -> str:
    """Return the text in place of bars that are played from the sign: the jump, what to leave out
    where the music there has ``repeats``, and the numbers of the cycles."""
    first, last = bars[0].number, bars[-1].number
    numbers = f"cycle {first}" if first == last else f"cycles {first}–{last}"
    return f"{back}{', no repeats' if repeats else ''} ({numbers})"
