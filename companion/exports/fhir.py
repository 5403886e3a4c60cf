"""A session as an HL7 FHIR bundle of type `collection`, R4B (4.3.0) or R5 (5.0.0): for tests and teaching.

Nobody's patient is in it: the subject is a reference without an identity. Rehearsals are labelled test data. It is a
copy for systems that learn to read such data; nothing here is ever posted to a live health record.
"""

from typing import TypeVar
from uuid import UUID

from companion.exports import fhir_codes as codes
from companion.exports.exact_json import exact_json
from companion.exports.fhir_audit import audit_event
from companion.exports.fhir_provenance import provenance
from companion.exports.fhir_references import Release, Resource, person, subject
from companion.exports.medicine import Administration, administration
from companion.exports.names import fixed_id, hash_uri, iri
from companion.exports.source import CAUTION, Source

__all__ = ["Release", "bundle", "to_fhir"]

T = TypeVar("T")


def to_fhir(source: Source, release: Release) -> bytes:
    """The bundle as FHIR JSON."""
    return (exact_json(bundle(source, release)) + "\n").encode("utf-8")


def bundle(source: Source, release: Release) -> Resource:
    """Procedure, MedicationAdministration where the procedure names a medicine, an AuditEvent for every entry, and a
    Provenance with the record's head. Figures are Decimal. Raises UsageError for a rehearsal that was only talked."""
    source.without_talk("FHIR bundle")
    procedure_id = fixed_id(source.session, "fhir", "Procedure")
    resources: list[tuple[UUID, Resource]] = [(procedure_id, _procedure(source, release))]
    told = administration(source)
    if told is not None:
        made = _administration(source, release, told, _urn(procedure_id))
        resources.append((fixed_id(source.session, "fhir", "MedicationAdministration"), made))
    targets = [_urn(name) for name, _ in resources]
    moments = {moment.n: moment for moment in source.told.moments}
    for entry in source.record.entries:
        event = audit_event(source, release, entry, moments.get(entry.n), _urn(procedure_id))
        resources.append((fixed_id(source.session, "fhir", "AuditEvent", entry.n), event))
    resources.append((fixed_id(source.session, "fhir", "Provenance"), provenance(source, targets)))
    label = {"meta": {"security": [codes.TEST_DATA]}} if source.rehearsal else {}
    return {
        "resourceType": "Bundle",
        **label,
        "identifier": _session_identifier(source),
        "type": "collection",
        "timestamp": source.last.utc,
        "entry": [
            {
                "fullUrl": _urn(name),
                "resource": {"resourceType": made["resourceType"], "id": str(name), **label, **made},
            }
            for name, made in resources
        ],
    }


def _procedure(source: Source, release: Release) -> Resource:
    told, state = source.told, source.told.state
    status = codes.PROCEDURE_STATUS[state.status]
    if state.status == "abandoned" and not told.confirmed:
        status = codes.NOTHING_DONE
    period = {"start": source.opened.utc}
    if source.told.ended_by is not None:
        period["end"] = source.entry(source.told.ended_by).utc
    performers: list[Resource] = [{"actor": person(source, state.performer)}]
    if state.checker:
        performers.append({"function": {"text": "independent checker"}, "actor": person(source, state.checker)})
    notes = [CAUTION, *source.notices]
    return {
        "resourceType": "Procedure",
        "identifier": [_session_identifier(source)],
        "instantiatesUri": [hash_uri(str(source.opened.body["procedure_sha256"]))],
        "status": status,
        **({"statusReason": {"text": state.outcome}} if state.outcome else {}),
        "code": {
            "coding": [{"system": iri("procedures"), "version": told.procedure.version, "code": told.procedure.id}],
            "text": told.procedure.title,
        },
        "subject": subject(source),
        _by(release, r4b="performedPeriod", r5="occurrencePeriod"): period,
        "performer": performers,
        "note": [{"text": note} for note in notes],
    }


def _administration(source: Source, release: Release, told: Administration, part_of: str) -> Resource:
    kind = {"text": told.name}
    performer = person(source, source.told.performer)
    code, display = codes.ROUTES[told.medicine.route]
    made: Resource = {
        "resourceType": "MedicationAdministration",
        "partOf": [{"reference": part_of}],
        "status": codes.GIVEN_STATUS[told.given],
        **({"statusReason": [{"text": told.why}]} if told.why else {}),
        **_by(release, r4b={"medicationCodeableConcept": kind}, r5={"medication": {"concept": kind}}),
        "subject": subject(source),
        # R5 spells it so (MedicationAdministration.occurence[x])
        _by(release, r4b="effectiveDateTime", r5="occurenceDateTime"): source.entry(told.n).utc,
        "performer": [{"actor": _by(release, r4b=performer, r5={"reference": performer})}],
    }
    if told.dose is not None:
        made["dosage"] = {
            "text": ", ".join([told.dose.written(), told.medicine.route, *([told.site.text] if told.site else [])]),
            **({"site": {"text": told.site.text}} if told.site else {}),
            "route": {
                "coding": [{"system": codes.SNOMED, "code": code, "display": display}],
                "text": told.medicine.route,
            },
            "dose": _quantity(told),
        }
    return made


def _quantity(told: Administration) -> Resource:
    assert told.dose is not None  # the caller has asked
    made: Resource = {"value": told.dose.decimal(), "unit": told.dose.unit}
    code = codes.UCUM_CODES.get(told.dose.unit)
    return made | ({"system": codes.UCUM, "code": code} if code else {})


def _session_identifier(source: Source) -> Resource:
    return {"system": "urn:ietf:rfc:3986", "value": f"urn:uuid:{source.session}"}


def _urn(name: UUID) -> str:
    return f"urn:uuid:{name}"


def _by(release: Release, *, r4b: T, r5: T) -> T:
    return r4b if release == "R4B" else r5
