"""Late vibrato and shakes that set in: rates and depths are common practice (from memory)."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from arrange.phrasing.test_phrased_parts import sounds_of

from cyclechart.arrange.phrasing.vibrato import vibrato_curve
from cyclechart.arrange.pitch_curves import Curve
from cyclechart.arrange.roles.shakes import andolan_curve, gamak_curve

LONG = "S - - - - - - - || P - - - - - - -"


def area(curve: Curve) -> float:
    """The mean of a curve of straight lines over its time, times that."""
    return sum(float(b - a) * (x + y) / 2 for (a, x), (b, y) in pairwise(curve))


def tops_of(curve: Curve) -> list[float]:
    """The highest point of each swing."""
    values = [by for _, by in curve]
    around = zip(values, values[1:], values[2:], strict=False)
    return [here for before, here, after in around if before < here > after]


def crossings(curve: Curve) -> int:
    return sum(a < 0 <= b for (_, a), (_, b) in pairwise(curve))


@pytest.mark.parametrize("seconds", [0.8, 1.0, 1.37, 2.0, 3.3, 8.0, 20.0])
@pytest.mark.parametrize("seed", ["flute 0", "alto-sax 17", "trumpet 4/3"])
def test_it_sets_in_late_grows_wavers_and_keeps_the_mean(seconds: float, seed: str) -> None:
    length = Fraction(seconds).limit_denominator(100) * 2  # at 120 beats a minute
    curve = vibrato_curve(length, seconds, seed)
    assert curve[0] == (0, 0.0) and curve[-1][0] == length
    assert area(curve) == pytest.approx(0, abs=1e-9)
    times = [at for at, _ in curve]
    assert times == sorted(set(times))
    assert all(abs(by) < 1e-9 for at, by in curve if at <= 0.35 * 2 - 0.001)
    assert max(abs(by) for _, by in curve) < 0.2
    if seconds >= 3:
        early = max(abs(by) for at, by in curve if at < 2 * 0.6)
        assert early < 0.6 * max(abs(by) for _, by in curve)
        assert 4.5 < crossings(curve) / (seconds - 0.35) < 6.3
        tops = tops_of(curve)
        assert len({round(top, 3) for top in tops}) > 5
    assert curve == vibrato_curve(length, seconds, seed)


def test_a_short_note_has_none() -> None:
    assert vibrato_curve(Fraction(1), 0.79, "flute") == ()


@pytest.mark.parametrize(
    ("player", "wavers"),
    [("flute", True), ("alto-sax", True), ("trumpet", True), ("cello", True), ("violin", False),
     ("sarangi", False), ("alto", False), ("bansuri", False), ("sitar", False), ("piano", False)],
)  # fmt: skip
def test_who_has_it(player: str, wavers: bool) -> None:
    assert any(sound.curve for sound in sounds_of(LONG, player=player)) == wavers


def test_a_plain_note_and_a_glide_have_none() -> None:
    plain, usual = sounds_of("!plain!S - - - - - - - || P - - - - - - -")
    assert not plain.curve and usual.curve
    (glided,) = sounds_of("S~ - - - - - - - || P - - - - - - -")
    assert all(by >= 0 for _, by in glided.curve)


@pytest.mark.parametrize("seconds", [Fraction(1, 2), Fraction(1), Fraction(7, 3), Fraction(9)])
def test_shakes_set_in_and_keep_their_mean(seconds: Fraction) -> None:
    andolan = andolan_curve(seconds * 2, seconds, 0.35)
    gamak = gamak_curve(seconds * 2, seconds, 2.0)
    assert area(andolan) == pytest.approx(0, abs=1e-9)
    begins = andolan[1][0] if andolan[1][1] == 0 and len(andolan) > 2 else andolan[0][0]
    assert begins >= 0
    assert area(gamak) / float(gamak[-1][0] - gamak[0][0]) == pytest.approx(1.0, abs=0.2)
    if seconds >= 2:
        tops = tops_of(andolan)
        assert tops[0] < 0.75 * max(tops) and max(tops) <= 0.36
        assert len({round(top, 3) for top in tops[2:]}) > 1
        gaps = [float(b - a) for (a, _), (b, _) in pairwise(andolan)]
        assert max(gaps) > 1.08 * min(gaps)
        highs = tops_of(gamak)
        assert highs[0] < 0.8 * max(highs) and max(highs) == pytest.approx(2.0)
        assert area(gamak) / float(gamak[-1][0]) == pytest.approx(1.0, abs=1e-6)
