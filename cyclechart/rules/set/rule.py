"""The type of the rules of a set, which judge a gig."""

from __future__ import annotations

from typing import TypeAlias

from cyclechart.piece.set.gig import Gig
from cyclechart.rules.rule import RuleOver

SetRule: TypeAlias = RuleOver[Gig]
