"""``sidelight serve``: the local page."""

import sys
from pathlib import Path

import click

from sidelight.cli import options

DEFAULT_PORT = 8642


@click.command("serve")
@options.notebook
@click.option("--port", type=click.IntRange(0, 65535), default=DEFAULT_PORT, show_default=True,
              help="Port to listen on; 0 takes a free one.")  # fmt: skip
@click.option("--network", is_flag=True, help="Let phones on the local network in, by a secret address.")
@click.option("--no-browser", is_flag=True, help="Do not open the browser.")
@click.option("--get", "path", metavar="PATH", help="Print one page, such as /night, and stop.")
def command(notebook: Path, port: int, network: bool, no_browser: bool, path: str | None) -> None:
    """Open the notebook as a local page, or begin one in an empty folder.

    Only this machine can reach it, unless --network is given. Ctrl+C ends it.
    """
    if path is not None:
        _print_page(notebook, path)
        return
    from sidelight.web.server import Server, open_door

    door, sock = open_door(port, network)
    server = Server(notebook, door, sock)
    if not (notebook / "site.toml").exists():
        click.echo(f"No notebook is in {notebook} yet; the page begins one there.")
    click.echo(f"Sidelight serves {notebook} at")
    for address in server.addresses():
        click.echo(f"  {address}")
    if network:
        click.echo("Scan this with the phone; whoever has the address can read and change the notebook.")
        click.echo(server.qr_code())
    click.echo("Ctrl+C ends it.")
    if not no_browser:
        server.open_browser()
    server.run()


def _print_page(notebook: Path, path: str) -> None:
    """Print one page; a refusal goes to standard error."""
    from sidelight.web.server import one_page

    status, body = one_page(notebook, path)
    if status >= 400:
        click.echo(body, err=True)
        sys.exit(2)
    click.echo(body)
