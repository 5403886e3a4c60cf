"""Random orders, sound and spoilt, each checked by integer arithmetic of its own.

`run` raises AssertionError at the first result that is wrong by anything, and lets any exception through that is not
one of ours.
"""

from collections import Counter
from dataclasses import fields, is_dataclass
from fractions import Fraction
from random import Random

from companion.dose.request import Request, answer
from companion.errors import CompanionError

MASS = {"mcg": 1, "mg": 1000, "g": 1_000_000}
STRENGTHS = (40, 100, 200, 300, 500)
ORDINARY = {"1": "0.01", "3": "0.1", "5": "0.2", "10": "0.2"}
"""RMIT: usual marks in mL by capacity in mL."""
INSULIN = ((100, "0.3", "0.5"), (100, "0.3", "1"), (100, "0.5", "1"), (100, "1", "1"), (100, "1", "2"), (40, "1", "1"))
"""ISO 8537, table 1: units/mL marked for, capacity in mL, scale interval in units."""
SPOILS = " .,-/0123456789mgLunitsUhkµ%:½\n\t"
NO_FLOAT = (int, str, bool, type(None), Fraction)


def run(count: int, seed: int) -> Counter[str]:
    """Try `count` orders; how many came out which way."""
    chance = Random(seed)
    kinds = (insulin, ordinary, infusion, spoilt)
    return Counter(chance.choice(kinds)(chance) for _ in range(count))


def figure(chance: Random, most: int, places: int) -> tuple[Fraction, str]:
    """A number above zero, and as it should be written."""
    whole = chance.randint(1, most * 10**places)
    head, tail = divmod(whole, 10**places)
    digits = str(tail).zfill(places).rstrip("0") if places else ""
    return Fraction(whole, 10**places), f"{head:,}" + (f".{digits}" if digits else "")


def insulin(chance: Random) -> str:
    """Units drawn into an insulin syringe, marked for the same insulin or for another."""
    marked, capacity, interval = chance.choice(INSULIN)
    strength = marked if chance.random() < 0.8 else chance.choice(STRENGTHS)
    dose, text = figure(chance, 110, chance.choice((0, 0, 1)))
    unit = "unit" if dose == 1 else "units"
    device = f"{capacity} mL U-{marked} insulin syringe marked every {interval} units"
    try:
        found = answer(Request(order=f"{text} {unit}", strength=f"{strength} units/mL", device=device))
    except CompanionError as refused:
        assert "tenth" in str(refused), refused
        return "refused: absurd"
    volume, measured = found.volume, found.measured
    assert volume is not None
    assert measured is not None
    no_float(found)
    assert volume.exact.value == dose / strength
    assert Fraction(volume.rounded) == nearest(dose / strength, 4)
    fits = (
        strength == marked
        and dose <= Fraction(capacity) * marked
        and dose % Fraction(interval) == 0
        and dose >= 2 * Fraction(interval)
    )
    assert (measured.marks is not None) == fits == (not measured.faults), (found, device)
    if measured.marks is None:
        return "insulin: cannot be measured"
    assert Fraction(measured.marks) == dose
    assert measured.written() == f"{text} {unit}"
    return "insulin: measured"


def ordinary(chance: Random) -> str:
    """A mass of a medicine drawn into an ordinary syringe."""
    unit, other = chance.choice(list(MASS)), chance.choice(list(MASS))
    dose, dose_text = figure(chance, 500, chance.choice((0, 1, 2)))
    amount, amount_text = figure(chance, 500, chance.choice((0, 1)))
    in_ml, ml_text = figure(chance, 10, chance.choice((0, 1)))
    size = chance.choice(list(ORDINARY))
    request = Request(f"{dose_text} {unit}", f"{amount_text} {other}/{ml_text} mL", f"{size} mL syringe")
    exact = dose * MASS[unit] * in_ml / (amount * MASS[other])
    try:
        found = answer(request)
    except CompanionError as refused:
        assert any(words in str(refused) for words in ("ten times", "tenth", "nothing when rounded")), refused
        return "refused: absurd"
    volume, measured = found.volume, found.measured
    assert volume is not None
    assert measured is not None
    no_float(found)
    assert volume.exact.value == exact
    rounded = nearest(exact, 2 if exact < 1 else 1)
    assert Fraction(volume.rounded) == rounded
    capacity = Fraction(size)
    # ISO 7886-1: 1.5 % of capacity and 2 % of the volume below half capacity, 5 % of the volume from half on
    out = rounded * 5 / 100 if rounded * 2 >= capacity else capacity * 15 / 1000 + rounded * 2 / 100
    fits = rounded <= capacity and rounded % Fraction(ORDINARY[size]) == 0 and out * 5 <= rounded
    assert (measured.marks is not None) == fits == (not measured.faults), found
    if measured.marks is None:
        return "ordinary: cannot be measured"
    assert Fraction(measured.marks) == rounded
    return "ordinary: measured"


def infusion(chance: Random) -> str:
    """A volume over a time through a giving set."""
    volume, text = figure(chance, 2000, 0)
    time, hours = figure(chance, 24, chance.choice((0, 1)))
    factor = chance.choice((10, 15, 20, 60))
    try:
        found = answer(Request(infuse=f"{text} mL", over=f"{hours} h", drop_factor=str(factor)))
    except CompanionError as refused:
        assert any(words in str(refused) for words in ("ten times", "tenth", "nothing when rounded")), refused
        return "refused: absurd"
    no_float(found)
    flow, drops = found.results
    assert Fraction(flow.rounded) == nearest(volume / time, 1)
    assert Fraction(drops.rounded) == nearest(volume * factor / (time * 60), 0)
    return "infusion: worked out"


def spoilt(chance: Random) -> str:
    """A sound request with one to three characters lost, changed or added somewhere."""
    texts = ["14 units", "100 units/mL", "1 mL syringe", "65 kg", "1,500 mL", "6 h"]
    at = chance.randrange(len(texts))
    for _ in range(chance.randint(1, 3)):
        text = texts[at]
        place = chance.randrange(len(text) + 1)
        texts[at] = text[:place] + chance.choice(("", chance.choice(SPOILS))) + text[place + chance.randrange(2) :]
    order, strength, device, weight, infuse, over = texts
    try:
        if at < 3:
            found = answer(Request(order=order, strength=strength, device=device))
        elif at == 3:
            found = answer(Request(order="2 mg/kg", weight=weight))
        else:
            found = answer(Request(infuse=infuse, over=over))
    except CompanionError as refused:
        sentence = str(refused)
        assert sentence, texts
        assert "\n" not in sentence, texts
        return "refused: spoilt"
    no_float(found)
    return "spoilt, yet sound"


def nearest(exact: Fraction, places: int) -> Fraction:
    """Rounded half up by whole-number division, as a hand would do it."""
    tens = 10**places
    whole, rest = divmod(exact.numerator * tens, exact.denominator)
    return Fraction(whole + (1 if 2 * rest >= exact.denominator else 0), tens)


def no_float(found: object) -> None:
    """Raises AssertionError where a binary float is anywhere inside."""
    assert not isinstance(found, float), found
    if isinstance(found, NO_FLOAT):
        return
    if isinstance(found, tuple):
        for each in found:
            no_float(each)
    elif is_dataclass(found):
        for field in fields(found):
            no_float(getattr(found, field.name))
