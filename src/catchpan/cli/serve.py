"""``catchpan serve``: the server for the field app and the office."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING

import click

from catchpan.assembly import HOME_VARIABLE, assemble, home_folder
from catchpan.calls.demo_shop import fill_with_demo
from catchpan.catalog.load import catalog
from catchpan.web.serve import Wishes
from catchpan.web.serve import serve as serve_at

if TYPE_CHECKING:
    from pathlib import Path

DEMO_FOLDER = "demo-shop"


@click.command()
@click.option("--demo", is_flag=True, help="Serve an invented shop, kept apart from the real one.")
@click.option("--here", is_flag=True, help="Answer this machine only.")
@click.option("--host", default="0.0.0.0", show_default=True, help="The address to listen at.")  # noqa: S104 - the phone is another machine
@click.option("--port", type=click.IntRange(0, 65535), default=8321, show_default=True)
@click.option("--certificate", type=click.Path(exists=True, dir_okay=False), help="For HTTPS.")
@click.option("--key", type=click.Path(exists=True, dir_okay=False), help="For HTTPS.")
@click.option("--new-code", is_flag=True, help="Let every device in anew.")
@click.option("--no-browser", is_flag=True, help="Open no browser on this machine.")
def serve(  # noqa: PLR0913, PLR0917 - one for each option
    demo: bool,
    here: bool,
    host: str,
    port: int,
    certificate: Path | None,
    key: Path | None,
    new_code: bool,
    no_browser: bool,
) -> None:
    """Serve the field app and the office pages; the phone takes its calls along from here.

    Prints the address and a code to scan. Who has the address may read and write the calls.
    """
    if (certificate is None) != (key is None):
        raise click.UsageError("--certificate and --key belong together")
    wishes = Wishes(
        host="127.0.0.1" if here else host,
        port=port,
        certificate=certificate,
        key=key,
        new_code=new_code,
        browser=not no_browser,
    )
    home = {HOME_VARIABLE: str(home_folder() / DEMO_FOLDER)} if demo else os.environ
    with assemble(home) as opened:
        for notice in opened.notices:
            click.echo(str(notice), err=True)
        if demo:
            fill_with_demo(opened.store, catalog(), opened.clock.now_utc())
        serve_at(opened, wishes, click.echo)
        sys.stdout.flush()
