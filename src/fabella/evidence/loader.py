"""The packaged editions."""

from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from fabella.errors import EvidenceError, suggestion
from fabella.evidence.edition import Edition
from fabella.evidence.read import read_edition

LATEST = "2026.1"


def edition_ids() -> tuple[str, ...]:
    """Return the editions that are packaged, oldest first."""
    return tuple(sorted(_folders()))


def edition_folder(edition_id: str) -> Traversable:
    """Return the folder of an edition; raise `EvidenceError` with the nearest id when there is none."""
    folders = _folders()
    if edition_id not in folders:
        raise EvidenceError(f"no edition '{edition_id}'; {suggestion(edition_id, folders)}")
    return folders[edition_id]


@cache
def load_edition(edition_id: str = LATEST) -> Edition:
    """Return a packaged edition, read once.

    Parameters
    ----------
    edition_id
        For instance ``2026.1``.

    Raises
    ------
    EvidenceError
        When there is no such edition or a table of it is malformed.
    """
    return read_edition(edition_folder(edition_id))


def _folders() -> dict[str, Traversable]:
    root = files("fabella.evidence") / "editions"
    return {each.name.replace("_", "."): each for each in root.iterdir() if each.is_dir()}
