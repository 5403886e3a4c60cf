"""English: what is said to the program in a rehearsal."""

import re

from companion.speech.language.asides import Asides

ASIDES = Asides(
    offered=("hint", "that is all"),
    hints=frozenset(
        {"hint", "a hint", "hint please", "give me a hint", "i need a hint", "may i have a hint", "a hint please"}
        | {"help", "help me", "what is next", "what comes next", "next hint"}
    ),
    end=re.compile(
        r"(?:(?:ok|okay|so|well|and|right|alright|yes|now|there|i think|i believe|i guess) )*"
        r"(?:(?:all )?(?:done|finished)|finish|the end|end|end of (?:the |my )?rehearsal|stop"
        r"|stop (?:it|now|here)|quit|exit"
        r"|that (?:is|was) (?:all|it|everything|the (?:end|lot|whole|whole thing)|all (?:of it|i have|i can think of))"
        r"|(?:i am|we are|i have|we have|i am now|i have now) (?:all |quite |completely |now )?(?:done|finished)"
        r"(?: (?:it|everything|the rehearsal|the procedure|rehearsing))?"
        r"|(?:it|everything|the rehearsal|the procedure|the whole thing) is (?:all )?(?:done|finished))"
        r"(?: (?:now|then|here|thanks|thank you|for me|from me|from my side))*"
    ),
    answers=frozenset({"done", "all done", "it is done"}),
    commands=frozenset(
        {"next", "next one", "next step", "next please", "continue", "go on", "go ahead", "carry on", "skip", "skip it"}
        | {"skip this", "skip that", "skip this step", "leave it out", "repeat", "repeat it", "repeat that"}
        | {"repeat please", "say again", "say that again", "go back", "back", "previous", "undo", "pause"}
        | {"resume", "why", "what", "what now", "start", "begin", "menu", "commands", "options", "command"}
        | {"i do not know", "no idea", "i forgot", "i have forgotten"}
    ),
    nods=frozenset(
        {"ok", "okay", "yes", "no", "right", "alright", "ready", "i am ready", "sure", "fine", "got it", "i see"}
    ),
)
