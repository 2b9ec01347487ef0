"""Images that were there before the conclusion: an Observation for each, of what it was read to show."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.anatomy import Lesions
from fabella.fhir.codes import level_code, own_coding
from fabella.fhir.elements import Tree, concept, notes, open_concept, resource
from fabella.fhir.matter import Matter
from fabella.fhir.observations import Place, site
from fabella.record import Imaging
from fabella.report.imaging_words import image_name, image_words


def images(matter: Matter, lesions: Lesions) -> Iterator[tuple[Place, Tree]]:
    """Yield every image with its place; the image, not whoever examined, says what was seen.

    One that nobody has read yet is registered, without a value.
    """
    examination = matter.workup.examination
    words = {
        (each.image, each.side): each for each in image_words(examination, lesions, matter.workup.conclusion)
    }
    for image in examination.imaging:
        own = words[image.image, image.side]
        yield (
            (image.image.value, image.side),
            resource(
                "Observation",
                matter.names.of("observation", "image", image.image, image.side),
                f"{own.name}: {own.text}",
                status="registered" if image.shows is None else matter.status,
                category=[open_concept("imaging")],
                code=concept(
                    own_coding("background", level_code("image", image.image), image_name(image.image))
                ),
                subject=matter.patient,
                effectiveDateTime=None if image.on is None else image.on.isoformat(),
                bodySite=site(image.side),
                interpretation=_interpreted(image),
                component=[_shown(each, lesions) for each in image.shows or ()],
                note=notes(image.words or ""),
            ),
        )


def _interpreted(image: Imaging) -> list[Tree] | None:
    """One of limited value that shows nothing is neither normal nor abnormal."""
    if not image.shows and (image.shows is None or image.limited):
        return None
    return [open_concept("abnormal" if image.shows else "normal")]


def _shown(lesion: str, lesions: Lesions) -> Tree:
    return {"code": concept(own_coding("lesion", lesion, lesions[lesion].name)), "valueBoolean": True}
