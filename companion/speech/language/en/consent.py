"""English only: whether sound is kept. A yes is surely told from a no in English alone; elsewhere nobody is asked."""

ENGLISH_ONLY = {
    "how many": (
        "Sound can be kept of the replies in this session: beside its record, on this machine only, until it is "
        "purged. Anyone may refuse, and nothing else changes. How many are you, a second checker included? "
        "Answer with the number, and then: people here."
    ),
    "person": "Person {number} of {count}",
    "who performs": ", who performs",
    "your tag": "{who}: your staff tag, {digits}.",
    "if you agree": (
        "{who}, tag {tag}. If you agree, say that you agree to recording. If not, say that you want no recording. "
        "If this is not your tag, say that the tag is wrong."
    ),
    "not clear": "Not clearly heard. {text}",
    "all agreed": "Everybody agreed, so replies are kept as sound. Anyone can have all of it deleted at any time.",
    "as agreed": "Replies are kept as sound, as agreed by tag {tags}.",
    "nobody clear": "nobody answered clearly",
    "not everybody": "not everybody agreed",
    "tag unclear": "a tag stayed unclear",
    "words unknown": "the engine {engine} does not know the words it is agreed with",
    "to delete": "To have all of it deleted, say or type: {words}",
    "no more sound": "No more sound is kept: {why}.",
    "no agreement of": "tag {tag} had not agreed",
    "disk refused": "the disk did not take it: {why}",
    "deleted": "All recordings are deleted, and no more sound is kept.",
    "not deleted": "No more sound is kept, but what was kept could not be deleted: {why}.",
}
