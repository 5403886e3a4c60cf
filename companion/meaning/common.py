"""Words of everyday talk that are no sign of any step, whichever procedure they stand in. From memory."""

from companion.meaning.words import stem

COMMON = frozenset(
    stem(word)
    for word in (  # noqa: SIM905
        "a about after again all also am an and another any anything are around as ask at away back be "
        "because been before being both but by call can come could did do does done down each either else "
        "even ever every few first for from full get give go going good got great had half has have having he "
        "her here hers him his how i if in into is it its just keep know last left let like little look lot "
        "made make many may me mine more most much must my need never new next no none nor not nothing now of "
        "off ok okay on once one ones only onto or other our ours out over own part please put quite rather "
        "really right said same say see set she should show side since small so some something soon still "
        "stop such take tell than that the their them then there these they thing things this those though "
        "thought through time times to together too two three four five six seven eight nine ten turn twice "
        "under until up us use very want was way we well went were what when where whether which while who "
        "whole why will with within without would yes yet you your "
    ).split()
)
