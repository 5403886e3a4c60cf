"""What a step or an answer hangs on is known by then, and can be one way and another."""

from collections.abc import Iterator

from companion.procedure.due import amount_of, holds
from companion.procedure.kinds.observation import ObservationStep
from companion.procedure.kinds.worked_out import CheckStep
from companion.procedure.model import Procedure, Setting
from companion.procedure.proofreading.placed import Fault, Path, Site, in_words, sites
from companion.procedure.proofreading.references import first_entry
from companion.procedure.step_parts import Unless, When
from companion.procedure.steps import Step
from companion.speech.values import ChoiceValue, NumberValue


def faults(procedure: Procedure) -> Iterator[Fault]:
    """`when` and `unless`."""
    for site in sites(procedure):
        if site.step.when is not None:
            yield from _when(procedure, site, site.step.when)
        if isinstance(site.step, ObservationStep):
            for index, unless in enumerate(site.step.unless):
                yield from _unless(procedure, site, site.step, unless, ("unless", index))
        if isinstance(site.step, CheckStep):
            yield from _check(procedure, site, site.step)
    if procedure.steps[-1].when is not None:
        message = "the last main step is always due, since it closes the record; take `when` out"
        yield Fault(("steps", len(procedure.steps) - 1, "when"), message)
    if procedure.medicine is not None:
        for key in ("dose", "given"):
            name = getattr(procedure.medicine, key)
            if any(step.id == name and step.when is not None for step in procedure.steps):
                yield Fault(("medicine", key), f"the step `{name}` is not always due; accepted: one without `when`")


def asked_with(procedure: Procedure, source: Step, step: Step) -> bool:
    """Whether `source` is surely asked wherever `step` is: by the same `when`, or since `step` hangs on it."""
    steps = {each.id: each for each in procedure.all_steps()}
    seen: set[str] = set()
    hangs_on: Step | None = step
    while hangs_on is not None and hangs_on.id not in seen:
        if source.when in (None, hangs_on.when) or hangs_on.id == source.id:
            return True
        seen.add(hangs_on.id)
        hangs_on = steps.get(hangs_on.when.of) if hangs_on.when is not None else None
    return False


def earlier(procedure: Procedure, source: Site, site: Site) -> bool:
    """Whether `source` comes before `site`, whichever way that was reached."""
    if source.branch is site.branch:
        return source.index < site.index
    entry = first_entry(procedure, site.branch) if site.branch is not None else None
    return source.branch is None and entry is not None and source.index < entry


def _when(procedure: Procedure, site: Site, when: When) -> Iterator[Fault]:
    setting = next((each for each in procedure.settings if each.id == when.of), None)
    if setting is not None:
        yield from _of_setting(site, setting, when)
        return
    spec = _known(procedure, site, when.of)
    if spec is None:
        message = f"`of` names `{when.of}`, which is no setting and gives no number or choice before this step"
        yield site.fault(f"{message}; accepted: a setting, or an earlier number or choice", "when", "of")
        return
    yield from _limits(site, spec, when, ("when",))
    if isinstance(spec, ChoiceValue) and set(spec.choices) <= set(when.is_):
        yield site.fault("it always holds; accepted: some of the choices, or no `when`", "when", "is")


def _of_setting(site: Site, setting: Setting, when: When) -> Iterator[Fault]:
    limited = when.below is not None or when.above is not None
    if limited == bool(when.is_):
        yield site.fault("a `when` has either `is`, or `below`, `above` or both", "when")
    elif limited and amount_of(setting.value) is None:
        message = f"`{setting.id}` is `{setting.value}`, which is no figure; accepted: `is`"
        yield site.fault(message, "when", "below" if when.below is not None else "above")
    elif not limited and not setting.choices:
        message = f"the setting `{setting.id}` has no `choices`, so a slip in local policy would pass over the step"
        yield site.fault(f"{message}; accepted: a setting with `choices`", "when", "of")
    elif not limited:
        for index, name in enumerate(when.is_):
            if name not in setting.choices:
                message = f"`{name}` is no choice of `{setting.id}`; accepted: {in_words(list(setting.choices))}"
                yield site.fault(message, "when", "is", index)
        if all(holds(when, name) for name in setting.choices):
            yield site.fault("it always holds; accepted: some of the choices, or no `when`", "when", "is")


def _unless(procedure: Procedure, site: Site, step: ObservationStep, unless: Unless, where: Path) -> Iterator[Fault]:
    """The value is a number or a choice given by then, and something of it speaks against the answer."""
    spec = _known(procedure, site, unless.of)
    if spec is None:
        message = f"`of` names `{unless.of}`, which gives no number or choice before this step"
        yield site.fault(f"{message}; accepted: an earlier number or choice", *where, "of")
        return
    yield from _limits(site, spec, unless, where)
    known = [*step.normal, *(phrase for settled in step.settled for phrase in settled.replies)]
    for index, phrase in enumerate(unless.replies):
        if phrase not in known:
            message = f"`{phrase}` is no answer that confirms this step; accepted: {in_words(known)}"
            yield site.fault(message, *where, "replies", index)


def _limits(site: Site, spec: NumberValue | ChoiceValue, condition: When | Unless, where: Path) -> Iterator[Fault]:
    """Limits for a number, choices that are there for a choice, and never both."""
    limited = condition.below is not None or condition.above is not None
    if isinstance(spec, NumberValue) and (condition.is_ or not limited):
        yield site.fault("it never holds; accepted for a number: `below`, `above` or both", *where)
    if isinstance(spec, ChoiceValue):
        unknown = [name for name in condition.is_ if name not in spec.choices]
        if limited or unknown or not condition.is_:
            what = f"`{unknown[0]}` is no choice there" if unknown else "it never holds"
            yield site.fault(f"{what}; accepted: `is`, {in_words(list(spec.choices))}", *where)


def _known(procedure: Procedure, site: Site, name: str) -> NumberValue | ChoiceValue | None:
    """What kind of number or choice step `name` has given by `site`; None where it has given neither."""
    other = next((each for each in sites(procedure) if each.step.id == name), None)
    spec = other.step.stated if other is not None else None
    if other is None or not isinstance(spec, NumberValue | ChoiceValue) or not earlier(procedure, other, site):
        return None
    return spec


def _check(procedure: Procedure, site: Site, step: CheckStep) -> Iterator[Fault]:
    """What is checked is there, and whether it will be checked is known before it is sealed."""
    other = next((each for each in sites(procedure) if each.step.id == step.of), None)
    if other is None:
        return
    if not asked_with(procedure, other.step, step):
        yield site.fault(f"`of` names `{step.of}`, which is not always due; accepted: the same `when` for both", "of")
    if step.when is None or not other.step.worked_out:
        return
    name, settings = step.when.of, [setting.id for setting in procedure.settings]
    if name not in settings and _known(procedure, other, name) is None:
        message = f"`{name}` is not known when `{step.of}` is asked, so its figure might stay sealed"
        yield site.fault(f"{message}; accepted: a setting, or a value given before `{step.of}`", "when", "of")
