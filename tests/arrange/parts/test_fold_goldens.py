"""Bars folded, as text in tests/golden/arrange: what is repeated, ended, rested and written out.

To renew it after a change that is meant: ``python tests/arrange/test_goldens.py``. Each
fold_bars is played_order again here too: a reader plays the bars that were played.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

ROOT = Path(__file__).parents[3]
sys.path.insert(0, str(ROOT / "tests"))

from support.text_dumps import flat  # noqa: E402

from cyclechart.arrange.parts.dal_segno import without_repeats  # noqa: E402
from cyclechart.arrange.parts.repeats import bars_in_order, fold_bars, played_order  # noqa: E402

GOLDEN = ROOT / "tests" / "golden" / "arrange" / "folds.txt"


def passages() -> list[str]:
    """Bars as letters, alike where they have one letter: ``-`` rests, ``/`` is plain."""
    dice = random.Random(8)
    found = ["A", "AA", "AAB", "-", "----", "//", "///", "-/-/", "AAAA----BB", "AB" * 6 + "AC"]
    for _ in range(120):
        passage = ""
        while len(passage) < dice.randint(2, 22):
            some = "".join(dice.choices("AABBC-/", k=dice.randint(1, 5)))
            passage += some * dice.randint(1, 5)
        found.append(passage[:40])
        # The same all through, but for its end.
        body = "".join(dice.choices("ABCD/", k=dice.randint(2, 6)))
        cut = dice.randint(1, len(body))
        found.append(body * dice.randint(1, 3) + body[:-cut] + "E" * cut)
    return found


def text() -> str:
    """Every passage with its folds, what is read of them once, and the bars in order."""
    lines = []
    for passage in passages():
        resting, plain = [one == "-" for one in passage], [one == "/" for one in passage]
        folds = fold_bars(passage, resting, plain)
        once = [one.at for one in without_repeats(folds)]
        lines.append(f"{passage}: {flat(folds)}; {once} {list(bars_in_order(folds))}")
    return "\n".join(lines) + "\n"


def test_bars_are_folded_as_before() -> None:
    assert text() == GOLDEN.read_text("utf-8")


def test_unfolded_again_they_are_what_is_played() -> None:
    for passage in passages():
        resting, plain = [one == "-" for one in passage], [one == "/" for one in passage]
        folds = fold_bars(passage, resting, plain)
        assert "".join(passage[at] for at in played_order(folds)) == passage
        assert "".join(passage[at] for at in bars_in_order(folds)) == passage


if __name__ == "__main__":
    GOLDEN.write_text(text(), "utf-8")
