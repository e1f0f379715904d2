"""Tests run in a forked process over a scratch copy of the tree: once to see which test goes
through which line, and once for each mutant with the tests that may notice it.

The parent has imported what the tests need from elsewhere, but nothing of the package: a child
begins with that and imports the package, with its mutant, anew.
"""

from __future__ import annotations

import ast
import contextlib
import gc
import importlib
import importlib.util
import json
import os
import re
import resource
import shutil
import signal
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import coverage
import hypothesis
import pytest
from mutants import Mutant

PACKAGE = "cyclechart"
LEFT_OUT = shutil.ignore_patterns(".git", ".venv", "venv", "__pycache__", ".*_cache", ".hypothesis")
MOST_MEMORY = 4 << 30
PATIENCE = 5.0
"""Seconds of processor time that a child has beside three times what its tests took."""
PYTEST = ["-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--tb=no", "--no-header"]


@dataclass
class Map:
    """The lines that each test of a folder goes through, and its seconds of processor time."""

    seconds: dict[str, float] = field(default_factory=dict)
    lines: dict[str, dict[int, list[str]]] = field(default_factory=dict)
    failed: list[str] = field(default_factory=list)
    importers: dict[str, set[str]] = field(default_factory=dict)
    """For each module the test files that import it: a constant is no line that a test goes
    through."""

    def order(self, mutant: Mutant, budget: float, everything: bool) -> list[str]:
        """The tests that may tell a mutant, the likeliest and quickest first.

        Those that go through its lines, then those that go through its module or import it, then
        (for ``everything``) the others; no more than take ``budget`` seconds.
        """
        lines = self.lines.get(mutant.path, {})
        files = self.importers.get(mutant.path, set())
        own = range(mutant.line, mutant.line + mutant.before.count("\n") + 1)
        groups: list[Iterable[str]] = [
            [test for line in own for test in lines.get(line, ())],
            [
                *(test for tests in lines.values() for test in tests),
                *(test for test in self.seconds if test.split("::")[0] in files),
            ],
            self.seconds if everything else (),
        ]
        chosen: dict[str, None] = {}
        spent = 0.0
        for group in groups:
            for test in sorted(set(group) - set(chosen), key=lambda one: (self.seconds[one], one)):
                spent += self.seconds[test]
                if chosen and spent > budget:
                    return list(chosen)
                chosen[test] = None
        return list(chosen)


def mirrors(root: Path, path: str) -> list[str]:
    """The test folders and files that mirror a module."""
    folder = Path(path).parent.relative_to(PACKAGE)
    while not (root / "tests" / folder).is_dir():
        folder = folder.parent
    found = [str(Path("tests") / folder)]
    for parent in list(folder.parents)[:-1]:
        found += sorted(
            str(one.relative_to(root)) for one in (root / "tests" / parent).glob("test_*.py")
        )
    return found


def importers_of(root: Path, path: str, tests: Iterable[str]) -> set[str]:
    """The test files among these that import a module, or from the package that it is in."""
    module = path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    package = module.rpartition(".")[0]
    imported = re.compile(rf"from ({re.escape(module)}|{re.escape(package)}) import")
    files = {test.split("::")[0] for test in tests}
    return {file for file in files if imported.search((root / file).read_text("utf-8"))}


def scratch_copy(root: Path, place: Path) -> Path:
    """A copy of the tree in a folder that is not there yet."""
    shutil.copytree(root, place, ignore=LEFT_OUT, symlinks=True)
    return place


def import_the_others(root: Path, tests: Iterable[str]) -> None:
    """Import what the package and these tests import from elsewhere.

    The folder of the benchmarks is not looked in from then on: some of its modules bear the names
    of the libraries that they measure (musicxml), which tests look for.
    """
    here = Path(__file__).resolve().parent
    sys.path[:] = [place for place in sys.path if Path(place).resolve() != here]
    files = [*(root / PACKAGE).rglob("*.py"), *(root / "tests" / "support").rglob("*.py")]
    for name in tests:
        files += [root / name] if name.endswith(".py") else (root / name).rglob("*.py")
    ours = {PACKAGE, *(path.stem for path in (root / "tests").iterdir())}
    names: set[str] = set()
    for file in files:
        for node in ast.parse(file.read_text("utf-8")).body:
            if isinstance(node, ast.Import):
                names.update(alias.name for alias in node.names)
            elif isinstance(node, ast.ImportFrom) and node.module:
                names.add(node.module)
    for name in sorted(names):
        if name.split(".")[0] not in ours:
            with contextlib.suppress(ImportError):
                importlib.import_module(name)
    gc.collect()
    gc.freeze()


class _Chosen:
    """A pytest plugin: these tests in this order, and the name of the one that failed."""

    def __init__(self, order: list[str], told: Path) -> None:
        self.place = {name: at for at, name in enumerate(order)}
        self.told = told

    def pytest_configure(self) -> None:
        """A failing example is not made smaller: that it fails is enough."""
        phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)
        hypothesis.settings.register_profile(
            "mutation", phases=phases, deadline=None, derandomize=True, database=None
        )
        hypothesis.settings.load_profile("mutation")

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """The chosen ones in their order."""
        items[:] = sorted(
            (item for item in items if item.nodeid in self.place),
            key=lambda item: self.place[item.nodeid],
        )

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """The one that failed."""
        if report.failed:
            self.told.write_text(report.nodeid, "utf-8")


class _Mapper:
    """A pytest plugin: times every test and tells coverage which one is running."""

    def __init__(self, cover: coverage.Coverage, map_: Map) -> None:
        self.cover = cover
        self.map = map_

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        """One test."""
        self.cover.switch_context(item.nodeid)
        before = _spent()
        yield
        self.map.seconds[item.nodeid] = _spent() - before
        self.cover.switch_context("")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """One that fails without any mutant tells nothing."""
        if report.failed:
            self.map.failed.append(report.nodeid)


def _spent() -> float:
    used = os.times()
    return used.user + used.system + used.children_user + used.children_system


def map_of(scratch: Path, tests: list[str], modules: list[str], out: Path) -> Map:
    """Run tests over the copy as it is and return who goes through what."""

    def child() -> int:
        cover = coverage.Coverage(
            data_file=None, include=[str(scratch / name) for name in modules], messages=False
        )
        map_ = Map()
        cover.start()
        code = int(pytest.main([*PYTEST, *tests], plugins=[_Mapper(cover, map_)]))
        cover.stop()
        data = cover.get_data()
        for name in modules:
            found: dict[int, list[str]] = defaultdict(list)
            for line, contexts in data.contexts_by_lineno(str(scratch / name)).items():
                found[line] = [one for one in contexts if one in map_.seconds]
            map_.lines[name] = found
        out.write_text(json.dumps([map_.seconds, map_.lines, map_.failed]), "utf-8")
        return code

    process = _fork(scratch, child, out.with_suffix(".log"), 0)
    try:
        os.waitpid(process, 0)
    except BaseException:
        os.killpg(process, signal.SIGKILL)
        raise
    if not out.exists():
        raise SystemExit(out.with_suffix(".log").read_text("utf-8"))
    return read_map(out)


def read_map(file: Path) -> Map:
    """A map from its file, without the tests that fail without a mutant."""
    seconds, lines, failed = json.loads(file.read_text("utf-8"))
    for one in failed:
        seconds.pop(one, None)
    return Map(
        seconds,
        {
            path: {int(n): [t for t in tests if t in seconds] for n, tests in by_line.items()}
            for path, by_line in lines.items()
        },
        failed,
    )


@dataclass
class Run:
    """A mutant in its copy, with the child that tests it."""

    mutant: Mutant
    scratch: Path
    tests: list[str]
    process: int
    began: float
    limit: float

    def finished(self) -> tuple[str, str] | None:
        """Return the fate of the mutant and the test that noticed it; None while its tests run."""
        ended, status = os.waitpid(self.process, os.WNOHANG)
        late = not ended and time.monotonic() - self.began > self.limit
        if not ended and not late:
            return None
        self.kill()  # or what a test has started and left
        if late:
            os.waitpid(self.process, 0)
        told = _told(self.scratch)
        test = told.read_text("utf-8") if told.exists() else ""
        if late or (os.WIFSIGNALED(status) and os.WTERMSIG(status) in (signal.SIGXCPU, 9)):
            return "timeout", test
        code = os.waitstatus_to_exitcode(status)
        if code == 0:
            return "survived", ""
        return "killed", test or "(the package could not be imported)"

    def kill(self) -> None:
        """End the child and what it has started."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process, signal.SIGKILL)


def start(mutant: Mutant, scratch: Path, tests: list[str], seconds: float) -> Run:
    """Put a mutant into a copy and let a child run these tests, which usually take ``seconds``."""
    place = scratch / mutant.path
    source = place.read_text("utf-8")
    place.write_text(mutant.applied(source), "utf-8")
    # Same second, same size: the compiled file would pass for the mutant's.
    Path(importlib.util.cache_from_source(str(place))).unlink(missing_ok=True)
    told = _told(scratch)
    told.unlink(missing_ok=True)
    files = list(dict.fromkeys(test.split("::")[0] for test in tests))
    limit = PATIENCE + 3 * seconds

    def child() -> int:
        return int(pytest.main([*PYTEST, "-x", *files], plugins=[_Chosen(tests, told)]))

    process = _fork(scratch, child, scratch.with_suffix(".log"), limit)
    return Run(mutant, scratch, tests, process, time.monotonic(), 8 * limit)


def restore(root: Path, run: Run) -> None:
    """The copy as it was."""
    shutil.copy2(root / run.mutant.path, run.scratch / run.mutant.path)


def _told(scratch: Path) -> Path:
    return scratch.with_suffix(".failed")


def _fork(scratch: Path, work: Callable[[], int], log: Path, limit: float) -> int:
    """A child, the head of its own process group, that works in a copy; ``limit`` in seconds of
    processor time, or 0."""
    sys.stdout.flush()
    process = os.fork()
    if process:
        with contextlib.suppress(OSError):
            os.setpgid(process, process)
        return process
    code = 70
    try:
        os.setpgid(0, 0)
        if limit:
            seconds = int(limit) + 1
            resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
            resource.setrlimit(resource.RLIMIT_DATA, (MOST_MEMORY, MOST_MEMORY))
        os.chdir(scratch)
        out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
        os.dup2(out, 1)
        os.dup2(out, 2)
        os.environ.update(PYTHONPATH=str(scratch), PYTHONDONTWRITEBYTECODE="1", CI="1")
        # The first child compiles the copy; from then on nothing compiled is kept.
        sys.dont_write_bytecode = bool(limit)
        sys.path.insert(0, str(scratch))
        importlib.invalidate_caches()
        found = importlib.util.find_spec(PACKAGE)
        assert found is not None and str(found.origin).startswith(str(scratch))
        code = work()
    finally:
        with contextlib.suppress(Exception):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)
