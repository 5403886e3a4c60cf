"""Ideas of a step are well written, and `=` names another main step."""

from collections.abc import Iterator

from companion.meaning.ideas import misfits
from companion.procedure.model import Procedure
from companion.procedure.proofreading.placed import Fault, sites


def faults(procedure: Procedure) -> Iterator[Fault]:
    """Ways that cannot be used. What an author should merely know is `companion.meaning.ideas.remarks`."""
    known = [step.id for step in procedure.steps]
    for site in sites(procedure):
        for place, message in misfits(site.step, known):
            yield site.fault(message, "ideas", place)
