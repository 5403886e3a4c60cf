"""`companion site`: where the next injection under the skin goes, kept under a tag instead of a name."""

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from companion.cli.terminal import tell
from companion.clocks import RealClock
from companion.errors import UsageError
from companion.sites import (
    REASONS,
    ZONES,
    Fit,
    History,
    Noted,
    Reason,
    SiteSettings,
    Undone,
    Used,
    Zone,
    propose,
    read_place,
    reason_words,
    site_settings,
    zone_named,
)
from companion.sites.cautions import cautions
from companion.sites.drawing import body_map
from companion.sites.kept.books import Book, own_books
from companion.speech.numbers import say_digits

app = typer.Typer(no_args_is_help=True, help="Rotate injection sites: propose the next one, note where one went.")

Tag = Annotated[str, typer.Argument(metavar="TAG", help="The five digits that `companion site new` gave.")]
Where = Annotated[
    str, typer.Argument(metavar="PLACE", help="left-abdomen, left-abdomen/upper, or a spot: left-abdomen/upper-6-3.")
]
Day = Annotated[str | None, typer.Option(help="An earlier day, such as 2030-01-31; else today.")]
ZoneName = Annotated[str | None, typer.Option("--zone", help="left-abdomen, right-thigh, left-upper-arm ...")]
Svg = Annotated[Path | None, typer.Option(help="Draw a body map into this file.")]
Distance = Annotated[str, typer.Option(help="Least distance from another spot, in cm.")]
Navel = Annotated[str, typer.Option(help="Least distance from the navel, in cm.")]
Rest = Annotated[str, typer.Option(help="Days before a spot is used again.")]

_SHOWN = 10


@app.callback()
def _group() -> None:
    """Rotate injection sites: propose the next one, note where one went. Nothing about a person is kept."""


@app.command()
def new() -> None:
    """Begin a history. Write the tag on the ward's own paper: nothing else ties it to a person."""
    tag = own_books(RealClock()).new()
    tell(tag)
    tell(f"In words: {say_digits(tag)}. Write it on the ward's own paper, and no name into this program.")


@app.command("next")
def next_(
    tag: Tag,
    zone: ZoneName = None,
    svg: Svg = None,
    site_distance: Distance = "1",
    navel_distance: Navel = "5",
    site_rest: Rest = "28",
) -> None:
    """Propose the next spot in turn. Exit code 1 and the reason where none is left."""
    settings = _settings(site_distance, navel_distance, site_rest)
    books = own_books(RealClock())
    book, wanted = books.read(tag), _zone(zone)
    _warn(book)
    if svg is not None:
        _draw(svg, body_map(book.history, books.today(), settings, wanted))
    found = propose(book.history, books.today(), settings, wanted)
    tell(f"{found.words[0].upper()}{found.words[1:]}.")
    tell(found.reason)
    tell(found.zone.area.where)
    tell("Look and feel first: healthy skin, no lump, no bruise. The patient and local policy decide.")
    tell(f"To note it: companion site note {book.tag} {found.place.code}")


@app.command()
def note(
    tag: Tag,
    place: Where,
    day: Day = None,
    site_distance: Distance = "1",
    navel_distance: Navel = "5",
    site_rest: Rest = "28",
) -> None:
    """Note where an injection went. A place that would not have been proposed is noted too, with a caution."""
    settings = _settings(site_distance, navel_distance, site_rest)
    books, where, when = own_books(RealClock()), read_place(place), _day(day)
    before = books.read(tag).history
    book = books.use(tag, where, when)
    _warn(book)
    tell(f"Noted: {_sentence(book.history.noted[-1])}")
    for each in cautions(before, where, when or books.today(), settings):
        tell(f"Caution: {each}")


@app.command()
def avoid(
    tag: Tag,
    place: Where,
    reason: Annotated[str, typer.Option(help=f"One of: {', '.join(REASONS)}.")],
    day: Day = None,
) -> None:
    """Note that a side, a part or a spot is to be avoided, until `fit` says otherwise."""
    book = own_books(RealClock()).avoid(tag, read_place(place), _reason(reason), _day(day))
    _warn(book)
    tell(f"Noted: {_sentence(book.history.noted[-1])}")


@app.command()
def fit(tag: Tag, place: Where) -> None:
    """Note that whatever was to be avoided in a place may be used again."""
    book = own_books(RealClock()).fit(tag, read_place(place))
    _warn(book)
    tell(f"Noted: {_sentence(book.history.noted[-1])}")


@app.command()
def undo(tag: Tag) -> None:
    """Take back the last note. It stays in the file, as does the taking back."""
    book = own_books(RealClock()).undo(tag)
    _warn(book)
    last = book.history.noted[-1].event
    gone = next(each for each in book.history.noted if isinstance(last, Undone) and each.n == last.undoes)
    tell(f"Taken back: {_sentence(gone)}")


@app.command()
def show(tag: Tag, svg: Svg = None) -> None:
    """Show what stands under a tag: injections, latest first, and what is to be avoided."""
    books = own_books(RealClock())
    book = books.read(tag)
    _warn(book)
    if svg is not None:
        _draw(svg, body_map(book.history, books.today(), SiteSettings(), proposing=False))
    tell("\n".join(_report(book.history)))
    tell(f"File: {book.path}")


def _report(history: History) -> list[str]:
    uses = history.uses()[::-1]
    lines = [f"{use.day.isoformat()}  {use.place}" for use in uses[:_SHOWN]]
    if len(uses) > _SHOWN:
        lines.append(f"and {len(uses) - _SHOWN} earlier injections")
    avoided = [
        f"  {each.place} since {each.day.isoformat()}: {reason_words(each.reason)}" for each in history.avoided()
    ]
    return (lines or ["no injection noted so far"]) + (["To be avoided:", *avoided] if avoided else [])


def _sentence(noted: Noted) -> str:
    event = noted.event
    if isinstance(event, Used):
        return f"injection at {event.place} on {event.day.isoformat()}."
    if isinstance(event, Fit):
        return f"{event.place} is fit again."
    if isinstance(event, Undone):
        return f"note {event.undoes} was taken back."
    return f"{event.place} is to be avoided ({reason_words(event.reason)})."


def _warn(book: Book) -> None:
    for each in book.damage:
        tell(f"Caution: {book.path}: {each}. An injection may be missing here: look at the paper too.", err=True)


def _draw(path: Path, drawing: str) -> None:
    try:
        path.write_text(drawing, encoding="utf-8")
    except OSError as fault:
        raise UsageError(f"{path}: the body map cannot be written here ({fault.strerror})") from fault


def _settings(distance: str, navel: str, rest: str) -> SiteSettings:
    return site_settings({"site-distance": distance, "navel-distance": navel, "site-rest": rest})


def _zone(name: str | None) -> Zone | None:
    if name is None:
        return None
    zone = zone_named(name)
    if zone is None:
        raise UsageError(f"--zone `{name}`: accepted: {', '.join(each.code for each in ZONES)}")
    return zone


def _reason(text: str) -> Reason:
    wanted = " ".join(text.lower().replace("-", " ").split())
    for reason in REASONS:
        if reason == wanted:
            return reason
    raise UsageError(f"--reason `{text}`: accepted: {', '.join(REASONS)}; nothing about the patient is kept")


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as fault:
        raise UsageError(f"--day `{text}`: accepted: a day such as 2030-01-31") from fault
