"""xAPI 1.0.3 statements of a session.

Verbs and activity types: ADL's vocabulary; `abandoned`: the cmi5 profile. The actor is an account under the key that
signs the record, named by the staff tag: no name, no mailbox. Each statement's id follows from the session's id and the
number of the entry it tells of, both fixed when the entry was written (see `names`).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from companion.errors import UsageError
from companion.exports.exact_json import exact_json
from companion.exports.names import fixed_id, iri, iso_duration
from companion.exports.source import Source
from companion.procedure.steps import Step
from companion.review.told import Confirmed
from companion.review.verdict import judged
from companion.session.events import Resumed

VERSION = "1.0.3"
_ADL = "http://adlnet.gov/expapi/"
VERBS = {
    name: f"{_ADL}verbs/{name}"
    for name in ("initialized", "resumed", "answered", "completed", "passed", "failed", "commented")
} | {
    "abandoned": "https://w3id.org/xapi/adl/verbs/abandoned",
    "skipped": "http://id.tincanapi.com/verb/skipped",
}

Statement = dict[str, Any]


@dataclass(frozen=True)
class Judgement:
    """What an educator made of the session. `scaled` runs from -1 to 1 (xAPI 1.0.3, result.score)."""

    passed: bool
    scaled: Decimal

    def __post_init__(self) -> None:
        if not self.scaled.is_finite() or not -1 <= self.scaled <= 1:
            raise UsageError(f"the score {self.scaled} is out of range; accepted: -1 to 1, such as 0.85")


def statements(source: Source, judgement: Judgement | None = None) -> list[Statement]:
    """Every statement, in the order of the record, and then the educators' remarks. A session that has not ended has
    no last one.

    Raises UsageError for a judgement of a session that has not ended.
    """
    if judgement is not None and source.told.ended_by is None:
        raise UsageError("this session has not ended, so it cannot be judged yet")
    told = [] if source.told.rehearsed else [(done.n, _answered(source, done)) for done in source.told.confirmed]
    told += list(_talked(source))
    told += [
        (moment.n, _statement(source, moment.n, "resumed", _procedure(source)))
        for moment in source.told.moments
        if isinstance(moment.event, Resumed)
    ]
    made = [_statement(source, 0, "initialized", _procedure(source))]
    made += [statement for _, statement in sorted(told, key=lambda pair: pair[0])]
    made += _ending(source)
    if judgement is not None:
        scaled = judgement.scaled
        made.append(_passed(source, judgement.passed, {"score": {"scaled": scaled}}, str(scaled.normalize())))
    elif source.told.rehearsed:
        made += _settled(source)
    return [*made, *_remarks(source)]


def to_xapi(source: Source, judgement: Judgement | None = None) -> bytes:
    """The statements as a JSON array, as an LRS takes them."""
    return (exact_json(statements(source, judgement)) + "\n").encode("utf-8")


def actor(source: Source) -> dict[str, Any]:
    """A pseudonym: the tag under the signing key, or the session itself where no tag was given."""
    name = source.told.performer or f"session-{source.session}"
    return {"objectType": "Agent", "account": {"homePage": iri("signers", source.signer), "name": name}}


def _ending(source: Source) -> Iterator[Statement]:
    n, told = source.told.ended_by, source.told
    if n is None:
        return
    yield _statement(source, n, "answered", _order(source), _ordered(source), "order")
    result: dict[str, Any] = {"completion": _complete(source), "duration": iso_duration(told.took_ms)}
    if told.judgement is not None:
        # What the program made of it, fixed with the entry; what an educator decides is a statement of its own
        result["extensions"] = {iri("xapi", "outcome"): judged(told.judgement, ()).outcome}
        yield _statement(source, n, "completed", _procedure(source), result)
    elif told.state.status == "finished":
        yield _statement(source, n, "completed", _procedure(source), result)
    else:
        result["extensions"] = {iri("xapi", "reason"): told.state.outcome}
        yield _statement(source, n, "abandoned", _procedure(source), result)


def _complete(source: Source) -> bool:
    return source.told.judgement is not None or source.told.state.status == "finished"


def _talked(source: Source) -> Iterator[tuple[int, Statement]]:
    """What a rehearsal said of each step, left out, or perhaps said, as it was judged. While it is not, what was noted
    may still be taken back, and no statement can be."""
    told, judgement = source.told, source.told.judgement
    if judgement is None or source.told.ended_by is None:
        return
    for done in told.confirmed:
        result: dict[str, Any] = {"completion": True, "response": done.phrases[0]}
        result["duration"] = iso_duration(done.took_ms)
        extensions = {iri("xapi", "given-by"): done.by, iri("xapi", "note"): done.note}
        result["extensions"] = {name: text for name, text in extensions.items() if text}
        yield done.n, _statement(source, done.n, "answered", _step_talked(source, done.step), result, done.step)
    for finding in judgement.findings:
        thing, note = _step_talked(source, finding.step), {"extensions": {iri("xapi", "note"): finding.kind}}
        if finding.kind == "omitted":
            result = {"completion": False, **note}
            yield source.told.ended_by, _statement(source, source.told.ended_by, "skipped", thing, result, finding.step)
        elif finding in judgement.doubtful:
            result = {"response": finding.heard[0].text, **note}
            yield (
                source.told.ended_by,
                _statement(source, source.told.ended_by, "answered", thing, result, finding.step),
            )


def _step_talked(source: Source, step: str) -> dict[str, Any]:
    """Saying a step in words of one's own: another activity than answering what the program asks."""
    procedure = source.told.procedure
    definition = _definition(source, procedure.step(step).title, "cmi.interaction")
    return {
        "objectType": "Activity",
        "id": iri("procedures", procedure.id, "steps", step, "talked"),
        "definition": definition | {"interactionType": "long-fill-in"},
    }


def _settled(source: Source) -> Iterator[Statement]:
    """Whether a rehearsal was passed, once that is known. Statements cannot be changed: what was decided since is
    another statement, and names who decided."""
    found = source.verdict
    if source.told.ended_by is None or found.outcome not in ("passed", "not passed"):
        return
    markers = sorted({tag for doubt in found.doubts for tag in (*doubt.said, *doubt.not_said)})
    decided = {"extensions": {iri("xapi", "decided-by"): markers}} if markers else {}
    basis = ",".join(f"{doubt.step}={doubt.settled}" for doubt in found.doubts) if markers else "program"
    yield _passed(source, found.outcome == "passed", decided, basis)


def _passed(source: Source, passed: bool, more: Mapping[str, Any], basis: str) -> Statement:
    """Statements cannot be changed, so one on another `basis` is another statement."""
    assert source.told.ended_by is not None  # the caller has asked
    result = {"success": passed, "duration": iso_duration(source.told.took_ms), **more}
    verb = "passed" if passed else "failed"
    return _statement(source, source.told.ended_by, verb, _procedure(source), result, basis)


def _remarks(source: Source) -> Iterator[Statement]:
    """Educators' remarks, and their decisions. Who made them is again a tag under the key that signed it."""
    procedure, last = source.told.procedure, len(source.record.entries) - 1
    titles = {step.id: step.title for step in procedure.all_steps()}
    for saved in source.marks:
        decided = [(step, f"decided: {decision}", "decision") for step, decision in saved.marks.decisions.items()]
        remarks = [(step, text, "") for step, text in saved.marks.texts]
        for step, text, kind in [*remarks, *decided]:
            thing = _procedure(source)
            if step:
                definition = _definition(source, titles.get(step, step), "cmi.interaction")
                thing = {"objectType": "Activity", "id": iri("procedures", procedure.id, "steps", step)}
                thing["definition"] = definition | {"interactionType": "performance"}
            more = f"{saved.marks.marker}/{saved.signer}/{saved.revision}/{step}" + (f"/{kind}" if kind else "")
            made = _statement(source, last, "commented", thing, {"response": text}, more)
            account = {"homePage": iri("signers", saved.signer), "name": saved.marks.marker}
            yield made | {"actor": {"objectType": "Agent", "account": account}, "timestamp": saved.utc}


def _answered(source: Source, done: Confirmed) -> Statement:
    step = source.told.procedure.step(done.step)
    activity = iri("procedures", source.told.procedure.id, "steps", step.id)
    result: dict[str, Any] = {"duration": iso_duration(done.took_ms), "completion": not done.left_out}
    if not done.left_out:
        result["response"] = "[,]".join(f"{part}[.]{said}" for part, said in _parts_said(step, done).items())
    result["extensions"] = {
        iri("xapi", "tries"): done.tries + 1,
        iri("xapi", "given-by"): done.by,
        **({iri("xapi", "engine"): done.engine} if done.engine else {}),
        **({iri("xapi", "note"): done.note} if done.note else {}),
    }
    definition = _definition(source, step.title, "cmi.interaction") | {
        "description": _words(source, step.say),
        "interactionType": "performance",
        "steps": [{"id": part, "description": _words(source, words)} for part, words in _parts(step).items()],
    }
    thing = {"objectType": "Activity", "id": activity, "definition": definition}
    return _statement(source, done.n, "skipped" if done.left_out else "answered", thing, result, step.id)


def _parts(step: Step) -> dict[str, str]:
    """What a step asks, by id: its items, or itself."""
    return {item.id: item.say for item in step.asked_apart} or {step.id: step.say}


def _parts_said(step: Step, done: Confirmed) -> dict[str, str]:
    if step.asked_apart:
        answers = {phrase: item.id for item in step.asked_apart for phrase in (*item.agrees, *item.differs)}
        return {answers[phrase]: phrase for phrase in done.phrases if phrase in answers}
    return {step.id: done.value or (done.phrases[-1] if done.phrases else "")}


def _order(source: Source) -> dict[str, Any]:
    """The order of the steps as a task of its own, so that it can be analysed."""
    procedure = source.told.procedure
    definition = _definition(source, f"{procedure.title}: order of the steps", "cmi.interaction") | {
        "interactionType": "sequencing",
        "choices": [{"id": step.id, "description": _words(source, step.title)} for step in procedure.all_steps()],
    }
    return {"objectType": "Activity", "id": iri("procedures", procedure.id, "order"), "definition": definition}


def _ordered(source: Source) -> dict[str, Any]:
    steps = list(dict.fromkeys(done.step for done in source.told.confirmed))
    return {"completion": _complete(source)} | ({"response": "[,]".join(steps)} if steps else {})


def _procedure(source: Source) -> dict[str, Any]:
    procedure = source.told.procedure
    definition = _definition(source, procedure.title, "simulation" if source.rehearsal else "performance")
    definition["description"] = _words(source, procedure.summary)
    return {"objectType": "Activity", "id": iri("procedures", procedure.id), "definition": definition}


def _definition(source: Source, name: str, kind: str) -> dict[str, Any]:
    return {"name": _words(source, name), "type": f"{_ADL}activities/{kind}"}


def _words(source: Source, text: str) -> dict[str, str]:
    return {source.told.procedure.language: text}


def _statement(
    source: Source,
    n: int,
    verb: str,
    thing: Mapping[str, Any],
    result: Mapping[str, Any] | None = None,
    more: str = "",
) -> Statement:
    """A statement about entry `n`. `more` tells two of one verb apart. While the record's key is unknown here, it is
    another one, which says so: a statement cannot be changed once the key is known."""
    procedure = source.told.procedure
    context: dict[str, Any] = {
        "registration": str(source.session),
        "platform": source.program,
        "revision": procedure.version,
        "language": procedure.language,
        "extensions": {
            iri("xapi", "entry"): n,
            iri("xapi", "mode"): source.told.mode,
            iri("xapi", "procedure-sha256"): str(source.opened.body["procedure_sha256"]),
            **({iri("xapi", "made-with"): source.stranger} if source.stranger else {}),
        },
    }
    if thing["id"] != iri("procedures", procedure.id):
        context["contextActivities"] = {"parent": [{"objectType": "Activity", "id": iri("procedures", procedure.id)}]}
    made: Statement = {
        "id": str(fixed_id(source.session, n, verb, *filter(None, (more, "" if source.trusted else source.made_with)))),
        "actor": actor(source),
        "verb": {"id": VERBS[verb], "display": {"en-US": verb}},
        "object": dict(thing),
    }
    if result is not None:
        made["result"] = dict(result)
    return made | {"context": context, "timestamp": source.entry(n).utc, "version": VERSION}
