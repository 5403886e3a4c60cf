"""Whole code lists that FHIR binds elements to, and where an element stands that must be on one.

`fhir.resources` checks shapes but takes any code, hence these. Each list is written from the page named beside it.
"""

from collections.abc import Iterator
from typing import Any

EVENT_STATUS = {  # http://hl7.org/fhir/event-status, R4B and R5
    *("preparation", "in-progress", "not-done", "on-hold", "stopped", "completed", "entered-in-error", "unknown"),
}
ADMINISTRATION_STATUS = {  # http://hl7.org/fhir/CodeSystem/medication-admin-status, R5; the same codes in R4B
    *("in-progress", "not-done", "on-hold", "completed", "entered-in-error", "stopped", "unknown"),
}
BUNDLE_TYPE = {  # http://hl7.org/fhir/bundle-type, R4B and R5
    *("document", "message", "transaction", "transaction-response", "batch", "batch-response", "history", "searchset"),
    *("collection", "subscription-notification"),
}
AUDIT_ACTION = set("CRUDE")  # http://hl7.org/fhir/audit-event-action: create, read, update, delete, execute
AUDIT_OUTCOME_R4B = {"0", "4", "8", "12"}  # http://hl7.org/fhir/R4B/valueset-audit-event-outcome.html; from memory
AUDIT_OUTCOME_R5 = {  # http://hl7.org/fhir/ValueSet/audit-event-outcome: all of http://hl7.org/fhir/issue-severity
    *("fatal", "error", "warning", "information", "success"),
}
ENTITY_ROLE_R4B = {"derivation", "revision", "quotation", "source", "removal"}  # provenance-entity-role; from memory
ENTITY_ROLE_R5 = {"revision", "quotation", "source", "instantiates", "removal"}  # the same, R5; from memory
SIGNATURE_TYPES = {f"1.2.840.10065.1.12.1.{n}" for n in range(1, 19)}  # urn:iso-astm:E1762-95:2013
DICOM = {"110100": "Application Activity", "110120": "Application Start", "110121": "Application Stop"}  # PS3.16
ROUTES = {  # SNOMED CT below 284009009, http://hl7.org/fhir/R4B/valueset-route-codes.html
    "34206005": "Subcutaneous route",
    "78421000": "Intramuscular route",
    "372464004": "Intradermal route",
    "47625008": "Intravenous route",
    "26643006": "Oral route",
    "447694001": "Respiratory tract route",
}
REFERENCES = {  # Resource types that a Reference.type may name here, http://hl7.org/fhir/resource-types
    *("Patient", "Practitioner", "Device"),
}


def strangers(bundle: dict[str, Any], release: str) -> Iterator[str]:
    """Every code of a bundle that is not on the list its element is bound to, as `path: code`."""
    r5 = release == "R5"
    yield from _off("Bundle.type", bundle["type"], BUNDLE_TYPE)
    for entry in bundle["entry"]:
        made = entry["resource"]
        match made["resourceType"]:
            case "Procedure":
                yield from _off("Procedure.status", made["status"], EVENT_STATUS)
            case "MedicationAdministration":
                yield from _off("MedicationAdministration.status", made["status"], ADMINISTRATION_STATUS)
            case "AuditEvent":
                yield from _off("AuditEvent.action", made["action"], AUDIT_ACTION)
                outcome = made["outcome"]["code"]["code"] if r5 else made["outcome"]
                yield from _off("AuditEvent.outcome", outcome, AUDIT_OUTCOME_R5 if r5 else AUDIT_OUTCOME_R4B)
            case "Provenance":
                for entity in made["entity"]:
                    roles = ENTITY_ROLE_R5 if r5 else ENTITY_ROLE_R4B
                    yield from _off("Provenance.entity.role", entity["role"], roles)
            case other:
                yield f"resourceType: {other}"
    yield from _codings(bundle)


def _codings(node: Any) -> Iterator[str]:
    """Codes inside codings and quantities, by their system, wherever they stand."""
    if isinstance(node, list):
        for item in node:
            yield from _codings(item)
    elif isinstance(node, dict):
        code = node.get("code")
        match node.get("system"):
            case "http://dicom.nema.org/resources/ontology/DCM":
                yield from _off("DCM", (code, node["display"]), set(DICOM.items()))
            case "http://snomed.info/sct":
                yield from _off("SNOMED CT", (code, node["display"]), set(ROUTES.items()))
            case "urn:iso-astm:E1762-95:2013":
                yield from _off("Signature.type", code, SIGNATURE_TYPES)
            case "http://terminology.hl7.org/CodeSystem/v3-ActReason":
                yield from _off("meta.security", code, {"HTEST"})
        if "type" in node and "display" in node and "coding" not in node:
            yield from _off("Reference.type", node["type"], REFERENCES)
        for value in node.values():
            yield from _codings(value)


def _off(where: str, code: object, accepted: set[Any]) -> Iterator[str]:
    if code not in accepted:
        yield f"{where}: {code}"
