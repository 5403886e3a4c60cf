"""Who may come in: one-time tokens swapped for a path that nobody can foresee and a cookie that holds for it alone."""

import hashlib
import secrets
import threading
from collections.abc import Iterable

_OPEN = 8
"""Tokens that can wait unused; a new one beyond that makes the oldest void."""


class Door:
    """Tokens are given out in the address a page is opened with, and each opens once. Kept as hashes only."""

    def __init__(self) -> None:
        self.root = f"/{secrets.token_urlsafe(32)}"
        """Everything lies under it."""
        self._lock = threading.Lock()
        self._tokens: dict[str, None] = {}
        self._cookies: set[str] = set()

    def new_token(self) -> str:
        """A token of 256 random bits for the fragment of an address."""
        token = secrets.token_urlsafe(32)
        with self._lock:
            self._tokens[_digest(token)] = None
            while len(self._tokens) > _OPEN:
                del self._tokens[next(iter(self._tokens))]
        return token

    def enter(self, token: str) -> str | None:
        """The cookie for a token that has not been used, or None."""
        digest = _digest(token)
        cookie = secrets.token_urlsafe(32)
        with self._lock:
            if digest not in self._tokens:
                return None
            del self._tokens[digest]
            self._cookies.add(_digest(cookie))
        return cookie

    def opens(self, path: str, cookies: Iterable[str]) -> bool:
        """Whether `path` lies behind the door and one of the cookies was given out here: either alone opens nothing."""
        first = "/" + path.removeprefix("/").partition("/")[0]
        if _digest(first) != _digest(self.root):
            return False
        digests = [_digest(cookie) for cookie in cookies]
        with self._lock:
            return any(digest in self._cookies for digest in digests)


def _digest(secret: str) -> str:
    """Looking a hash up tells nothing by the time it takes."""
    return hashlib.sha256(secret.encode("utf-8", "surrogateescape")).hexdigest()
