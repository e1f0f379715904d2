"""What is not indented as YAML needs it: the finding and the edits say so."""

from __future__ import annotations

import pytest
from support.line_texts import FILE, compose_text

from cyclechart.text.edits import with_edits
from cyclechart.text.source import Source

HEAD = "lines:\n  head:\n    sargam: |\n"


@pytest.mark.parametrize(
    ("text", "says", "mended"),
    [
        (f"{HEAD}      S R\n    G\na: x\n", "indented less", f"{HEAD}      S R\n      G\na: x\n"),
        (f"{HEAD}      S R\n     G m\n", "indented less", f"{HEAD}      S R\n      G m\n"),
        (f"{HEAD}    S R\n    G m\n", "must be indented further", f"{HEAD}      S R\n      G m\n"),
        (f"{HEAD}S R\n", "must be indented further", f"{HEAD}      S R\n"),
        (f"{HEAD}      S R\n\n   G m\n\n    P\n", "indented less",
         f"{HEAD}      S R\n\n      G m\n\n      P\n"),
        ("form:\n  - note: |\n      words\n     more words\n", "indented less",
         "form:\n  - note: |\n      words\n      more words\n"),
    ],
)  # fmt: skip
def test_the_row_is_indented(text: str, says: str, mended: str) -> None:
    root, (finding,) = compose_text(text)
    assert root is None
    assert finding.rule == "unreadable"
    assert says in finding.message
    assert "spaces before it" in finding.tries[0]
    assert with_edits(Source.of(FILE, text), finding.suggestions[0].edits) == mended
    assert compose_text(mended)[1] == []


@pytest.mark.parametrize(
    ("text", "says", "mended"),
    [
        ("title: T\n tonic: D\nmode: x\n", "'tonic' is indented by 1 space",
         "title: T\ntonic: D\nmode: x\n"),
        ("lines:\n  head:\n    begins: 3\n   sargam: S\n  two: x\n", "indented by 3 spaces",
         "lines:\n  head:\n    begins: 3\n    sargam: S\n  two: x\n"),
        ("lines:\n   head:\n     sargam: S\n  two:\n     sargam: |\n       R\na: b\n", "'two'",
         "lines:\n   head:\n     sargam: S\n   two:\n      sargam: |\n        R\na: b\n"),
        ("form:\n  - play: head\n     times: 2\n  - solo: x\n", "indented by 5 spaces",
         "form:\n  - play: head\n    times: 2\n  - solo: x\n"),
        ("lines:\n  head:\n\tsargam: S\n", "a tab", "lines:\n  head:\n    sargam: S\n"),
        ("lines:\n\thead:\n\t\tsargam: S\n", "a tab",
         "lines:\n    head:\n        sargam: S\n"),
        ("lines:\n      head:\n\tsargam: S\n", "a tab", "lines:\n      head:\n        sargam: S\n"),
    ],
)  # fmt: skip
def test_a_key_that_stands_under_no_other_and_tabs_are_named(
    text: str, says: str, mended: str
) -> None:
    root, (finding,) = compose_text(text)
    assert root is None
    assert says in finding.message
    assert "YAML cannot" not in finding.message
    assert with_edits(Source.of(FILE, text), finding.suggestions[0].edits) == mended
    assert compose_text(mended)[1] == []


@pytest.mark.parametrize(
    "text",
    [
        "title: 'open\ntonic: D\n",
        "tonic D\nmode: x\n",
        f"{HEAD}      S R\nform: [\n",
        "a: 1: 2\n",
    ],
)
def test_other_faults_are_told_otherwise(text: str) -> None:
    _, findings = compose_text(text)
    assert findings
    assert "indented" not in findings[0].message
