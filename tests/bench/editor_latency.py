"""How long the language server takes from a change to its findings, driven by a real client.

    python tests/bench/editor_latency.py [changes [lines…]]

It prints, for pieces of 300 rows of music dealt out over lines in several ways, the median, the
95th percentile and the most of the milliseconds that pass, and of those that the server computes
(which do not depend on what else the machine does). A change is another tone in some row, or a row
more above all lines; both happen as often.
"""

from __future__ import annotations

import asyncio
import os
import random
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from lsprotocol import types
from pytest_lsp import LanguageClient
from pytest_lsp.client import make_test_lsp_client
from support.editor_client import COMMAND, OpenText

ROWS = 300
LINES = (1, 10, 30, 75, 300)
ASCENT = ["S", "R", "G", "m", "P", "d", "n", "S'"]


def piece(lines: int, dice: random.Random) -> str:
    """A piece of 300 rows of sixteen beats."""
    text = "title: A Long Evening\ntonic: D\nmode: charukeshi\ncycle: tintal\ntempo: 120\nlines:\n"
    for number in range(lines):
        rows = "".join(f"      {row(dice)} ||\n" for _ in range(ROWS // lines - 1))
        text += f"  line-{number}:\n    sargam: |\n{rows}      {row(dice)} || S - - -\n"
    return text + "form:\n" + "".join(f"  - play: line-{number}\n" for number in range(lines))


def row(dice: random.Random) -> str:
    """A row that wanders along the mode."""
    at, cells = dice.randrange(8), []
    for beat in range(16):
        cells += ["|"] if beat and beat % 4 == 0 else []
        cell = ""
        for _ in range(dice.choice([1, 1, 1, 2, 3])):
            at = max(0, min(7, at + dice.choice([-1, 1])))
            cell += ASCENT[at]
        cells.append(cell)
    return " ".join(cells)


def changed(text: str, dice: random.Random) -> str:
    """A text with another tone somewhere, or a row more above the lines."""
    if dice.random() < 0.5:
        return text.replace("lines:\n", "\nlines:\n", 1)
    places = [at for at in range(len(text)) if text[at : at + 3] in (" G ", " P ")]
    at = dice.choice(places) + 1
    return text[:at] + dice.choice("GPRm") + text[at + 1 :]


def computed(pid: int) -> float:
    """Milliseconds of processor time that a process has taken."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return 1000 * (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


async def measured(lines: int, changes: int) -> None:
    """Print the times of one piece."""
    dice = random.Random(lines)
    client = make_test_lsp_client()
    assert isinstance(client, LanguageClient)
    await client.start_io(*COMMAND)
    assert client._server is not None
    await client.initialize_session(types.InitializeParams(types.ClientCapabilities()))
    text = OpenText(client, piece(lines, dice))
    await text.opened()
    passed, took = [], []
    for _ in range(changes):
        new = changed(text.text, dice)
        before, start = computed(client._server.pid), time.perf_counter()
        await text.changed(new)
        passed.append(1000 * (time.perf_counter() - start))
        took.append(computed(client._server.pid) - before)
    await client.shutdown_session()
    print(f"{lines:5}  {figures(passed)}  {figures(took)}")


def figures(times: list[float]) -> str:
    """The median, the 95th percentile and the most of some times."""
    late = sorted(times)[int(0.95 * len(times))]
    return f"{statistics.median(times):6.0f} {late:6.0f} {max(times):6.0f}"


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    print("lines  passed: median, 95%, most  computed: median, 95%, most   (milliseconds)")
    for number in map(int, sys.argv[2:]) if len(sys.argv) > 2 else LINES:
        asyncio.run(measured(number, count))
