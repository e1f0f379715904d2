"""The texts over the steps of a part: their names, what changes at the next, a drone's tones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from cyclechart.arrange.roles.drone import second_tone
from cyclechart.arrange.sheet.model import Strain
from cyclechart.arrange.sheet.road_map import FormBox, free_title
from cyclechart.piece.player import Player
from cyclechart.piece.steps import Free, Solo, Step, Trade
from cyclechart.text.display import player_title
from cyclechart.theory.spelling import spell


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


def step_name(step: Step) -> str:
    """Return the name of a step in the heading of its strain."""
    if isinstance(step, Solo):
        return f"solo {player_title(step.player)}"
    if isinstance(step, Trade):
        return f"trade {' / '.join(map(player_title, step.players))}"
    if isinstance(step, Free):
        return free_title(step)
    return " + ".join(step.uses) if step.uses else "groove"
