"""Words that are verbs where they stand, whatever else they may name: 'trim it', 'your pull down', 'we clear out at fifty', 'it dips to three'.

A bare verb is no parameter. Closed classes of English, and heads of names that are verbs too; common practice, no source.
"""
from .view import View

LED_BY_VERB = frozenset("at to about around approximately just under over nearly almost out up down in on by with".split())
_DOERS = frozenset("i we they he she i'll we'll they'll it'll i'd we'd".split())
_OBJECTS = frozenset("it them him her us you me".split())
_WAYS = frozenset("down up out in off away back over through".split())
_AUXILIARIES = frozenset("don't dont didn't doesn't can't cannot won't wouldn't shouldn't couldn't mustn't let's i'll we'll you'll he'll she'll they'll".split())
"""What only a verb follows."""
_OWN_DEEDS = frozenset("count load roll pitch stall".split())
_DEEDS = frozenset("trim level pull push".split())
"""Heads that are verbs too."""


def is_tool(view: View, index: int) -> bool:
    """'The bit is at thirty eight', 'bit's at': the tool, and not 'a bit', 'a little bit'."""
    before = view.words[index - 1] if index else ""
    opens = index == view.clause(index)[0] and view.words[index + 1:index + 2] in (
        ("is",), ("temperature",), ("temp",), ("depth",), ("weight",), ("load",), ("speed",))
    return view.words[index] == "bit's" or before == "the" or opens


def is_deed(view: View, index: int, plain: str) -> bool:
    """'Trim it', 'your pull down', 'turn you round at'. plain: the word without its ending."""
    behind = view.words[index + 1] if index + 1 < len(view.words) and not view.turn.tokens[index].ends_clause else ""
    if index and view.words[index - 1] in _AUXILIARIES and not view.turn.tokens[index - 1].ends_clause:
        return True  # 'don't pull more than five', 'do not roll with more than three'
    if plain in _DEEDS | _OWN_DEEDS and index and view.words[index - 1] in _DOERS - {"it", "he", "she"} and not view.turn.tokens[index - 1].ends_clause:
        return True  # 'I count fourteen'
    if plain == "round" and index and view.words[index - 1] in _OBJECTS:
        return True
    return plain in _DEEDS and (behind in _OBJECTS or plain in ("pull", "push") and behind in _WAYS)


def is_done_by(view: View, index: int) -> bool:
    """What stands behind one who does something and leads to a value; written without marks, 'it' and 'you' may end what was said before."""
    before = view.words[index - 1] if index else ""
    behind = view.words[index + 1] if index + 1 < len(view.words) else ""
    marked = before in ("it", "you") and any(token.ends_clause for token in view.turn.tokens[:-1])
    doer = (before in _DOERS or marked) and not view.turn.tokens[index - 1].ends_clause
    return doer and (behind in LED_BY_VERB or behind in ("off", "back"))
