"""English: a rehearsal from memory, from its opening to what is said about it."""

SENTENCES = {
    # While it goes on
    "opening": (
        "Rehearsal: {title}, {count} steps. {how} Talk it through in your own words. What cannot be done here, say "
        "aloud all the same. Say hint for a hint, and that is all when you have finished."
    ),
    "help full": "I prompt every step.",
    "help headings": "I give the next heading only.",
    "help none": "From memory, in an order of your own. I say nothing until you ask.",
    "next": "Next: {title}",
    "unasked": "From memory I say nothing unasked: tell each step in your own words. {works}",
    "by itself": "Say in your own words what you do, and the next step comes by itself. {works}",
    "works": "What works is hint, for help with the step, and that is all, to finish.",
    "all said": "Every step has been said. Say that is all when you have finished.",
    # What cannot be judged
    "cannot be judged": (
        "This rehearsal cannot be judged, and nobody passes it: {why}. You can practise all the same."
    ),
    "counts neither way": (
        "The procedure's file does not say in which words these steps are said, so they count neither as said nor as "
        "left out: {titles}."
    ),
    "no ideas": "the procedure's file does not say in which words any of its steps is said",
    "no critical ideas": ("the procedure's file does not say in which words these critical steps are said: {titles}"),
    "and more": "{titles} and {more} more",
    # Findings
    "perhaps these words": (
        "{title}: it may have been said in these words, and it was not sure; your educator decides."
    ),
    "perhaps other words": (
        "{title}: it may have been said in words that say other steps, and it was not sure; your educator decides."
    ),
    "no ideas of it": (
        "{title}: it cannot be judged, for the procedure's file does not say in which words it is said."
    ),
    "not said": "{title}: it was not said.",
    "as something not done": "{title}: it was spoken of, but as something not done.",
    "as something for later": "{title}: it was spoken of, but as something for later.",
    "as a question": "{title}: it was spoken of, but as a question.",
    "as what others do or say": "{title}: it was spoken of, but as what others do or say.",
    "named only as what comes after": "{title}: it was spoken of, but named only as what comes after.",
    "named only as what it is for": "{title}: it was spoken of, but named only as what it is for.",
    "as something forgotten": "{title}: it was spoken of, but as something forgotten.",
    "as something taken back": "{title}: it was spoken of, but as something taken back.",
    "came before": "{title} came before {needed}, which has to be first: {because}",
    "less said": "{title}: {told} were said; the shortest time is {least}.",
    "neither passed": "{title}: {least} neither passed nor were said aloud.",
    "time not told": "{title}: its shortest time, {least}, was not told.",
    "asked a hint": "{title}: a hint was asked for.",
    "silence": "{title}: {time} of silence before it.",
    "other choice": "{title}: `{value}` was said; here it is `{due}`.",
    "other figure": "{title}: {value} was said; here it is {due} {unit}.",
    "none of these": "{title}: {value} was said; here it is one of {among}.",
    "not plausible": "{title}: {value} was said; {least} to {most} {unit} is plausible.",
    "fits another unit": (
        "{wrong}, and {value} would fit {unit}. Say the unit, or set it with {option} and the limits that go with it."
    ),
    "given away": "{title}: `{phrase}` was said; the second person works without knowing the first figure.",
    "not alone": "{title}: it was not said that the second person works alone.",
    # How it went
    "not judged": "This rehearsal is not judged: {why}",
    "steps": "{count} steps",
    "steps known": "{count} steps that can be recognised",
    "said all": "You said all {steps}.",
    "said all in": "You said all {steps}, in {time}.",
    "said some": "You said {count} of {steps}.",
    "said some in": "You said {count} of {steps}, in {time}.",
    "said none": "You said none of the {steps}, so this is not passed.",
    "heard none": "Surely heard was none of the {steps}.",
    "one was right": "One critical step was as it should be: {titles}.",
    "were right": "{count} critical steps were right: {titles}.",
    "nothing missed": "Nothing was missed, and everything was in order. Well done.",
    "nothing critical": "Nothing critical was missed. Well done.",
    "another look": "{count} critical points need another look.",
    "surely nothing": "Nothing critical was surely missed.",
    "one to be right": "One critical point has to be right before this counts as passed.",
    "to be right": "{count} critical points have to be right before this counts as passed.",
    "one in doubt": "One point was not surely heard, and your educator decides.",
    "in doubt": "{count} points were not surely heard, and your educator decides.",
    # What to practise
    "practise first": "To practise first.",
    "practise omitted": "Say {title} aloud every time: {because}",
    "practise out of order": "Practise what comes before {title}: {because}",
    "practise wrong value": "Read the figure for {title} twice before you say it: {because}",
    "practise not independent": "Let the second person work alone at {title}: {because}",
    "practise too short": "Give {title} its whole time: {because}",
    "practise hint": "Go over {title} once more with the headings: {because}",
    "practise hesitation": "Go over {title} until it comes without a pause: {because}",
    "practise unclear": "Say {title} in plainer words: {because}",
    "of the whole": "it is part of the whole.",
    "see the report": ("The report shows the words and the times. If something was misheard, say so to your educator."),
    # On the screen
    "so many heard": "{count} heard",
    "critical finding": "Critical: {reason}",
    "no findings": "Nothing was found to practise.",
    "more findings": "And {more} more, in the report.",
}
