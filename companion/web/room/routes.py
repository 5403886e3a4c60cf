"""Every address of the room."""

from starlette.routing import BaseRoute

from companion.web.room import agreeing, class_view, listing, marking, session
from companion.web.room.answering import changing, reading
from companion.web.room.room import Room


def room_routes(room: Room) -> list[BaseRoute]:
    """For `LocalServer`, which stands guard before all of them."""
    return [
        reading(room, "/", listing.sessions),
        reading(room, "/sessions.csv", listing.sessions_csv),
        reading(room, "/class", class_view.class_view),
        reading(room, "/class/paper.html", class_view.class_paper),
        reading(room, "/class/{table}", class_view.class_csv),
        reading(room, "/agreement", agreeing.agreeing),
        reading(room, "/agreement/paper.html", agreeing.agreeing_paper),
        reading(room, "/agreement.csv", agreeing.agreeing_csv),
        reading(room, "/session/{file}", session.session),
        reading(room, "/session/{file}/paper.html", session.session_paper),
        reading(room, "/session/{file}/timeline.csv", session.session_csv),
        reading(room, "/session/{file}/clip/{number}", session.clip),
        reading(room, "/session/{file}/mark", marking.marking),
        changing(room, "/session/{file}/mark", marking.save),
        changing(room, "/session/{file}/decide", marking.decide),
        changing(room, "/session/{file}/say", session.say),
        changing(room, "/hush", session.hush),
    ]
