"""The small words around a spoken value: what links a name to it, what may not stand in a name, what follows a value.

Closed classes of English and the reading verbs of radio work; no names of things. Common practice, no source.
"""


def word_set(text: str) -> frozenset[str]:
    """The words of a text, parted by blanks."""
    return frozenset(text.split())


READING_VERBS = word_set(
    "is are was were be been am isn't aren't reads reading read shows showing show indicates indicating indicated indicate registers "
    "registering equals equal gives gave stands standing holding holds hold remains remaining running runs stays staying has had have got gets "
    "dropped drops dropping rose rises rising fell falling climbed climbing went going came coming passing makes making sits sitting says "
    "gone started start ended end ends began stopped peaked settled crept ticked jumped edged drifted "
    "nudged popped bumped sagged slid spiked swung grew eased bounced recovered averaging used burned burnt spent measures measured measuring looks came 're 's")
SMALL_LINKS = word_set("at of to by now here still presently currently just only up down out over under back in on around from with as for about "
                   "present time set again well approximately roughly maybe almost nearly some say exactly even another "
                   "somewhere between a an the bit little less more than good steady both all my your our his her their")
HEDGES = word_set("about approximately around roughly maybe nearly almost some say call circa somewhere say perhaps probably")
FILLERS = word_set("uh um er ah oh hm hmm well okay ok yes yeah yep roger so then like you know see gee please sir here's there's let me "
               "now uhh huh")
DASHES = word_set("- -- — – : ... …")
PRONOUNS = word_set("it that we i you they he she this it's that's i'm we're you're they're he's she's i've we've you've they've there there's these "
                "those here it'll that'll they'll we'll you'll he'll she'll i'll who one's makes thats "
                     "theres im ive weve youre theyre heres mine mine's yours ours theirs")
PREPOSITIONS = word_set("on of by in for at from inside outside to over above below under into through across per")
DETERMINERS = word_set("the a an your my our his her their its this that these those")
CONJUNCTIONS = word_set("and but or nor so because if when while until unless then than as before after since where whether though although plus minus")
_UNMARKED = word_set("dont wont cant couldnt shouldnt wouldnt didnt doesnt isnt arent hasnt whats hows lets should've would've could've units meant supposed "
                     "stay stays stayed reach reaches reached expect expects rest figure figures")
"""As recognisers write them, and what no name holds."""
BREAKS = (_UNMARKED | READING_VERBS | PRONOUNS | PREPOSITIONS | CONJUNCTIONS | FILLERS | word_set(
    "the a an your my our his her their its do does did don't doesn't didn't can can't could couldn't will won't would wouldn't shall should "
    "shouldn't may might must need needs want wants wanted not no never ever what what's which who whom whose how why how's i'd i'll we'll we'd "
    "you'd you'll they'll let let's give gives gave given giving get getting take takes taking took put puts putting keep keeps keeping make made "
    "tell tells told ask asked think thinks thought guess know knows knew see sees saw seen seeing look looking look's hear heard copy copied "
    "copies understand understood affirmative affirm negative wilco correction confirm confirmed verify verified stand standby say said saying "
    "report reported reporting call called calling with about without also too very really quite just only still again already yet here there "
    "now today later soon back up down out off away me him us them myself everything anything something nothing everybody somebody nobody "
    "thing things got okay ok thanks thank sorry please hello hey over mark go goes gone come comes done do doing did use used using try tried "
    "turn turned turns turning starting stopping pulled pulling pushed pushing bring bringing brought continue continuing "
    "carry want like liked seem seems seemed feel feels felt work works working worked happen happened same such much many more most less least "
    "few any some all each every both either neither other another next last first presently currently approximately roughly maybe perhaps "
    "nearly almost exactly even probably possibly however therefore anyway between around during within till against along toward towards "
    "ready complete completed finished good bad fine great nice beautiful excellent normal nominal stop repeat make set "
    "descend descending descends ascend ascending climb climbs climbing accelerate accelerating decelerate "
    "ease eases easing steer steering "
    "past slow slowly careful watch watching mind rid "
    "leave left-hand check checks checked checking down's it'd am it'll pretty little bit lot "
    "lost losing taken wait waiting move moved moving follow follows following agree agreed agrees"))
NOUNS_IN_ING = word_set("bearing heading setting cooling heating reading rating wing ring string spring spacing loading opening ceiling rigging "
                    "swing lining tubing bushing coating mooring lighting housing coupling fitting gearing breathing steering casing king wiring landing")
DIRECTIONS = word_set("left right up down high low north south east west plus minus positive negative forward aft out in")
AFTER_VALUE = DIRECTIONS | word_set(
    "and or but now steady holding stable constant rising falling dropping increasing decreasing climbing good even solid flat again so at on "
    "of for in to over from with by is was are as when while before after if then here there please roger okay ok right left each both today "
    "right now, gusting gust gusts variable apiece indicated isn't that that's the a this it's it i i'm we we're you he she they my your our his "
    "her its also too not no yes only still per which where than until since because correct copy through repeat correction total peak max "
    "increase decrease above below minimum maximum nominal exactly currently presently already again yet soon still "
    "tonight yesterday last this earlier across dead all instead anyway though max. remaining left gone used either around about plus minus")
CONTRASTS = word_set(
    "left right side hand inside outside upper lower middle centre center inner outer "
    "front rear back forward aft top bottom primary secondary main backup standby auxiliary emergency port "
    "starboard inboard outboard first second third fourth high low mean peak static dynamic inlet outlet supply return pull push north south "
    "east west internal external wet dry hot cold manual automatic auto regulated number no. no isolated systolic diastolic max min maximum minimum a b c d")
"""Words that tell like things apart: a phrase of these alone takes the head of the value before ('primary oxygen is 78; secondary, 102')."""
SIDES = word_set("left right port starboard front rear back forward fore aft upper lower inner outer inboard outboard top bottom first second third fourth")
"""Which of several like things, and nothing else."""
MODALS = word_set("should will would may might must could ought")
"""What stands before 'be' and 'read' between a name and its value ('chamber should be 150')."""
ASKING = word_set("asks asking wants like give giving say read report reading please need what what's whats need want")
