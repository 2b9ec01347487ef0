"""A measurement of a picture, and the views there are, in the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rich.console import RenderableType

from fabella.cli.drawing import heading, labelled, paragraph
from fabella.measure import PictureMeasurement, View
from fabella.picture import Picture
from fabella.report import measured_words as words
from fabella.report.wording import sentence


def page_of(
    measurement: PictureMeasurement, picture: Picture, *, against: str | None
) -> Iterator[RenderableType]:
    """Yield the page of a measurement: values with errors, what they rest on, and the cautions once."""
    view = measurement.view
    yield heading(f"{view.name}, {measurement.side} limb")
    yield labelled(
        (
            each.quantity.name,
            f"{words.value_words(each)} {words.error_words(each)} (95 % {words.interval_words(each)})",
        )
        for each in measurement.readings
    )
    rests = (
        ("above 0", measurement.main.quantity.positive),
        ("taken", measurement.method),
        ("error", words.parts_words(measurement.main)),
        ("picture", " ".join(picture.remarks)),
        ("beside", against or ""),
    )
    yield ""
    yield labelled(rests)
    yield ""
    yield paragraph(f"{words.CLINICAL_CAUTION} {words.PRIVACY_CAUTION}", indent=0)


def views_page(views: Iterable[View]) -> Iterator[RenderableType]:
    """Yield what each view wants and gives."""
    for view in views:
        yield heading(f"{view.id}: {view.name}")
        yield paragraph(view.taking)
        yield labelled((each.id, f"{each.name}: {each.where}") for each in view.landmarks)
        yield labelled(
            (
                "gives",
                f"{sentence(each.name)} Above 0: {each.positive}. "
                + (f"As: {', '.join(each.signs)}." if each.signs else "No sign of the examination."),
            )
            for each in view.quantities
        )
        yield ""
