"""Who and what a FHIR export points to: pseudonyms only, by identifier and without a resource of their own."""

from typing import Any, Literal

from companion.exports.names import iri
from companion.exports.source import Source

Release = Literal["R4B", "R5"]
Resource = dict[str, Any]


def subject(source: Source) -> Resource:
    """The patient, whom no record names."""
    who = "Nobody: a rehearsal" if source.rehearsal else "A patient whom the record does not name"
    return {"type": "Patient", "display": who}


def person(source: Source, tag: str) -> Resource:
    """A member of staff by tag. Tags are given out by the ward whose machine holds the signing key."""
    if not tag:
        return {"type": "Practitioner", "display": "Somebody who gave no tag"}
    return {
        "type": "Practitioner",
        "identifier": {"system": iri("signers", source.signer, "tags"), "value": tag},
        "display": f"Staff tag {tag}",
    }


def device(source: Source) -> Resource:
    """The program, on the machine that holds the signing key."""
    return {
        "type": "Device",
        "identifier": {"system": iri("signers"), "value": source.signer},
        "display": source.program,
    }
