"""The key of the databases: drawn by dice, kept locked by a passphrase or a key file.

The passphrase opens the key, and the key opens the databases. So another passphrase needs nothing written
anew, and a wrong one is told from a damaged database before any database is touched.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from argon2.exceptions import Argon2Error
from argon2.low_level import Type, hash_secret_raw
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from fabella.errors import FabellaError
from fabella.store.private import write_private

KEY_NAME = "key.json"
SHORTEST_PASSPHRASE, SHORTEST_KEY_FILE = 12, 32  # characters, bytes

_FORMAT = "fabella.key/1"
_BYTES = 32
_NONCE_BYTES, _SALT_BYTES = 12, 16
# The second recommended option of RFC 9106, for where memory is dear: 64 MiB.
_PASSES, _MEMORY_KIB, _LANES = 3, 65536, 4

_UNREADABLE = (OSError, ValueError, LookupError, TypeError, AttributeError, OverflowError, RecursionError,
               Argon2Error)  # fmt: skip

WRONG = "this passphrase or key file does not open the databases"


@dataclass(frozen=True, slots=True)
class DataKey:
    """What the databases are encrypted with; it never shows itself."""

    raw: bytes = field(repr=False)

    @property
    def pragma(self) -> str:
        """The key as the database engine takes it: as it is, not as a passphrase."""
        return f"\"x'{self.raw.hex()}'\""


def draw_key() -> DataKey:
    """Return a new key."""
    return DataKey(secrets.token_bytes(_BYTES))


def lock_key(key: DataKey, path: Path, secret: bytes) -> None:
    """Keep a key in a file that only this passphrase, or the content of this key file, opens."""
    head = {
        "format": _FORMAT,
        "opened_by": "argon2id",
        "salt": secrets.token_hex(_SALT_BYTES),
        "passes": _PASSES,
        "memory_kib": _MEMORY_KIB,
        "lanes": _LANES,
        "nonce": secrets.token_hex(_NONCE_BYTES),
    }
    locked = _lock_of(head, secret).encrypt(bytes.fromhex(str(head["nonce"])), key.raw, _bound(head))
    write_private(path, (json.dumps({**head, "locked": locked.hex()}, indent=2) + "\n").encode())


def unlock_key(path: Path, secret: bytes) -> DataKey:
    """Return the key that a file holds; raise `FabellaError` for another secret or a damaged file."""
    try:
        kept = json.loads(path.read_bytes())
        locked, nonce = bytes.fromhex(kept.pop("locked")), bytes.fromhex(kept["nonce"])
        return DataKey(_lock_of(kept, secret).decrypt(nonce, locked, _bound(kept)))
    except InvalidTag:
        raise FabellaError(WRONG) from None
    except _UNREADABLE:
        raise FabellaError(f"{path}: cannot be read as {_FORMAT}; put it back from a backup") from None


def _lock_of(head: Mapping[str, Any], secret: bytes) -> AESGCM:
    if head["format"] != _FORMAT:
        raise ValueError(head["format"])
    return AESGCM(
        hash_secret_raw(
            secret,
            bytes.fromhex(head["salt"]),
            time_cost=head["passes"],
            memory_cost=min(head["memory_kib"], 2**21),
            parallelism=head["lanes"],
            hash_len=_BYTES,
            type=Type.ID,
        )
    )


def _bound(head: Mapping[str, Any]) -> bytes:
    """What the lock also vouches for: how it is opened."""
    return json.dumps(head, sort_keys=True).encode()
