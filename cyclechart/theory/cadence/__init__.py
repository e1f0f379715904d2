"""The arithmetic of cadences: statements said several times so that the last stroke meets sam.

A statement of length L (as written, holds and rests at its end included), whose last stroke falls
``last`` after its beginning, is said N times with a gap G after each, the last apart; a body of
length A may stand before the statements, and the whole, a round, may be said R times with a gap Γ
between. Statement i may be longer than the first by i steps D (growing like a river, srotovaha;
below 0 shrinking like a cow's tail, gopuccha), or by as many steps as it stands from the nearer end
(growing and shrinking, mridanga; shrinking and growing, damaru), and may be said at a speed V(i)
(tripalli: 1, 3/2, 2): L(i) = (L + i D) / V(i), and its last stroke stays as far from its end, in
proportion to its speed: T(i) = (L − last) / V(i). Beginning on beat s of a cycle of n, the last
stroke of statement i of round r falls at

    s − 1 + r (A + L(0) + … + L(N−1) + (N−1) G + Γ) + A + L(0) + … + L(i) + i G − T(i)

beats from the first beat of the cycle it begins in; the cadence lands when the very last one is a
multiple of n (or so much before one, for anagat, or after one, for atit or an eduppu). A korvai has
a first part before its statements, phrases of lengths F(0) … F(M−1) with a gap H after each, which
adds F(0) + … + F(M−1) + M H. All lengths are exact.

``terms`` are the values, ``sums`` the equation, ``search`` finds answers, ``plainest`` the first
few, ``advice`` says why there is none.
"""

from cyclechart.theory.cadence.advice import (
    Miss,
    beats_needed,
    begins_instead,
    miss,
    nearest_gap,
    nearest_length,
    nearest_room,
    target,
    why_none,
    wider,
)
from cyclechart.theory.cadence.plainest import never_counted, never_whole, plainest
from cyclechart.theory.cadence.search import (
    MAX_STEPS,
    fill,
    fill_room,
    follow,
    lands,
    solve,
    soonest,
)
from cyclechart.theory.cadence.sums import BREATHLESS, FINEST_GAP
from cyclechart.theory.cadence.terms import (
    YATIS,
    Answer,
    Answers,
    CadenceKind,
    FirstPart,
    Question,
    Statement,
    Yati,
    yati_counts,
)

__all__ = [
    "BREATHLESS",
    "FINEST_GAP",
    "MAX_STEPS",
    "YATIS",
    "Answer",
    "Answers",
    "CadenceKind",
    "FirstPart",
    "Miss",
    "Question",
    "Statement",
    "Yati",
    "beats_needed",
    "begins_instead",
    "fill",
    "fill_room",
    "follow",
    "lands",
    "miss",
    "nearest_gap",
    "nearest_length",
    "nearest_room",
    "never_counted",
    "never_whole",
    "plainest",
    "solve",
    "soonest",
    "target",
    "why_none",
    "wider",
    "yati_counts",
]
