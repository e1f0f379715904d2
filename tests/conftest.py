"""Shared by all tests: their own modules can be imported by name, how hypothesis searches, and
which tests one worker has."""

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


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling:
    """One worker has a whole file, and all that is tried on one piece over several files: what is
    costly (a browser, a piece's parts) is kept for the next test."""
    from xdist.scheduler import LoadScopeScheduling

    class ByFileAndPiece(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file, _, test = nodeid.partition("::")
            piece = re.search(r"\[([\w-]+)\]$", test)
            return piece[1] if piece and Path(file).stem in OVER_PIECES else file

    return ByFileAndPiece(config, log)
