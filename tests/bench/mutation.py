"""Hold the tests against small wrong changes to the code: which does no test see?

    python tests/bench/mutation.py --only theory rules --count 300 --seed 1 --out found.jsonl
    python tests/bench/mutation.py --survivors found.jsonl

Samples mutants of the rooms named (folders or modules of the package), puts each in a scratch copy
of the tree and runs the tests that mirror its module, those first that go through the line. Every
mutant is a line of ``--out`` (killed and by which test, survived, timeout); ``--survivors`` runs
those of such a file once more that survived, though lines have moved since. ``--maps`` keeps which
test goes through which line: as long as package and tests stay as they are it is not found out
again. Needs coverage.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # A fork takes no threads along.

from mutants import Mutant, mutants_of
from mutation_runs import (
    Map,
    Run,
    import_the_others,
    importers_of,
    map_of,
    mirrors,
    read_map,
    restore,
    scratch_copy,
    start,
)

ROOT = Path(__file__).parents[2]
ROOMS = ("theory", "rules", "arrange", "write")


def modules_of(rooms: list[str]) -> list[str]:
    """The modules of folders of the package, or a module by its own name."""
    found = []
    for room in rooms:
        place = ROOT / "cyclechart" / room
        files = sorted(place.rglob("*.py")) if place.is_dir() else [place.with_suffix(".py")]
        found += [str(path.relative_to(ROOT)) for path in files]
    return found


def sampled(modules: list[str], count: int, seed: int) -> list[Mutant]:
    """So many mutants of these modules, in the order of their text."""
    every = [mutant for path in modules for mutant in mutants_of(ROOT, path)]
    places = random.Random(seed).sample(range(len(every)), min(count, len(every)))
    print(f"{len(places)} of {len(every)} mutants of {len(modules)} modules", flush=True)
    return [every[at] for at in sorted(places)]


def survivors(report: Path) -> list[Mutant]:
    """The mutants of a report that nothing killed, where they stand today."""
    lines = [json.loads(line) for line in report.read_text("utf-8").splitlines()]
    wanted = [Mutant(**line["mutant"]) for line in lines if line["end"] == "survived"]
    today = {
        mutant.key: mutant
        for path in sorted({mutant.path for mutant in wanted})
        if (ROOT / path).exists()
        for mutant in mutants_of(ROOT, path)
    }
    for mutant in wanted:
        if mutant.key not in today:
            print(f"gone      {mutant}")
    return [today[mutant.key] for mutant in wanted if mutant.key in today]


def maps_of(mutants: list[Mutant], copy: Path, kept: Path) -> dict[str, Map]:
    """For each mutated module the map of the tests that mirror it, as kept or found out now."""
    by_tests: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for path in dict.fromkeys(mutant.path for mutant in mutants):
        by_tests[tuple(mirrors(ROOT, path))].append(path)
    import_the_others(ROOT, {name for tests in by_tests for name in tests})
    found = {}
    for tests, paths in by_tests.items():
        rooms = sorted({str(Path(path).parent.relative_to("cyclechart")) for path in paths})
        modules = [path for path in modules_of(rooms) if tuple(mirrors(ROOT, path)) == tests]
        place = kept / f"{digest([*tests, *rooms])}.json"
        map_ = read_map(place) if place.exists() else map_of(copy, list(tests), modules, place)
        print(f"{' '.join(tests)}: {len(map_.seconds)} tests, {sum(map_.seconds.values()):.0f} s")
        for name in map_.failed:
            print(f"left out, for it fails without a mutant: {name}", flush=True)
        map_.importers = {path: importers_of(ROOT, path, map_.seconds) for path in paths}
        found.update(dict.fromkeys(paths, map_))
    return found


def digest(names: list[str]) -> str:
    """A name for these words with all that stands in the package and its tests."""
    found = hashlib.sha256(repr(names).encode())
    for folder in ("cyclechart", "tests", "pieces", "shared"):
        for path in sorted((ROOT / folder).rglob("*.[py]*")):
            if path.is_file() and "bench" not in path.parts and path.suffix != ".pyc":
                found.update(path.read_bytes())
    return found.hexdigest()[:16]


def results(
    mutants: list[Mutant], maps: dict[str, Map], copies: list[Path], args: argparse.Namespace
) -> Iterator[tuple[Mutant, str, str]]:
    """Each mutant with what became of it, as they come."""
    waiting, free, running = list(mutants), list(copies), list[Run]()
    try:
        yield from _all(waiting, free, running, maps, args)
    finally:
        for run in running:
            run.kill()


def _all(
    waiting: list[Mutant],
    free: list[Path],
    running: list[Run],
    maps: dict[str, Map],
    args: argparse.Namespace,
) -> Iterator[tuple[Mutant, str, str]]:
    while waiting or running:
        while waiting and free:
            mutant = waiting.pop(0)
            map_ = maps[mutant.path]
            tests = map_.order(mutant, args.budget, args.all)
            if not tests:
                yield mutant, "survived", "no test goes through its module"
                continue
            seconds = sum(map_.seconds[test] for test in tests)
            running.append(start(mutant, free.pop(), tests, seconds))
        for run in list(running):
            end = run.finished()
            if end is not None:
                running.remove(run)
                restore(ROOT, run)
                free.append(run.scratch)
                yield run.mutant, *end
        time.sleep(0.02)


def report(mutants: list[Mutant], args: argparse.Namespace, folder: Path) -> None:
    """Run everything, print it line by line and its sums, and write the file."""
    copies = [scratch_copy(ROOT, folder / "copy-0")]
    maps = maps_of(mutants, copies[0], args.maps or folder)
    copies += [Path(shutil.copytree(copies[0], folder / f"copy-{n}")) for n in range(1, args.jobs)]
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    lines = []
    for mutant, end, test in results(mutants, maps, copies, args):
        counts[mutant.path][end] += 1
        lines.append(json.dumps({"end": end, "test": test, "mutant": mutant.as_dict()}))
        if end != "killed" or args.verbose:
            print(f"{end:9} {mutant}" + (f"  [{test}]" if test else ""), flush=True)
        if args.out:
            args.out.write_text("\n".join(lines) + "\n", "utf-8")
    print(f"\n{'':44}sampled  killed  timeout  survived")
    total: Counter[str] = Counter()
    for name, count in [*sorted(counts.items()), ("all", total)]:
        print(
            f"{name:44}{count.total():7}{count['killed']:8}{count['timeout']:9}"
            f"{count['survived']:10}"
        )
        total.update(count)


def main() -> None:
    """Parse the options and run."""
    assert __doc__
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", nargs="+", default=list(ROOMS), metavar="ROOM")
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--budget", type=float, default=60, help="seconds of tests for a mutant")
    parser.add_argument("--all", action="store_true", help="then all other tests of the mirror")
    parser.add_argument("--survivors", type=Path, metavar="FILE")
    parser.add_argument("--out", type=Path, metavar="FILE")
    parser.add_argument("--maps", type=Path, metavar="FOLDER")
    parser.add_argument("--verbose", action="store_true", help="print those that are killed too")
    args = parser.parse_args()
    chosen = (
        survivors(args.survivors)
        if args.survivors
        else sampled(modules_of(args.only), args.count, args.seed)
    )
    if not chosen:
        sys.exit("no mutants")
    if args.maps:
        args.maps.mkdir(exist_ok=True)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("stopped"))
    with tempfile.TemporaryDirectory() as folder:
        report(chosen, args, Path(folder))


if __name__ == "__main__":
    main()
