"""`companion dose`: one calculation with its working, its cautions, and whether the syringe can measure it."""

import json
from decimal import Decimal
from typing import Annotated, Any

import typer

from companion.cli.terminal import tell
from companion.dose.request import Answer, Request, answer
from companion.dose.working import Worked
from companion.speech.numbers import written

CANNOT_MEASURE = 2
"""Exit code where the calculation stands but the device cannot measure its result."""


def dose(
    order: Annotated[str | None, typer.Option(help='Dose, such as "14 units", "2.5 mg/kg", "850 units/h".')] = None,
    strength: Annotated[str | None, typer.Option(help='On the label, such as "100 units/mL", "160 mg/5 mL".')] = None,
    device: Annotated[
        str | None, typer.Option(help='Such as "1 mL syringe", "0.5 mL U-100 insulin syringe marked every 1 unit".')
    ] = None,
    weight: Annotated[
        str | None, typer.Option(help='Body mass for an order per kg, such as "65 kg", "143 lb".')
    ] = None,
    parts: Annotated[str | None, typer.Option(help="Equal doses a day for an order per day, such as 4.")] = None,
    infuse: Annotated[str | None, typer.Option(help='Volume to infuse, such as "1500 mL".')] = None,
    over: Annotated[str | None, typer.Option(help='Time it runs over, such as "6 h", "30 min".')] = None,
    rate: Annotated[str | None, typer.Option(help='Flow, such as "150 mL/h".')] = None,
    drops: Annotated[str | None, typer.Option(help='Drops counted, such as "42 drops/min".')] = None,
    drop_factor: Annotated[str | None, typer.Option(help="Drops per mL of the giving set, such as 20.")] = None,
    convert: Annotated[str | None, typer.Option(help='Quantity to convert, such as "143 lb", "70 mg/dL".')] = None,
    to: Annotated[str | None, typer.Option(help="Unit to convert to, such as kg, mmol/L.")] = None,
    usual: Annotated[str | None, typer.Option(help='What is usual for this order, "4 units to 60 units".')] = None,
    rounding: Annotated[
        str | None, typer.Option(help="usual, whole, tenths, hundredths, thousandths, ten-thousandths.")
    ] = None,
    pounds: Annotated[str, typer.Option(help="Pounds to kilograms: 2.2 (divided by) or exact (0.45359237).")] = "2.2",
    as_json: Annotated[bool, typer.Option("--json", help="One JSON object, figures as decimal strings.")] = False,
) -> None:
    """Work out a volume, a dose, a flow, drops a minute or a conversion, and show the working.

    Exit code 0: worked out, and measurable where a device is named. 2: worked out, but the device cannot measure it.
    1: something given cannot be worked with; the message says what.
    """
    request = Request(
        order, strength, device, weight, parts, infuse, over, rate, drops, drop_factor, convert, to, usual
    )
    found = answer(request, rounding, pounds)
    tell(json.dumps(as_object(found), ensure_ascii=False, indent=2) if as_json else as_text(found))
    if found.measured is not None and found.measured.faults:
        raise typer.Exit(CANNOT_MEASURE)


def as_object(found: Answer) -> dict[str, Any]:
    """The answer as JSON values. `volume_mL` and `marks` are null where there is none."""
    measured, device = found.measured, found.device
    return {
        "results": [_result(worked) for worked in found.results],
        "volume_mL": None if found.volume is None else _plain(found.volume.rounded),
        "device": None if device is None else f"{device.name()}, {device.marks_words()}",
        "marks": None if measured is None or measured.marks is None else measured.written(),
        "cannot_measure": [] if measured is None else list(measured.faults),
        "working": _working(found),
        "cautions": _cautions(found),
    }


def as_text(found: Answer) -> str:
    """The answer for people: results, the mark to draw to, working, cautions."""
    lines = [worked.written() for worked in found.results]
    if found.measured is not None and found.device is not None:
        if found.measured.faults:
            lines += [f"Cannot be measured. {fault}" for fault in found.measured.faults]
        else:
            lines.append(
                f"Draw to {found.measured.written()} on a {found.device.name()}, {found.device.marks_words()}."
            )
    lines += ["", "Working:", *(f"  {line}" for line in _working(found))]
    if cautions := _cautions(found):
        lines += ["", "Cautions:", *(f"  {line}" for line in cautions)]
    return "\n".join([*lines, "", "For training; the order, the label, local policy and a second person decide."])


def _result(worked: Worked) -> dict[str, str]:
    return {
        "formula": worked.formula,
        "value": _plain(worked.rounded),
        "unit": worked.unit,
        "unrounded": _plain(worked.unrounded),
        "rounding": worked.rounding,
    }


def _plain(value: Decimal) -> str:
    return written(value).replace(",", "")


def _working(found: Answer) -> list[str]:
    return [line for worked in found.results for line in worked.working]


def _cautions(found: Answer) -> list[str]:
    measured = () if found.measured is None else found.measured.cautions
    return list(dict.fromkeys([line for worked in found.results for line in worked.cautions] + list(measured)))
