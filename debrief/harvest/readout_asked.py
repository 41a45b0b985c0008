"""What the turns before ask for: 'What's your cabin temperature?', 'Drafts?', 'heading and speed, please'."""
from collections.abc import Container

from ..records.talk import Turn
from ..units import read_unit
from .parameter_words import HEADS, WEAK_HEADS
from .readout_found import Memory
from .readout_phrases import Phrase, TurnTerms, is_head
from .readout_words import ASKING, BREAKS, FILLERS, PRONOUNS
from .talk import Talk
from .view import View, stem, views

ASKED_TURNS = 4
_BARE, _SHORT = 4, 3
_GOES_ON = (("it's",), ("it",), ("that's",), ("now",))
_ALSO = frozenset("and yours you your what's about how how's same for please".split())
_OPENERS = frozenset("and but your the how's what's where's any about our".split())
_WHENEVER = frozenset("when whenever if once".split())
"""'Body mass, when you have it': what follows the name of what is asked for."""
_READINGS = frozenset("reading readout number value gauge".split())
_NO_THING = frozenset("of are more do is have longer time did does".split())
_CHECKS = frozenset("read hear copy receive".split())
_TOLD = frozenset("read reading report saying".split())
_WISHES = frozenset("i'd i i'll would to let's we you".split())
_NO_QUANTITY = frozenset("anything anybody anyone status state time question questions else more comms check radio problem problems ready okay all "
                         "everybody everyone read copy hear correct right why who where when how that's you".split())


def asked_for(talk: Talk, turn: Turn, memory: Memory) -> list[Phrase]:
    """What the turns before ask for, where they ask this station or nobody by name."""
    asked = turn.answers if turn.answers is not None else turn.index - 1
    for index in dict.fromkeys((turn.index - 1, asked)):
        if index < 0 or turn.index - index > ASKED_TURNS or (talk.turns[index].station == turn.station and turn.station is not None):
            continue
        if turn.station is not None and any(other.station == turn.station and talk.numbers[other.index] for other in talk.turns[index + 1:turn.index]):
            continue  # answered already
        if views(talk)[turn.index].words[:1] in _GOES_ON and any(talk.numbers[other.index] for other in talk.turns[index + 1:turn.index]):
            continue  # 'it's down to two hundred now': of what was told, and no answer
        view = views(talk)[index]
        if index > 1 and _same_of_another(view, talk, turn.station) and (found := _asked_in(views(talk)[index - 2], talk, memory)):
            return found
        found = _names(view, talk, memory) if "?" in talk.turns[index].text or (ASKING | {"your"}) & set(view.words) else []
        found = found or _only_names(view, talk, memory) or _named_last(view, talk, memory) or _closing(view, memory)
        if found:
            return found
    return []


def asks_anew(talk: Talk, turn: Turn) -> bool:
    """Whether the turn before is another station's question for a reading ('What do you see?'), and not for the same once more ('And now?')."""
    before = talk.turns[turn.index - 1] if turn.index else None
    if before is None or not before.text.rstrip().endswith("?") or turn.station is None or before.station == turn.station:
        return False
    first, stop = views(talk)[before.index].sentences[-1]
    words = views(talk)[before.index].words[first:stop]
    return words[:1] != () and words[0] not in _YES_OR_NO and not _AGAIN & set(words)


_YES_OR_NO = frozenset("is are was were do does did can could will would has have isn't aren't okay ready roger copy any and why who when".split())
_AGAIN = frozenset("now still again it that this there confirm".split())


def _asked_in(view: View, talk: Talk, memory: Memory) -> list[Phrase]:
    return (_names(view, talk, memory) if "?" in view.turn.text else []) or _only_names(view, talk, memory) or _named_last(view, talk, memory)


def _same_of_another(view: View, talk: Talk, station: str | None) -> bool:
    """'And White', 'yours?', 'Plover?': what was asked of one station is asked of another."""
    named = {i for mention in view.names for i in range(mention.start, mention.end)}
    named |= {i for i, word in enumerate(view.words) if station is not None and word == station.lower()}
    left = {word for i, word in enumerate(view.words) if i not in named and word} - FILLERS
    return bool(named or "yours" in left) and not left - _ALSO and not talk.numbers[view.turn.index]


def _named_last(view: View, talk: Talk, memory: Memory) -> list[Phrase]:
    """'Stop there tyres off ME hub temps', written without a mark: a turn that ends on the name of a measure asks for it."""
    if len(view.words) <= _SHORT or any(token.ends_clause for token in view.turn.tokens[:-1]) or not is_head(view.words[-1], memory.plan):
        return []
    phrase = TurnTerms(view, memory.plan, {}, {}).ending(max([0, *(n.end for n in talk.numbers[view.turn.index])]), len(view.words))
    strong = phrase is not None and phrase.head is not None and HEADS[phrase.head].dimension is not None and phrase.head not in WEAK_HEADS
    return [phrase] if phrase is not None and strong and not talk.numbers[view.turn.index] else []


def _closing(view: View, memory: Memory) -> list[Phrase]:
    """'Item five. Top speed.': a last sentence that is the name of a measure and no more."""
    first, stop = view.sentences[-1] if view.sentences else (0, 0)
    short = 0 < stop - first <= _SHORT and first > 0 and not any(first <= start < stop for start in view.numbers)
    if not short or set(view.words[first:stop]) & (_NO_QUANTITY | BREAKS) or not is_head(view.words[stop - 1], memory.plan):
        return []
    phrase = TurnTerms(view, memory.plan, {}, {}).ending(first, stop)
    strong = phrase is not None and phrase.start == first and phrase.head is not None and HEADS[phrase.head].dimension is not None
    return [phrase] if phrase is not None and strong and phrase.head not in WEAK_HEADS else []


def _only_names(view: View, talk: Talk, memory: Memory) -> list[Phrase]:
    """'Hub temps', 'and the wind': a turn that names one thing and no more asks for it, written with a question mark or without."""
    first = next((i for i, word in enumerate(view.words) if i and word in _WHENEVER), len(view.words))
    left = [word for word in view.words[:first] if word and word not in FILLERS | {"and", "the", "your", "please", "again", "now"}]
    if not 0 < len(left) <= _SHORT or talk.numbers[view.turn.index] or not is_head(left[-1], memory.plan) or set(left) & (_NO_QUANTITY | BREAKS):
        return []
    end = max(i for i, word in enumerate(view.words) if word == left[-1]) + 1
    phrase = TurnTerms(view, memory.plan, {}, {}).ending(0, end)
    if phrase is not None and first < len(view.words) and phrase.words[-1:] and phrase.words[-1].lower().removesuffix("s") in _READINGS:
        return []  # 'charger readings when you can': of many things
    return [phrase] if phrase is not None and phrase.words else []


def _names(view: View, talk: Talk, memory: Memory) -> list[Phrase]:
    """The parameters that a turn names without a value, in order."""
    values = {n.start: n for n in talk.numbers[view.turn.index]}
    terms = TurnTerms(view, memory.plan, {}, values)
    many = next((i for i in range(len(view.words) - 2) if view.words[i] == "how" and view.words[i + 1] in ("many", "much")
                 and read_unit(view.words, i + 2) is None), None)
    if many is not None and view.words[many + 2].isalpha() and view.words[many + 2] not in _NO_THING:
        return [Phrase(many + 2, many + 3, (view.words[many + 2],))]
    if not values and (several := next((listed for sentence in view.sentences if (listed := _several(view, terms, memory, sentence))), None)):
        return several
    found = [phrase for index in range(len(view.words)) if (phrase := _named_here(view, terms, memory, values, index)) is not None]
    return found or [phrase for sentence in view.sentences if (phrase := _bare(view, terms, sentence)) is not None]


def _several(view: View, terms: TurnTerms, memory: Memory, sentence: tuple[int, int]) -> list[Phrase]:
    """'Temperature and sugar?', 'expansion and drain time?': names and no more, one of them a measure's."""
    start, stop = sentence
    named = {i for mention in view.names for i in range(mention.start, mention.end)}
    while start < stop and (view.words[start] in FILLERS | _OPENERS or start in named):
        start += 1
    cuts = [i for i in range(start, stop) if view.words[i] == "and" or view.turn.tokens[i].text.endswith(",") or i == stop - 1]
    found: list[Phrase] = []
    for at in cuts if view.asks(*sentence) and "and" in view.words[start:stop] else ():
        end = at if view.words[at] == "and" else at + 1
        phrase = terms.ending(start, end) if start < end else None
        if start < end and (phrase is None or phrase.start > start or not phrase.words or set(view.words[start:end]) & (_NO_QUANTITY | BREAKS)):
            return []
        found += [phrase] if phrase is not None and start < end else []
        start = at + 1
    return found if len(found) > 1 and any(is_head(phrase.words[-1], memory.plan) for phrase in found) else []


def _named_here(view: View, terms: TurnTerms, memory: Memory, values: Container[int], index: int) -> Phrase | None:
    """The phrase that ends in a known head at this token of a question, where no value follows; none in 'how do you read this frequency?'."""
    word = view.words[index]
    ends = index + 1 == len(view.words) or not is_head(view.words[index + 1], memory.plan) or view.turn.tokens[index].ends_clause
    if _CHECKS & set(view.words[max(0, index - 6):index]) and {"you", "me", "us"} & set(view.words):
        return None
    rated = stem(word) in memory.plan.rated and memory.plan.meant((word,)) is None
    if not (is_head(word, memory.plan) and ends) or (index + 1 in values and not view.turn.tokens[index].ends_clause) or rated or not _in_question(view, index):
        return None
    return terms.ending(0, index + 1)


def _in_question(view: View, index: int) -> bool:
    """Whether the sentence of this word asks for something."""
    start, stop = view.sentence(index)
    return view.asks(start, stop) or any(
        view.words[i] in ASKING and not (view.words[i] in _TOLD and PRONOUNS & set(view.words[max(start, i - 3):i]))
        and not (view.words[i] == "say" and view.words[i - 1:i] and view.words[i - 1] in _WISHES) for i in range(start, stop))


def _bare(view: View, terms: TurnTerms, sentence: tuple[int, int]) -> Phrase | None:
    """'Drafts?', 'Spacecraft, nitrogen?': a question that is a name and no more."""
    start, stop = sentence
    named = {i for mention in view.names for i in range(mention.start, mention.end)}
    while start < stop and (view.words[start] in FILLERS | _OPENERS or start in named):
        start += 1
    yours = "your" in view.words[sentence[0]:start] and not view.asks(*sentence)
    stop = view.clause(start)[1] if yours and start < stop else stop
    left = [i for i in range(start, stop) if i not in named and view.words[i] != "please"]
    if not 0 < len(left) <= _BARE or not (view.asks(*sentence) or yours) or {view.words[i] for i in left} & _NO_QUANTITY:
        return None
    phrase = terms.ending(start, left[-1] + 1)
    whole = phrase is not None and phrase.start <= left[0] and bool(phrase.words)
    return phrase if whole else None
