"""What cannot wait, as flags: whatever rule is met that presses; the letter's own section tells all of it."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.fhir.codes import own_coding
from fabella.fhir.elements import Tree, concept, joined, open_concept, resource
from fabella.fhir.matter import Matter
from fabella.report.cannot_wait import matters_of, urgent_matters
from fabella.report.wording import sentence


def flags(matter: Matter) -> Iterator[Tree]:
    """Yield a flag for each matter that is met and cannot wait, in the letter's words, the most urgent first.

    Its author is the program: the rules are decided apart from any probability, and nobody words them away.
    """
    for told in matters_of(urgent_matters(matter.workup.alarms)):
        if told.can_wait:
            continue
        first = told.told
        because = sentence(f"because: {'; '.join(told.because)}") if told.because else ""
        also = sentence(f"also met: {'; '.join(each.name for each in told.also)}") if told.also else ""
        parts = (f"{first.place}:", sentence(first.name), sentence(first.action), because, also)
        yield resource(
            "Flag",
            matter.names.of("flag", first.rule, first.where),
            joined(parts, " "),
            status="active",
            category=[open_concept("clinical")],
            code=concept(own_coding("rule", first.rule, first.name), text=joined(parts[:3], " ")),
            subject=matter.patient,
            period={"start": matter.day} if matter.day else None,
            author=matter.device,
        )
