"""Whole outputs as text, kept in tests/golden: a change in any of them is meant or is a mistake.

To renew all of them after a change that is meant (then read the difference):

    RENEW_GOLDENS=1 python -m pytest tests/write -k golden
"""

from __future__ import annotations

import json
import os
from typing import Any

from support.making import ROOT

GOLDEN = ROOT / "tests" / "golden"


def check_golden(name: str, text: str) -> None:
    """Compare a text with the golden file of a name."""
    path = GOLDEN / name
    if os.environ.get("RENEW_GOLDENS"):
        path.write_text(text, "utf-8")
    assert text.splitlines() == path.read_text("utf-8").splitlines()


def as_lines(data: Any, width: int = 100, indent: str = "") -> str:
    """Plain data as JSON, a value that fits on a line on one."""
    short = json.dumps(data, ensure_ascii=False)
    if len(indent) + len(short) <= width or not data or not isinstance(data, dict | list | tuple):
        return short
    deeper = f"{indent} "
    if isinstance(data, dict):
        items = [
            f"{deeper}{json.dumps(key, ensure_ascii=False)}: {as_lines(value, width, deeper)}"
            for key, value in data.items()
        ]
        return "{\n" + ",\n".join(items) + f"\n{indent}}}"
    return (
        "[\n" + ",\n".join(deeper + as_lines(one, width, deeper) for one in data) + f"\n{indent}]"
    )
