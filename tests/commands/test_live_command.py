"""The command ``live`` as it is run: what it serves, where, and what it prints."""

from __future__ import annotations

import json
import socket
from collections.abc import Callable
from pathlib import Path

import pytest
import segno
from click.testing import CliRunner, Result
from support.live_serving import got
from support.making import with_heading

from cyclechart import cli
from cyclechart.produce.live import access, server
from cyclechart.produce.live.access import usual_port

LOOP = "lines:\n  head: {sargam: S R G m P d n S' n d}\n"


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "tune.yaml"
    path.write_text(with_heading(LOOP, title="Ebb Gate"), "utf-8")
    return path


def run(monkeypatch: pytest.MonkeyPatch, look: Callable[[], None], *args: object) -> Result:
    """Run the command; in place of its work ``look`` is called once, then Ctrl-C is pressed."""

    def looked(*_: object) -> None:
        look()
        raise KeyboardInterrupt

    monkeypatch.setattr(server, "keep_looking", looked)
    return CliRunner().invoke(cli.cli, ["live", *(str(arg) for arg in args), "--no-open"])


def address_of(result: Result) -> str:
    row = next(line for line in result.output.splitlines() if line.startswith("http://"))
    return row.split()[0]


def test_it_serves_this_machine_on_the_pieces_own_port(
    piece: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = f"http://127.0.0.1:{usual_port(piece)}/"
    seen: list[object] = []
    result = run(monkeypatch, lambda: seen.append(json.loads(got(f"{asked}text")[1])), piece)
    assert result.exit_code == 0, result.output
    assert address_of(result) == asked
    assert seen[0]["text"] == piece.read_text("utf-8")  # type: ignore[index]


def test_a_port_that_is_taken_gives_way_or_is_said(
    piece: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with socket.socket() as taken:
        taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        taken.bind(("127.0.0.1", usual_port(piece)))
        taken.listen()
        result = run(monkeypatch, lambda: None, piece)
        assert result.exit_code == 0
        assert address_of(result) != f"http://127.0.0.1:{usual_port(piece)}/"
        result = run(monkeypatch, lambda: None, piece, "--port", usual_port(piece))
        assert result.exit_code == 2 and "port" in result.output


def test_without_a_piece_the_folder_is_listed(piece: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(piece.parent)
    address = f"http://127.0.0.1:{usual_port(Path())}/"
    seen: list[bytes] = []
    for args in ((), (piece.parent,)):
        result = run(monkeypatch, lambda: seen.append(got(f"{address}choices")[1]), *args)
        assert result.exit_code == 0, result.output
    for listed in seen:
        assert [one["name"] for one in json.loads(listed)["pieces"]] == ["tune.yaml"]


def test_a_piece_that_is_not_there_is_said(tmp_path: Path) -> None:
    result = CliRunner().invoke(cli.cli, ["live", str(tmp_path / "none.yaml")])
    assert result.exit_code == 2 and "none.yaml" in result.output


def modules(rows: list[str]) -> list[list[bool]]:
    """Dark modules from half blocks: two rows of a code in one of text."""
    found = []
    for row in rows:
        found.append([letter in " ▄" for letter in row])
        found.append([letter in " ▀" for letter in row])
    return found


def test_a_phone_needs_the_token_that_the_code_holds(
    piece: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(access, "network_address", lambda: "127.0.0.1")
    seen: list[int] = []

    def look() -> None:
        bare = f"http://127.0.0.1:{usual_port(piece)}/"
        seen.append(got(f"{bare}text")[0])

    result = run(monkeypatch, look, piece, "--phone")
    assert result.exit_code == 0, result.output
    assert seen == [403]
    address = address_of(result)
    assert len(address.rstrip("/").rpartition("/")[2]) >= 40
    assert "read and change" in result.output
    drawn = [row for row in result.output.splitlines() if set(row) <= set(" █▀▄") and row]
    quiet = 4  # modules around it (ISO/IEC 18004)
    code = segno.make(address, error="l")
    size = code.symbol_size(border=quiet)[0]
    shown = modules(drawn)[:size]
    assert len(shown) == size and all(len(row) == size for row in shown)
    wanted = [[bool(one) for one in row] for row in code.matrix_iter(border=quiet)]
    assert shown == wanted


def test_a_machine_without_a_network_has_no_phone(
    piece: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none() -> str:
        raise OSError("this computer is on no network")

    monkeypatch.setattr(access, "network_address", none)
    result = run(monkeypatch, lambda: None, piece, "--phone")
    assert result.exit_code == 2 and "no network" in result.output
