"""Bundles held against `fhir.resources` (R4B and R5), our own code lists, and the record's signature."""

import base64
import importlib.util
import json
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import replace
from decimal import Decimal
from typing import Any, get_args

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from companion.exports import fhir_codes as codes
from companion.exports.fhir import Release, bundle, to_fhir
from companion.exports.fhir_audit import audit_event
from companion.exports.medicine import Given
from companion.exports.source import Source
from companion.procedure.model import Route
from companion.record.entry import Entry
from companion.session.state import Status
from tests.exports.code_lists import ADMINISTRATION_STATUS, EVENT_STATUS, ROUTES, strangers
from tests.realparts import need

RELEASES: tuple[Release, ...] = ("R4B", "R5")


@pytest.fixture(params=RELEASES)
def release(request: pytest.FixtureRequest) -> Any:
    need(importlib.util.find_spec("fhir") is not None, "fhir.resources is missing: pip install fhir.resources")
    return request.param


def library(release: Release) -> Any:
    if release == "R4B":
        from fhir.resources.R4B.bundle import Bundle as Older

        return Older
    from fhir.resources.bundle import Bundle

    return Bundle


def of_type(made: dict[str, Any], name: str) -> list[dict[str, Any]]:
    return [entry["resource"] for entry in made["entry"] if entry["resource"]["resourceType"] == name]


def nodes(node: Any) -> Iterator[Any]:
    yield node
    for child in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from nodes(child)


def test_the_bundle_is_valid(each: Source, release: Release) -> None:
    read = library(release).model_validate_json(to_fhir(each, release))
    assert len(read.entry) == len(bundle(each, release)["entry"])


def test_the_library_does_refuse(made: Callable[[str], Source], release: Release) -> None:
    for name, key in [("Procedure", "status"), ("AuditEvent", "recorded"), ("Provenance", "target")]:
        broken = deepcopy(bundle(made("insulin"), release))
        del of_type(broken, name)[0][key]
        with pytest.raises(ValueError, match=key):
            library(release).model_validate(broken)


def test_every_code_is_on_its_list(each: Source, release: Release) -> None:
    assert list(strangers(bundle(each, release), release)) == []


def test_a_code_that_is_on_no_list_is_found(made: Callable[[str], Source], release: Release) -> None:
    broken = deepcopy(bundle(made("insulin"), release))
    of_type(broken, "Procedure")[0]["status"] = "done"
    of_type(broken, "MedicationAdministration")[0]["dosage"]["route"]["coding"][0]["code"] = "1"
    of_type(broken, "AuditEvent")[3]["action"] = "X"
    of_type(broken, "Provenance")[0]["entity"][0]["role"] = "origin"
    library(release).model_validate(broken)  # which is why the lists are needed
    assert len(list(strangers(broken, release))) == 4


def test_every_state_has_a_code() -> None:
    assert set(codes.PROCEDURE_STATUS) == set(get_args(Status))
    assert {*codes.PROCEDURE_STATUS.values(), codes.NOTHING_DONE} <= EVENT_STATUS
    assert set(codes.GIVEN_STATUS) == set(get_args(Given))
    assert set(codes.GIVEN_STATUS.values()) <= ADMINISTRATION_STATUS
    assert set(codes.ROUTES) == set(get_args(Route))
    assert dict(codes.ROUTES.values()) == ROUTES


def test_units_are_ucum() -> None:
    """Parsed by ucumvert, which carries UCUM's own grammar and table. `mcg`, `units` and `u` are no UCUM."""
    need(importlib.util.find_spec("ucumvert") is not None, "ucumvert is missing: pip install ucumvert")
    from lark.exceptions import LarkError
    from ucumvert import get_ucum_parser

    parser = get_ucum_parser()
    for code in codes.UCUM_CODES.values():
        parser.parse(code)
    for wrong in ("mcg", "units", "mEq"):
        with pytest.raises(LarkError):
            parser.parse(wrong)


@pytest.mark.parametrize(
    ("end", "procedure", "administration"),
    [
        ("drill", "completed", None),
        ("insulin", "completed", "completed"),
        ("refused", "stopped", "not-done"),
        ("partly given", "stopped", "unknown"),
        ("open", "in-progress", None),
        ("open at the injection", "in-progress", "in-progress"),
    ],
)
def test_status(
    made: Callable[[str], Source], release: Release, end: str, procedure: str, administration: str | None
) -> None:
    found = bundle(made(end), release)
    assert of_type(found, "Procedure")[0]["status"] == procedure
    given = [one["status"] for one in of_type(found, "MedicationAdministration")]
    assert given == ([] if administration is None else [administration])


def test_the_dose_is_what_was_said_to_the_digit(made: Callable[[str], Source], release: Release) -> None:
    read = json.loads(to_fhir(made("insulin"), release), parse_float=Decimal, parse_int=Decimal)
    (given,) = of_type(read, "MedicationAdministration")
    assert given["dosage"]["dose"] == {
        "value": Decimal(18),
        "unit": "units",
        "system": "http://unitsofmeasure.org",
        "code": "[iU]",
    }
    assert given["dosage"]["site"]["text"] == "left abdomen"
    assert given["dosage"]["route"]["coding"][0]["code"] == "34206005"
    when = given["effectiveDateTime" if release == "R4B" else "occurenceDateTime"]
    assert when == next(
        made("insulin").entry(done.n).utc for done in made("insulin").told.confirmed if done.step == "inject"
    )


@pytest.mark.parametrize("end", ["refused", "partly given", "open at the injection"])
def test_no_dose_is_stated_that_was_not_given(made: Callable[[str], Source], release: Release, end: str) -> None:
    (given,) = of_type(bundle(made(end), release), "MedicationAdministration")
    assert "dosage" not in given
    assert given.get("statusReason", [{}])[0].get("text", "") == made(end).told.state.outcome


def test_a_rehearsal_is_labelled_test_data(each: Source, release: Release) -> None:
    made = bundle(each, release)
    for labelled in [made, *(entry["resource"] for entry in made["entry"])]:
        assert labelled["meta"]["security"][0]["code"] == "HTEST"


def test_a_session_at_the_bedside_is_not(made: Callable[[str], Source], release: Release) -> None:
    source = made("insulin")
    bedside = replace(source, told=replace(source.told, mode="bedside"))
    assert b"HTEST" not in to_fhir(bedside, release)


def test_nobody_is_in_it(each: Source, release: Release) -> None:
    made = [node for node in nodes(bundle(each, release)) if isinstance(node, dict)]
    assert all(set(node) == {"type", "display"} for node in made if node.get("type") == "Patient")
    assert not {key for node in made for key in node} & {"name", "birthDate", "telecom"}


def test_references_lead_somewhere(each: Source, release: Release) -> None:
    made = bundle(each, release)
    there = [entry["fullUrl"] for entry in made["entry"]]
    assert len(set(there)) == len(there)
    pointed = [node["reference"] for node in nodes(made) if isinstance(node, dict) and "reference" in node]
    named = {reference for reference in pointed if isinstance(reference, str)}  # R5 also wraps one in an object
    assert named and named <= set(there)
    assert [f"urn:uuid:{entry['resource']['id']}" for entry in made["entry"]] == there


def test_an_audit_event_for_every_entry(each: Source, release: Release) -> None:
    events = of_type(bundle(each, release), "AuditEvent")
    assert [event["recorded"] for event in events] == [entry.utc for entry in each.record.entries]
    first = events[0]["subtype"][0] if release == "R4B" else events[0]["code"]["coding"][0]
    assert first["display"] == "Application Start"
    if each.closing is not None:
        last = events[-1]["subtype"][0] if release == "R4B" else events[-1]["code"]["coding"][0]
        assert last["display"] == "Application Stop"


@pytest.mark.parametrize("kind", ["fault", "recovered"])
def test_a_fault_is_no_success(made: Callable[[str], Source], release: Release, kind: str) -> None:
    source = made("insulin")
    entry = Entry(**{**source.last.value(), "kind": kind})
    event = audit_event(source, release, entry, None, "urn:uuid:1")
    outcome = event["outcome"] if release == "R4B" else event["outcome"]["code"]["code"]
    assert outcome == ("4" if release == "R4B" else "warning")


def test_the_signature_holds_over_the_head_in_the_bundle(made: Callable[[str], Source], release: Release) -> None:
    """With the library's own Ed25519, from what stands in the bundle and the public key in the record."""
    source = made("insulin")
    (proof,) = of_type(bundle(source, release), "Provenance")
    uri = proof["entity"][0]["what"]["identifier"]["value"]
    assert uri.startswith("ni:///sha-256;")
    head = base64.urlsafe_b64decode(uri.removeprefix("ni:///sha-256;") + "=")
    signature = base64.b64decode(proof["signature"][0]["data"])
    public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(source.opened.body["public_key"]))
    public.verify(signature, b"procedure-companion record head\n" + head)
    with pytest.raises(InvalidSignature):
        public.verify(signature, b"procedure-companion record head\n" + head[::-1])


@pytest.mark.parametrize("end", ["open", "open at the injection"])
def test_an_open_record_has_no_signature(made: Callable[[str], Source], release: Release, end: str) -> None:
    found = bundle(made(end), release)
    assert "signature" not in of_type(found, "Provenance")[0]
    assert any(note["text"].startswith("Unfinished") for note in of_type(found, "Procedure")[0]["note"])


def test_the_same_record_gives_the_same_bundle(made: Callable[[str], Source], release: Release) -> None:
    assert to_fhir(made("insulin"), release) == to_fhir(made("insulin"), release)
