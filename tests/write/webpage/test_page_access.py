"""The rehearsal page by the rules of axe-core: as it is, with settings open, small and large."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser
from support.axe import violations
from support.browsing import DESK, NARROW, PHONE, chromium, file, open_page, run_action

__all__ = ["chromium", "file"]


@pytest.mark.parametrize("how", [PHONE, NARROW, DESK], ids=["phone", "dark", "desk"])
def test_no_rule_of_axe_is_broken(chromium: Browser, file: Path, how: dict[str, Any]) -> None:
    with open_page(chromium, file, **how) as watched:
        page = watched.page
        run_action(page, "section(0)")
        page.evaluate("() => document.querySelector('details').setAttribute('open', '')")
        page.keyboard.press("m")
        assert violations(page) == []
        if not page.is_visible("#open"):
            return
        page.click("#open")
        for tab in page.locator("#groups button").all():
            tab.click()
            assert violations(page) == [], tab.inner_text()
