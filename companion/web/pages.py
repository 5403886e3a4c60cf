"""Templates and the small files that pages load."""

from functools import cache
from pathlib import Path

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response

from companion.web.inside import inside

_ASSETS = Path(__file__).with_name("assets")
_TYPES = {
    ".css": "text/css",
    ".js": "text/javascript",
    ".svg": "image/svg+xml",
}


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("companion.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def page(template: str, status: int = 200, **values: object) -> HTMLResponse:
    """A page from a file of `templates/`. Everything filled in is escaped; a name left out is an error. A link of a
    template is filled in by `inside`."""
    return HTMLResponse(_environment().get_template(template).render(values, inside=inside), status)


def asset(request: Request) -> Response:
    """A file of `assets/`, by its bare name. What is not there by that very name is not found."""
    known = {path.name: path for path in _ASSETS.iterdir() if path.suffix in _TYPES}
    path = known.get(request.path_params["name"])
    if path is None:
        return PlainTextResponse("Not found.\n", 404)
    return Response(path.read_bytes(), media_type=_TYPES[path.suffix])
