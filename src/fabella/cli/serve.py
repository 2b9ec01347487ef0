"""``fabella serve``: the pages, on this machine or for a ward."""

from __future__ import annotations

import sys
from collections.abc import Collection
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fabella.cli.letterhead import letterhead_in
from fabella.cli.opening import Data, DatabaseUrl, KeyFile, data_folder, opened
from fabella.cli.sign_on import Claim, Client, Issuer, Minutes, Only, SecretFile, sign_on_of
from fabella.errors import UsageError

if TYPE_CHECKING:
    from fabella.web.options import Options

_PORT = 8765
_PLAIN = (
    "fabella: what is sent to this address is not encrypted; start with --tls, "
    "or let something that speaks TLS stand before it."
)


def serve(  # noqa: PLR0917  a command line has no keywords of its own
    data: Data = None,
    host: Annotated[
        str, typer.Option("--host", help="Address to listen on; any but this machine's needs accounts.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="0 takes any that is free.")] = _PORT,
    names: Annotated[
        list[str] | None,
        typer.Option(
            "--name", help="A further name of this server, as browsers type it.", show_default=False
        ),
    ] = None,
    key_file: KeyFile = None,
    database_url: DatabaseUrl = None,
    tls: Annotated[
        bool, typer.Option("--tls", help="Speak TLS, with a certificate that it makes and renews itself.")
    ] = False,
    certificate: Annotated[
        Path | None,
        typer.Option(
            "--certificate", help="Speak TLS with this certificate of the hospital's.", show_default=False
        ),
    ] = None,
    certificate_key: Annotated[
        Path | None,
        typer.Option(
            "--certificate-key", help="Its private key, unless in the same file.", show_default=False
        ),
    ] = None,
    anew: Annotated[
        list[str] | None,
        typer.Option(
            "--anew",
            help="Give up what a lost database held, and begin it empty; may be given several times.",
            show_default=False,
        ),
    ] = None,
    letterhead: Annotated[
        Path | None,
        typer.Option("--letterhead", help="A text file that heads letters: the sender.", show_default=False),
    ] = None,
    sign_on: Issuer = None,
    sign_on_client: Client = None,
    sign_on_secret: SecretFile = None,
    sign_on_claim: Claim = "sub",
    sign_on_minutes: Minutes = 0,
    sign_on_only: Only = False,
    demo: Annotated[
        bool, typer.Option("--demo", help="Begin with a small clinic of invented people, kept apart.")
    ] = False,
    check: Annotated[
        bool, typer.Option("--check", help="Make everything ready, say where it would be, and end.")
    ] = False,
) -> None:
    """Serve the pages until Ctrl-C, and print their address."""
    from fabella.web.options import Tls

    folder = data or data_folder(demo=demo)
    if certificate_key and not certificate:
        raise UsageError("--certificate-key needs --certificate")
    spoken = Tls(certificate=certificate, key=certificate_key) if tls or certificate else None
    chosen = sign_on_of(
        sign_on,
        sign_on_client,
        sign_on_secret,
        claim=sign_on_claim,
        minutes=sign_on_minutes,
        only=sign_on_only,
    )
    more = {"host": host, "port": port, "names": tuple(names or ()), "tls": spoken, "sign_on": chosen}
    head = letterhead_in(letterhead)
    with opened(folder, key_file=key_file, database_url=database_url, letterhead=head, **more) as options:
        _serve(options, anew=anew or (), demo=demo, check=check)


def _serve(options: Options, *, anew: Collection[str], demo: bool, check: bool) -> None:
    from fabella.web.serving import make_ready, serve as run  # noqa: I001  once it is configured

    make_ready(options, anew=anew)
    if demo:
        from fabella.web.demo.apart import fill_apart

        fill_apart(options, begins=_say_filling)
    if check:
        print(f"Ready: {options.data} would be served at {options.address}")
        return
    if not options.is_loopback and options.tls is None:
        print(_PLAIN, file=sys.stderr)
    run(options, ready=lambda address: _say(address, options))


def _say_filling() -> None:
    print("An invented clinic is being filled, once; that takes about half a minute …", file=sys.stderr)


def _say(address: str, options: Options) -> None:
    from fabella.web.tls.names import names_of
    from fabella.web.tls.offering import chain_of

    print(f"Fabella is at {address}  (Ctrl-C ends it)", flush=True)
    if options.sign_on is not None:
        print(f"It is registered at {options.sign_on.issuer} with each address that browsers type,", end=" ")
        print("followed by login/hospital/back/ (docs/hospital.md).", flush=True)
    if options.tls is None:
        return
    chain = chain_of(options, now=datetime.now(tz=UTC))
    print(f"Its certificate is made out to {chain.names}.", flush=True)
    if lacking := chain.names.lacking(names_of(options.names)):
        print(
            f"fabella: it is not made out to {', '.join(lacking)}; browsers will refuse that.",
            file=sys.stderr,
        )
    if chain.authority is not None:
        print(f"Devices install its authority once, from {address}trust/, after comparing its SHA-256:")
        print(chain.authority.fingerprint, flush=True)
        if chain.authority.is_ending:
            print(f"fabella: the authority ends on {chain.authority.ends:%Y-%m-%d}.", file=sys.stderr)
