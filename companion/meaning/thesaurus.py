"""Sets of words that mean the same in the trade, by a name in capitals that ideas may use.

Written as ideas are: `|` parts alternatives, `_` joins words that follow each other, `!` ends a word that counts in
this very form, `#` is any number.
"""

from collections.abc import Mapping

THESAURUS: Mapping[str, str] = {
    "AGAIN": "again|one_more_time|once_more|repeat|second!|twice|anew|further",
    "ASK": "ask|check|confirm|find_out|verify|question|establish|see_if|ensure|enquire|inquire",
    "CHECK": "check|double_check|look|read|compare|verify|confirm|make_sure|see|inspect|examine|match|"
    "cross_check|review|view|ensure|note|find_out|ask|go_through|glance|assess|scan|study|"
    "control|comparison|verification|test",
    "CHECKER": "checker|second_person|rn|witness|oppo|peer|second_pair_of_eyes|other_one|workmate|"
    "co_worker|another_member|second_member|colleague|second_nurse|another_nurse|second_checker|"
    "other_nurse|sister|second_registered|someone_else|somebody_else|coworker|partner|"
    "second_practitioner|second_qualified|another_person|other_person|second_pair|"
    "another_registered|mate|buddy|senior_nurse|charge_nurse",
    "CLEAN": "clean|cleanse|wash|rub|gel|sanitize|disinfect|decontaminate|scrub|foam",
    "DISPOSE": "dispose|discard|bin|throw|drop|trash|rid|put|place|chuck|away|pop|toss|bag|ditch|go|"
    "deposit|gone|disposal|straight",
    "DRY": "dry|dried|drying|evaporate",
    "FIRST": "first|one|initial|1st",
    "LAST": "third|last|final|three|3rd",
    "MEAL": "meal|brekkie|lunch|dinner|breakfast|supper|food|eat|eating|tea|snack|sandwich",
    "ML": "ml|mil|milliliter|millilitre|cc",
    "MONTH": "january|february|march|april|may!|june|july|august|september|october|november|december|"
    "jan|feb|aug|sept|oct|nov|dec|christmas|next_year|month|year",
    "NO": "no|not|without|free|never|none|nothing|neither|nor|negative|absent|exclude|isnt|free_of|deny",
    "NOTES": "chart|note|record|notebook|documentation|system|book|form|card|sheet|file|computer|paper",
    "ORDER": "order|prescription|chart|prescribe|script|mar|medication_record|treatment_sheet|paper|sheet",
    "ORDINAL": "first|second|third|fourth|fifth|sixth|seventh|eighth|eight|ninth|tenth|eleventh|twelfth|"
    "thirteenth|fourteenth|fifteenth|sixteenth|seventeenth|eighteenth|eighteen|nineteenth|"
    "nineteen|twentieth|thirtieth|monday|tuesday|wednesday|thursday|friday|saturday|sunday|"
    "today|yesterday|#",
    "PATIENT": "patient|client|person|him|her|she|he|them|lady|gentleman|resident|man|woman|you",
    "SECOND": "second!|two|2nd|again|once_more|twice",
    "SHARPS": "sharps!|sharp!|sharps_bin|sharp_bin|yellow_bin|yellow_box|needle_box|needle_bin|box_for_needle",
    "SIGNED": "signed!|signing!|sign!|signature|initial",
    "TELL": "tell|explain|inform|advise|talk|teach|remind|instruct|educate|warn|advice|say|discuss|"
    "show|instruction|counsel|describe|know|let_know|pass_on|communicate|report",
    "UNIT": "unit|iu",
    "WIPE": "wipe|swab|clean|scrub|disinfect|rub|cleanse|sanitize|alcohol",
    "WRITE": "write|written|document|record|enter|note|jot|chart|log|fill|complete|put|entry|go|gone",
}
