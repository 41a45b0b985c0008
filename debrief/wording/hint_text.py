"""A text in the style of the loop, for the recogniser to go on from: how calls, read-outs and ratings sound, with the session's own words.

A recogniser writes on in the style of the text before. One that names the stations and terms and says its numbers in words makes it hear
both better; every window gets the same text, so no window depends on another. Its numbers are examples of the style, never values of
the plan: the session file's values do not stand in it.
"""
from collections.abc import Iterator, Sequence
from itertools import chain, cycle

from ..session import Session
from .protected import is_number_word

STYLE = ("Roger. Copy, go ahead. Stand by. Say again? Ready, in position. Mark. Reading two one five, steady. That is a three. "
         "Correction, four point two. Go. No go, wait one. Understood, out.")
"""Prowords as they are said, numbers as radio says them (ICAO Annex 10 vol. II 5.2.1.4; the wordings are common practice, no source)."""
_NUMBERS = "two|one four|three|two one zero|four|one|five|eight|six|zero point five".split("|")
LONGEST_CHARACTERS = 760
"""About what a recogniser takes of a hint (223 tokens); what comes first is cut first."""
MOST_CALLS, MOST_CALL_SIGNS = 4, 5


def hint_text(session: Session) -> str:
    """The hint of a session; of an empty one, the style alone."""
    names = [station.name for station in session.stations if not station.commentary]
    calls = [f"{name}, {names[0]}." for name in names[1:MOST_CALLS + 1]]
    calls += [f"{names[0]}, {name}." for name in _call_signs(session, names)[:MOST_CALL_SIGNS]]
    room = LONGEST_CHARACTERS - len(STYLE) - sum(len(call) + 1 for call in calls)
    said = list(_said(_terms(session, names), room))
    return " ".join([*calls, STYLE, *said])


def _call_signs(session: Session, names: Sequence[str]) -> list[str]:
    """What stations are called besides their names, where it is a new word with a number behind it ("Kestrel Two"): that is said on the air."""
    known = {word for name in names for word in name.lower().split()}
    other = chain.from_iterable(station.aliases for station in session.stations if not station.commentary)
    written = [name.split() for name in dict.fromkeys(other) if name[:1].isupper() and known.isdisjoint(name.lower().split())]
    return [" ".join(words) for words in written if not is_number_word(words[0]) and is_number_word(words[-1])]


def _said(terms: Sequence[str], room: int) -> Iterator[str]:
    """'Main bank two one zero.' for each term, as many as there is room for."""
    for term, number in zip(terms, cycle(_NUMBERS), strict=False):
        text = f"{term[0].upper()}{term[1:]} {number}."
        room -= len(text) + 1
        if room < 0:
            return
        yield text


def _terms(session: Session, names: Sequence[str]) -> list[str]:
    """What is rated, read out, limited and timed, each once, in the order of the plan."""
    cards = chain.from_iterable(chain((axis for rating in card.ratings for axis in rating.axes), (item.what for item in card.readouts))
                                for card in session.cards)
    rest = chain((item.what for item in session.parameters), (clock.name for clock in session.clocks), (limit.what for limit in session.limits),
                 names[MOST_CALLS + 1:])
    return list(dict.fromkeys(term for term in chain(cards, rest) if term))
