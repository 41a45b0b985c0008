"""Words that tell a state rather than a number: closed classes of English and of switch panels. Common practice, no source."""

from .readout_words import word_set

STATES = word_set(
    "normal nominal good okay ok fine excellent great perfect beautiful super superb terrific green amber red nice solid steady stable stiff "
    "loose tight locked unlocked latched unlatched closed open shut sealed armed safe safed secure secured stowed stopped running working flush "
    "clear clean cold hot warm cool comfortable uncomfortable dry wet damp fogged misted foggy broken stuck jammed bent leaking missing "
    "empty full dead weak bad poor rubbish terrible awful smooth rough level straight even quiet noisy bright dark dim high low slow sluggish "
    "easy hard heavy light better worse satisfactory unsatisfactory adequate inadequate acceptable readable unreadable garbled "
    "excessive sharp snug bumpy choppy calm sore numb tired dizzy thirsty aligned misaligned tripped blown lit flashing "
    "operational inoperative intermittent erratic engaged disengaged extended retracted deployed connected disconnected tied slack taut "
    "clipped scratchy fading faint workable stuffy free well slower faster stronger weaker louder quieter off-scale zeroed torqued centered centred "
    "balanced trimmed "
    "fouled frayed scratched cracked dented worn "
    "charged discharged deflated inflated pressurized pressurised depressurized depressurised vented isolated normal-looking fives")
PLACES = word_set("on off in out up down aft forward automatic auto manual standby primary secondary bypass center-off")
"""Positions of switches, valves and lights: a state only behind a verb ('the fan is off'), never by themselves."""
CHANGES = word_set(
    "drifting dropping falling rising climbing building increasing decreasing oscillating fluctuating wandering leaking working running "
    "holding tracking damping smoothing slipping sticking flashing fading clearing improving coming going wanders drifts holds works looks moves "
    "vibrating venting relieving stabilizing stabilising steadying decaying turning spinning settling")
DEGREES = word_set("very pretty quite rather really fairly a little bit slightly extremely much too so just all both still now again not no completely "
               "almost nearly only overly well quite somewhat kind of kinda sort currently presently definitely about apparently back perfectly "
               "totally been getting got gone now")
LINKS = word_set("is are was were looks look looked looking feels feel felt seems seem seemed appears appear remains remain stays sounds sound "
             "isn't aren't wasn't weren't reads smells")
NOT_TOLD = word_set("if when unless will would should could might must can shall want need let lets let's please before until whether may "
                "don't do does did make sure hope expect tell give how what which why who where ready")
"""Words of orders, wishes, conditions and questions: a clause that holds one tells no state."""
FEELING = word_set("feel feels feeling felt am i'm we're")
BODY = word_set("fine good great okay ok comfortable uncomfortable cold hot warm cool tired thirsty dizzy "
            "sick well excellent better sore wet dry hungry marvelous marvellous happy")
HAVING = word_set("have has had got get getting receiving reading copy hear read giving showing")
"""Verbs before a state that stands in front of its noun ('we have solid telemetry contact')."""
CHECKED_ALL = word_set("everything all systems status")
