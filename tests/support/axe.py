"""The rules of axe-core (WCAG 2, and good practice), asked of a page in a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Frame, Page

AXE = Path(__file__).parents[1] / "script/node_modules/axe-core/axe.min.js"


def violations(page: Page | Frame) -> list[tuple[str, list[str]]]:
    """Return the rules that a page breaks, each with the elements that do."""
    if not AXE.exists():
        pytest.skip("axe-core is not here: npm --prefix tests/script ci")
    # Evaluated, for the policy of a page lets no other script in.
    page.evaluate(AXE.read_text("utf-8"))
    found: list[dict[str, Any]] = page.evaluate(
        "async () => (await axe.run(document, { resultTypes: ['violations'] })).violations"
    )
    return [
        (one["id"], [f"{node['target']} {node.get('failureSummary', '')}" for node in one["nodes"]])
        for one in found
    ]
