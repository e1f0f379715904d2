"""Shared by all tests: their own modules can be imported by name, how hypothesis searches, in which
order files are tried, and which tests one worker has."""

from __future__ import annotations

import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from xdist.scheduler import LoadScopeScheduling

sys.path.insert(0, str(Path(__file__).parent))

# No example is timed: a busy machine is no failure. In CI the same examples are tried every time;
# by hand new ones are.
settings.register_profile("steady", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("steady")

OVER_PIECES = ("test_parts_of_players", "test_page_parts", "test_page_data", "test_piece_charts")
"""Files whose tests are tried on the same pieces, each by its name."""
SLOW_FIRST = (
    "test_overlaps", "test_rehearsal_folder", "test_set_book", "test_rehearse_command",
    "test_mixdown", "test_piece_charts", "test_page_parts", "test_page_data",
    "test_parts_of_players", "test_page_in_browser", "test_search", "test_cadence_search",
    "test_score_transforms", "test_text_round_trip", "test_grid", "test_svg_slimming",
    "test_midi_ensemble", "test_goldens", "test_parts_written", "test_cli", "test_size_limits",
    "test_recipes", "test_book_command", "test_tries_hold", "test_live_in_browser",
    "test_limiting", "test_page_sounding",
)  # fmt: skip
"""Files of ten seconds and more, the longest first: were one left for the end, a worker would have
it alone."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the slow files first; all others stay in their order."""
    rank = {name: number for number, name in enumerate(SLOW_FIRST)}
    items.sort(key=lambda item: rank.get(item.path.stem, len(rank)))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling:
    """One worker has a whole file, and all that is tried on one piece over several files: what is
    costly (a browser, a piece's parts) is kept for the next test."""
    from xdist.scheduler import LoadScopeScheduling

    # Else the files with the most tests would come first, whatever they cost.
    config.option.loadscopereorder = False

    class ByFileAndPiece(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file, _, test = nodeid.partition("::")
            piece = re.search(r"\[([\w-]+)\]$", test)
            return piece[1] if piece and Path(file).stem in OVER_PIECES else file

    return ByFileAndPiece(config, log)
