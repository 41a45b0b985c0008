"""Faults as people tell them in passing: a thing that makes a noise again, has gone, won't do its work, comes adrift, gets worse.

Closed classes of verbs and of what wears out, no names of one trade. Common practice, no source.
"""
import re

_NOISES = ("singing|whistling|whining|humming|buzzing|knocking|clunking|clicking|chattering|groaning|creaking|screeching|screaming|howling|hunting|juddering|"
           "shuddering|shaking|wobbling|surging|stuttering|misfiring|coughing|spluttering|banging|ticking|rumbling|hissing|rattling|"
           "grinding|squeaking|"
           "flickering|dripping|smoking|smouldering|steaming|foaming|overflowing|spilling|slipping|sticking|binding|wandering off|cutting out|"
           "cutting in and out|dropping out|playing up|acting up|falling off|peeling|lifting off|flapping|fluttering badly")
_PARTS = ("lights?|lamps?|bulbs?|fuses?|seals?|bearings?|motors?|belts?|valves?|batter(y|ies)|radios?|screens?|displays?|pictures?|cameras?|gauges?|sensors?|"
          "pumps?|fans?|heaters?|signals?|channels?|tyres?|pressure|power|feed|sound|video|line|brakes?|switch(es)?|pens?|traces?|mikes?|"
          "mics?|headsets?|"
          "engines?|gaskets?|hoses?|cables?|springs?|clutch|gearbox|compressors?|generators?|links?|telemetry|intercom|speakers?|needles?|lens(es)?")
_WEATHERED = "frost|ice|water|smoke|oil|fuel|dust|steam|condensation|damp|rust|sand|corrosion|moisture|foam|fire|flames?|grease|mud|grit|blood|fumes"
_NO_FAULT = ("be|need|take|hurt|have|let|do|make|keep|tell|want|know|say|forget|bother|harm|see|get|go (above|over|below|past|beyond|before|until)|come (to|back)|"
             "happen|matter|last|cost|mind|reach|exceed|touch|change|affect|interfere|wait|ask|call|talk|interrupt|repeat")
FAULTS = re.compile(
    rf"\b(\w+'s|is|are|was|were|been|started|keeps?|kept|still|it|began) (just |still |a bit |badly |now |all )?({_NOISES})\b(?! (in|out) nicely)|"
    rf"({_PARTS})('s| is| has| have|'ve| are) (just |all |now |completely )?(gone(?! (to|through|past|into|from|up|down|out))|died|dead|"
    rf"flat|packed up|given up|quit|out\W*$|"
    r"conked out|blown|burnt out|dropped out|cut out|tripped|frozen|blank|playing up|erratic)\b|"
    r"\b(packed up|given up the ghost|conked out|on the blink|out of action|unserviceable|u/s|playing up|acting up|misbehaving)\b|"
    rf"\b(it|she|he|that|this|these|those|they|the \w+|my \w+|\w+ (?!i |we |you )\w+) (won't|will not|wouldn't|refuses to|"
    rf"doesn't want to) (?!({_NO_FAULT})\b)\w+|"
    r"\b(getting|gets|got|is|it's) (a lot |much |any )?worse\b|"
    r"\b(caught|snagged|tangled|trapped|wedged|hung up) (under|on|in|round|around|between|against|behind|up)\b|"
    rf"\b(there's|there is|there are|got|have|see|seeing|find) (some |a bit of |a lot of |a little )?({_WEATHERED})( is| are)? (on|in|at|"
    rf"under|over|around|round|coming|"
    r"building|all)\b|"
    r"\b(a|an|bit of a|some|the|that|funny|strange|odd|bad|burning|burnt|gas|oil|fuel|smoke) (\w+ )?smell\b|\bsmells? of (?!roses)\w+|"
    r"\bi can smell (?!nothing|no)\w+|"
    r"\b(don't|do not) like the (look|sound|feel|smell) of\b|"
    r"\b(keeps|kept) (on )?(dropping|cutting|tripping|popping|falling|coming|slipping|blowing|jumping|clicking|swinging|breaking|"
    r"going) (out|off|open|shut|loose|undone|over)\b|"
    r"\b(come|came|coming|hanging|worked) (adrift|undone|apart|unstuck|off its|away from (its|the))\b|\bhanging (off|by)\b|\badrift\b|"
    r"\b(i've|we've|there's|got|have|getting) no (tone|feed|response|movement|flow|current|voltage|indication|readout|lights?|brakes?|"
    r"steering|control|air|lift|suction|"
    r"vacuum|heat|heating|contact|link|telemetry)\b|"
    r"\brunning (hot|rough|dry|backwards|away|ragged)\b|\b(all over the place)\b|"
    r"\b(split(?! (the|it|up|between|them))|ripped|bust|busted|kinked|clogged|choked|corroded|perished|warped|pitted|bunged up|gummed up|"
    r"waterlogged)\b(?! the (difference|bill|second))|"
    r"\b(blew|blown|popped) (a|the|its|my|another) (\w+ )?(fuse|breaker|gasket|seal|bulb|hose|valve|tyre)\b")
FINISHED = re.compile(
    r"\b((is|'s|are|come|came|got|have) (it |them |my \w+ |the \w+ )?back\b|tight(ened)?\b|thawed|melt(ed|ing) off|found (it|them|the|a|my)|"
    r"replaced|changed it|swapped|mended|repaired|"
    r"cured|started|starts|turning|freed|came free|(fire|flames?|smoke)('s| is) out|all right now|behaving|stopped (hissing|leaking|"
    r"dripping|squealing|"
    r"singing|rattling|smoking|shaking|knocking)|dried (off|out)|topped up|plugged (in|back)|reset)\b")
"""Words of what is put right, beside those of anomalies."""
OF_IT = re.compile(r"\b(it's|it is|they're|that's|it) (all |now |quite |just |got |been )*(steady|fine|okay|ok|clear(ed)?|working|gone|back|better|good|free|off|on|"
                   r"tight|shut|"
                   r"closed|fixed|sorted|moving|running|normal|quiet|dry|stopped)( again| now)?\b")
"""'It's steady now': put right, told of the thing that the same station had spoken of just before."""
