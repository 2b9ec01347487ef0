"""Outside references: programs and packages that tests compare with."""

import atexit
import os
import select
import shutil
import subprocess
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

_PATIENCE_SECONDS = 120


def need_reference(name: str, *, available: bool, how_to_install: str) -> None:
    """Skip the running test loudly when a reference is missing, or fail it where none may be (CI=true)."""
    if available:
        return
    message = f"reference missing: {name}; install with: {how_to_install}"
    if os.environ.get("CI") == "true":
        pytest.fail(message, pytrace=False)
    pytest.skip(message)


def run_r(code: str, *packages: str) -> str:
    """Run R code with these packages attached and return what it prints; skip or fail when R lacks them."""
    script = shutil.which("Rscript")
    need_reference("R", available=script is not None, how_to_install="sh tools/system_packages.sh")
    listening = _r(str(script))
    for package in packages:
        found = package in listening.installed
        need_reference(f"R package {package}", available=found, how_to_install="sh tools/system_packages.sh")
    with TemporaryDirectory() as folder:
        Path(folder, "code").write_text(code, encoding="utf-8")
        complaint = listening.ask(folder, *packages)
        if complaint:
            pytest.fail(f"R refused:\n{complaint}", pytrace=False)
        return Path(folder, "printed").read_text(encoding="utf-8")


_LISTEN = r"""
cat(rownames(installed.packages()), "\n")
input <- file("stdin", "r")
while (length(line <- readLines(input, 1))) {
  asked <- strsplit(line, "\t")[[1]]
  for (package in asked[-1]) suppressPackageStartupMessages(requireNamespace(package, quietly = TRUE))
  job <- parallel::mcparallel({
    sink(file.path(asked[1], "printed"))
    tryCatch({
      for (package in asked[-1]) suppressPackageStartupMessages(library(package, character.only = TRUE))
      source(file.path(asked[1], "code"), print.eval = TRUE, encoding = "UTF-8")
      ""
    }, error = function(e) paste("Error:", conditionMessage(e)), finally = sink())
  }, silent = TRUE)
  answer <- parallel::mccollect(job)[[1]]
  cat(if (is.null(answer)) "Error: R ended" else gsub("\n", " ", answer), "\n", sep = "")
}
"""


class _Listening:
    """One R for all questions of this process, each answered in a fork of its own that knows of no other.

    To start R and load its packages takes longer than most of what it is asked.
    """

    def __init__(self, script: str) -> None:
        self._process = subprocess.Popen(
            [script, "--vanilla", "-e", _LISTEN],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        atexit.register(self._end)
        self.installed = self._line().split()

    def ask(self, folder: str, *packages: str) -> str:
        """Run the code in a folder, print beside it, and return the complaint; empty when there is none."""
        assert self._process.stdin is not None
        self._process.stdin.write("\t".join((folder, *packages)) + "\n")
        self._process.stdin.flush()
        return self._line()

    def _line(self) -> str:
        assert self._process.stdout is not None
        ready, _, _ = select.select([self._process.stdout], [], [], _PATIENCE_SECONDS)
        line = self._process.stdout.readline() if ready else ""
        if not line:
            self._end()
            _r.cache_clear()
            return "Error: R gave no answer"
        return line.strip()

    def _end(self) -> None:
        self._process.kill()
        self._process.communicate()


@cache
def _r(script: str) -> _Listening:
    return _Listening(script)
