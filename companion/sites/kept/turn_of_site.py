"""Site rotation in a session: the spot whose turn it is, said at the site step; the spot used, noted afterwards."""

from collections.abc import Iterator

from companion.clocks import RealClock
from companion.errors import UsageError
from companion.procedure.model import Medicine, Procedure
from companion.session.events import StepNote
from companion.session.state import State
from companion.sites.drawing import body_map
from companion.sites.history import Avoided
from companion.sites.kept.books import own_books
from companion.sites.place import Place
from companion.sites.settings import site_settings
from companion.sites.spoken import named_in_turn
from companion.sites.zones import zone_named
from companion.speech.language import tell
from companion.speech.values import ChoiceValue


class TurnOfSite:
    """One history, under its tag, for one session."""

    def __init__(self, procedure: Procedure, tag: str) -> None:
        """Raises UsageError for a procedure without a site to rotate or a text that is no tag, RecordError for a
        history that cannot be read."""
        if procedure.medicine is None or not _rotates(procedure, procedure.medicine):
            raise UsageError(f"{procedure.id} has no site to rotate; accepted with --sites: a procedure that names one")
        self._medicine: Medicine = procedure.medicine
        self._settings = site_settings({setting.id: setting.value for setting in procedure.settings})
        self._books = own_books(RealClock())
        self._tag = tag
        book = self._books.read(tag)
        self._history = book.history
        self._named = named_in_turn(book.history, self._books.today(), self._settings)
        self.damage = book.damage
        """What cannot be read of the history: an injection may be missing from it."""

    def notes(self) -> tuple[StepNote, ...]:
        """What is said at the site step: the spot in turn; and the next each time the one named was not fit."""
        step = str(self._medicine.site)
        return tuple(
            StepNote(step=step, text=each.text, value="" if each.place is None else each.place.zone.name)
            for each in self._named
        )

    def drawing(self, state: State) -> str:
        """The body map with this history and the spot whose turn it is now, as SVG."""
        history, today = self._history, self._books.today()
        for place in self._found_unfit(state):
            unfit = Avoided(day=today, place=place.code, reason="lump or bruise")
            history = history.taking(unfit, max((note.n for note in history.noted), default=0) + 1)
        return body_map(history, today, self._settings)

    def settle(self, state: State) -> Iterator[str]:
        """Note the spot once the medicine went in; the sentences to show."""
        for place in self._found_unfit(state):
            by_hand = f"{self._command('avoid', place)} --reason lump"
            yield tell("en", "named unfit", place=place.code, command=by_hand)
        chosen = state.values.get(str(self._medicine.site))
        zone = None if chosen is None else zone_named(chosen.text)
        if zone is None:
            yield tell("en", "none chosen")
        elif state.done_at(self._medicine.given) is None:
            yield tell("en", "none confirmed", command=self._command("note", "PLACE"))
        else:
            named = self._named_now(state)
            # In another zone than the one named: which spot in it was used, nobody has said.
            place = named if named is not None and named.zone == zone else Place(zone)
            book = self._books.use(self._tag, place)
            yield tell("en", "site noted", tag=book.tag, place=place.code)

    def _named_now(self, state: State) -> Place | None:
        """The spot that the session named last. None where it named none, or where the history has changed since."""
        note = state.note(str(self._medicine.site))
        return next((each.place for each in self._named if note is not None and each.text == note.text), None)

    def _found_unfit(self, state: State) -> Iterator[Place]:
        """The spots that were named and passed over."""
        left = [note.text for note in state.notes if note.step == self._medicine.site]
        texts = [each.text for each in self._named]
        if not left or texts[-len(left) :] != left:
            return  # begun without a history, or the history has changed since
        for each in self._named[: -len(left)]:
            if each.place is not None:
                yield each.place

    def _command(self, what: str, place: Place | str) -> str:
        return f"companion site {what} {self._tag} {place.code if isinstance(place, Place) else place}"


def has_turn(state: State, procedure: Procedure) -> bool:
    """Whether the session was begun with a site history."""
    return procedure.medicine is not None and state.note(str(procedure.medicine.site)) is not None


def _rotates(procedure: Procedure, medicine: Medicine) -> bool:
    """Whether its site is a place that site histories know."""
    if medicine.site is None:
        return False
    spec = procedure.step(medicine.site).stated
    return isinstance(spec, ChoiceValue) and any(zone_named(choice) is not None for choice in spec.choices)
