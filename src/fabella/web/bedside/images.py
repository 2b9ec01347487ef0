"""Which images can be stated at the bedside, and what each can show, as a tree that a browser keeps."""

from __future__ import annotations

from typing import Any

from fabella.anatomy import load_lesions
from fabella.evidence.knowledge import load_knowledge
from fabella.record import ImageKind
from fabella.report.imaging_words import image_name


def images_tree() -> list[dict[str, Any]]:
    """Return every kind of image: its id, its name and the lesions (ids) that it can show by the tables."""
    rows = load_knowledge().images
    return [
        {
            "id": each.value,
            "name": image_name(each),
            "shows": [row.lesion for row in rows if row.image == each],
        }
        for each in ImageKind
    ]


def lesions_tree() -> dict[str, str]:
    """Return the name of every lesion: a file may state one that no table has for its image."""
    return {each.id: each.name for each in load_lesions().values()}
