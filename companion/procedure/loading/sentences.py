"""pydantic's errors as plain sentences: what is wrong, then what is accepted."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from difflib import get_close_matches
from typing import Any

from pydantic_core import ErrorDetails

from companion.procedure.loading.model_keys import keys_at, tags_at

_SLUG = "lower-case words joined by hyphens, such as `draw-up`"
_PHRASE = "one to eight lower-case words, no figures and no punctuation, such as `gloves are on`"


def sentence(error: ErrorDetails, key: str) -> str:
    """One sentence for one error at `key`; the culprit first."""
    write = _WRITERS.get(error["type"])
    if write is None:
        return f"`{key}` is {_shown(error)}; accepted: {error['msg'].removeprefix('Input should be ')}"
    return write(error, key)


def _shown(error: ErrorDetails) -> str:
    given = error["input"]
    if isinstance(given, str):
        if not given.strip():
            return "nothing"
        return f"`{given if len(given) <= 60 else given[:57] + '...'}`"
    if isinstance(given, int | Decimal):
        return f"`{given}`"
    return "a list" if isinstance(given, list) else "a mapping"


def _context(error: ErrorDetails) -> Mapping[str, Any]:
    return error.get("ctx", {})


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(names)


def _missing(error: ErrorDetails, key: str) -> str:
    must, _ = keys_at(error["loc"][:-1])
    return f"the key `{key}` is missing; needed here: {_listed(must)}"


def _unknown_key(error: ErrorDetails, key: str) -> str:
    must, may = keys_at(error["loc"][:-1])
    near = get_close_matches(key, must + may, n=1)
    hint = f" (did you mean `{near[0]}`?)" if near else ""
    return f"the key `{key}` is not known{hint}; accepted here: {_listed(must + may)}"


def _literal(error: ErrorDetails, key: str) -> str:
    expected = str(_context(error).get("expected", "")).replace("'", "`")
    return f"`{key}` is {_shown(error)}; accepted: {expected}"


def _tag_missing(error: ErrorDetails, _: str) -> str:
    tag = str(_context(error)["discriminator"]).strip("'")
    accepted = ", ".join(f"`{name}`" for name in tags_at(error["loc"]))
    return f"the key `{tag}` is missing; accepted: {accepted}"


def _tag_unknown(error: ErrorDetails, _: str) -> str:
    context = _context(error)
    accepted = str(context["expected_tags"]).replace("'", "`")
    return f"`{str(context['discriminator']).strip(chr(39))}` is `{context['tag']}`; accepted: {accepted}"


def _pattern(error: ErrorDetails, key: str) -> str:
    pattern = str(_context(error)["pattern"])
    accepted = _SLUG if pattern.startswith("^[a-z]") else _PHRASE
    return f"`{key}` holds {_shown(error)}; accepted: {accepted}"


def _too_long_text(error: ErrorDetails, key: str) -> str:
    most, length = _context(error)["max_length"], len(str(error["input"]).strip())
    return f"`{key}` has {length:,} characters; accepted: at most {most:,}"


def _too_short_text(_: ErrorDetails, key: str) -> str:
    return f"`{key}` is empty; accepted: some text"


def _too_few(error: ErrorDetails, key: str) -> str:
    context = _context(error)
    return f"`{key}` has {context['actual_length']} entries; accepted: at least {context['min_length']}"


def _too_many(error: ErrorDetails, key: str) -> str:
    return f"`{key}` has too many entries; accepted: at most {_context(error)['max_length']}"


def _whole_number(error: ErrorDetails, key: str) -> str:
    return f"`{key}` is {_shown(error)}; accepted: a whole number"


def _number(error: ErrorDetails, key: str) -> str:
    return f"`{key}` is {_shown(error)}; accepted: a number such as `4` or `0.5`"


def _yes_no(error: ErrorDetails, key: str) -> str:
    return f"`{key}` is {_shown(error)}; accepted: true or false"


def _text(error: ErrorDetails, key: str) -> str:
    return f"`{key}` is {_shown(error)}; accepted: a text"


def _list(error: ErrorDetails, key: str) -> str:
    return f"`{key}` is {_shown(error)}; accepted: a list, each entry on a line of its own after `- `"


def _mapping(error: ErrorDetails, key: str) -> str:
    must, may = keys_at(error["loc"])
    keys = f" with the keys {_listed(must + may)}" if must else ""
    return f"{_shown(error)} stands at `{key or 'the top'}`; accepted: a mapping{keys}"


def _own(error: ErrorDetails, key: str) -> str:
    return f"`{key}`: {_context(error).get('error', error['msg'])}"


def _bound(word: str, name: str) -> Callable[[ErrorDetails, str], str]:
    def write(error: ErrorDetails, key: str) -> str:
        return f"`{key}` is {_shown(error)}; accepted: {word} {_context(error)[name]}"

    return write


_WRITERS: Mapping[str, Callable[[ErrorDetails, str], str]] = {
    "missing": _missing,
    "extra_forbidden": _unknown_key,
    "literal_error": _literal,
    "union_tag_not_found": _tag_missing,
    "union_tag_invalid": _tag_unknown,
    "string_pattern_mismatch": _pattern,
    "string_too_long": _too_long_text,
    "string_too_short": _too_short_text,
    "too_short": _too_few,
    "too_long": _too_many,
    "int_parsing": _whole_number,
    "int_from_float": _whole_number,
    "int_type": _whole_number,
    "int_parsing_size": _whole_number,
    "decimal_parsing": _number,
    "decimal_type": _number,
    "finite_number": _number,
    "bool_parsing": _yes_no,
    "bool_type": _yes_no,
    "string_type": _text,
    "tuple_type": _list,
    "list_type": _list,
    "model_type": _mapping,
    "model_attributes_type": _mapping,
    "dict_type": _mapping,
    "value_error": _own,
    "greater_than_equal": _bound("at least", "ge"),
    "greater_than": _bound("more than", "gt"),
    "less_than_equal": _bound("at most", "le"),
    "less_than": _bound("less than", "lt"),
}
