"""The data files of the figure, each read once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any


@cache
def _table(name: str) -> Mapping[str, Any]:
    path = files("fabella.figure").joinpath("data", f"{name}.toml")
    return MappingProxyType(tomllib.loads(path.read_text("utf-8")))


def body() -> Mapping[str, Any]:
    """Return the lengths and contours of the figure, in thousandths of stature."""
    return _table("body")


def hands() -> Mapping[str, Any]:
    """Return the shapes of the examiner's hands by name."""
    return _table("hands")


def drawings() -> Mapping[str, Any]:
    """Return what is drawn for which signs."""
    return _table("drawings")


def knee_outline() -> Mapping[str, Any]:
    """Return the front view of the knee: skin, bones, ligaments, strokes and shading."""
    return _table("outline")


def knee_sites() -> Mapping[str, Any]:
    """Return where on the front view of the knee each sign stands, and how it is marked, by sign id."""
    return _table("sites")


def gait() -> Mapping[str, Any]:
    """Return the angles of hip, knee and ankle in normal walking, and how they are changed."""
    return _table("gait")
