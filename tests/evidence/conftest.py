"""The packaged edition, a made-up source, and a writable copy of the edition's tables."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from fabella.evidence import Edition, EvidenceKind, Source, load_edition
from fabella.evidence.loader import LATEST, edition_folder


@pytest.fixture(scope="session")
def edition() -> Edition:
    """The latest packaged edition."""
    return load_edition()


@pytest.fixture
def source() -> Source:
    """A source that does not exist."""
    return Source(
        key="nobody_1900",
        citation="Nobody 1900 J Nothing 1:1-2",
        identifier="",
        kind=EvidenceKind.PRIMARY_SERIES,
    )


@pytest.fixture
def copy(tmp_path: Path) -> Callable[..., Path]:
    """A maker of small editions: only the named tables, with the sources and the gaps."""

    def make(*tables: str) -> Path:
        origin = Path(str(edition_folder(LATEST)))
        for name in ("edition.toml", "sources.csv", "gaps.csv", *tables):
            target = tmp_path / name
            target.parent.mkdir(exist_ok=True)
            shutil.copy(origin / name, target)
        return tmp_path

    return make
