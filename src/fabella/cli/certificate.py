"""``fabella certificate``: the authority that tablets have to know, and the certificate of this server."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from socket import gethostname
from typing import Annotated

import typer

from fabella.cli.opening import Data, data_folder
from fabella.cli.streams import print_json
from fabella.cli.whole_file import write_whole


def certificate(  # noqa: PLR0917  a command line has no keywords of its own
    host: Annotated[str, typer.Option("--host", help="As for serve.")] = "127.0.0.1",
    names: Annotated[
        list[str] | None,
        typer.Option("--name", help="As for serve; may be given several times.", show_default=False),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", help="Write the authority's file there, to give out.", show_default=False),
    ] = None,
    new: Annotated[
        bool, typer.Option("--new", help="Make another authority, which every device has to be told of.")
    ] = False,
    data: Data = None,
    as_json: Annotated[bool, typer.Option("--json", help="Answer in JSON.")] = False,
) -> None:
    """Show the authority that devices have to trust, with the SHA-256 to compare.

    It is made when it is not there yet, for the names given and what is below them.
    """
    from fabella.web.options import Options, prepare_folder
    from fabella.web.tls.keeping import Cabinet
    from fabella.web.tls.offering import names_served

    options = Options(data=data or data_folder(), host=host, names=tuple(names or ()))
    prepare_folder(options.data)
    cabinet = Cabinet(options.data)
    if new:
        cabinet.begin_anew()
    own = cabinet.authority(names_served(options), machine=gethostname(), now=datetime.now(tz=UTC))
    server = cabinet.server()
    if out is not None:
        write_whole(out, own.der)
    if as_json:
        shown = server and {"names": str(server[0]).split(", "), "ends": server[1].isoformat()}
        authority = {"sha256": own.fingerprint, "ends": own.ends.isoformat()}
        print_json({"authority": authority, "server": shown})
        return
    print(f"Authority, to {own.ends:%Y-%m-%d}; devices compare its SHA-256:\n{own.fingerprint}")
    if server is not None:
        print(f"Certificate of the server, to {server[1]:%Y-%m-%d}, renewed by itself: {server[0]}")
