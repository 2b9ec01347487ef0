"""A measurement of a picture as a page: the plate that shows how it was taken, and what it rests on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fabella.measure import PictureMeasurement
from fabella.picture import Picture
from fabella.report import measured_words as words
from fabella.report.document import LAYOUT, Document, Paragraph, Section, Table
from fabella.report.measured_plate import measured_figure


def measured_document(measurement: PictureMeasurement, picture: Picture, *, made_on: date) -> Document:
    """Return the page of a measurement, made on a day."""
    return Document(
        title="Measured on a picture",
        date=made_on.isoformat(),
        addressee="",
        standing="",
        opening=(words.spoken(measurement),),
        sections=tuple(_sections(measurement, picture)),
        close="",
        foot=f"{words.CLINICAL_CAUTION} {words.PRIVACY_CAUTION}",
        figure=measured_figure(measurement, picture),
        layout=LAYOUT,
    )


def _sections(measurement: PictureMeasurement, picture: Picture) -> Iterator[Section]:
    rows = tuple(
        (
            each.quantity.name,
            f"{words.value_words(each)} {words.error_words(each)}",
            words.interval_words(each),
        )
        for each in measurement.readings
    )
    table = Table(caption="With its standard error", header=("Measured", "Value", "95 % interval"), rows=rows)
    says = (words.parts_words(measurement.main), measurement.view.taking, *picture.remarks)
    yield Section(heading="The values", blocks=(table,))
    yield Section(heading="How it was taken", blocks=tuple(Paragraph(text=each) for each in says))
