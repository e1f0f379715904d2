"""A piece mended: what ``check`` would try, carried out in its file.

Edits are done in rounds, those of reading first, for what is judged may come from what could not be
read. After each round the file is read and judged again. What makes it worse is taken back, and the
next thing to try is done instead.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from cyclechart.finding import MOST_OF_A_RULE, Edit, Finding, Suggestion
from cyclechart.piece.load import read_piece
from cyclechart.rules.judge import RULE_NAMES, findings_on
from cyclechart.text.edits import offset_of, with_edits_in_file
from cyclechart.text.source import Source, with_plain_ends

MOST_ROUNDS = 60
MOST_TRIALS, FEWEST_TRIALS = 60, 2
"""The most times that a file is read and judged again, and that a very large one is."""
MOST_READ = 400_000
"""The bytes that are read again at most in all of a file's trials."""

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
    stopped: bool
    """True if there was more to try than time for it."""


class _State(NamedTuple):
    """The bytes of a file with all its findings."""

    data: bytes
    findings: list[Finding]
    sources: dict[str, Source]
    is_read: bool

    def source(self, file: str) -> Source:
        """Return the text that edits are placed in."""
        if file in self.sources:
            return self.sources[file]
        text = self.data.decode("utf-8-sig", "replace")
        return Source.of(file, with_plain_ends(text))


def mended(
    file: str, data: bytes, folder: Path | None = None, rules: Collection[str] = ()
) -> Mended:
    """Return a piece's file mended: of all its errors, or of the findings by some rules."""
    return _Mending(file, data, folder, rules).mended()


class _Mending:
    """The rounds of one file."""

    def __init__(self, file: str, data: bytes, folder: Path | None, rules: Collection[str]) -> None:
        self.file, self.folder, self.rules = file, folder, frozenset(rules)
        affordable = MOST_READ // max(len(data), 1)
        self.trials = max(FEWEST_TRIALS, min(MOST_TRIALS, affordable))
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
        return Mended(
            self.now.data,
            self.now.findings,
            self.now.sources,
            done=tuple(self.done),
            taken_back=tuple(given_up),
            stopped=not left <= set(self.taken_back),
        )

    def judged(self, data: bytes) -> _State:
        """Return the bytes of the file with all their findings."""
        loaded = read_piece(self.file, data, RULE_NAMES, self.folder)
        return _State(data, findings_on(loaded), loaded.sources, loaded.piece is not None)

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
        """Return one thing to try for each finding by one rule, of the first stage that has any
        left, without those that would change the same characters as one before."""
        left = [mend for mend in self.wanted() if self.key(mend) not in self.taken_back]
        rule = min((mend.finding for mend in left), key=_stage).rule if left else ""
        chosen: list[Mend] = []
        places = _Places(self.now.source(self.file))
        seen: set[Finding] = set()
        for mend in left:
            if mend.finding in seen or mend.finding.rule != rule:
                continue
            seen.add(mend.finding)
            if places.take(mend.suggestion.edits):
                chosen.append(mend)
        return chosen

    def do(self, choices: list[Mend]) -> None:
        """Do choices, or where they make the file worse, as many of them as do not."""
        if not self.trials:
            return
        why, after = self.tried(choices)
        if not why:
            return
        guilty = self.guilty(choices, after) if len(choices) > 1 else choices
        for mend in guilty:
            self.taken_back[self.key(mend)] = mend._replace(why=why)
        if guilty:
            return
        # Places move when something is done: then the rest waits for the next round.
        before = self.now
        for half in (choices[: len(choices) // 2], choices[len(choices) // 2 :]):
            if self.now is before:
                self.do(half)

    def guilty(self, choices: list[Mend], after: _State | None) -> list[Mend]:
        """Return the choices that are alone in a line of music which has an error more then."""
        if after is None or not after.is_read:
            return []
        alone = Counter(_within(mend.finding) for mend in choices)
        old, new = (Counter(_errors_of_lines(one.findings)) for one in (self.now, after))
        more = {within for within, rule in new - old if within}
        return [
            mend
            for mend in choices
            if _within(mend.finding) in more and alone[_within(mend.finding)] == 1
        ]

    def tried(self, choices: list[Mend]) -> tuple[str, _State | None]:
        """Do choices where that makes the file better, or return why it does not, and what the file
        would be."""
        edits = [edit for mend in choices for edit in mend.suggestion.edits]
        try:
            data = with_edits_in_file(self.now.data, edits)
        except ValueError as error:
            return str(error), None
        self.trials -= 1
        after = self.judged(data)
        why = self.worse(after, choices)
        if not why:
            self.now = after
            self.done += choices
        return why, after

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
        places = {(one.rule, one.spot) for one in after.findings}
        gone = all((mend.finding.rule, mend.finding.spot) not in places for mend in choices)
        # Of a rule only so many findings are listed: where these are gone, the next show.
        full = sum(one.rule == choices[0].finding.rule for one in self.now.findings)
        more_show = gone and full >= MOST_OF_A_RULE
        if self.rules:
            left = [sum(map(self.is_wanted, one.findings)) for one in (self.now, after)]
            return "" if left[1] < left[0] or more_show else "the finding would stay"
        at_stage = [_at(one, stage) for one in (old, new)]
        if at_stage[1] < at_stage[0] or more_show:
            return ""
        # Of a cell only the first error is known: where that one is gone, the next shows.
        next_shows = stage == _STAGE["bad-cell"] and gone
        # Of a file that YAML cannot read only the first fault is known.
        rows = [one.spot.line for one in after.findings if one.rule == "unreadable"]
        reads_on = not after.is_read and min(rows, default=0) > choices[-1].finding.spot.line
        if (next_shows or reads_on) and at_stage[1] == at_stage[0]:
            return ""
        return "the error would stay"

    def key(self, mend: Mend) -> tuple[str, ...]:
        """Return what a thing to try is known by while rows move."""
        source = self.now.sources.get(self.file)
        row = source.line(mend.finding.spot.line) if source is not None else ""
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


def _within(finding: Finding) -> str:
    return finding.place.within if finding.place is not None else ""


def _errors_of_lines(findings: Iterable[Finding]) -> Iterator[tuple[str, str]]:
    """Yield the line of music and the rule of each error that no liberty covers."""
    return ((_within(one), one.rule) for one in findings if one.counts)


class _Places:
    """The characters that edits change, none of them twice."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.edits: set[Edit] = set()
        self.taken: list[tuple[int, int]] = []
        """From which offset to which, in order."""

    def take(self, edits: Iterable[Edit]) -> bool:
        """Take the places of edits, unless others change them, or put something in there."""
        new = [edit for edit in edits if edit not in self.edits]
        starts = [offset_of(self.source, one.spot) for one in new]
        places = [(at, at + one.spot.width) for at, one in zip(starts, new, strict=True)]
        if not all(map(self.is_free, places)):
            return False
        self.edits.update(new)
        for place in places:
            insort(self.taken, place)
        return True

    def is_free(self, place: tuple[int, int]) -> bool:
        """Return whether no edit changes these characters or puts something in at their begin."""
        at = bisect_left(self.taken, place)
        before, after = self.taken[max(at - 1, 0) : at], self.taken[at : at + 1]
        return all(stop <= place[0] and start != place[0] for start, stop in before) and all(
            place[1] <= start and start != place[0] for start, _ in after
        )
