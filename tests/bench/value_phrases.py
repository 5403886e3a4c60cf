"""Time to make the phrase set of a range, beside the bare cost of wording its numbers with num2words.

Run: python -m tests.bench.value_phrases
"""

import time
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import partial

from num2words import num2words

from companion.speech import calendar_words, numbers, value_phrases
from companion.speech.values import DateValue, NumberValue, TagValue, TimeValue, ValueSpec

_TODAY = date(2026, 1, 20)
_ROUNDS = 15
_SPECS: dict[str, ValueSpec] = {
    "1 to 100 units": NumberValue(type="number", unit="units", least=Decimal(1), most=Decimal(100)),
    "20 to 600 mg/dL": NumberValue(type="number", unit="mg/dL", least=Decimal(20), most=Decimal(600)),
    "0 to 10 mL by 0.01": NumberValue(type="number", unit="mL", least=Decimal(0), most=Decimal(10), by=Decimal("0.01")),
    "four weeks of days": DateValue(type="date", earliest=-28, latest=0),
    "a year of days": DateValue(type="date", earliest=-364, latest=0),
    "five years of months": DateValue(type="date", earliest=0, latest=1826, precision="month"),
    "times by 5 min": TimeValue(type="time"),
    "tags of 3 digits": TagValue(type="tag", digits=3),
}


def _forget() -> None:
    for cached in (
        value_phrases._phrases,
        numbers.say_number,
        numbers.natural_forms,
        numbers.digit_forms,
        numbers._cardinals,
        calendar_words.year_forms,
        calendar_words.time_forms,
    ):
        cached.cache_clear()


def _median_ms(work: Callable[[], object], before: Callable[[], None] = lambda: None) -> float:
    times = []
    for _ in range(_ROUNDS):
        before()
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return sorted(times)[_ROUNDS // 2] * 1000


def main() -> None:
    baseline = _median_ms(lambda: [num2words(n) for n in range(1, 101)])
    print(f"baseline: num2words of 1 to 100 in {baseline:.2f} ms; medians of {_ROUNDS} runs")
    print(f"{'range':<22}{'phrases':>8}{'cold ms':>9}{'x base':>8}{'again ms':>10}")
    for name, spec in _SPECS.items():
        make = partial(value_phrases.phrases_for, spec, _TODAY)
        count = len(make())
        cold = _median_ms(make, _forget)
        again = _median_ms(make)
        print(f"{name:<22}{count:>8}{cold:>9.2f}{cold / baseline:>8.1f}{again:>10.3f}")


if __name__ == "__main__":
    main()
