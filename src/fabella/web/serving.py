"""The server: one process, several threads, static files beside the pages."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Any

from django.core.wsgi import get_wsgi_application
from gunicorn.app.base import BaseApplication
from whitenoise import WhiteNoise

from fabella.errors import UsageError
from fabella.store.accounts.keeping import has_accounts
from fabella.store.preparing import let_go, prepare_databases
from fabella.web.elsewhere import compute_elsewhere
from fabella.web.fair import FairWorker
from fabella.web.noting import keep_log
from fabella.web.options import Options
from fabella.web.sessions import clear_old_sessions
from fabella.web.templating import STATIC, static_prefix
from fabella.web.tls.offering import Offering, chain_of
from fabella.web.tls.worker import TlsWorker
from fabella.web.warming import warm_later
from fabella.web.workers import Workers

THREADS = 32
"""Most wait: for the lock round writes, for a conclusion computed elsewhere, for a slow network."""
_KEEP_ALIVE_SECONDS = 75
_YEAR_SECONDS = 365 * 24 * 60 * 60

NO_ACCOUNT = (
    "{address} can be reached from other machines, and there is no account yet. Open one first:\n"
    "    fabella account add NAME --role clinician\n"
    "or leave --host out, so that only this machine can enter."
)

UNENCRYPTED_SIGN_ON = (
    "--sign-on needs TLS: start with --tls, or leave --host out, and let something that speaks TLS stand "
    "before it."
)


def application() -> Any:
    """Return the pages and the static files as one WSGI application."""
    pages = WhiteNoise(get_wsgi_application(), max_age=_YEAR_SECONDS, index_file=False)
    pages.add_files(str(STATIC), prefix=static_prefix())
    return pages


def make_ready(options: Options, *, anew: Collection[str] = ()) -> None:
    """Make the databases ready, those that were lost only if they are to be ``anew``.

    Raises `UsageError` where strangers could enter without an account, or a sign-on would go unencrypted.
    """
    if options.sign_on is not None and options.tls is None and not options.is_loopback:
        raise UsageError(UNENCRYPTED_SIGN_ON)
    if options.tls is not None:
        _offering(options)
    prepare_databases(anew=anew)
    clear_old_sessions()
    if not (options.is_loopback and not options.names) and not has_accounts():
        raise UsageError(NO_ACCOUNT.format(address=options.host))
    let_go()


def _offering(options: Options) -> Offering:
    """Return what is shown over TLS; raise `UsageError` when nothing can be."""
    return Offering(lambda now: chain_of(options, now=now))


def serve(options: Options, *, ready: Callable[[str], None]) -> None:
    """Serve until the process is told to stop; ``ready`` is called with the address once it can be opened."""
    keep_log()
    _Server(options, ready).run()


class _Server(BaseApplication):
    """One worker: the lock round writes and the kept sheets belong to one process."""

    def __init__(self, options: Options, ready: Callable[[str], None]) -> None:
        self._options, self._ready, self._workers = options, ready, Workers()
        super().__init__()

    def load_config(self) -> None:
        """Set what the server needs to know."""
        host = f"[{self._options.host}]" if ":" in self._options.host else self._options.host
        settings = {
            "bind": f"{host}:{self._options.port}",
            "workers": 1,
            "worker_class": FairWorker if self._options.tls is None else TlsWorker,
            "threads": THREADS,
            "keepalive": _KEEP_ALIVE_SECONDS,
            "loglevel": "warning",
            "proc_name": "fabella",
            "when_ready": lambda server: self._ready(self._address(server)),
            "post_worker_init": lambda _: self._begin(),
            "worker_exit": lambda _server, _worker: self._workers.end(),
        }
        if self._options.tls is not None:
            TlsWorker.offering = _offering(self._options)
            settings["sendfile"] = False  # it would write past the encryption
        for name, value in settings.items():
            self.cfg.set(name, value)

    def load(self) -> Any:
        """Return the application; the server calls this in its worker."""
        return application()

    def _begin(self) -> None:
        """Let other processes conclude, and work out what the first to come would wait for."""
        compute_elsewhere(self._workers)
        warm_later()

    def _address(self, server: Any) -> str:
        """Return the address with the port that was really taken."""
        port = server.LISTENERS[0].sock.getsockname()[1]
        return self._options.at_port(port).address
