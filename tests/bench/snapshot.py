"""Pin every file and every word that the commands make, and compare two such pins byte for byte.

    python tests/bench/snapshot.py take OUT --with CYCLECHART --pieces PIECE... --set SETLIST...
    python tests/bench/snapshot.py compare BEFORE AFTER

``take`` runs every command over the pieces and set lists (with ``--sound`` also into sound) and
keeps the files, with what was printed beside them (``*.stdout``, ``*.stderr``). ``compare`` names
each file that differs; of a PDF it says whether its text differs too, of a page whether anything
but its script does. It exits 1 where a file differs that is more than printed words.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

PRINTED = (".stdout", ".stderr")
ARRANGED = {
    "a4": ["--png"],
    "stage": ["--paper", "stage", "--names", "letters", "--signature", "own"],
    "tablet": ["--paper", "tablet", "--names", "degrees", "--signature", "none"],
    "letter": ["--paper", "letter", "--names", "solfa16", "--tonic", "F#"],
}
BACKED = {
    "slow": ["--tempo", "60%-100% by 20%", "--click"],
    "some": ["--only-cycles", "2-4", "--loop", "3", "--tonic", "Ab"],
    "sung": ["--sing-back", "--no-click", "--tuning-standard"],
}
ASKED = {
    "why": ["why"], "schema": ["schema"], "modes": ["modes"], "help": ["--help"],
    "why-foreign-tone": ["why", "foreign-tone"],
    "modes-fits": ["modes", "--fits", "G R S D, S R G"],
    "modes-tones": ["modes", "--tones", "S R G P D", "--format", "json"],
    "show-jhaptal": ["show", "jhaptal"], "show-bageshri": ["show", "bageshri", "--tonic", "Eb"],
    "show-tirakita": ["show", "tirakita"], "card": ["show", "marwa", "--to", "{out}"],
    "drill": ["drill", "bageshri"], "drill-odd": ["drill", "marwa", "--cycle", "rupak"],
    "cadence": ["cadence", "tintal", "--phrase", "5"],
    "cadence-room": ["cadence", "jhaptal", "--room", "9", "--format", "json"],
    "cadence-body": ["cadence", "tintal", "--body", "12", "--rounds", "3"],
    "cadence-none": ["cadence", "ektal", "--phrase", "4", "--gap", "0"],
}  # fmt: skip


def calls(pieces: list[Path], sets: list[Path], sound: bool) -> dict[str, list[str]]:
    """Return each call under its name; ``{out}`` stands for its folder."""
    found: dict[str, list[str]] = dict(ASKED)
    for piece in pieces:
        stem = f"{piece.parent.name}-{piece.stem}"
        found[f"{stem}/check"] = ["check", str(piece)]
        found[f"{stem}/json"] = ["check", str(piece), "--format", "json"]
        found[f"{stem}/tonics"] = ["tonics", str(piece)]
        for name, options in ARRANGED.items():
            found[f"{stem}/{name}"] = ["arrange", str(piece), "--to", "{out}", *options]
        for name, options in BACKED.items():
            found[f"{stem}/{name}"] = ["backing", str(piece), "--to", "{out}", *options]
        found[f"{stem}/page"] = ["rehearse", str(piece), "--to", "{out}", "--only", "page"]
        found[f"{stem}/list"] = ["rehearse", str(piece), "--list"]
    for piece in pieces[:2] if sound else ():
        band = ["rehearse", str(piece), "--to", "{out}", "--as", "flac", "--only", "band,claps"]
        found[f"{piece.parent.name}-{piece.stem}/sound"] = band
    for setlist in sets:
        for paper in ("a4", "tablet"):
            call = ["book", str(setlist), "--to", "{out}", "--paper", paper]
            found[f"{setlist.stem}/{paper}"] = call
    return found


def take(command: str, out: Path, found: dict[str, list[str]]) -> None:
    """Run every call, two at a time."""

    def run(item: tuple[str, list[str]]) -> None:
        name, call = item
        folder = out / name
        folder.mkdir(parents=True, exist_ok=True)
        words = [word.replace("{out}", str(folder)) for word in call]
        done = subprocess.run([*command.split(), *words], capture_output=True)
        for ending, data in (("stdout", done.stdout), ("stderr", done.stderr)):
            text = data.replace(str(out).encode(), b"OUT")
            (folder / f"call.{ending}").write_bytes(text + b"\nstatus %d\n" % done.returncode)

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(run, found.items()))


def compare(before: Path, after: Path) -> int:
    """Print what differs; 1 where anything but what was printed does."""
    old, new = files_of(before), files_of(after)
    status = 0
    for name in sorted(old.keys() | new.keys()):
        if name not in old or name not in new:
            print(f"{name}: only {'before' if name in old else 'after'}")
            status = 1
        elif (one := old[name].read_bytes()) != (other := new[name].read_bytes()):
            print(f"{name}: {difference(name, one, other)}")
            status = max(status, not name.endswith(PRINTED))
    print(f"{len(old)} files before, {len(new)} after")
    return status


def files_of(folder: Path) -> dict[str, Path]:
    """The files below a folder by name; caches and manifests, which are hidden, apart."""
    found = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder)
        if path.is_file() and not any(part.startswith(".") for part in name.parts):
            found[name.as_posix()] = path
    return found


def difference(name: str, one: bytes, other: bytes) -> str:
    """In what two versions of a file differ."""
    if name.endswith(".pdf"):
        same = pdf_text(one) == pdf_text(other)
        return "PDF, the same text" if same else "PDF, another text"
    if name.endswith(".html"):
        same = without_code(one) == without_code(other)
        return "page, the same data" if same else "page, other data"
    return "other bytes"


def pdf_text(data: bytes) -> list[str]:
    """The text of each page."""
    import pypdfium2

    pages = pypdfium2.PdfDocument(data)
    return [page.get_textpage().get_text_range() for page in pages]


def without_code(page: bytes) -> bytes:
    """A page without its script, its style and the hashes that stand for them."""
    code = rb"<(script|style)(?! id=)[^>]*>.*?</\1>|sha256-[\w+/=]+"
    return re.sub(code, b"", page, flags=re.DOTALL)


def main() -> int:
    """The command line."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    verbs = parser.add_subparsers(dest="verb", required=True)
    taking = verbs.add_parser("take")
    taking.add_argument("out", type=Path)
    taking.add_argument("--pieces", type=Path, nargs="*", default=[])
    taking.add_argument("--set", dest="sets", type=Path, nargs="*", default=[])
    taking.add_argument("--with", dest="command", default="cyclechart")
    taking.add_argument("--sound", action="store_true")
    comparing = verbs.add_parser("compare")
    comparing.add_argument("before", type=Path)
    comparing.add_argument("after", type=Path)
    given = parser.parse_args()
    if given.verb == "compare":
        return compare(given.before, given.after)
    take(given.command, given.out.resolve(), calls(given.pieces, given.sets, given.sound))
    return 0


if __name__ == "__main__":
    sys.exit(main())
