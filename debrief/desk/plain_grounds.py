"""Grounds and reasons as people read them. The store keeps them in the short form in which they are counted (checks/grounds.py)."""
import re
from collections.abc import Iterable

AGAINST = {
    "a reason to look": "a check marked it",
    "answer: in words of its own": "the answer is in words of its own",
    "answer: late": "the answer came late",
    "answer: none was heard": "no answer was heard",
    "class: a bound was asked for": "a limit or a plan was asked for just before",
    "class: a rate": "its unit is that of a rate",
    "class: an open range": "it is a range",
    "class: behind to": "it stands behind to, as an order does",
    "class: target": "it may be a target",
    "class: words of a bound near a measured value": "words of a limit or a plan stand in its sentence",
    "class: words of a plan before it": "words of a plan, a rule or a limit stand before it",
    "class: words of a plan behind it": "words of a plan, a rule or a limit stand right behind it",
    "class: words of an order": "its sentence reads like an order",
    "correction: in the turn": "something is corrected in the same turn",
    "correction: of what is not named": "a correction in the same turn does not name what it corrects",
    "correction: soon after": "a correction follows soon after",
    "correction: soon after, of this name": "a correction that names it follows soon after",
    "correction: soon after, of this value": "a correction with this value follows soon after",
    "grounds against": "several things speak against it",
    "hedged": "it was said with a reserve",
    "history: far beyond its limit": "it is more than twice its limit",
    "history: far in magnitude": "it is far from the size of its other values",
    "name: a noun behind the value": "another noun stands right behind it",
    "name: a number between": "another number stands between it and its name",
    "name: a sentence between": "its name stands in another sentence",
    "name: a word of a bound or a step": "its name holds a word of limits or of steps",
    "name: another thing is named in its clause": "something else is named beside it",
    "name: another thing was just spoken of": "the turn before spoke of something else",
    "name: behind the value": "its name stands behind it",
    "name: carried, its unit unsaid": "neither its name nor its unit was said",
    "name: doubted": "what it is the value of is in doubt",
    "name: far from the value": "its name stands far from it",
    "name: half said": "only a part of its name was said",
    "name: half said, its unit guessed": "a part of its name and its unit were not said",
    "name: half said, its unit unsaid": "a part of its name and its unit were not said",
    "name: its words were said long before": "the words of its name were said some turns before",
    "name: no known head": "its name is that of no known measure",
    "name: no measure, its unit unsaid": "its name is that of no known measure, and no unit was said",
    "name: none": "no name was said with it",
    "name: not due on the open card": "the open card does not ask for it",
    "name: not in the plan that there is": "the plan does not name it",
    "name: not in the turn": "its name was not said in the same turn",
    "name: rare words": "its name holds rare words",
    "name: words away": "its name stands some words away",
    "rated more than once": "the same was rated more than once",
    "read back wrong": "something else was read back",
    "read-back: long after": "it was read back long after",
    "read-back: of a part": "only a part was read back",
    "read-back: of one digit": "a single digit was read back",
    "station: guessed": "who spoke is a guess",
    "station: not one that rates": "who said it is not asked to rate",
    "station: not the rater's own": "somebody else tells it for the rater",
    "superseded": "it was corrected later",
    "turn: a question": "it was said in a question",
    "turn: begins as a read-back": "its turn begins like a read-back",
    "turn: long": "it stands in a long turn",
    "turn: many numbers": "many numbers stand in its turn",
    "turn: numbers that no row explains": "the turn holds numbers that are not understood",
    "turn: very long": "it stands in a very long turn",
    "unit by last value": "its unit is that of its last value",
    "unit by other grounds": "its unit was not said",
    "unit by spoken with this parameter": "its unit was said with an earlier value",
    "unit by the session file gives": "its unit is that of the session file",
    "unit by the usual unit of": "its unit was not said; the usual one is taken",
    "unit by the usual unit of such talk": "its unit was not said; the usual one of such talk is taken",
    "unit: another than the plan's": "its unit is not the one of the plan",
    "unit: assumed": "its unit was not said",
    "unit: carried": "its unit is taken from before",
    "unit: doubted": "its unit is in doubt",
    "unit: guessed": "its unit was not said",
    "unit: none": "it has no unit",
    "unit: not of the plan's kind": "its unit measures something else than the plan asks for",
    "unit: not of the thing's kind": "its unit does not suit what is measured",
    "unit: of several meanings": "the word of its unit has several meanings",
    "value: a percentage beyond all": "it is a percentage below 0 or above 100",
    "value: a time longer than the talk": "it is a time longer than all the talk",
    "value: a word like a digit beside it": "beside it stands a word that sounds like a digit (to, for, oh)",
    "value: a word that is often no number": "its word is often no number (one, oh, a)",
    "value: alone in its sentence": "it stands alone in its sentence",
    "value: another number beside it": "another number stands right beside it",
    "value: begins with its point": "it begins with its point",
    "value: behind a word of numbering": "it may be the number of a step, a card or a page",
    "value: behind other words": "other words stand right before it",
    "value: counts down": "its digits count down",
    "value: digits and a half": "single digits, then a half",
    "value: digits run together": "its digits may be several numbers run together",
    "value: doubted by grammar": "the number is oddly put together",
    "value: figures that no blank should part": "its figures stand apart",
    "value: in a count": "it stands in a count",
    "value: in pieces": "it was said in pieces",
    "value: joined to another number": "another number is joined to it by and, or, to",
    "value: many digits": "it has many digits",
    "value: odd marks": "the recogniser broke off in it",
    "value: one digit": "a single digit, easily misheard",
    "value: one or another": "one value or another was said",
    "value: perhaps a rating": "it may be a rating",
    "value: perhaps the number of a thing": "it may be the number of a thing",
    "value: runs into another number": "another number follows without a pause",
    "value: said in digits, perhaps without its point": "it was said digit by digit, and its point may be missing",
    "value: told anew by weighing": "its words were chosen by comparing readings with the sound",
    "value: two readings": "its words can be read as two numbers",
    "value: with decimals": "it has decimals, which are easily misheard",
    "value: words of several numbers": "its words may be several numbers",
    "weighing: another number fits better": "another number fits the sound better",
    "weighing: another value fits better": "another value fits the sound better",
    "word probability low": "its words were badly heard",
}
"""What speaks against a row."""

FOR = {
    "a plain frame reads the same": "read anew by its name, number and unit alone it says the same",
    "answer: one number to one question": "it is the one number that answers a question of it",
    "answer: a decision": "it closes the poll", "answer: alone": "the answer stands alone",
    "class: forecast": "said as a forecast", "class: limit": "said as a limit", "class: measured": "said as measured", "class: past": "said of before",
    "class: plan": "said as planned", "history: in a run of one direction": "it goes on in the direction of its other values",
    "history: known": "other values of it are known", "history: near its neighbours": "it is near its values before and after",
    "name: a measurable thing": "its name is that of a known measure", "name: due on the open card": "the open card asks for it",
    "name: in the plan": "the plan names it", "name: many words": "its name has many words", "name: part of a planned one": "a part of a name of the plan",
    "name: right before the value": "its name stands right before it", "name: said of other values": "its name was said with other values",
    "name: spoken": "its name was said", "plain": "nothing grave speaks against it", "read back right": "it was read back right",
    "read-back: told wrong": "the read-back is told as wrong", "repeated": "it was said again in another turn", "station: known": "who spoke is known",
    "unit: of the thing's kind": "its unit suits what is measured", "unit: plan": "its unit is that of the plan", "unit: spoken": "its unit was said",
    "value: a range": "it is a range", "value: about": "said as about", "value: first in its turn": "it begins its turn",
    "weighing asked": "readings were compared with the sound", "said in other turns": "said in other turns", "copy of": "the same talk on another loop",
}
"""What speaks for a row, or only tells of it."""

MEASURED = {
    "word probability": "its words were heard uncertainly", "name: word probability": "the words of its name were heard uncertainly",
    "turn: word probability": "the words around it were heard uncertainly", "recording: word probability": "all of the recording is hard to hear",
    "words beside: probability": "the words beside it were heard uncertainly", "words beside: lowest probability": "a word beside it was badly heard",
    "words beside: rare": "rare words stand beside it", "words beside: odd together": "the words beside it do not go together",
    "weighing margin": "it stands out little from other readings of the sound",
    "weighing margin of this number": "it stands out little from other numbers that sound alike", "free hearing agreed": "not heard so at first",
    "talk: numbers explained": "many numbers of this talk are not understood", "talk: plain rows": "little of this talk is read without doubt",
    "talk: names in doubt": "much of this talk does not say plainly what its values are of",
    "wording: like that of rows that were right": "it is said in words with which values were often read wrongly",
}
"""Graded: what a low grade says; for rarity and odd company, what a high one says."""

GRADES = {
    "word probability": "how well its words were heard, of 1", "name: word probability": "how well the words of its name were heard, of 1",
    "turn: word probability": "how well the words around it were heard, of 1", "recording: word probability": "how well the recording is heard, of 1",
    "words beside: probability": "how well the words beside it were heard, of 1",
    "words beside: lowest probability": "how well the worst word beside it was heard, of 1", "words beside: rare": "how rare the words beside it are, of 1",
    "words beside: odd together": "how oddly the words beside it go together, of 1", "weighing margin": "how far it stands out from other readings",
    "weighing margin of this number": "how far it stands out from other numbers", "free hearing agreed": "how much of it was heard so at first, of 1",
    "talk: numbers explained": "how many numbers of this talk are understood, of 1",
    "talk: plain rows": "how much of this talk is read without doubt, of 1", "talk: names in doubt": "how many values of this talk lack a plain name, of 1",
    "wording: like that of rows that were right": "how often values said in such words were read rightly, of 1",
    "chance wrong": "chance that it is wrong, of 1", "calibration": "calibration", "sound": "sound",
}
"""Graded, beside their number."""

GROUNDS = {
    "a mark behind its call": "a mark followed its call",
    "held against the clock's own start and holds": "reckoned from the clock's own start and holds",
    "its place in the list": "known by its place in the list",
    "its place in the list of the station before": "known by its place in the list, as the station before told it",
    "named by its unit": "no name said; known by its unit",
    "no parameter named": "no name was said with it",
    "no unit and no known parameter": "neither a unit nor the name of a known measure was said",
    "only a name, no parameter": "a name was said, and not what of it",
    "said by the taker": "answered by whoever takes the poll",
    "spoken with this parameter before": "unit not said; said with an earlier value",
    "the last parameter in this unit": "no name said; the last one told in this unit",
    "the list goes on": "no name said; the list before goes on",
    "the parameter is carried": "no name said; taken from what was said before",
    "the parameter is not named": "no name was said with it",
    "the parameter is told by the open card": "no name said; the open card asks for it",
    "the parameter of the value before": "no name said; that of the value before",
    "the parameter stands some words away": "its name stands some words away",
    "the plan does not know this parameter": "the plan does not name it",
    "the plan has this limit": "the plan has such a limit",
    "the plan's only parameter in this unit": "no name said; the plan has only this one in the unit",
    "the question before": "known by the question before",
    "the speaker's last parameter": "no name said; what the speaker told last",
    "the speaker is not known": "who spoke is not known",
    "the speakers are not known": "who spoke is not known",
    "the unit of such a list": "unit not said; that of such a list",
    "the unit of this parameter's last value": "unit not said; that of its last value",
    "the usual unit of such talk": "unit not said; the usual one of such talk",
    "the word behind the unit": "its name stands behind the unit",
    "told in full before": "said in full before",
    "two readings are fair": "its words can be read as two numbers",
    "unit and parameter do not belong together": "the unit does not suit what is measured",
    "what is asked to change": "no name said; what was asked to change",
    "what the open card asks for in this unit": "no name said; the open card asks for it in this unit",
    "what the plan asks of this station": "no name said; what the plan asks of this station",
    "what the sentence before is about": "no name said; what the sentence before is about",
    "what the step that asks for this value is about": "no name said; what the open step asks for",
    "what was just told": "no name said; what was just told",
    "what was just told or asked for": "no name said; what was just told or asked for",
    "which parameter is not said": "which one of several was not said",
    "who speaks is a guess": "who spoke is a guess",
}
"""Grounds of single fields, as the reading of the talk gives them."""

_OPENINGS = ("no name said", "unit not said", "no unit said")
_CHANCE = re.compile(r"the witnesses give the row (\d+)%( all the same)?(?:; against it: (.*))?")
_PATTERNS = (
    (re.compile(r"the usual unit of (.+)"), r"unit not said; the usual one of \1"),
    (re.compile(r"the session file gives (.+) in (\S+)"), r"unit not said; the session file gives \1 in \2"),
    (re.compile(r"jump: (.+) between (.+)"), r"\1 is far from the values around it, \2"),
    (re.compile(r"(?:wrong: )?([\d.,:-]+(?: \S+)?) for ([\d.,:-]+(?: \S+)?)"), r"\1 read back, \2 was said"),
    (re.compile(r"(wrong, then corrected by .+): (.+) for (.+)"), r"\2 read back, \3 was said; \1"),
    (re.compile(r"(.+) from (.+), (.+) from (.+), ([\d.]+) s apart"), r"\2 says \1, \4 says \3, \5 s apart"),
)


def plain(text: str) -> str:
    """A ground or a reason in plain words; one that is in plain words already stays."""
    if text.startswith("as first read: "):
        return f"as first read: {plain(text.removeprefix('as first read: '))}"
    found = _CHANCE.fullmatch(text)
    if found:
        if found[2]:
            return f"doubted, but all in all right in {found[1]} of 100 such rows"
        return f"right in about {found[1]} of 100 such rows" + (f"; against it: {', '.join(against(found[3].split(', ')))}" if found[3] else "")
    if text in GROUNDS:
        return GROUNDS[text]
    for pattern, words in _PATTERNS:
        if pattern.fullmatch(text):
            return pattern.sub(words, text)
    return text


def plain_all(texts: Iterable[str]) -> list[str]:
    """Grounds of one field, each once; that no name, or no unit, was said is told once for all of them."""
    told: list[str] = []
    for text in map(plain, texts):
        opening, parted, rest = text.partition("; ")
        again = parted and opening in _OPENINGS and any(other.startswith(opening) for other in told)
        told.append(rest if again else text)
    return list(dict.fromkeys(told))


def plain_result(text: str) -> str:
    """What a check says: its reason, with what it is about before it."""
    about, parted, why = text.partition(": ")
    return f"{about}: {plain(why)}" if parted and plain(why) != why else plain(text)


def against(names: Iterable[str]) -> list[str]:
    """Names of what speaks against a row in plain words, each once; what only tells of it is left out beside others.

    A name may hold a comma, by which a list of them was parted.
    """
    known: list[str] = []
    for part in names:
        joined = f"{known[-1]}, {part}" if known else ""
        if joined in AGAINST or joined.startswith("tie: ") and joined.removeprefix("tie: ") in GROUNDS:
            known[-1] = joined
        else:
            known.append(part)
    telling = [name for name in known if name != "grounds against" and name not in FOR] or known
    return list(dict.fromkeys(named(name) for name in telling))


def named(name: str) -> str:
    """One thing that speaks for or against a row."""
    if name.startswith("tie: "):
        return plain(name.removeprefix("tie: "))
    return AGAINST.get(name) or MEASURED.get(name) or FOR.get(name) or name


def witness(name: str, value: float | str) -> str:
    """One line of all that is known about how sure a row is; a graded one with its number."""
    number = f"{value:.2f}" if isinstance(value, float) else str(value)
    if name in GRADES:
        return f"{GRADES[name]}: {number}"
    text = named(name)
    return text if value == 1 else f"{text}: {number}"
