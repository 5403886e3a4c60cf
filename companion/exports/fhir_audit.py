"""Each entry of a record as an AuditEvent."""

from companion.exports import fhir_codes as codes
from companion.exports.fhir_references import Release, Resource, device, person
from companion.exports.source import Source
from companion.record.entry import CLOSED, OPENED, RECOVERED, Entry
from companion.review.told import Moment
from companion.session.events import Replied, Sealed

_FAULTS = ("fault", RECOVERED)


def audit_event(source: Source, release: Release, entry: Entry, moment: Moment | None, about: str) -> Resource:
    """One entry. `moment` is what the timeline tells of it, `about` the reference to the Procedure."""
    worked, broad, narrow = entry.kind not in _FAULTS, _coding(codes.DICOM, *codes.ACTIVITY), _narrow(entry, moment)
    if release == "R4B":
        what = {"type": broad, "subtype": [narrow], "outcome": codes.OUTCOME_R4B[worked]}
    else:
        outcome = _coding(codes.OUTCOME_R5_SYSTEM, *codes.OUTCOME_R5[worked])
        what = {"category": [{"coding": [broad]}], "code": {"coding": [narrow]}, "outcome": {"code": outcome}}
    details = [
        {"type": name if release == "R4B" else {"text": name}, "valueString": value}
        for name, value in _details(entry, moment)
    ]
    return {
        "resourceType": "AuditEvent",
        **what,
        "action": "C" if entry.kind == OPENED else "E",
        "recorded": entry.utc,
        "agent": _agents(source, moment),
        "source": {"observer": device(source)},
        "entity": [{"what": {"reference": about}, "detail": details}],
    }


def _narrow(entry: Entry, moment: Moment | None) -> Resource:
    if entry.kind == OPENED:
        return _coding(codes.DICOM, *codes.START)
    if entry.kind == CLOSED:
        return _coding(codes.DICOM, *codes.STOP)
    kind = entry.kind if moment is None or moment.event is None else moment.event.kind
    return _coding(codes.EVENT_KINDS, kind.replace(" ", "-"), kind)


def _agents(source: Source, moment: Moment | None) -> list[Resource]:
    agents: list[Resource] = []
    if moment is not None and isinstance(moment.event, Replied | Sealed):
        state = source.told.state
        checking = moment.step and source.told.procedure.step(moment.step).checks
        who = person(source, state.checker if checking else state.performer)
        agents.append({"who": who, "requestor": True})
    return [*agents, {"who": device(source), "requestor": False}]


def _details(entry: Entry, moment: Moment | None) -> list[tuple[str, str]]:
    """Name and text of each thing the entry says; a FHIR string may not be empty."""
    told = [("entry", str(entry.n)), ("kind", entry.kind)]
    if moment is not None:
        told += [("step", moment.step), ("heard", moment.heard), ("decided", moment.decided)]
        told += [("said", text) for text in moment.says]
    return [(name, text) for name, text in told if text.strip()]


def _coding(system: str, code: str, display: str) -> Resource:
    return {"system": system, "code": code, "display": display}
