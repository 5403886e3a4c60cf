"""Where the bundle comes from: the record's head, its procedure file and its signature, as a Provenance."""

import base64

from companion.exports import fhir_codes as codes
from companion.exports.fhir_references import Resource, device, person
from companion.exports.names import hash_uri
from companion.exports.source import Source
from companion.record.entry import digest
from companion.record.seal import head_of


def provenance(source: Source, targets: list[str]) -> Resource:
    """The same in R4B and R5. `targets` are references to what was made from the record.

    The signature is Ed25519 over the head, as `companion.record.seal` describes; an open record has none.
    """
    closing = source.closing
    head = digest(source.last.line()) if closing is None else head_of(closing)
    what = "Session record, last entry so far" if closing is None else "Session record, head"
    made: Resource = {
        "resourceType": "Provenance",
        "target": [{"reference": target} for target in targets],
        "recorded": source.last.utc,
        "agent": [{"who": device(source)}, {"who": person(source, source.told.performer)}],
        "entity": [
            _hashed(head, what),
            _hashed(str(source.opened.body["procedure_sha256"]), "Procedure file"),
        ],
    }
    if closing is not None:
        made["signature"] = [
            {
                "type": [codes.SIGNATURE_TYPE],
                "when": closing.utc,
                "who": device(source),
                "sigFormat": "application/octet-stream",
                "data": base64.b64encode(bytes.fromhex(str(closing.body["signature"]))).decode("ascii"),
            }
        ]
    return made


def _hashed(sha256: str, display: str) -> Resource:
    identifier = {"system": "urn:ietf:rfc:3986", "value": hash_uri(sha256)}
    return {"role": "source", "what": {"identifier": identifier, "display": display}}
