"""Turns of phrase after which words do not count as saying a step, and those that take something back.

Each line of a rule is one alternative, a pattern over lower-case words with one space between.
"""

import re
from dataclasses import dataclass

NEGATION = "as something not done"
INTENTION = "as something for later"
QUESTION = "as a question"
HEARSAY = "as what others do or say"
BEFORE = "named only as what comes after"
PURPOSE = "named only as what it is for"
MISSING = "as something forgotten"
TAKEN_BACK = "as something taken back"

MOST = {"noun": 3, "phrase": 6, "clause": 12}
"""Words that a rule reaches at most: people who talk without a pause end their clauses all the same."""


@dataclass(frozen=True)
class Rule:
    why: str
    reach: str
    """`noun` and `phrase`: on to the next comma or "and". `clause`: on to the end of the clause. `around`: the whole
    clause. `subject`: on to the next "I". `sentence`: the whole sentence."""
    pattern: re.Pattern[str]

    @property
    def wide(self) -> bool:
        """An "and" without a new subject does not end its clause."""
        return self.reach in ("clause", "around")


def _any(lines: str) -> re.Pattern[str]:
    """Any of the lines, as whole words."""
    alternatives = "|".join(line.strip() for line in lines.strip().splitlines())
    return re.compile(rf"(?:^|(?<= ))(?:{alternatives})(?= |$)")


RULES = (
    # "No wait", "no, sorry" put something right and deny nothing; "not only", "not forgetting" affirm.
    Rule(
        NEGATION,
        "clause",
        _any(r"""
        not(?! only| just| forgetting| yet sure)
        never(?! mind)
        nor
        no need"""),
    ),
    Rule(
        NEGATION,
        "phrase",
        _any(r"""
        without
        rather than
        instead of"""),
    ),
    Rule(
        NEGATION,
        "noun",
        _any(r"""
        no(?! need| wait| sorry| actually| hang| hold| stop| no| i | let| that is| first| scrap| before)"""),
    ),
    Rule(
        MISSING,
        "clause",
        _any(r"""
        (?:have |had |almost |nearly |totally |completely |just |probably )*(?:forgot|forgotten|forget|forgetting)
        (?:have |had |almost |nearly |totally |completely |just |probably )*(?:skipped|skip|skipping|missed)
        (?:missing|left|leave|leaving) out(?! (?:the |my )?(?:gloves?|swab|wipe))
        omitted|omit"""),
    ),
    Rule(
        INTENTION,
        "sentence",
        _any(r"""
        will (?:\w+ ){0,3}(?:after|once|shortly|soon|presently|when)
        will (?:\w+ ){1,7}when i
        (?:has|have|is|are) (?:still |yet )(?:to be|to)
        is not to be|must not|ought to|shortly
        i still (?:have|need) to"""),
    ),
    Rule(
        INTENTION,
        "clause",
        _any(r"""
        (?:must|need to|have to|ought to|should|better)(?: also| just| still)? (?:remember|not forget)
        remember to|remind me|remind myself|do not (?:let me )?forget
        (?:plan|planning|intend|intending|meaning|meant|hope|hoping|about) to
        (?:will|would) (?:need|want|have) to
        am supposed to|supposed to|(?:was|were) going to|thought of|when i will have|not until
        at the end of (?:my|the) (?:shift|day|week|morning|afternoon|session|turn|clinic|whole)
        only after|when (?:it|that) is (?:finished|done|over)
        i (?:might|may need to|could)"""),
    ),
    Rule(
        INTENTION,
        "around",
        _any(r"""
        (?<!hours )(?<!hour )(?<!minutes )(?<!days )later(?: on)?
        soon(?! as)|eventually|at some point|(?:some other|another|next) time (?:i|we)|when i have
        in a (?:bit|minute|moment|while|second|sec)
        when i get (?:round|around) to it|tomorrow|at the very end|by the end|in due course|not yet|for later"""),
    ),
    # Questions to oneself or an examiner; questions to the patient are part of the work.
    Rule(
        QUESTION,
        "sentence",
        _any(r"""
        (?:should|shall|do|did|have|must|am|was|had) (?:i|we)
        (?:where|when|why|how|what|which|who) (?:do|did|should|would|am|have|must) (?:i|we)
        what (?:comes|else|now)|what is (?:next|the next)|do you want me to
        is it (?:now|time|already|permissible|allowed)
        not sure (?:if|whether|when)|wonder(?:ing)? (?:if|whether)
        can not remember|do not (?:know|remember|recall)"""),
    ),
    # About others, other days, and what is said to be done.
    Rule(
        HEARSAY,
        "around",
        _any(r"""
        (?:my|the|our) (?:\w+ )?(?:teacher|tutor|mentor|instructor|book|textbook|guidelines?) (?:\w+ )?(?:says?|said)
        (?:my|the|our) (?:\w+ )?(?:teacher|tutor|mentor|instructor) (?:\w+ )?(?:told|taught|always|wants|insists)
        (?:my|the|our) (?:video|poster|lecture|slides|classmates?|friend) (?:\w+ )?(?:says?|said|told|always|does)
        (?:some|other|most|many|a lot of|lots of) (?:people|nurses|students|places|wards|colleagues|folks|hospitals)
        they (?:always|told|taught|used to|tell|teach) (?:me|us|you)
        people (?:often|always|say|forget|tend|usually)|i had a (?:guy|lady|patient|man|woman)
        (?:you are|we are|one is|i am|i was|we were) (?:supposed|meant) to
        (?:last|the other) (?:week|year|month|day|shift)|last time (?:i|we|he|she|they|it)
        used to|one time i
        i once (?:saw|heard)|i remember (?:one|when|seeing)
        (?:he|she|they) (?:always|forgot|told me|said to me)
        (?:ask|asked) my (?:mentor|tutor|teacher|colleague) whether
        in (?:class|the lecture|school|theory)"""),
    ),
    Rule(
        BEFORE,
        "subject",
        _any(r"""
        before|prior to|ahead of
        (?:when|once|after)(?= (?:\w+ ){1,9}i (?:would|will|can))
        (?:until|till) (?:i|we)
        unless|by the time"""),
    ),
    Rule(
        PURPOSE,
        "clause",
        _any(r"""
        so (?:that )?(?:i|we|it|they|everything) (?:can|could|does not|do not|will not|will be ready)
        so (?:that )?(?:i am|we are|it is|they are) (?:able|ready)
        in order to|so as to|ready (?:to|for)|to be able to|in preparation for|in case|to get ready"""),
    ),
)

CORRECTION = _any(r"""
    no wait|wait no|no sorry|sorry no|oh no|scrap that|no scratch|scratch that|strike that|no hang on|hang on|hold on
    no actually|actually no|no no|wait wait|wait|i take that back|let me go back|back up|no before that|rewind
    oops|whoops|correction|no first|i mean|sorry|let me start (?:again|over)|no let me|no i""")

BACK = _any(r"""
    no wait|wait|no no|no(?= (?:i|we|you|that|this|not|they|he|she|hang|stop|keep|first|hold|sorry|way))
    not yet|back|too (?:early|soon|fast)
    premature|stand by|hang on|hold on|stop|not so fast|scrap that|scratch that|first i|before that|not now|nearly
    almost|hold it|go back|one moment|oops|whoops|let me go back|undo|cancel|abort|negative|never mind|they are not
    i have not|i did not|not really|hm|um no|er no|wrong""")
"""Said after something, with nothing that counts after it: that is undone."""

UNDONE = _any(r"""
    (?:oh |uh |um )?(?:wait|no wait|wait no|no no|scrap that|scratch that|strike that|not yet|no not yet|stop)(?: no)?$
    not yet (?:i|you|we) do not$|no i (?:have|did|do) not$|no (?:they|it|that) (?:is|are|was|were) not$""")
"""An utterance that ends so takes back what it said last."""

MADE_GOOD = _any(r"""
    (?:do|doing|did|done|check|checking|checked|fix|sort|say|get|getting)(?: \w+){0,3} (?:now|it|that|this|first|them)
    (?:go|going) back|(?:right )?now|so here|here it is|let me do""")
"""Said after something was missing: it is made good in the same breath."""
