"""Words and patterns by which a sentence orders, wants, bounds, announces or foretells a value, or tells that it was reached.

Closed classes and frames of English radio talk, of no one trade. Common practice, no source.
"""
import re

from .readout_words import FILLERS, READING_VERBS, word_set

CHANGES = word_set("take bring get put run pay haul veer reel pull push trim turn set lower raise hoist climb descend drive slow accelerate decelerate roll spin "
                   "ramp step open close shut heat cool charge vent pump ease steer fill drain dial adjust throttle lift jack press compress")
"""Verbs by which a value is changed to what is ordered: alone before it they name no parameter."""
ORDERS = CHANGES | word_set(
                  "inflate deflate pressurise pressurize "
                  "depressurise depressurize withdraw insert slew pitch yaw bank cap load unload back start begin try level feed "
                  "hover torque speed go come move increase reduce drop tilt rotate advance retard tighten slacken squeeze pour add hold keep maintain "
                  "stop swing cut fly warm wait")
OPENERS = FILLERS | word_set("and then now please so right copy roger wilco next first second third last good fine thanks thank all again gently slowly nice "
                  "lovely great just also understood carry on")
STEPS = word_set("item step card run test point case task event phase stage pass leg cycle trial shot set")
LETTERS = word_set("alpha bravo charlie delta echo foxtrot a b c d e f")
ASKED_TO = word_set("you us them him her me cleared want need like going ready try")
LEADS_ORDER = word_set("let's lets we'll i'll you'll please and then now you will can could would just or")
NO_VERB = READING_VERBS - word_set("start end climbing hold holding standing stay staying running going coming passing gives makes")
CONTRACTED = word_set("i'm we're it's they're she's he's that's there's i've we've you've they've you're here's")
NOUN_VERBS = word_set("pump torque pitch yaw bank load speed drain lift jack vent roll step trim ramp drive run set pull push charge heat fill drop "
                      "feed press test level swing cut back start stop turn throttle tilt advance pack slack fly bring open close warm lower dial shut")
"""Verbs of orders that are nouns or adjectives as well."""
OBJECTS = word_set("it them her him us that me")
REACHED = re.compile(r"\b((went|came|gone|got|dropped|fell|fallen|rose|risen|climbed|crept|jumped|grew|drifted|sagged|settled|slid|increased|decreased|"
                     r"swung|eased|slowed|moved|changed|peaked|kicked|nudged|shot|ran|returned)"
                     r"( (back|up|down|on|out|in|over|right|left|away|straight))*( to| at)?|"
                     r"(\w+'s|has|have|'ve|i've|we've|had) (come|gone|got|been|dropped|moved)( (back|up|down|on|out|in))*( to| at)?|"
                     r"(took|brought|pulled|pushed|pumped|drove|ran|put|got) (it|us|them|her|him|that|me)( (back|up|down|on|out|in))*( to| at)?|"
                     r"\w+'s( now| still| just)? (up|down|back|out|over|still)( (up|down|back))?( to| at)?)\s*(about |around |nearly |almost |only |just )?$")
"""'Torque went to four', 'tank's come up to twenty': told as reached."""
ACTS = ("pull clear get come turn go back bail break knock pause stop quit abort cut trip shut close open vent flush dump mask call change swap evacuate "
        "interlock alarm scram eject release bring slow ease switch pack land pop bug drop")
ACTED = re.compile(rf"\b(we|i|i'd|we'd|they|you|he|she|doctor|control|everybody|always) (always |all |only |then |normally )?({'|'.join(ACTS.split())})"
                   r"( (me|us|you|it|him|her|them|(the|my|your|our) \w+))?( (up|out|off|back|round|around|over|down|home|in))*"
                   r"( \w+)? (at|past)\s*(about |around )?$|"
                   r"^((okay|and|then|so|now|but) )*(turn ?(a?round|back)('s| is)?|turnaround('s| is)?|whistle('s| is)?|pull (off|up|out|back)|changeover('s| is)?|"
                   r"knock (it )?off|back off|bail out|wash) (at|past)\s*$|"
                   r"\bon [\w ]{1,20} (we|i|they) (cut|stop|abort|trip) (on|at)( \w+)? at\s*$|"
                   r"\b(we|i|they|you|he|she)('d| would) (?!like|say|put|guess|call|rate|have|prefer|want|love|be|give)(\w+ ){1,4}at\s*(about |around )?$|"
                   r"\b(we|i|they|you|he|she)('ll| will) (flush|pump|dump|vent|purge|bin|swap|change|replace|reset|desat|shed|scrub|scrap|shout|warn|abort|"
                   r"drain|empty|refill|kill|cut|trip|bail)( \w+){0,3} at\s*$|"
                   r"\b(we|they|i) (always |all |only |then |normally )?(bin|scrub|scrap|shed|desat|reset|replace|reject|refuse|drain|empty|refill|worry)"
                   r"( (it|them|him|her|you|off|out|back))* at\s*$|"
                   r"^((and|so|but|then) )*(we|they) hold at\s*$|\b(says?|said) (stop|abort|quit|knock off|turn back|pull out)( \w+)? at\s*$|"
                   r"\b(breaks|bursts|buckles|yields|snaps|fails) at\s*(about |around )?$|"
                   r"\b(red|amber|hard|end|mechanical) stop('s| is)( at)?\s*$")
"""'We clear out at fifty', 'turn round's at one forty': what is done there bounds the value."""
ACT_BEHIND = re.compile(rf"^(then |and )?(we|i|you|they)('d)? ({'|'.join(ACTS.split())})\b")
MARK_BEHIND = re.compile(r"^(is|was|'s) where (we|i|you|they) (stop|quit|abort|turn|trip|go home|pull out)\b|"
                         r"^(is|was|'s) (the|our|your|my|its|his|her|their) (\w+ )?"
                         r"(limit|limits|red|red ?line|amber|yellow|orange|most|maximum|minimum|max|min|least|"
                         r"alarm|trip|cut|cut ?off|ceiling|floor|edge|boundary|stop|criterion|lot|top)\b")
BEYOND = re.compile(r"\b(don't|do not|not|never|won't (take|have|accept|allow|like)|can't (have|take)|mustn't|nobody|no)( \w+){0,5} "
                    r"(past|over|above|below|under|beyond|(more|less|fewer|harder|faster|slower|higher|"
                    r"lower|greater|further|deeper|steeper|tighter|hotter|longer|bigger) than)\s*$|"
                    r"\b(okay|ok|good|fine|cleared|safe|happy|certified|tested) (up |down |out )?to\s*$|"
                    r"\bif (\w+ ){1,4}(sees?|gets?|goes|moves?|exceeds?|hits|reaches|passes|drops?|falls?|rises?|climbs?|touch(es)?)"
                    r"( (to|past|over|below|under|above|(by )?(more|less) than))?\s*$|"
                    r"\b(can|may|could) (\w+ ){1,3}(below|under|above|over)\s*$|"
                    r"\b(anything|everything) (over|under|above|below|past|beyond|(more|less) than)\s*$|"
                    r"\bshould (be|stay|stop|read|sit) (\w+ )?(under|below|above|over|inside|within|less than|more than)\s*$")
SPEAKS_NOW = re.compile(r"\b(it's|he's|she's|they're|we're|i'm|was|were|went|never goes|is|are)( \w+){0,2} (over|above|below|under|past)\s*$")
WANTS = re.compile(r"\b(want|wants|needs? (it|her|him|them|to be|to see)|(i|we)'d like|would like|like it)"
                   r"( (the|your|that|this|it|her|him|them|you|us|one)( \w+){0,2}?| \w+)?"
                   r"( (to be|to see|to have|back|up|down|level|steady))*( (at|to|of|near|nearer|by))?\s*(about |around |roughly )?$")
_OPEN = r"^((okay|and|now|so|then|right|please|good|well|next|again) )*"
ASKED = re.compile(
    rf"\b(aiming|looking|shooting|trying|going|asking) for\s*$|{_OPEN}(let's|lets) (have|go|do|use|take|get|make it)( \w+){{0,2}}\s*$|"
    rf"{_OPEN}(use|fly|dial in|dial up|put on|give (it|him|her|them|us)|(wind|walk|work) (it|her|them)( (up|down|back|in|out))?( to)?|"
    r"(pay out|heave in|haul in|reel in|reel out)( to)?)\s*(about |another )?$|"
    rf"{_OPEN}(start|run|drive|set) (the|your|that|this|both|all) \w+( \w+)? at\s*$|^((and|then|so|okay) )*next\s*$|^when (you're|you are) ready\s*$")
"""'Aiming for', 'let's have', 'dial in', 'start the pump at': what follows is asked for."""
HAS_SET = re.compile(r"\b(\w+'s|is|are|was|been) set (to|at)\s*$|^set at\s*$")
COMES_TO = re.compile(r"\b(we|you|it|he|she|they)('ll| will) (have|land with|end (up )?(on|with|at)|finish (on|with|at)|come (out|down) (at|with))( \w+){0,2}\s*$|"
                      r"\bby the time\b.*$|^(and |so )?(that|which) (gives|leaves) (us|me|you)( with)?\s*$")
PLANNED = re.compile(r"\b(planned|scheduled|briefed)( (for|at|to))?\s*$|^((today's|our|the|your) )*profile('s| is)\s*$|\bon paper( it's)?\s*$|"
                     r"\bwe'll be (doing|at|flying|running)\s*$")
FOR_THIS = re.compile(r"^((okay|no|and|then|so|well|right) )*make (it|them)\s*$|"
                      r"\bfor (this|the next|that) (proof|run|test|point|pass|leg|card|step|shot|case|set)('s| is| will be)\s*$")
PROOFS = re.compile(r"^((and|okay|right|now|so|then) )*(first|second|third|fourth|fifth|next|last|final) (proof|run|test|point|pass|leg|shot|case|set|stage|trial|"
                    r"step|dive|drop|cycle)\b(?!.* was\b)")
"""'Second proof, same brake, full speed, eight metres a second': what is to be done next."""
USUAL = re.compile(r"^((the|our|a|its|it's|his|that's) )?(nominal|normal|usual|typical|rated|design|standard|book)( \w+){0,5}"
                   r"('s| is| was| are| about| around)( (about|around|roughly|on|up|near))*\s*$|^((the|our) )?(nominal|normal|usual|rated|design) \w+( of)?\s*$")
FORETOLD = re.compile(r"\b((it|he|she|they|that|you|we)'ll|will) (be|end up|settle|read|show|come)( (down|up|out|back|at|to|about|around))*\s*$|"
                      r"\b(i'd|we'd|i|we) (hoped?|expect|figure|reckon)( \w+){0,3}\s*$|\bshould (end up|come out|settle|run|come)( \w+){0,2}\s*$|"
                      r"\bshould (meet|find|hit|get|have|make|peak|top|reach|arrive|touch)( \w+){0,5}\s*$|"
                      r"\b(we|i'd|we'd) (said|predicted|guessed|hoped for|promised|bet)( (on|about|around))?\s*$|\bat this rate\b.*$|"
                      r"\b(sums?|calculations?|calcs?|plot|model|predictions?|curve|theory|estimate)('d| had)? (says?|said|gives?|gave|has|had|makes?|made|puts?)"
                      r"( \w+){0,4}\s*$")
ANNOUNCED = re.compile(r"\b(we'll|we will|we're going to) (\w+ )?(start|try|do|run|begin|use|fly|go|have|give)( \w+){0,4}$|\btomorrow('s)?\b")

ON_THEM = re.compile(r"^((and|so|but|the|our) )*(limits?|alarm|trip|red ?line|spec|specification|trigger|cut|criterion|criteria|maximum|minimum|max|min|"
                     r"swl|wll|safe working( load)?|working load( limit)?|placard|bingo|vne|never exceed) (on|for|of|in|with) "
                     r"(\w+ ){1,3}(is|was|are)\s*$|"
                     r"^((and|the|its|our) )*(swl|wll|safe working( load)?|working load( limit)?|bingo|vne|never exceed|floor)('s| is| was)?\s*$|"
                     r"\bwatch (out )?for\s*$|\btrigger's\s*$|\b(com(e|ing)|go(ing)?) home at\s*$|"
                     r"^((and|then|so) )*(change|swap|break|replace|flush|purge|drop|dump) (the|your|our|it|that)( \w+)? at( the| about)?\s*$")
BY_PAPER = re.compile(r"^(by|per|on|as on|from) the (book|sheet|card|plan|drawing|schedule|checklist|procedure)\b")
MET = re.compile(r"^((and|the|so) )*(met|forecast|overnight|prediction)\b|^((and|so|well|but|yeah|no) )*(i|we) (expect|predict)\b")
STARTS_WITH = re.compile(r"\b(we'll|we will|we're going to|let's|i'll) (\w+ )?(start|begin|try|do|run|kick off)\b")
COMES_NEXT = re.compile(r"\b(next|please|when (you're|you are|we're) ready|on my (call|mark))$")
CARD_STEPS = word_set("item step card run test point case task event phase")
DONE = word_set("complete completed done finished over started ended")
AIMING = word_set("climbing descending easing pulling pushing trimming slowing accelerating turning rolling pitching opening closing heating cooling pumping "
                  "hoisting lowering lifting hauling driving running bringing taking ramping stepping raising winding setting stopping")
NO_AIM = word_set("up down back close due next gust gusts through on it this that in out over and or us them me you him her okay good fine cleared clear near "
                  "equal zero one two three four five six seven eight nine ten point about only of for with at by")
MOVES = word_set("bring take raise lower lift climb descend pump turn run open ramp pay haul step ease move")
MOVED = word_set("up down on in out off over back round to")
"""'Bring the modulator up. Two fifty first': what is set in motion goes to the value behind."""
WINDS = word_set("wind winds gust gusting gusts breeze")
MOST_THINGS, MOST_SAID = 20, 5
