"""What holds for every procedure of the library, whatever it is about."""

from collections.abc import Collection, Iterator
from functools import lru_cache
from pathlib import Path

from companion.hearing.pronunciation import unknown_words
from companion.procedure.due import is_due
from companion.procedure.kinds.identification import IdentificationStep
from companion.procedure.loading import load
from companion.procedure.model import Procedure
from companion.procedure.order import all_before, must_precede
from companion.procedure.proofreading import said
from companion.procedure.proofreading.placed import sites
from companion.procedure.vocabulary import all_phrases, fixed_phrases
from tests.commands import inside
from tests.procedures.walking import Script, Walk
from tests.procedures.ways import Trips, Way
from tests.walk import TODAY

FOLDER = Path(__file__).parents[2] / "procedures"
NAMES = sorted(path.stem for path in FOLDER.glob("*.yaml"))


@lru_cache(maxsize=16)
def procedure(name: str) -> Procedure:
    """A procedure of the library with its own settings."""
    return load(FOLDER / f"{name}.yaml").procedure


@lru_cache
def with_policy(name: str, **settings: str) -> Procedure:
    """The same under a local policy; `low_glucose_limit="4"` sets `low-glucose-limit`."""
    return load(FOLDER / f"{name}.yaml", {key.replace("_", "-"): value for key, value in settings.items()}).procedure


def check_is_clean(name: str) -> None:
    """`companion check` finds nothing."""
    code, said = inside("check", str(FOLDER / f"{name}.yaml"))
    assert code == 0 and "no faults" in said, said


def says_why_and_by_whom(found: Procedure) -> None:
    """Each main step has a reason, each step a source, each source a use; policy and cautions are spelled out."""
    for step in found.steps:
        assert step.reason, step.id
    cited = set()
    for step in found.all_steps():
        assert step.sources, step.id
        cited |= set(step.sources)
    assert cited == {source.id for source in found.sources}
    assert found.cautions
    assert len(found.local_policy) >= 5
    for branch in found.branches:
        assert branch.ends.reason, branch.id


def phrases_can_be_told_apart(found: Procedure) -> None:
    """Every word is in CMUdict as it comes in the wheel of `pocketsphinx`; fixed phrases have two to five words, and
    no two with different meanings at one step differ in the last word only (arXiv 2602.08930, from the notes)."""
    assert unknown_words(all_phrases(found, TODAY)) == ()
    for site in sites(found):
        meaning_of: dict[str, str] = {}
        heard = [((), branch.heard, f"takes the branch `{branch.id}`") for branch in said.branches_heard(found, site)]
        for _, replies, meaning in [*said.own_replies(site), *heard]:
            for phrase in replies:
                assert 2 <= len(phrase.split()) <= 5, phrase
                group = meaning.split(" ")[0] if isinstance(site.step, IdentificationStep) else ""
                beginning = group + " ".join(phrase.split()[:-1])
                assert meaning_of.setdefault(beginning, meaning) == meaning, (site.step.id, phrase)
    assert set(fixed_phrases(found))


def comes_before(found: Procedure, first: str, then: str) -> bool:
    """Whether the order that matters, not only that of the file, puts `first` before `then`."""
    return first in all_before(must_precede(found), then)


def critical(found: Procedure) -> set[str]:
    """The critical main steps."""
    return {step.id for step in found.steps if step.critical}


class Endings:
    """How each branch ends, taken by every way there is, from one straight walk by `script`."""

    def __init__(self, found: Procedure, script: Script) -> None:
        self.trips = Trips(found, script)
        self.procedure = found

    def abandoned_from(self, steps: Collection[str]) -> Iterator[tuple[Way, Walk]]:
        """Every way out of these steps on which the session is given up, gone to its end."""
        for way in self.trips.ways:
            if way.step in steps and (walk := self.trips.through(way)).status == "abandoned":
                yield way, walk

    def of(self, branch: str) -> set[str]:
        """Take all ways into a branch. Gives how they ended; the first one is gone on with to the end of it all."""
        ended = set()
        mine = [way for way in self.trips.ways if way.branch == branch]
        assert mine, f"no way leads into `{branch}`"
        for number, way in enumerate(mine):
            walk = self.trips.through(way)
            if walk.status == "abandoned":
                ended.add("abandon")
                continue
            ended.add("return" if self.procedure.branch(branch).ends.do == "return" else f"again {walk.step}")
            if number == 0:
                around = {frame.branch for frame in walk.walker.state.frames} - {None}
                walk.to_end()
                if any(each.ends.do == "abandon" for each in self.procedure.branches if each.id in around):
                    assert walk.status == "abandoned"  # it came back into a branch that ends the session
                    continue
                assert walk.status == "finished"
                values = walk.walker.state.values
                due = {step.id for step in self.procedure.steps if is_due(self.procedure, values, step)}
                assert set(walk.done) >= due
        return ended
