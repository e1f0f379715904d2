"""The command ``live``: the page of a piece while it is written."""

from __future__ import annotations

from pathlib import Path

import click

from cyclechart.commands.common import CannotRun


@click.command()
@click.argument("piece", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="0 takes a free one.")
@click.option("--open/--no-open", "opens", default=True, help="Open it in the browser.")
def live(piece: Path, port: int, opens: bool) -> None:
    """Serve the rehearsal page of PIECE while you write it: it is checked, engraved and playing
    again when you save, with the findings beside it.

    For this machine alone. Ends with Ctrl-C.
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
    click.echo(f"{address}  (Ctrl-C ends it)")
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
