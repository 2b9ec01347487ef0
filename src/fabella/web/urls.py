"""Every address, and the page behind it. Who may enter each stands at the page itself."""

from __future__ import annotations

from django.urls import path, re_path

from fabella.web.api import dictation, reference
from fabella.web.api import practice as api_practice
from fabella.web.api import visit as api
from fabella.web.keeping import kept_while_open
from fabella.web.pages import (
    account,
    administration,
    course,
    evidence,
    evidence_image,
    evidence_lesion,
    evidence_measure,
    evidence_rule,
    evidence_sign,
    evidence_source,
    examine,
    first,
    offline,
    papers,
    patient,
    patients,
    practice,
    practice_debrief,
    practice_record,
    practice_run,
    sign,
    start,
    technique,
    trust,
    visit,
)
from fabella.web.pages.help import help_page

urlpatterns = [
    path("", start.start, name="start"),
    path("days/<str:day>/", start.day, name="day"),
    path("patients/", patients.patients, name="patients"),
    path("patients/new/", patients.add, name="add_patient"),
    path("patients/<int:patient_id>/", patient.patient, name="patient"),
    path("patients/<int:patient_id>/course/", course.course, name="course"),
    path("patients/<int:patient_id>/details/", patient.details, name="details"),
    path("patients/<int:patient_id>/trail/", patient.trail, name="trail"),
    path("visits/<int:visit_id>/", visit.visit, name="visit"),
    path("visits/<int:visit_id>/examine/", kept_while_open(examine.examine), name="examine"),
    path("visits/<int:visit_id>/comes-to/", examine.comes_to, name="comes_to"),
    path("visits/<int:visit_id>/comes-to/plate.svg", examine.comes_to_plate, name="comes_to_plate"),
    path("visits/<int:visit_id>/now/", visit.now, name="visit_now"),
    path("visits/<int:visit_id>/settle/", visit.settle, name="settle"),
    path("visits/<int:visit_id>/letter/", papers.letter, name="letter"),
    path("visits/<int:visit_id>/summary/", papers.summary, name="summary"),
    path("visits/<int:visit_id>/plate.svg", papers.plate, name="plate"),
    path("visits/<int:visit_id>/side.svg", papers.side_view, name="side_view"),
    path("visits/<int:visit_id>/examination.json", papers.file, name="file"),
    path("visits/<int:visit_id>/bring/", papers.bring, name="bring"),
    path("visits/<int:visit_id>/sign/", sign.sign, name="sign"),
    path("visits/<int:visit_id>/amend/", sign.amend, name="amend"),
    path("visits/<int:visit_id>/signed/<int:number>/", sign.signed, name="signed"),
    path("visits/<int:visit_id>/signed/<int:number>/again/", sign.again, name="again"),
    re_path(
        r"^visits/(?P<visit_id>[0-9]+)/signed/(?P<number>[0-9]+)/(?P<writing>letter|summary)\.(?P<kind>pdf|txt|json)$",
        sign.signed_file,
        name="signed_file",
    ),
    re_path(
        r"^visits/(?P<visit_id>[0-9]+)/(?P<writing>letter|summary)-not-signed\.(?P<kind>pdf|txt)$",
        papers.draft_file,
        name="draft_file",
    ),
    path("help/", help_page, name="help"),
    path("help/first/", first.first, name="first"),
    path("protocol/<slug:sign>/", technique.technique, name="technique"),
    path("protocol/<slug:sign>/card/", technique.card_part, name="card"),
    path("evidence/", evidence.evidence, name="evidence"),
    path("evidence/signs/<slug:sign>/", evidence_sign.evidence_sign, name="evidence_sign"),
    path("evidence/lesions/<slug:lesion>/", evidence_lesion.evidence_lesion, name="evidence_lesion"),
    path("evidence/rules/<slug:rule>/", evidence_rule.evidence_rule, name="evidence_rule"),
    path("evidence/measures/<slug:measure>/", evidence_measure.evidence_measure, name="evidence_measure"),
    path("evidence/images/<slug:image>/", evidence_image.evidence_image, name="evidence_image"),
    path("evidence/sources/<slug:source>/", evidence_source.evidence_source, name="evidence_source"),
    path("practice/", practice.practice, name="practice"),
    path("practice/record/", practice_record.practice_record, name="practice_record"),
    path("practice/record/record.csv", practice_record.practice_record_file, name="practice_record_file"),
    path("practice/runs/<int:run_id>/", practice_run.practice_run, name="practice_run"),
    path("practice/runs/<int:run_id>/now/", practice_run.practice_now, name="practice_now"),
    path("practice/runs/<int:run_id>/debrief/", practice_debrief.practice_debrief, name="practice_debrief"),
    path("administration/", administration.administration, name="administration"),
    path("trust/", trust.trust, name="trust"),
    path("trust/fabella-authority.crt", trust.authority, name="authority"),
    path("offline/", offline.offline, name="offline"),
    path("worker.js", offline.worker, name="worker"),
    path("login/", account.log_in, name="login"),
    path("logout/", account.log_out, name="logout"),
    path("api/visits/<int:visit_id>", kept_while_open(api.state), name="api_state"),
    path("api/visits/<int:visit_id>/operations", api.operations, name="api_operations"),
    path("api/visits/<int:visit_id>/conclusion", api.conclusion, name="api_conclusion"),
    path("api/signs.<str:digest>.json", reference.signs, name="api_signs"),
    path("api/practice/<int:run_id>/events", api_practice.events, name="api_practice_events"),
    path(
        "api/practice/<int:run_id>/motions/<int:turn>/<str:view>",
        api_practice.motion,
        name="api_practice_motion",
    ),
    path("api/dictation", dictation.dictation, name="api_dictation"),
]

handler400 = "fabella.web.errors.wrong"
handler403 = "fabella.web.errors.wrong"
handler404 = "fabella.web.errors.not_there"
handler500 = "fabella.web.errors.ours"
