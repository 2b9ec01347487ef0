"""``fabella certificate``: the authority that tablets have to know, and the certificate of this server."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from fabella.cli.opening import Data, data_folder
from fabella.cli.streams import print_json


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

    It is made when it is not there yet, and so is the certificate of this server.
    """
    from fabella.web.options import Options, Tls, prepare_folder  # noqa: PLC0415  needed by few commands
    from fabella.web.tls.keeping import Cabinet  # noqa: PLC0415
    from fabella.web.tls.offering import chain_of  # noqa: PLC0415

    options = Options(data=data or data_folder(), host=host, names=tuple(names or ()), tls=Tls())
    prepare_folder(options.data)
    now, cabinet = datetime.now(tz=UTC), Cabinet(options.data)
    if new:
        cabinet.begin_anew()
    chain = chain_of(options, now=now)
    own = cabinet.authority(now=now)
    if out is not None:
        out.write_bytes(own.der)
    if as_json:
        print_json(
            {
                "authority": {"sha256": own.fingerprint, "ends": own.ends.isoformat()},
                "server": {
                    "names": [*chain.names.hosts, *map(str, chain.names.addresses)],
                    "ends": chain.ends.isoformat(),
                    "file": str(chain.certificate),
                },
            }
        )
        return
    print(f"Authority, to {own.ends:%Y-%m-%d}; devices compare its SHA-256:\n{own.fingerprint}")
    print(f"Certificate of the server, to {chain.ends:%Y-%m-%d}, renewed by itself: {chain.names}")
