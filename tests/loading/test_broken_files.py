"""Each broken file under tests/data/broken differs from tests/data/whole.yaml in one thing, `many-faults` in six.

The lines are those on which the files were changed, found with an editor; common practice: message names the
culprit, then what is accepted, then where.
"""

from pathlib import Path

import pytest

from companion.errors import ProcedureError
from companion.loading import load

DATA = Path(__file__).parents[1] / "data"
BROKEN = DATA / "broken"

# file, line of each fault, the culprit and what is accepted, as they must stand in the message
TABLE: list[tuple[str, int, str, str]] = [
    ("abandon-without-reason", 128, "branch `halt`: `reason` is missing", "nothing ends silently"),
    ("after-a-later-step", 37, "step `rubbing`: `after` names `side`, which comes later", "an earlier step"),
    ("again-too-late", 130, "starts again from `side`, later than `begin`", "that step or an earlier one"),
    ("again-without-step", 128, "branch `halt`: `step` is missing", "the main step to start again from"),
    ("anchor-and-alias", 63, "the anchor `&alerts`", "write the text out"),
    ("anchor-and-alias", 76, "the alias `*alerts`", "write the text out"),
    ("bad-duration", 108, "`ten seconds` is not a duration", "such as `30 s`"),
    ("branch-nobody-takes", 118, "branch `unused`: nobody can take this branch", "`heard`, or a step that names it"),
    ("check-of-no-calculation", 95, "`of` names `who`, which is an identification", "the id of a calculation"),
    ("choice-with-limit", 105, "it never goes off", "`is` with some of the choices"),
    ("choice-with-limit", 106, "`below` has no meaning for a choice", "`is`"),
    ("circle", 30, "`begin`, which comes after `rubbing`, which comes after `begin`", "circle"),
    ("circle", 31, "`after` names `rubbing`, which comes later", "an earlier step"),
    ("colon-in-text", 100, "this is not YAML", "quotes round text that holds `: `"),
    ("control-as-reply", 112, "`stop` is one of the program's own phrases", "other words"),
    ("count-too-high", 43, "`count` asks for 3 and there are 2 items", "at most that many"),
    ("critical-one-word", 28, "`done` says too little for a critical step", "`read_back: true`"),
    ("deep", 100, "nested more than 12 deep", "at most 12"),
    ("duplicate-id", 97, "the id `dose` is already that of a step", "an id of its own"),
    ("duplicate-key", 26, "the key `title` appears twice, first on line 25", "keep one"),
    ("empty", 1, "the file is empty", "beginning with `format: 1`"),
    ("empty-text", 100, "step `side`: `say` is empty", "some text"),
    ("figure-hidden-yet-spoken", 94, "`{volume}` would be heard before `second`", "only after that step"),
    ("formula-lacks-a-term", 81, "`inputs` lacks `required`", "needs `required`, `strength`"),
    ("input-of-wrong-unit", 83, "`strength` comes from `dose` in units", "such as `100 units/mL`"),
    ("latin-1", 3, "not UTF-8", "text in UTF-8"),
    ("many-faults", 1, "the key `summary` is missing", "format, id, title, summary, steps"),
    ("many-faults", 4, "the key `sumary` is not known (did you mean `summary`?)", "accepted here: format, id, title"),
    ("many-faults", 29, "the source `leaflet` is not in `sources`", "accepted: `book`"),
    ("many-faults", 34, "`$rubbing-time` names no setting", "$names, $rub"),
    ("many-faults", 53, "the branch `stranger` does not exist", "accepted: `halt`"),
    ("many-faults", 54, "step `dose`: the key `say` is missing", "id, title, say, kind, value"),
    ("many-faults", 104, "`kind` is `inspection`", "`action`, `reading`, `identification`"),
    ("missing-key", 54, "step `dose`: the key `say` is missing", "id, title, say, kind, value"),
    ("missing-kind", 104, "step `look`: the key `kind` is missing", "`wait`, `observation`, `paced`, `signature`"),
    ("no-signature", 104, "the last main step is `look`, an observation", "a signature"),
    ("no-source", 1, "`sources` is missing or empty", "at least one published source"),
    ("not-a-list", 35, "`replies` is `hands are dry`", "a list, each entry on a line of its own"),
    ("number-with-trailing-zero", 62, "`60.0` is no number written plainly", "never `5.0`"),
    ("offer-not-taken", 26, "`say` offers `tray is incomplete`", "the words of the replies"),
    ("phrase-with-figure", 35, "`replies` holds `20 seconds over`", "no figures and no punctuation"),
    ("phrase-with-two-meanings", 28, "`tray is complete` would mean two things", "one meaning a phrase"),
    ("prompt-too-long", 26, "`say` has 265 characters", "at most 200"),
    ("range-backwards", 70, "the range runs backwards: least 500, most 40", "step `strength`"),
    ("room-as-identifier", 45, "item `name` goes by the room", "date of birth"),
    ("setting-out-of-range", 15, "setting `rub`: the value is `5 s`", "from 20 to 30"),
    ("step-of-nothing", 75, "`by` is `0`", "more than 0"),
    ("tab-indent", 100, "this is not YAML", "indent with spaces"),
    ("tag", 43, "the tag `!!int`", "leave tags out"),
    ("two-documents", 22, "a second document begins here", "one procedure a file"),
    ("units-abbreviated", 57, "`IU` has been misread", "units"),
    ("unknown-branch", 53, "the branch `stranger` does not exist", "accepted: `halt`"),
    ("unknown-key", 27, "the key `reponse` is not known", "kind, replies"),
    ("unknown-kind", 105, "`kind` is `inspection`", "`action`, `reading`, `identification`"),
    ("unknown-name-in-text", 33, "`{rubs}` is no setting, reading or calculation", "`names`, `rub`, `dose`"),
    ("unknown-setting", 34, "`$rubbing-time` names no setting", "$names, $rub"),
    ("unknown-source", 29, "the source `leaflet` is not in `sources`", "accepted: `book`"),
    ("wrong-format", 1, "`format` is `2`", "accepted: `1`"),
]
FILES = sorted({name for name, *_ in TABLE})


def faults_of(name: str) -> list[str]:
    with pytest.raises(ProcedureError) as caught:
        load(BROKEN / f"{name}.yaml")
    return caught.value.faults


def test_the_unbroken_file_has_no_faults() -> None:
    assert load(DATA / "whole.yaml").procedure.id == "drill"


def test_the_table_covers_every_file() -> None:
    assert sorted(path.stem for path in BROKEN.glob("*.yaml")) == FILES
    assert len(FILES) >= 20


@pytest.mark.parametrize("name", FILES)
def test_every_fault_and_no_other_is_named_with_its_line(name: str) -> None:
    wanted = [(line, culprit, accepted) for file, line, culprit, accepted in TABLE if file == name]
    found = faults_of(name)
    assert len(found) == len(wanted), found
    for message, (line, culprit, accepted) in zip(found, wanted, strict=True):
        start, _, rest = message.partition(": ")
        assert start == f"{BROKEN / name}.yaml:{line}"
        assert culprit in rest
        assert accepted in rest
        assert "\n" not in message
