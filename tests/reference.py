"""Outside references: programs and packages that tests compare with."""

import os
import shutil
import subprocess

import pytest


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
    for package in packages:
        found = _r(f"find.package('{package}')").returncode == 0
        need_reference(f"R package {package}", available=found, how_to_install="sh tools/system_packages.sh")
    attach = "".join(f"suppressPackageStartupMessages(library({package}))\n" for package in packages)
    done = _r(attach + code)
    if done.returncode != 0:
        pytest.fail(f"R refused:\n{done.stderr}", pytrace=False)
    return done.stdout


def _r(code: str) -> subprocess.CompletedProcess[str]:
    command = ["Rscript", "--vanilla", "-e", code]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
