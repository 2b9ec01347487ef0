"""A second set of published patients, gathered and written down before the chain was run on any of them."""

from __future__ import annotations

from importlib.resources import files

from fabella.audit.cases import PublishedCase, read_cases


def collected_cases() -> tuple[PublishedCase, ...]:
    """Return the collected cases that come with the package, kept apart from the `packaged_cases`."""
    return read_cases(files("fabella.audit").joinpath("collected_cases.json").read_text("utf-8"))
