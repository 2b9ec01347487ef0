"""Tables that come with the program, each beside the code that reads it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any


@cache
def packaged_table(place: str) -> Mapping[str, Any]:
    """Return a TOML table by its place in the package, such as ``report/phrases.toml``; it is read once."""
    return MappingProxyType(tomllib.loads(files("fabella").joinpath(place).read_text("utf-8")))
