"""Site rotation in a session: the spot whose turn it is, said at the site step; the spot used, noted afterwards."""

from companion.clocks import RealClock
from companion.core.events import StepNote
from companion.core.procedure import Medicine, Procedure
from companion.core.sites.history import Used
from companion.core.sites.settings import site_settings
from companion.core.sites.spoken import spoken_choice, spoken_proposal, used_spot
from companion.core.sites.zones import zone_named
from companion.core.state import State
from companion.errors import UsageError
from companion.rotation.books import own_books


class TurnOfSite:
    """One history, under its tag, for one session."""

    def __init__(self, procedure: Procedure, tag: str) -> None:
        """Raises UsageError for a procedure without an injection site or a text that is no tag, RecordError for a
        history that cannot be read."""
        if procedure.medicine is None or procedure.medicine.site is None:
            raise UsageError(f"{procedure.id} has no site to rotate; accepted with --sites: a procedure that names one")
        self._medicine: Medicine = procedure.medicine
        self._settings = site_settings({setting.id: setting.value for setting in procedure.settings})
        self._books = own_books(RealClock())
        self._tag = tag
        book = self._books.read(tag)
        self._history = book.history
        self.damage = book.damage
        """What cannot be read of the history: an injection may be missing from it."""

    def notes(self) -> tuple[StepNote, ...]:
        """What is said at the site step."""
        text = spoken_proposal(self._history, self._books.today(), self._settings)
        return (StepNote(step=str(self._medicine.site), text=text),)

    def settle(self, state: State) -> str:
        """Note the spot once the medicine went in; the sentence to show."""
        chosen = state.values.get(str(self._medicine.site))
        if chosen is None:
            return "No site was chosen, so none was noted."
        by_hand = f"companion site note {self._tag} PLACE"
        if state.done_at(self._medicine.given) is None:
            return f"No injection was confirmed, so no site was noted. If the needle was in, note it: {by_hand}"
        today = self._books.today()
        spot = used_spot(self._history, today, self._settings, chosen.text)
        zone = zone_named(chosen.text)
        if spot is None or zone is None:
            return f"{chosen.text} is no place of the site history; nothing was noted."
        if spoken_choice(self._history, today, self._settings, chosen.text):
            # Another zone than the one proposed: which spot in it was used, nobody has said.
            spot = Used(day=today, place=zone.code)
        book = self._books.note(self._tag, spot)
        return f"Site noted under {book.tag}: {spot.place}"
