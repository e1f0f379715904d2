"""A progress bar on the terminal, with the time that the rest will take. Loads rich."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, ProgressColumn, Task, TextColumn, TimeRemainingColumn
from rich.text import Text

from cyclechart.write.files.progress import Show


class _TimeLeft(ProgressColumn):
    """The time left: by the word of who does the work where there is one, running down until the
    next, else by the work that was done so far."""

    def __init__(self) -> None:
        super().__init__()
        self.by_speed = TimeRemainingColumn()

    def render(self, task: Task) -> Text:
        ends = task.fields["ends"]
        if ends is None or task.finished:
            return self.by_speed.render(task)
        whole, seconds = divmod(max(0, round(ends - time.monotonic())), 60)
        hours, minutes = divmod(whole, 60)
        return Text(f"{hours}:{minutes:02}:{seconds:02}", style="progress.remaining")


@contextmanager
def bar(label: str) -> Iterator[tuple[Show, Console]]:
    """Yield what moves a bar on stderr, and the console to print lines on above it.

    Without a word about it the time left is reckoned from the whole of the work done so far, not
    from its last moments.
    """
    columns = TextColumn("{task.description}"), BarColumn(), _TimeLeft()
    console = Console(stderr=True, highlight=False)
    with Progress(*columns, console=console, transient=True, speed_estimate_period=3600) as shown:
        task = shown.add_task(label, total=None, ends=None)

        def show(done: float, of: float, name: str, left: float | None = None, /) -> None:
            ends = None if left is None else time.monotonic() + left
            text = f"{label} {name}".strip()
            shown.update(task, completed=done, total=max(of, 1), description=text, ends=ends)

        yield show, console
