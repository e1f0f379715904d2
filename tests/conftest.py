"""Shared by all tests: their own modules can be imported by name, and how hypothesis searches."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))

# No example is timed: a busy machine is no failure. In CI the same examples are tried every time;
# by hand new ones are.
settings.register_profile("steady", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("steady")
