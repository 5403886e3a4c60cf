"""Links to what lies behind the door. A cookie alone must open nothing: browsers send it to every port of this machine,
so another server could be sent it. They send it only where its path fits, though, so everything lies under a path that
nobody can foresee, and the cookie holds for that path alone: whoever does not know the one is never sent the other."""

from contextvars import ContextVar

ROOT: ContextVar[str] = ContextVar("ROOT")
"""The path that everything lies under, while a request from inside is answered. Set by `Guard`."""


def inside(path: str) -> str:
    """The address, on this server, of what a route calls `path`; outside the door, the path itself."""
    return ROOT.get("") + path
