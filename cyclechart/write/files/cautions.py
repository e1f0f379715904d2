"""The usual cautions where sound is made."""

from __future__ import annotations

LEVEL = "Hearing: begin low and turn up slowly; an hour of drone is loud sooner than it seems."
"""In the terminal, after anything that sounds."""

HEARING = (
    "Begin with the level low and turn it up until it is comfortable, on headphones above all. "
    "As a rule of thumb 85 dB(A) is taken to be safe for eight hours a day, and every 3 dB more "
    "halves the time: 88 for four hours, 94 for one, 100 for a quarter (NIOSH, Publication "
    "98-126). No file knows how loud you hear it. Ears that ring want quiet."
)
"""In a folder of sound and on its page."""

STRAIN = "Stop before a voice, lips or hands hurt; rest is part of practice."

LINEAGE = (
    "Modes, phrases and strokes differ from teacher to teacher: your own teacher's word goes "
    "before these files."
)

CAUTION = (
    "Mode grammars differ by teacher and lineage: your own teacher's word goes before this page. "
    "Keep the drone soft enough to talk over."
)
"""At the foot of a chart, and on the page."""
