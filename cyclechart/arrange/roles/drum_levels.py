"""The dynamics of drums as velocity."""

from __future__ import annotations

LEVELS = {"pp": -30, "p": -20, "mp": -10, "mf": 0, "f": 8, "ff": 14}
"""Velocity added by the dynamics of a step or of a line."""
