"""English: why speech or a typed line was not taken, shown after "not taken", and what becomes of the sound."""

SENTENCES = {
    "no speech": "no speech was found",
    "not clear enough": "it was not clear enough",
    "none of the phrases": "it was none of the phrases",
    "only part": "only part of a phrase was heard",
    "too long": "it was longer than any phrase",
    "fits badly": "it did not fit well enough",
    "fits the phrase badly": "it did not fit the phrase well enough",
    "sounded like": "it sounded like `{what}`",
    "sounded like another": "it sounded like something else",
    "a denial in it": "there was a `{denial}` in it",
    "not now": "it cannot be taken now",
    "began early": "{why}; it began before it was your turn",
    "came too early": "that came too early, while the program spoke; say it again",
    # Typed lines
    "no reply here": "`{line}` is not a reply here; accepted: {accepted}",
    "more phrases": "; and {count} more",
    "no reply, hidden": "that is not a reply here; accepted: the figure with its unit",
    "no reply, sealed": "that is not a reply here; it is not repeated, since a figure is still under seal",
    "no answer": "that is none of the answers",
    # The sound itself
    "sound over": "{name} has no more sound",
    "samples lost": "{count} samples of sound were lost: the machine is too busy",
    "type replies": "{why}; the keyboard takes the same words",
    "type on": "{why}; type on, or an empty end of input finishes",
}
