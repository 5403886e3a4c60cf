"""Codes of other people's lists that the FHIR exports use, each with where it was read.

`tests/exports/code_lists.py` holds the whole lists, so that a code that is on none of them is found.
"""

from companion.exports.medicine import Given
from companion.exports.names import iri
from companion.procedure.model import Route
from companion.session.state import Status

TEST_DATA = {
    "system": "http://terminology.hl7.org/CodeSystem/v3-ActReason",
    "code": "HTEST",
    "display": "test health data",
}
"""HL7 v3 ActReason, in FHIR's security labels (R4B and R5, security-labels; from memory)."""

UCUM = "http://unitsofmeasure.org"
UCUM_CODES = {
    # Insulin is counted in international units. UCUM's `U` is the enzyme unit, a micromole a minute.
    "units": "[iU]",
    "mL": "mL",
    "L": "L",
    "ng": "ng",
    "mcg": "ug",
    "mg": "mg",
    "g": "g",
    "mmol": "mmol",
    "mEq": "meq",
    "drops": "[drp]",
    "tablets": "{tablet}",
    "capsules": "{capsule}",
    "puffs": "{puff}",
    "doses": "{dose}",
    "ampoules": "{ampoule}",
    "vials": "{vial}",
}
"""A unit as this program writes it -> UCUM, case-sensitive (Unified Code for Units of Measure; from memory)."""

SNOMED = "http://snomed.info/sct"
ROUTES: dict[Route, tuple[str, str]] = {
    "subcutaneous": ("34206005", "Subcutaneous route"),
    "intramuscular": ("78421000", "Intramuscular route"),
    "intradermal": ("372464004", "Intradermal route"),
    "intravenous": ("47625008", "Intravenous route"),
    "oral": ("26643006", "Oral route"),
    "inhaled": ("447694001", "Respiratory tract route"),
}
"""SNOMED CT, below 284009009, as in FHIR's value set route-codes."""

PROCEDURE_STATUS: dict[Status, str] = {
    "new": "preparation",
    "naming": "preparation",
    "running": "in-progress",
    "restating": "in-progress",
    "leaving": "in-progress",
    "held": "on-hold",
    "finished": "completed",
    "abandoned": "stopped",
}
"""FHIR EventStatus (http://hl7.org/fhir/event-status), R4B and R5."""
NOTHING_DONE = "not-done"
"""EventStatus of a session abandoned before any step was confirmed."""

GIVEN_STATUS: dict[Given, str] = {
    "given": "completed",
    "not given": "not-done",
    "not known": "unknown",
    "under way": "in-progress",
}
"""MedicationAdministration status codes (CodeSystem medication-admin-status), R4B and R5."""

DICOM = "http://dicom.nema.org/resources/ontology/DCM"
ACTIVITY = ("110100", "Application Activity")
START = ("110120", "Application Start")
STOP = ("110121", "Application Stop")
"""DICOM PS3.16, as in FHIR's value sets audit-event-type and audit-event-sub-type (from memory)."""

EVENT_KINDS = iri("codes", "entry")
"""This program's own code system: what kind of entry or event it was."""

OUTCOME_R4B = {True: "0", False: "4"}
"""AuditEvent.outcome, R4B (value set audit-event-outcome): success, minor failure."""
OUTCOME_R5_SYSTEM = "http://hl7.org/fhir/issue-severity"
OUTCOME_R5 = {True: ("success", "Operation Successful"), False: ("warning", "Warning")}
"""AuditEvent.outcome.code, R5 (value set audit-event-outcome, all of issue-severity)."""

SIGNATURE_TYPE = {
    "system": "urn:iso-astm:E1762-95:2013",
    "code": "1.2.840.10065.1.12.1.14",
    "display": "Source Signature",
}
"""ASTM E1762, as in FHIR's value set signature-type."""
