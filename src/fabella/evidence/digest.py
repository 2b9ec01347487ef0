"""One number that changes when any table of an edition does."""

from collections import Counter
from collections.abc import Iterator, Mapping
from hashlib import sha256
from importlib.resources.abc import Traversable


def table_files(folder: Traversable) -> dict[str, bytes]:
    """Return every CSV file below a folder by its path, sorted, with line ends made alike."""
    return {path: file.read_bytes().replace(b"\r\n", b"\n") for path, file in sorted(_walk(folder, ""))}


def digest(files: Mapping[str, bytes]) -> str:
    """Return the SHA-256 over the paths and contents of all tables, in the order given."""
    total = sha256()
    for path, content in files.items():
        total.update(f"{path}\0{len(content)}\0".encode())
        total.update(content)
    return total.hexdigest()


def line_counts(files: Mapping[str, bytes]) -> dict[str, int]:
    """Return for each kind of table how many lines follow the headers."""
    counts: Counter[str] = Counter()
    for path, content in files.items():
        counts[path.split("/")[0].removesuffix(".csv")] += content.count(b"\n") - 1
    return dict(sorted(counts.items()))


def _walk(folder: Traversable, prefix: str) -> Iterator[tuple[str, Traversable]]:
    for entry in folder.iterdir():
        if entry.is_dir():
            yield from _walk(entry, f"{prefix}{entry.name}/")
        elif entry.name.endswith(".csv"):
            yield f"{prefix}{entry.name}", entry
