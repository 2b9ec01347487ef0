"""The data files of the figure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fabella.packaged import packaged_table


def body() -> Mapping[str, Any]:
    """Return the lengths and contours of the figure, in thousandths of stature."""
    return packaged_table("figure/data/body.toml")


def hands() -> Mapping[str, Any]:
    """Return the shapes of the examiner's hands by name."""
    return packaged_table("figure/data/hands.toml")


def drawings() -> Mapping[str, Any]:
    """Return what is drawn for which signs."""
    return packaged_table("figure/data/drawings.toml")


def knee_outline() -> Mapping[str, Any]:
    """Return the front view of the knee: skin, bones, ligaments, strokes and shading."""
    return packaged_table("figure/data/outline.toml")


def knee_sites() -> Mapping[str, Any]:
    """Return where on the front view of the knee each sign stands, and how it is marked, by sign id."""
    return packaged_table("figure/data/sites.toml")


def gait() -> Mapping[str, Any]:
    """Return the angles of hip, knee and ankle in normal walking, and how they are changed."""
    return packaged_table("figure/data/gait.toml")
