"""Who or what gave a value, and which of several readings it is: 'range tower says', 'machine room reads ... for the same', 'second sample'.

None of these is what is measured: that was asked for or told before. Common practice, no source.
"""
from ..records.talk import Number
from .readout_bounds import bound_sort
from .readout_phrases import Phrase
from .readout_words import word_set
from .view import View

_SAYS = word_set("says said say gives gave reckons reckoned agrees")
_SHOWS = word_set("reads read shows showing reading has got sees")
_AGAIN = (("for", "the", "same"), ("for", "that"), ("as", "well"), ("too",))
_WHICH = word_set("first second third fourth fifth last next another other final this that")
_READINGS = word_set("sample samples run reading readings try attempt shot go pass point measurement look take trial draw")


def is_source(view: View, phrase: Phrase, number: Number) -> bool:
    """Whether a phrase that holds no known measure stands for a source or for one of several readings of the same thing."""
    said = {word.lower() for word in phrase.words}
    if not said or phrase.head is not None or phrase.topic or phrase.end > number.start or bound_sort(phrase.words) is not None:
        return False
    if any(word.endswith("meter") for word in said):
        return False  # a pyrometer says what it is read of
    if said & _READINGS and said <= _READINGS | _WHICH and said & _WHICH:
        return True
    link, behind = view.words[phrase.end:number.start], view.words[number.end:number.end + 3]
    if set(link[:1]) & _SAYS:
        return True
    return bool(set(link[:1]) & _SHOWS) and any(behind[:len(tail)] == tail for tail in _AGAIN)
