"""The same talk heard on two channels (a second microphone, a loudspeaker, crosstalk): kept once, the weaker copies set aside.

Two turns are copies when they overlap in time on different channels, clocks allowed for, and their words are alike; garbled
words over clear ones are taken for a copy at less likeness. The clearer text is kept. Whose loop it belongs to is told by the
stations it names; where they do not tell, its loop stays open.
"""
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from rapidfuzz import fuzz

from ..records.sound import Source
from ..records.talk import Token, Turn
from ..session import Session
from ..timebase import RecordingClock
from .callsigns import Call

LIKE, LIKE_OVER_CLEAR, LIKE_ELSEWHERE = 62.0, 42.0, 72.0
CLEARER_BY = 0.12
SAME_RECORDING_S, OTHER_RECORDING_S = 0.6, 1.0


@dataclass(frozen=True)
class _Channel:
    """The turns of one channel in time order."""

    turns: Sequence[Turn]

    @cached_property
    def starts(self) -> list[float]:
        return [turn.start_s or 0.0 for turn in self.turns]

    @cached_property
    def latest_ends(self) -> list[float]:
        """The latest end up to each turn, so that a search by end can stop early."""
        ends, latest = [], 0.0
        for turn in self.turns:
            latest = max(latest, turn.end_s or 0.0)
            ends.append(latest)
        return ends

    def within(self, start_s: float, end_s: float) -> Sequence[Turn]:
        """Turns that overlap this stretch of session time."""
        return self.turns[bisect_left(self.latest_ends, start_s):bisect_right(self.starts, end_s)]


def set_copies_aside(turns: Sequence[Turn], calls: Sequence[Call], session: Session,
                     clocks: Mapping[str, RecordingClock]) -> list[Turn]:
    """Turns with the weaker of each set of copies set aside and the loop of the kept ones told by the stations they name."""
    channels: dict[Source | None, list[Turn]] = defaultdict(list)
    for turn in turns:
        if turn.start_s is not None and turn.source is not None and turn.line_index is None:
            channels[turn.source].append(turn)
    if len(channels) < 2:
        return list(turns)
    found = {source: _Channel(group) for source, group in channels.items()}
    kept = list(turns)
    for group in _groups(found, clocks, len(turns)):
        _keep_best([turns[i] for i in group], calls, session, kept)
    return kept


def _groups(channels: Mapping[Source | None, _Channel], clocks: Mapping[str, RecordingClock], count: int) -> list[list[int]]:
    """Indexes of turns that are copies of each other, directly or through others."""
    parent = list(range(count))

    def root(index: int) -> int:
        while parent[index] != index:
            parent[index] = parent[parent[index]]
            index = parent[index]
        return index

    for source, channel in channels.items():
        for other_source, other in channels.items():
            if source != other_source:
                slack_s = _slack_s(source, other_source, clocks)
                for turn in channel.turns:
                    for index in _copied_in(turn, other, slack_s):
                        parent[root(turn.index)] = root(index)
    groups: dict[int, list[int]] = defaultdict(list)
    for channel in channels.values():
        for turn in channel.turns:
            groups[root(turn.index)].append(turn.index)
    return [group for group in groups.values() if len(group) > 1]


def _slack_s(one: Source | None, other: Source | None, clocks: Mapping[str, RecordingClock]) -> float:
    """How far apart two copies may lie: more between recordings whose starts are known less well."""
    if one is None or other is None or one.recording == other.recording:
        return SAME_RECORDING_S
    unsure = [clocks[source.recording].start_uncertainty_s or 0.0 for source in (one, other) if source.recording in clocks]
    return OTHER_RECORDING_S + sum(unsure)


def _copied_in(turn: Turn, other: _Channel, slack_s: float) -> list[int]:
    """Turns of the other channel whose words this turn copies."""
    start_s, end_s = (turn.start_s or 0.0) - slack_s, (turn.end_s or 0.0) + slack_s
    near = other.within(start_s, end_s)
    tokens = [token for item in near for token, at_s in _timed(item) if start_s <= at_s <= end_s]
    if not tokens:
        return []
    own, theirs = _letters(turn.tokens), _letters(tokens)
    if not own or not theirs:
        return []
    likeness = fuzz.partial_ratio(own, theirs) if len(own) <= len(theirs) else fuzz.ratio(own, theirs)
    clearer = abs(_clearness(tokens) - _clearness(turn.tokens)) > CLEARER_BY
    short = min(len(own), len(theirs)) < 8
    same = slack_s <= SAME_RECORDING_S
    need = (LIKE_OVER_CLEAR if clearer else LIKE) if same else LIKE_ELSEWHERE
    if likeness < need + (20 if short else 0):
        return []
    return [item.index for item in near if _shares(turn, item, slack_s) and (same or _alike(own, _letters(item.tokens)))]


def _alike(one: str, other: str) -> bool:
    """Pairwise likeness, asked between recordings, whose clocks leave room for talk that only lies near."""
    return min(len(one), len(other)) >= 8 and fuzz.partial_ratio(one, other) >= LIKE_ELSEWHERE


def _shares(turn: Turn, item: Turn, slack_s: float) -> bool:
    """Whether the turns overlap by half of the shorter, the slack of their clocks allowed for."""
    overlap = min(turn.end_s or 0.0, item.end_s or 0.0) - max(turn.start_s or 0.0, item.start_s or 0.0)
    shorter = min((turn.end_s or 0.0) - (turn.start_s or 0.0), (item.end_s or 0.0) - (item.start_s or 0.0))
    return overlap + slack_s / 2 >= 0.5 * shorter


def _timed(turn: Turn) -> list[tuple[Token, float]]:
    """Tokens with the session second of their middle."""
    if turn.span is None or turn.start_s is None:
        return []
    return [(token, turn.start_s + (token.span.start_s + token.span.end_s) / 2 - turn.span.start_s)
            for token in turn.tokens if token.span is not None]


def _letters(tokens: Sequence[Token]) -> str:
    return " ".join(token.heard.strip(".,?!").lower() for token in tokens)


def _clearness(tokens: Sequence[Token]) -> float:
    """Mean probability of the words; 1 where a source gives none."""
    given = [1.0 if token.probability is None else token.probability for token in tokens]
    return sum(given) / len(given) if given else 0.0


def _keep_best(group: Sequence[Turn], calls: Sequence[Call], session: Session, kept: list[Turn]) -> None:
    """Keep the channel with the clearest words; its turns get the loop that the stations named in any copy tell."""
    by_source: dict[Source | None, list[Token]] = defaultdict(list)
    for turn in group:
        by_source[turn.source] += turn.tokens
    best = max(by_source, key=lambda source: (_clearness(by_source[source]) * min(1.0, len(by_source[source]) / 3), str(source)))
    heard = sorted({turn.loop for turn in group if turn.loop})
    loop, grounds = _loop_told(group, calls, session, heard)
    for turn in group:
        if turn.source == best:
            kept[turn.index] = replace(turn, loop=loop if len(heard) > 1 else turn.loop, attribution=(*turn.attribution, grounds))
        else:
            kept[turn.index] = replace(turn, set_aside=f"the same talk is heard more clearly on {_place(group, best)}")


def _place(group: Sequence[Turn], source: Source | None) -> str:
    loop = next((turn.loop for turn in group if turn.source == source and turn.loop), None)
    return loop or (f"channel {source.channel + 1} of {source.recording}" if source else "another channel")


def _loop_told(group: Sequence[Turn], calls: Sequence[Call], session: Session, heard: Sequence[str]) -> tuple[str | None, str]:
    """The one loop, of those it is heard on, on which every station named in the calls speaks; None where several remain."""
    left = set(heard)
    for turn in group:
        call = calls[turn.index]
        for name in (call.by, call.to, call.first, call.asks, call.last):
            station = session.station(name)
            if station and station.loops and left & set(station.loops):
                left &= set(station.loops)
    if len(left) == 1:
        return left.pop(), f"heard on {' and '.join(heard)}; its calls tell the loop"
    return None, f"heard on {' and '.join(heard)}"
