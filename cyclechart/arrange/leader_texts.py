"""What a leader says over a step, as text: notes, hits, lines beneath, swing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from cyclechart.piece.player import Player
from cyclechart.piece.steps import Hits, Step, Under
from cyclechart.text.display import player_title


def swing_text(swing: Fraction) -> str:
    """Return the swing of halved beats as text."""
    if swing == 1:
        return "straight"
    return f"swing {swing.numerator}:{swing.denominator}"


def note_text(step: Step, player: Player | None) -> str:
    """Return the words over a step for a player, or for all readers of a score."""
    directions = step.directions
    stop = _stop_text(directions.hits, player)
    if player is not None:
        return ", ".join(filter(None, [directions.note_for(player.name), stop]))
    texts = [f"{player_title(name)}: {text}" if name else text for name, text in directions.notes]
    return "; ".join(filter(None, [*texts, stop]))


def _stop_text(hits: Hits | None, player: Player | None) -> str:
    """Return the words for stop-time, "" for none. Who keeps time or chords going through it reads
    whose it is."""
    if hits is None or not hits.stops:
        return ""
    if player is None or player.role.plays_melody or player.joins_hits(hits.by):
        return "stop time"
    who = ", ".join(map(player_title, hits.by)) if hits.by else "kit and bass"
    return f"stop time of {who}"


def hits_text(hits: Hits) -> str:
    """Return what is hit, and by whom, as text."""
    figure = hits.line or "accents"
    who = f" ({', '.join(map(player_title, hits.by))})" if hits.by else ""
    return f"hits: {figure}{who}"


def leader_text(steps: Sequence[Step], number: int) -> str:
    """Return what some of the band are told at a step, for a chart that everybody reads."""
    step = steps[number]
    texts = [note_text(step, None)]
    if step.directions.hits is not None:
        texts.append(hits_text(step.directions.hits))
    for name, octave in step.directions.octaves:
        texts.append(f"{player_title(name)} {abs(octave)} octave{'s' * (abs(octave) > 1)} "
                     f"{'up' if octave > 0 else 'down'}")  # fmt: skip
    before = steps[number - 1].state.under if number else ()
    only_here = [one for one in step.under if one not in step.state.under]
    texts += _new_beneath([*step.state.under, *only_here], before)
    return "; ".join(filter(None, texts))


def _new_beneath(now: Sequence[Under], before: Sequence[Under]) -> Iterator[str]:
    """Yield what players loop that they did not loop in the step before."""
    known = {(one.player, one.lines) for one in before}
    for one in now:
        if (one.player, one.lines) not in known:
            yield f"under: {player_title(one.player)} {', '.join(one.lines)}"
