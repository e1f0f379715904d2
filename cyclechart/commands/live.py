"""The command ``live``: a piece in the browser while it is written: its text, findings and page."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import CannotRun

if TYPE_CHECKING:
    from cyclechart.produce.live.piece_shelf import PieceShelf
    from cyclechart.produce.live.server import LiveServer

ON_THE_NETWORK = (
    "Whoever is on this network and has this address can read and change what is open. It is gone "
    "when the command ends."
)


@click.command()
@click.argument("piece", type=click.Path(exists=True, path_type=Path), default=".")
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    help="The port to serve on; 0 takes any free one.  [default: one of the piece's own]",
)
@click.option("--open/--no-open", "opens", default=True, help="Open the page in the browser.")
@click.option(
    "--phone",
    is_flag=True,
    help="Let a phone or tablet on the same network open it too: prints its address as a QR code.",
)
def live(piece: Path, port: int | None, opens: bool, phone: bool) -> None:
    """Write PIECE in the browser, with its findings and its rehearsal page beside the text.

    Findings come as you type; whenever the file is saved, here or by another editor, the page is
    engraved again. What both change is put together, and nothing is overwritten unasked. Without
    PIECE, or with a folder, the pieces of the folder are listed and a new one can be begun.

    Only this computer can open the page, unless --phone is given. Press Ctrl-C to stop.
    """
    import threading
    import webbrowser

    from cyclechart.produce.live.piece_shelf import PieceShelf
    from cyclechart.produce.live.server import keep_looking
    from cyclechart.write.files.cautions import LEVEL

    shelf = PieceShelf(folder=piece) if piece.is_dir() else PieceShelf(piece)
    served = _served(shelf, piece, port, phone)
    _show_address(served.access.address, phone)
    click.echo(LEVEL, err=True)
    threading.Thread(target=served.serve_forever, daemon=True).start()
    if opens:
        webbrowser.open(served.access.address)
    stop = threading.Event()
    try:
        keep_looking(shelf, stop, lambda said: click.echo(said, err=True))
    except KeyboardInterrupt:
        click.echo("", err=True)
    finally:
        stop.set()
        served.shutdown()
        served.server_close()


def _served(shelf: PieceShelf, piece: Path, port: int | None, phone: bool) -> LiveServer:
    """Return the server, on the port that was asked for, else on the piece's own or a free one."""
    from cyclechart.produce.live.access import LOOPBACK, network_address, new_token, usual_port
    from cyclechart.produce.live.server import server

    try:
        host, token = (network_address(), new_token()) if phone else (LOOPBACK, "")
    except OSError as error:
        raise CannotRun(f"--phone: {error.strerror or error}") from error
    try:
        return server(shelf, usual_port(piece) if port is None else port, host, token)
    except OSError as error:
        if port is not None:
            raise CannotRun(f"port {port}: {error.strerror or error}") from error
    try:
        return server(shelf, 0, host, token)
    except OSError as error:
        raise CannotRun(f"{host}: {error.strerror or error}") from error


def _show_address(address: str, phone: bool) -> None:
    if phone:
        import io

        import segno

        drawn = io.StringIO()
        segno.make(address, error="l").terminal(drawn, border=4, compact=True)
        for row in drawn.getvalue().splitlines():
            # Light and dark as a camera expects them, whatever the colours of the terminal.
            click.echo(click.style(row, fg="bright_white", bg="black"))
        click.echo(ON_THE_NETWORK, err=True)
    click.echo(f"{address}  (press Ctrl-C to stop)")
