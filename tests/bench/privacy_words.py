"""Makes `companion/record/personal/words.txt`, the words that free text may hold without any of them being a name.

    python -m tests.bench.privacy_words

A word in no list here may be a name, and is held back. Words: SCOWL's huge American and British lists (Debian's
packages `wamerican-huge` and `wbritish-huge`); what its large lists write with a capital, such as places and
peoples, apart from every name of a person in the lists of `privacy_names`; generic names of medicines with a
DrugBank number (CC0; in the package `drug-named-entity-recognition`); what the procedures say; and, by hand, what
is said on a ward. Left out are the names that `names.txt` holds, and words that SCOWL's small lists do not have
where they are names too (`khan`). What SCOWL's small lists have stands apart, and what the procedures and the list by
hand have: a slip of one letter in those is seldom a name.
"""

import bz2
import calendar
import importlib.util
import pickle
import re
from pathlib import Path

from companion.record.personal.free_text import tokens
from companion.record.personal.names import listed
from tests.bench import privacy_names as people

ROOT = Path(__file__).parents[2]
TARGET = ROOT / "companion" / "record" / "personal" / "words.txt"
HEAD = """\
# Made by tests/bench/privacy_words.py. Words that name nobody, as compared: small letters, no accents or apostrophes;
# after the empty line those that are common in talk. Generic names of medicines are from DrugBank's open
# vocabulary (CC0). The others are from SCOWL, Copyright 2000-2018 by Kevin Atkinson. Permission to use, copy, modify,
# distribute and sell these word lists, the associated scripts, the output created from the scripts, and its
# documentation for any purpose is hereby granted without fee, provided that the above copyright notice appears in all
# copies and that both that copyright notice and this permission notice appear in supporting documentation. Kevin
# Atkinson makes no representations about the suitability of this array for any purpose. It is provided "as is" without
# express or implied warranty.
"""
_SAID = """
aah abcde able acromion adl afebrile afterwards agad ahh aint aiyo alright alrighty alsa american ampule ampules
amputee analogue analogues anaphylactic angioedema ante antecubital antt app apps arabic argh arvo aseptically asian
aspart asthmatic atween avpu aye babbelas backlit barre basal basilic bedside bedspace bengali biohazard bionector
biphasic biro birthdate bleedin bleep bleeped bloke blokes bloods blossom bluetooth bolus bolused boluses bowlin bpm
brekkie british buccal bung bungs buttcheek calc calibrated cannae cannulae cannulas cannulate cannulated cannulation
cariad cartridges catholic ccs celsius cephalic chattin checklist chez chinese chlorhexidine christmas chuck ciotog
cmon colour competency cotton couldnt covid cpr crash csv cuppa da dad daddy dang danish darlin darling daw debrief
debriefed debriefing decon decontaminated decontaminating deffo defib degludec deltoid deselect detemir dextro
diaphoresis didnae dis diva diwali doc doesnae doin doppler drive drookit dsp duck earbud earbuds ecg eeh ehm eid email
emar emojis emr english epi era erm erythema erythematous extravasated extravasation exudate ey facilitator fahrenheit
fawr fella ffp fingerprick fingerstick finna flac flacon floaties flower flu flushin folder foley footy french fridge
gcs gday german gimme glargine gloveless glovin glucagon glucometer glulisine goin gonna gotta gran grandad grandma
granny greetin gubbins guillain gwan gypsy handover handwash handwashing hartmann hartmanns hba hdmi headset heck hen
hep hindi hindu hiv hiya hmm hodgkin hon hopefully hotspot hpv html hubby hue huh hwyl hydroalcoholic hypo hypos idli
iliac immunised indian indie indurated induration infiltrated innit insha inshallah insulin insulins interosseous
intradermal intradermally intravenously ir irish isbar isophane italian itll ius ivs jab jabs jaggy japanese jewish
json jsonl kardex kardexes karma kbps keek kelvin keto ketone ketones kilo kilos kinda knackered kpa lad lads lan
lancet lancets laptop lass lasses lassie lassll lekker lemme lido lilo lispro lister login loo lotta loudspeaker luer
luerlock lumpectomy lurgy mar mate mates mayo mcg medic meds mentation mentee mentored merienda metacarpal metre mhm
mic microgram micrograms mics mil milligram milligrams millilitre millilitres millimol millimole millimoles min mini
missus mmhg mmm mmol mmr mornin morning mp mum mummy mums muslim mute nae nan naw neb nebs nebulised nebuliser nil
niner nowt nup obs octopus ogg ok okay oke okey okeydokey oki oldie online oof ooh oops oppo org orthostatic osce osces
ouch ought outta overarm owt oxygenated paed paediatric paeds painin pal paraumbilical parkinson parkinsons peely
pendant periumbilical periwound pet petal phew phlebitis pinkie pinprick plaster png podcast polish poo portaudio
portfolio portuguese ppe practicum pre preceptor prefilled premixed preregistration prn propofol pruritus pulseaudio
punjabi qc radial ramadan recap recapped recapping recheck reckon rekeyed resheath resheathe resit resite resited
resits resp retake retakes retape retry righto righty rn rota rotator rsv sanger sanitised sanitising sats sbar schtum
scottish screensaver scrubbin selfcare selfie shadowed sheath shoulda sige skelf slanj sliders slough sloughy
smartphone soap somethin sorta soundcard spanish spelt sposed spur squiz stat stdin stdout steady steri stopcock
stridor subcut subcutan subcutaneously subcutis sublingual summat supernumerary swabbed sweetheart sweetie syringe
syringes ta tachy tannoy tannoyed tdap telly telt temp thegither thered therell thingy thumbs til timestamp timestamps
topsy touchscreen tourniquet tracked tracking transdermal triage triaged tryna tucker tummy turvy tv txt uhhuh uhm
ulnar umbilical umm uncap uncheck underarm undock unmute unplug unrubbed unscrew unscrewed unswabbed urdu urticaria usb
username vaccinal vanishingly vax vein velcro venous verbalise verbalised verbalises verbalising verbalize verbalized
verbalizing vials vip vitals viva wanna warfarin wav weal webcam website wee welsh whatcha whatsit wheal wheezin whoa
wifi willnae wipedown wireless wont workstation woulda wouldnae wristband xray yall yaml yeah yep yestreen yml yous yup
zip
""".split()  # noqa: SIM905

_EPONYMS = """
abbocath adson apgar barthel braden broviac colles debakey dupuytren epworth gamgee giemsa gillies guedel
heparinised heparinized hickman humby jamshidi koplik korotkoff langenbeck maelor malecot mallampati mantoux marfan
meniere metzenbaum norton quincke raynaud redivac robinson rovsing seldinger sengstaken sims sprotte surgilube
tenckhoff tourette trendelenburg vacutainer valsalva venflon veress waterlow yankauer ziehl
""".split()  # noqa: SIM905
"""Those after whom a thing of the trade is called, and who are seldom anybody's name."""

_SHORT = """
aau abg ace acei inr acp adn adrenaline afeb aki alt amu anp apixaban appt aptt arb arbs aseptic aspirin ast avpu bibs
bsc cauti ccu ckd clabsi cna coags copd covid cutan cva cvad cvc dnacpr dnar doac doacs dvt eeg ega egd egfr emg ent eol
esbl esr ett fio flucloxacillin gluteus gtt gtts gyn hba hca hcas hdu hydrogel hyperglyc icn iddsi inj intraop
isophane itu iud ivab ivabs ivc ivf ivig ivp ivpb junior ldl lfts lidocaine lignocaine lmwh lpn meds milli mrsa msn
nacl nah nano ncd nebs nebules neuro ngt noac noacs nocte norovirus npo npwt nsaid nsaids obgyn obs onc ophthal osa
ova paracetamol pea pef pheresis picc picu piptaz piv pivc postop ppi preop pul qid ranitidine resps rgn ringers
rivaroxaban rmo roa rta sats sdec sho sicu soln subq taz tia tiritas tiva tpn troponin trops tuberculin ues ufh uti
utis vacc vad vads vaers vastus vbg ventrogluteal ward
""".split()  # noqa: SIM905
"""Short forms of a ward, and a few words of it that no other source holds."""


def plain(text: str) -> set[str]:
    return {token.plain for token in tokens(text) if token.word}


def medicines() -> set[str]:
    """Words of generic names; what a brand is called is often a name too."""
    spec = importlib.util.find_spec("drug_named_entity_recognition")
    if spec is None or spec.origin is None:
        raise SystemExit("needs the package drug-named-entity-recognition")
    with bz2.open(Path(spec.origin).parent / "drug_ner_dictionary.pkl.bz2") as packed:
        known = pickle.load(packed)["drug_canonical_to_data"]
    told = [each["name"] for each in known.values() if "drugbank_id" in each and isinstance(each.get("name"), str)]
    return {name.lower() for name in told if re.fullmatch(r"[A-Za-z]{5,}", name)}


def procedures() -> set[str]:
    return {word for path in (ROOT / "procedures").glob("*.yaml") for word in plain(path.read_text(encoding="utf-8"))}


def of_people() -> set[str]:
    """First names and last names; but last names of the census alone are nearly all the words there are."""
    firsts = people.census(("first:male", "first:female")) | people.worldwide(people.FIRST)
    return people.parts(firsts) | people.parts(people.worldwide(people.LAST))


def main() -> None:
    firsts, lasts, *also = listed()
    named = of_people()
    days = {day.lower() for day in (*calendar.month_name, *calendar.day_name, *calendar.month_abbr, *calendar.day_abbr)}
    small = people.scowl("small")
    words = people.scowl("huge") - (named - small) | (people.scowl("large", capitals=True) - named)
    common = procedures() | set(_SAID)
    words |= medicines() | days | people.WORDS_ALL_THE_SAME | set().union(*also) | set(_EPONYMS) | set(_SHORT)
    blocks = [
        {word for word in each if len(word) > 2 and word.isascii() and word.isalpha()} - firsts - lasts
        for each in (words - small - common, words & small - common, common)
    ]
    TARGET.write_text(HEAD + "\n".join("\n".join(sorted(block)) + "\n" for block in blocks), encoding="ascii")
    print(*map(len, blocks), TARGET.stat().st_size)


if __name__ == "__main__":
    main()
