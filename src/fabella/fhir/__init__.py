"""A worked-up examination for other programs of a hospital: a document of HL7 FHIR R4; computes nothing."""

from fabella.fhir.code_systems import code_systems
from fabella.fhir.document import bundle
from fabella.fhir.elements import as_json
from fabella.fhir.matter import Identity, Signed

__all__ = ["Identity", "Signed", "as_json", "bundle", "code_systems"]
