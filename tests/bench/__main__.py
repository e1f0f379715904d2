"""Speed, as ratios to named libraries in the same run: ``python tests/bench [--quick]``.

Run it from the repository root on a machine that does little else. One table a subject; ``--quick``
leaves music21, which takes minutes, out of the rows of 30,000 notes.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator

import book
import cadence
import checking
import cold
import ensemble
import grammar
import midi
import musicxml
import scales
import sound
import tune
from table import Subject


def subjects(quick: bool) -> Iterator[Callable[[], Subject]]:
    """Return the subjects to measure, in order."""
    yield cold.subject
    yield checking.subject
    yield grammar.subject
    yield scales.subject
    yield cadence.subject
    yield ensemble.subject
    yield sound.subject
    yield book.subject
    yield lambda: midi.subject(quick)
    yield lambda: musicxml.subject(quick)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python tests/bench", description=__doc__)
    parser.add_argument(
        "--quick", action="store_true", help="leave music21 out of the longest rows"
    )
    quick = parser.parse_args().quick
    print(tune.__doc__)
    for measure in subjects(quick):
        print(measure(), end="\n\n\n", flush=True)


if __name__ == "__main__":
    main()
