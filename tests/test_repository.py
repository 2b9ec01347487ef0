"""What may not stand in any committed file. The forbidden words are put together here, not written out."""

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ADDRESS = ":" + "//"
MACHINE_PATHS = ["/" + "work/", "/" + "root/", "/" + "home/"]
REGISTRIES = [
    "pypi" + ".org",
    "python" + "hosted",
    "registry" + ".npmjs",
    "deb" + ".debian",
    "security" + ".debian",
]


def committed() -> Iterator[Path]:
    """Every file that git knows and that still exists."""
    done = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True)
    names = filter(None, done.stdout.split("\0"))
    return (ROOT / name for name in names if (ROOT / name).is_file())


def holding(words: list[str], paths: Iterator[Path] | list[Path]) -> list[str]:
    """Every file and word such that the file holds the word."""
    contents = ((path, path.read_bytes().lower()) for path in paths)
    return [
        f"{path.relative_to(ROOT)}: {word}"
        for path, text in contents
        for word in words
        if word.encode() in text
    ]


def test_locks_hold_hashes_and_no_address() -> None:
    """Both locks can be installed from any index: every package has a hash and none has an address."""
    locks = [ROOT / "requirements.lock", ROOT / "requirements-dev.lock"]
    assert all("--hash=sha256:" in lock.read_text() for lock in locks)
    assert holding([ADDRESS], locks) == []


@pytest.mark.parametrize("word", [*MACHINE_PATHS, *REGISTRIES])
def test_no_file_names_a_machine_or_a_registry(word: str) -> None:
    """No committed file is tied to one machine's folders or to one download host."""
    assert holding([word], committed()) == []


def test_the_search_finds_what_it_looks_for() -> None:
    """The searches above are not blind: a word known to stand in the licence is found."""
    assert "LICENSE: apache license" in holding(["apache" + " license"], committed())
