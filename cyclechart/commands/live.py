"""The command ``live``: serves the rehearsal page of a piece while it is written."""

from __future__ import annotations

from pathlib import Path

import click

from cyclechart.commands.common import CannotRun


@click.command()
@click.argument("piece", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=0,
    help="The port to serve on; 0 takes any free one.",
)
@click.option("--open/--no-open", "opens", default=True, help="Open the page in the browser.")
def live(piece: Path, port: int, opens: bool) -> None:
    """Serve the rehearsal page of PIECE while you write it.

    Whenever you save, the piece is checked and engraved again, with the findings beside it.
    Only this computer can open the page. Press Ctrl-C to stop.
    """
    import threading
    import webbrowser

    from cyclechart.produce.live_server import Desk, keep_looking, server
    from cyclechart.write.files.cautions import LEVEL

    desk = Desk(piece)
    try:
        served = server(desk, port)
    except OSError as error:
        raise CannotRun(f"port {port}: {error.strerror or error}") from error
    address = f"http://127.0.0.1:{served.server_address[1]}/"
    click.echo(f"{address}  (press Ctrl-C to stop)")
    click.echo(LEVEL, err=True)
    threading.Thread(target=served.serve_forever, daemon=True).start()
    if opens:
        webbrowser.open(address)
    stop = threading.Event()
    try:
        keep_looking(desk, stop, lambda said: click.echo(said, err=True))
    except KeyboardInterrupt:
        click.echo("", err=True)
    finally:
        stop.set()
        served.shutdown()
        served.server_close()
