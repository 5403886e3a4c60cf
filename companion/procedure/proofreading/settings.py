"""Settings hold what they say they hold."""

from collections.abc import Iterator
from decimal import Decimal

from companion.procedure.due import amount_of
from companion.procedure.model import Procedure, Setting
from companion.procedure.proofreading.placed import Fault, in_words


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Local policy's value is judged like the file's own. Limits on a duration are in seconds."""
    for index, setting in enumerate(procedure.settings):
        path = ("settings", index)
        if setting.choices and setting.value not in setting.choices:
            message = f"the value is `{setting.value}`; accepted: {in_words(list(setting.choices))}"
            yield Fault((*path, "value"), message)
        if setting.rehearsed is not None and setting.rehearsed not in setting.choices:
            accepted = in_words(list(setting.choices)) if setting.choices else "only with `choices`"
            yield Fault((*path, "rehearsed"), f"`{setting.rehearsed}` is no choice of it; accepted: {accepted}")
        if setting.least is None and setting.most is None:
            continue
        if setting.least is not None and setting.most is not None and setting.most < setting.least:
            yield Fault((*path, "most"), f"the range runs backwards: least {setting.least}, most {setting.most}")
            continue
        amount = amount_of(setting.value)
        if amount is None or not _within(setting, amount):
            yield Fault((*path, "value"), f"the value is `{setting.value}`; accepted: {_range(setting)}")


def _within(setting: Setting, amount: Decimal) -> bool:
    too_low = setting.least is not None and amount < setting.least
    return not too_low and not (setting.most is not None and amount > setting.most)


def _range(setting: Setting) -> str:
    ends = []
    if setting.least is not None:
        ends.append(f"from {setting.least}")
    if setting.most is not None:
        ends.append(f"to {setting.most}" if ends else f"up to {setting.most}")
    return " ".join(ends) + " (a duration such as `30 s` counts in seconds)"
