"""A piece mended: what ``check`` would try, carried out in its file.

Edits are done in rounds, those of reading first, for what is judged may come from what could not be
read. After each round the file is read and judged again. What makes it worse is taken back, and the
next thing to try is done instead.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from cyclechart.finding import Edit, Finding, Suggestion
from cyclechart.piece.load import read_piece
from cyclechart.rules.judge import RULE_NAMES, in_order, judge
from cyclechart.text.edits import with_edits_in_file
from cyclechart.text.source import Source

MOST_ROUNDS = 60
MOST_TRIALS = 200
"""How often the file is read and judged again at most; a large one, a tenth as often."""
LARGE = 100_000
"""The bytes from which on a file is large."""

_STAGES = (
    ("unreadable", "too-long"),
    ("unknown-key", "duplicate-key"),
    ("missing-key",),
    ("wrong-value",),
    ("unknown-name", "unknown-line", "overlap"),
    ("bad-cell", "unclosed", "two-readings", "other-spelling"),
    ("cycle-unsound", "mode-unsound"),
)
"""The reader's errors in the order in which they are mended: each may come from one before it."""
_STAGE = {rule: number for number, rules in enumerate(_STAGES) for rule in rules}


class Mend(NamedTuple):
    """A finding, and the thing to try that was done or taken back for it."""

    finding: Finding
    suggestion: Suggestion
    why: str = ""
    """Why it was taken back, in words."""


class Mended(NamedTuple):
    """A file mended: its bytes, the findings that are left, what was done, what was taken back."""

    data: bytes
    findings: list[Finding]
    sources: dict[str, Source]
    done: tuple[Mend, ...]
    taken_back: tuple[Mend, ...]


class _State(NamedTuple):
    """The bytes of a file with all its findings."""

    data: bytes
    findings: list[Finding]
    sources: dict[str, Source]
    is_read: bool


def mended(
    file: str, data: bytes, folder: Path | None = None, rules: Collection[str] = ()
) -> Mended:
    """Return a piece's file mended: of all its errors, or of the findings by some rules."""
    return _Mending(file, data, folder, rules).mended()


class _Mending:
    """The rounds of one file."""

    def __init__(self, file: str, data: bytes, folder: Path | None, rules: Collection[str]) -> None:
        self.file, self.folder, self.rules = file, folder, frozenset(rules)
        self.trials = MOST_TRIALS // (10 if len(data) > LARGE else 1)
        self.now = self.judged(data)
        self.done: list[Mend] = []
        self.taken_back: dict[tuple[str, ...], Mend] = {}

    def mended(self) -> Mended:
        """Return the file when nothing is left to do."""
        for _ in range(MOST_ROUNDS):
            choices = self.choices()
            if not choices or not self.trials:
                break
            self.do(choices)
        left = {self.key(mend) for mend in self.wanted()}
        given_up = [mend for key, mend in self.taken_back.items() if key in left]
        done, taken_back = tuple(self.done), tuple(given_up)
        return Mended(self.now.data, self.now.findings, self.now.sources, done, taken_back)

    def judged(self, data: bytes) -> _State:
        """Return the bytes of the file with all their findings."""
        loaded = read_piece(self.file, data, RULE_NAMES, self.folder)
        findings = list(loaded.findings)
        if loaded.piece is not None:
            findings += judge(loaded.piece)
        return _State(data, in_order(findings), loaded.sources, loaded.piece is not None)

    def is_wanted(self, finding: Finding) -> bool:
        """Return whether a finding is one of those to mend."""
        if finding.spot.file != self.file or finding.liberty is not None:
            return False
        return finding.rule in self.rules if self.rules else finding.counts

    def wanted(self) -> Iterator[Mend]:
        """Yield the things to try, with edits, of the findings to mend."""
        for finding in self.now.findings:
            if self.is_wanted(finding):
                for suggestion in finding.suggestions:
                    if suggestion.edits:
                        yield Mend(finding, suggestion)

    def choices(self) -> list[Mend]:
        """Return one thing to try for each finding of the first stage that has any left, without
        those that would change the same characters as one before."""
        left = [mend for mend in self.wanted() if self.key(mend) not in self.taken_back]
        stage = min((_stage(mend.finding) for mend in left), default=0)
        chosen: list[Mend] = []
        edits: dict[Edit, None] = {}
        seen: set[Finding] = set()
        for mend in left:
            if mend.finding in seen or _stage(mend.finding) != stage:
                continue
            seen.add(mend.finding)
            if not any(_clash(one, other) for one in mend.suggestion.edits for other in edits):
                chosen.append(mend)
                edits |= dict.fromkeys(mend.suggestion.edits)
        return chosen

    def do(self, choices: list[Mend]) -> None:
        """Do choices, or where they make the file worse, as many of them as do not."""
        if not self.trials:
            return
        why = self.tried(choices)
        if not why:
            return
        if len(choices) == 1:
            self.taken_back[self.key(choices[0])] = choices[0]._replace(why=why)
            return
        # Places move when something is done: then the rest waits for the next round.
        before = self.now
        for half in (choices[: len(choices) // 2], choices[len(choices) // 2 :]):
            if self.now is before:
                self.do(half)

    def tried(self, choices: list[Mend]) -> str:
        """Do choices where that makes the file better, or return why it does not."""
        edits = [edit for mend in choices for edit in mend.suggestion.edits]
        try:
            data = with_edits_in_file(self.now.data, edits)
        except ValueError as error:
            return str(error)
        self.trials -= 1
        after = self.judged(data)
        why = self.worse(after, choices)
        if not why:
            self.now = after
            self.done += choices
        return why

    def worse(self, after: _State, choices: list[Mend]) -> str:
        """Return why a file is no better than before choices were done; "" where it is."""
        stage = _stage(choices[0].finding)
        if self.now.is_read and not after.is_read:
            return "the file could not be read then"
        old, new = _by_rule(self.now.findings), _by_rule(after.findings)
        more = sorted(rule for rule in new if new[rule] > old[rule])
        before_or_at = [rule for rule in more if _STAGE.get(rule, len(_STAGES)) <= stage]
        if before_or_at:
            return f"there would be a new error: {', '.join(before_or_at)}"
        if self.rules:
            left = [sum(map(self.is_wanted, one.findings)) for one in (self.now, after)]
            return "" if left[1] < left[0] else "the finding would stay"
        at_stage = [_at(one, stage) for one in (old, new)]
        if at_stage[1] < at_stage[0]:
            return ""
        # Of a cell only the first error is known: where that one is gone, the next shows.
        places = {(one.rule, one.spot) for one in after.findings}
        gone = all((mend.finding.rule, mend.finding.spot) not in places for mend in choices)
        if stage == _STAGE["bad-cell"] and gone and at_stage[1] == at_stage[0]:
            return ""
        return "the error would stay"

    def key(self, mend: Mend) -> tuple[str, ...]:
        """Return what a thing to try is known by while rows move."""
        spot = mend.finding.spot
        source = self.now.sources.get(self.file)
        row = source.line(spot.line) if source is not None else ""
        return mend.finding.rule, mend.finding.message, mend.suggestion.text, row


def _stage(finding: Finding) -> int:
    return _STAGE.get(finding.rule, len(_STAGES))


def _by_rule(findings: Iterable[Finding]) -> Counter[str]:
    """Return how many errors that no liberty covers there are by each rule."""
    return Counter(finding.rule for finding in findings if finding.counts)


def _at(errors: Counter[str], stage: int) -> tuple[int, ...]:
    """Return the errors of each stage up to one."""
    sums = [0] * (stage + 1)
    for rule, count in errors.items():
        if (at := _STAGE.get(rule, len(_STAGES))) <= stage:
            sums[at] += count
    return tuple(sums)


def _clash(one: Edit, other: Edit) -> bool:
    """Return whether two different edits change the same characters, or put in at one place."""
    if one == other:
        return False
    first, second = sorted((one.spot, other.spot), key=lambda spot: (spot.line, spot.column))
    if (first.line, first.column) == (second.line, second.column):
        return True
    if first.line == second.line:
        return first.column + first.width > second.column
    # An edit over several rows is alone in the rows that it may reach.
    return first.width > 0 and second.line - first.line < first.width
