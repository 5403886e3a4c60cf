"""Words that answer several things at once: only what they name is answered by them."""

import pytest

from companion.meaning.named import named
from companion.meaning.reader.opened import open_reader_of_meanings
from companion.meaning.understood import Item, MeaningReader, understand_items
from tests.realparts import need

BAND = (Item("full name", ("name matches",), ("different name",)), Item("birth date", ("birthday matches",), ("no",)))


@pytest.fixture(scope="module")
def reader() -> MeaningReader:
    found, missing = open_reader_of_meanings("en-US")
    need(found is not None, missing)
    assert found is not None
    return found


def test_a_thing_is_named_by_a_word_that_belongs_to_it_alone() -> None:
    texts = [["full", "name", "agrees"], ["date", "of", "birth", "agrees"], ["record", "number", "agrees"]]
    said = "name and birthday both agree"
    assert named(said.split(), texts) == [said, said, ""]
    assert named(["they", "all", "agree"], texts) == ["", "", ""]


def test_each_is_answered_by_its_own_clause(reader: MeaningReader) -> None:
    said = "the name on the band matches but i still have to look at the birth date"
    assert understand_items("Do they agree?", BAND, said, reader)[1].meaning is None
    said = "the name on the band matches but the birth date is another one"
    assert understand_items("Do they agree?", BAND, said, reader)[1].meaning == "differs"


def test_what_words_do_not_name_is_not_answered_by_them(reader: MeaningReader) -> None:
    """ "The same insulin the doctor wrote for" had confirmed what kind of container it is."""
    items = [
        Item("Is the name of the insulin the one ordered?", ("insulin name matches",), ("different insulin",)),
        Item("What kind of container is it?", ("it is a vial",), ("pen or cartridge",)),
    ]
    found = understand_items("First check of the label", items, "it's the same insulin the doctor wrote for", reader)
    assert [each.meaning for each in found] == ["agrees", None]


def test_all_means_all_only_where_all_were_asked(reader: MeaningReader) -> None:
    together = understand_items("Do they agree?", BAND, "they both match", reader)
    assert [each.meaning for each in together] == ["agrees", "agrees"]
    in_turn = understand_items("Do they agree?", BAND, "they both match", reader, at_once=False)
    assert [each.meaning for each in in_turn] == [None, None]
