"""Who speaks where nobody is named: the likeliest station of every turn, from whose turn it is and from what is said.

A chain over the turns of a channel, worked out forwards and backwards. Between two turns it knows the habits of radio talk: who was called
answers, short pauses go on, a question or an acknowledgement changes the speaker. Within a turn: nobody calls himself, the lead calls and
orders, raters rate, a station talks of its own work, in words that it used before, and says how it stands. A voice counts by all its
turns together. Common practice, no source; the weights are our own.
What comes out is a probability for each station; who is likely enough is for the caller to say.
"""
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..records.talk import Turn
from ..session import Session, Station
from ..wording.english import is_function_word
from ..wording.protected import is_number_word
from .callsigns import OWN_STATES, Call, CallBook, plain_word
from .view import stem

Vector = NDArray[np.float64]
_OWN, _CALLED, _NAMED_LAST = 6.0, -4.0, -2.5
_LEAD_CALLS, _LEAD_ORDERS, _READS_OUT, _RATES, _ROLE = 2.0, 1.0, -1.0, 1.2, 0.6
_ORDERS = frozenset("card step poll stations please give tell report copy copied".split())
ACKNOWLEDGES = frozenset("roger copy copied thanks thank understood wilco".split())
_ANSWERED, _TO_LEAD = 0.9, 0.4
_PAUSES_S = ((0.5, 0.8), (0.9, 0.5), (8.0, 0.2), (float("inf"), 0.3))
"""How often the same station goes on after a pause of up to so many seconds."""
_PASSES, _MOST_LEARNED, _PSEUDO, _HELD = 4, 1.0, 4.0, 0.7
_SAME_VOICE = 2.0
"""How many times likelier a station goes on where the voice stays, and less likely where it changes: little, since one person's talk often falls
into several voices."""
_ECHO, _ECHO_VOICE, _ECHO_S = 0.03, 0.1, 4.0
"""How often a station echoes its own figures, what the voice of so short a turn counts for, and how soon an echo comes."""
_SOME_FIGURES, _FEW_FIGURES, _IN_FIGURES = 2, 6, frozenset(("point", "decimal", "oh", "and", "minus"))
_SAYS_OWN_STATE, _STATE_WORDS = 5.0, 3
_VOICE, _LEAST_SHARE, _MOST_OF_A_TURN, _MOST_OF_A_VOICE = 0.3, 0.03, 2.0, 6.0
_WEIGHTY_S, _FULL_S = 3.0, 6.0
"""What a voice tells: the weight of a turn that speaks for a station, by its seconds up to the first; evidence of more than the second counts as its
root, since turns of one voice err alike."""


@dataclass(frozen=True)
class Cast:
    """The stations that may speak, in order, and what the session says of each."""

    stations: tuple[Station, ...]
    lead: str | None
    session: Session
    book: CallBook

    @cached_property
    def index(self) -> dict[str, int]:
        return {station.name: i for i, station in enumerate(self.stations)}

    @cached_property
    def roles(self) -> dict[str, Vector]:
        """Stems of the words of roles, each with its weight for every station; words of many roles tell little."""
        found: dict[str, Vector] = {}
        for i, station in enumerate(self.stations):
            for word in {stem(word.strip(",.;")) for word in station.role.lower().split() if len(word) > 3 and not is_function_word(word)}:
                found.setdefault(word, np.zeros(len(self.stations)))[i] = 1.0
        return {word: _ROLE * marks / marks.sum() for word, marks in found.items()}

    @cached_property
    def axes(self) -> frozenset[str]:
        names = (axis for card in self.session.cards for rating in card.ratings for axis in rating.axes)
        return frozenset(stem(word) for name in names for word in name.lower().split() if not is_function_word(word))

    @cached_property
    def raters(self) -> Vector:
        return np.array([1.0 if station.rates else 0.0 for station in self.stations])

    @cached_property
    def next_speakers(self) -> dict[str | None, NDArray[np.float64]]:
        """For each station that was called (None: nobody), how the turn passes from one station to another; rows sum to 1."""
        count = len(self.stations)
        base = np.ones((count, count)) - np.eye(count)
        base /= np.maximum(base.sum(axis=1, keepdims=True), 1e-9)
        if self.lead in self.index:
            lead = self.index[self.lead]
            others = np.arange(count) != lead
            base[others] *= 1 - _TO_LEAD
            base[others, lead] += _TO_LEAD
        found: dict[str | None, NDArray[np.float64]] = {None: base}
        for name, i in self.index.items():
            called = (1 - _ANSWERED) * base
            called[:, i] += _ANSWERED
            called[i] = base[i]
            found[name] = called
        return found

    def may_speak(self, turn: Turn) -> Vector:
        """Log weights: stations that are not on the turn's loop can hardly speak there."""
        return np.array([0.0 if turn.loop is None or not s.loops or turn.loop in s.loops else -6.0 for s in self.stations])


@dataclass(frozen=True, slots=True)
class _Said:
    """One turn as the chain reads it. words: stems, for what each station is used to say; called: who is to answer."""

    turn: Turn
    clues: Vector
    words: frozenset[str]
    values: frozenset[str]
    called: str | None
    acknowledges: bool
    asks: bool


def likely_speakers(turns: Sequence[Turn], calls: Sequence[Call], called: Sequence[str | None], voices: Sequence[str | None],
                    cast: Cast) -> Vector:
    """Probability of each station (columns) for each turn (rows) of one channel, in time order.

    calls: what each turn's own words say of speaker and addressee; called: from whom an answer is due after the turn; voices: as heard.
    """
    said = [_said(turn, call, due, cast) for turn, call, due in zip(turns, calls, called, strict=True)]
    echo = np.array([i > 0 and echoes(turns[i - 1], turns[i]) for i in range(len(turns))])
    stays = np.array([_ECHO if echo[i] else _goes_on((said[i - 1], said[i]), (voices[i - 1], voices[i])) if i else 0.5 for i in range(len(said))])
    clues = np.array([item.clues for item in said])
    told = np.where(echo, _ECHO_VOICE, 1.0)[:, None]
    found = _chain(clues, stays, said, cast)
    for _ in range(_PASSES - 1):
        learned = _learned(said, np.where(found > _HELD, found, 0.0))
        found = _chain(clues + learned + told * _by_voice(said, voices, found), stays, said, cast)
    return found


def echoes(before: Turn, after: Turn) -> bool:
    """'Hook load two point four tonnes.' 'Two point four.': a sentence of bare figures that were just said is another's echo, whatever the voice."""
    end = next((i + 1 for i, token in enumerate(after.tokens) if token.ends_sentence), len(after.tokens))
    again = [word for word in map(plain_word, after.tokens[:end]) if word not in ACKNOWLEDGES]
    said = [plain_word(token) for token in before.tokens]
    if not _SOME_FIGURES <= len(again) <= _FEW_FIGURES or not all(is_number_word(word) or word[:1].isdigit() or word in _IN_FIGURES for word in again):
        return False
    rest = len(said) - len(again)
    return rest > 0 and gap_s(before, after) < _ECHO_S and any(said[i:i + len(again)] == again for i in range(rest + 1))


def _said(turn: Turn, call: Call, due: str | None, cast: Cast) -> _Said:
    plain = [plain_word(token) for token in turn.tokens]
    values = frozenset(word for word in plain if is_number_word(word) or word[:1].isdigit())
    asks = turn.tokens[-1].text.rstrip().endswith("?")
    acknowledges = plain[0] in ACKNOWLEDGES
    names = {i for mention in cast.book.find(plain) for i in range(mention.start, mention.end)} if cast.book.names else set()
    words = {stem(word) for i, word in enumerate(plain) if i not in names and word and not is_function_word(word) and word not in values}
    clues = cast.may_speak(turn) + _by_calls(turn, call, cast) + _by_own_state(turn, plain, cast) + _by_content(plain, words, bool(values) and not asks, cast)
    style = {"<value>"} if values else set()
    return _Said(turn, clues, frozenset(words | style), values, due, acknowledges, asks)


def _by_calls(turn: Turn, call: Call, cast: Cast) -> Vector:
    """What the names in a turn say: its own name, and whom it calls."""
    found = np.zeros(len(cast.stations))
    known = turn.station if turn.station in cast.index else call.by
    if known in cast.index:
        found[cast.index[known]] += 3 * _OWN if turn.station else _OWN
    for name, weight in ((call.to, _CALLED), (call.first, _CALLED), (call.asks, _CALLED), (call.last, _NAMED_LAST)):
        if name in cast.index and name != call.by:
            found[cast.index[name]] += weight
    if {call.to, call.first, call.asks} - {None, cast.lead, call.by} and cast.lead in cast.index:
        found[cast.index[cast.lead]] += _LEAD_CALLS
    return found


def _by_own_state(turn: Turn, plain: Sequence[str], cast: Cast) -> Vector:
    """'File eight running. Observer go.': a sentence that is a station's name and how it stands, as stations tell it of themselves."""
    found = np.zeros(len(cast.stations))
    starts = [0, *(i + 1 for i, token in enumerate(turn.tokens[:-1]) if token.ends_sentence)]
    for start, end in zip(starts, [*starts[1:], len(plain)], strict=True):
        mention = cast.book.at(plain, start) if cast.book.names else None
        if mention is None or mention.group or mention.station not in cast.index or turn.tokens[end - 1].text.rstrip().endswith("?"):
            continue
        state = [word for word in plain[mention.end:end] if word not in ("is", "are")]
        if 1 <= end - mention.end <= _STATE_WORDS and state and (state[0] in OWN_STATES or state[:2] == ["no", "go"]):
            found[cast.index[mention.station]] += _SAYS_OWN_STATE
    return found


def _by_content(plain: Sequence[str], words: set[str], reads_out: bool, cast: Cast) -> Vector:
    """What is said: orders and acknowledgements are the lead's, ratings the raters', words of a role its station's."""
    found = np.zeros(len(cast.stations))
    if cast.lead in cast.index:
        lead = cast.index[cast.lead]
        orders = len(_ORDERS & set(plain)) + 2 * any(tuple(plain[i:i + 3]) == ("go", "no", "go") for i in range(len(plain)))
        found[lead] += min(3, orders) * _LEAD_ORDERS + (_READS_OUT if reads_out and not orders else 0.0)
    if reads_out and words & cast.axes and cast.raters.any():
        found += _RATES * cast.raters
    told = [cast.roles[word] for word in words if word in cast.roles]
    return found + np.minimum(2 * _ROLE, sum(told)) if told else found


def _goes_on(turns: tuple[_Said, _Said], voices: tuple[str | None, str | None]) -> float:
    """How likely the station of the turn before goes on."""
    before, after = turns
    pause_s = gap_s(before.turn, after.turn)
    share = next(share for limit_s, share in _PAUSES_S if pause_s < limit_s)
    odds = share / (1 - share)
    if not before.turn.tokens[-1].ends_sentence:
        odds *= 1.5
    repeats = bool(after.values) and after.values <= before.values and len(after.words) <= 4
    for holds in (before.asks, before.called is not None, after.acknowledges, repeats, pause_s < 0):
        odds *= 0.3 if holds else 1.0
    if all(voices):
        odds *= _SAME_VOICE if voices[0] == voices[1] else 1 / _SAME_VOICE
    return odds / (1 + odds)


def gap_s(before: Turn, after: Turn) -> float:
    """Seconds between two turns; 0 where times are not known."""
    if before.end_s is None or after.start_s is None:
        return 0.0
    return after.start_s - before.end_s


def _chain(clues: Vector, stays: Vector, said: Sequence[_Said], cast: Cast) -> Vector:
    """Forwards and backwards over the chain: the probability of each station for each turn."""
    seen = np.exp(clues - clues.max(axis=1, keepdims=True))
    forward, back = np.empty_like(seen), np.ones_like(seen)
    passes = [cast.next_speakers.get(item.called, cast.next_speakers[None]) for item in said]
    state = seen[0] / seen[0].sum()
    forward[0] = state
    for i in range(1, len(said)):
        state = (stays[i] * state + (1 - stays[i]) * (state @ passes[i - 1])) * seen[i]
        state = state / state.sum()
        forward[i] = state
    state = back[-1]
    for i in range(len(said) - 1, 0, -1):
        state = state * seen[i]
        state = stays[i] * state + (1 - stays[i]) * (passes[i - 1] @ state)
        state = state / state.sum()
        back[i - 1] = state
    found = forward * back
    return found / found.sum(axis=1, keepdims=True)


def _learned(said: Sequence[_Said], found: Vector) -> Vector:
    """How much more each station is used to the words of a turn than all are, the turn itself left out."""
    uses: dict[str, Vector] = defaultdict(lambda: np.zeros(found.shape[1]))
    for item, who in zip(said, found, strict=True):
        for word in item.words:
            uses[word] += who
    whole = sum(uses.values(), np.zeros(found.shape[1])) + 1e-9
    told = np.zeros_like(found)
    for i, (item, who) in enumerate(zip(said, found, strict=True)):
        shared = [uses[word] for word in item.words if uses[word].sum() > 1.5]
        if shared:
            often = np.array(shared)
            usual = often.sum(axis=1, keepdims=True) / whole.sum()
            own = (np.maximum(often - who, 0.0) + _PSEUDO * usual) / (whole - len(item.words) * who + _PSEUDO)
            told[i] = np.log(own / usual).sum(axis=0)
    return np.clip(told, -_MOST_LEARNED, _MOST_LEARNED)


def _by_voice(said: Sequence[_Said], voices: Sequence[str | None], found: Vector) -> Vector:
    """Whose voice it is by all its turns together, the turn itself left out: how much more than usual each speaks for every station."""
    lasts = np.array([1.0 if item.turn.span is None else item.turn.span.duration_s for item in said])
    seconds = np.minimum(lasts, _WEIGHTY_S)
    share = (found + _LEAST_SHARE) / (1 + _LEAST_SHARE * found.shape[1])
    usual = np.average(share, axis=0, weights=np.maximum(lasts, 1e-3))
    told = np.clip(np.log(share / usual), -_MOST_OF_A_TURN, _MOST_OF_A_TURN) * seconds[:, None]
    whole: dict[str, Vector] = defaultdict(lambda: np.zeros(found.shape[1]))
    length: dict[str, float] = defaultdict(float)
    for voice, turn, long in zip(voices, told, seconds, strict=True):
        if voice:
            whole[voice] += turn
            length[voice] += long
    by_voice = np.zeros_like(found)
    for i, voice in enumerate(voices):
        if voice:
            odds = _VOICE * (whole[voice] - told[i]) / max(1.0, (length[voice] - seconds[i]) / _FULL_S) ** 0.5
            odds -= odds.max()
            by_voice[i] = np.maximum(odds - np.log(np.exp(odds).sum()), -_MOST_OF_A_VOICE)
    return by_voice
