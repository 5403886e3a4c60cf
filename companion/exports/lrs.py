"""Sending statements to a learning record store, only when asked.

Sending again is harmless: the ids are fixed, and a store never changes a statement it has (xAPI 1.0.3, part three,
2.1.2). It may answer a repeated one with 200, 204 or 409; after a 409 each is looked up, compared and sent alone.
"""

import base64
import ipaddress
import json
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from http.client import HTTPException
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlencode, urlsplit
from urllib.request import HTTPRedirectHandler, OpenerDirector, ProxyHandler, Request, build_opener

from companion.errors import UsageError
from companion.exports.exact_json import exact_json
from companion.exports.xapi import VERSION, Statement

_SECONDS = 30
"""Of silence; and so many times as long an answer may take in all."""
_TIMES = 4
_LARGEST = 8 * 1024 * 1024
"""Bytes of an answer; the ids of a batch come to a few thousand."""
_BATCH = 200


@dataclass(frozen=True)
class Sent:
    """How many statements the store took, and how many it answered that it had before."""

    taken: int
    known: int


class _NoRedirect(HTTPRedirectHandler):
    """A redirect could carry the record and the password elsewhere."""

    def redirect_request(self, *args: Any, **kwargs: Any) -> None:
        return None


class Store:
    """A learning record store at `endpoint`, the address that `/statements` is added to.

    `key` and `secret` are sent as HTTP Basic authentication where given. Raises UsageError for an address that would
    send the record through the open net.
    """

    def __init__(self, endpoint: str, key: str = "", secret: str = "") -> None:
        parts = urlsplit(endpoint)
        local = _is_here(parts.hostname or "")
        if parts.scheme != "https" and not (parts.scheme == "http" and local):
            raise UsageError(f"{endpoint}: accepted is an https address, or http on this machine, of a record store")
        if parts.username or parts.password or parts.query or parts.fragment:
            raise UsageError(f"{parts.hostname}: accepted is a plain address, without a password, `?` or `#` in it")
        self._url = endpoint.rstrip("/").removesuffix("/statements") + "/statements"
        handlers = [ProxyHandler({})] if local else []
        self._opener: OpenerDirector = build_opener(_NoRedirect, *handlers)
        self._headers = {"X-Experience-API-Version": VERSION, "Content-Type": "application/json"}
        if key or secret:
            basic = base64.b64encode(f"{key}:{secret}".encode()).decode("ascii")
            self._headers["Authorization"] = f"Basic {basic}"

    def send(self, statements: Sequence[Statement]) -> Sent:
        """Send them all. Raises UsageError when the store refuses, cannot be reached, or holds something else under
        one of the ids."""
        sent = [self._post(statements[start : start + _BATCH]) for start in range(0, len(statements), _BATCH)]
        return Sent(sum(each.taken for each in sent), sum(each.known for each in sent))

    def _post(self, statements: Sequence[Statement]) -> Sent:
        status, body = self._ask("POST", "", exact_json(statements).encode("utf-8"))
        if status == 204 or (status == 200 and _names(body, statements)):
            return Sent(len(statements), 0)
        if status == 200:
            raise UsageError(
                f"{self._url}: answered 200 without the ids of the statements (xAPI 1.0.3, part three, 2.1.2); "
                "accepted: a learning record store"
            )
        if status != 409:
            raise self._refused(status, body)
        missing = [statement for statement in statements if not self._has(statement)]
        if len(missing) == len(statements):
            raise self._refused(status, body)
        again = self._post(missing) if missing else Sent(0, 0)
        return Sent(again.taken, again.known + len(statements) - len(missing))

    def _has(self, statement: Statement) -> bool:
        status, body = self._ask("GET", "?" + urlencode({"statementId": statement["id"], "format": "exact"}), None)
        if status == 404:
            return False
        if status != 200:
            raise self._refused(status, body)
        try:
            there = json.loads(body)
        except (ValueError, RecursionError) as fault:
            raise UsageError(f"{self._url}: its answer is no JSON; accepted: a learning record store") from fault
        if not isinstance(there, dict) or _essence(there) != _essence(json.loads(exact_json(statement))):
            raise UsageError(
                f"{self._url}: holds another statement under the id {statement['id']}; it was not changed, and "
                "nothing more was sent"
            )
        return True

    def _ask(self, method: str, query: str, data: bytes | None) -> tuple[int, bytes]:
        request = Request(self._url + query, data=data, headers=self._headers, method=method)
        got: list[tuple[int, bytes] | Exception] = []

        def ask() -> None:
            try:
                with self._opener.open(request, timeout=_SECONDS) as answer:
                    got.append((int(answer.status), answer.read(_LARGEST + 1)))
            except HTTPError as error:
                with error:
                    got.append((error.code, error.read(_LARGEST + 1)))
            except Exception as error:
                got.append(error)

        # A time for the whole: one byte every few seconds is never silence
        asking = threading.Thread(target=ask, name="record store", daemon=True)
        asking.start()
        asking.join(_SECONDS * _TIMES)
        match got:
            case [(status, body)] if len(body) <= _LARGEST:
                return status, body
            case [(status, _)]:
                raise UsageError(f"{self._url}: its answer is endless; accepted: a learning record store")
            case [URLError() | HTTPException() | OSError() | ValueError() as error]:
                why = error.reason if isinstance(error, URLError) else error
                raise UsageError(
                    f"{self._url}: cannot be reached ({why}); nothing is lost, send again later"
                ) from error
            case [Exception() as error]:
                raise error
        late = f"has not finished its answer after {_SECONDS * _TIMES} s"
        raise UsageError(f"{self._url}: {late}; nothing is lost, send again later")

    def _refused(self, status: int, body: bytes) -> UsageError:
        said = " ".join(body.decode("utf-8", "replace").split())[:200]
        hint = {
            401: "; give its key and secret in COMPANION_LRS_KEY and COMPANION_LRS_SECRET",
            403: "; this key may not write statements",
        }.get(status, "")
        return UsageError(f"{self._url}: answered {status}{f' ({said})' if said else ''}{hint}")


def _names(body: bytes, statements: Sequence[Statement]) -> bool:
    """Whether an answer gives the ids of the statements, as a store does that has taken them."""
    try:
        ids = json.loads(body)
    except (ValueError, RecursionError):
        return False
    return isinstance(ids, list) and ids == [each["id"] for each in statements]


def _is_here(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _essence(statement: Mapping[str, Any]) -> dict[str, Any]:
    """What two equal statements share whatever the store adds or rewrites (part two, statement comparison):
    definitions, display names and the way a time is written may differ."""
    context = statement.get("context", {})
    return {
        "actor": statement.get("actor", {}).get("account"),
        "verb": statement.get("verb", {}).get("id"),
        "object": statement.get("object", {}).get("id"),
        "result": statement.get("result"),
        "registration": context.get("registration"),
        "extensions": context.get("extensions"),
        "timestamp": _time(statement.get("timestamp")),
    }


def _time(written: object) -> datetime | None:
    try:
        return datetime.fromisoformat(str(written))
    except ValueError:
        return None
