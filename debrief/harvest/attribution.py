"""Who speaks and to whom: one walk over the turns in time order, each finding with its grounds.

A station is given to a turn only on evidence: its speaker in the transcript, its own name, the call it answers, the voice it
shares with turns that name themselves, or (weakest, and said so) the habit of the lead to call others. Else it stays unknown.
"""
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..records.talk import Turn
from ..session import Session
from .callsigns import Call

NAMED = "named in the transcript"
_ANSWER_S = 8.0
_REPLY_S = 20.0
_BACK = 8
_LEAD_ROLES = ("director", "supervisor", "conductor", "master", "controller", "coordinator", "capcom", "lead", "commander", "control")
_ACKNOWLEDGES = frozenset("roger copy copied thanks thank understood".split())
VOICE_SHARE, VOICE_VOTES = 0.7, 2


def lead_of(session: Session) -> str | None:
    """The station that runs the test, by its role in the session file; None where no role says so."""
    for word in _LEAD_ROLES:
        for station in session.stations:
            if word in station.role.lower().split(",")[0].split() and not station.commentary:
                return station.name
    return None


@dataclass(slots=True)
class _Thread:
    """What is open on one channel: the last turn, the station that was called in it, and who called when that one answered."""

    last: int | None = None
    called: str | None = None
    asker: str | None = None


def attribute(turns: Sequence[Turn], calls: Sequence[Call], voices: Sequence[str | None], session: Session) -> list[Turn]:
    """Turns with station, addressee, the turn they answer, and the grounds of each."""
    found = list(turns)
    lead, threads = lead_of(session), defaultdict[object, _Thread](_Thread)
    merged = {turn.source.recording for turn in found if turn.set_aside and turn.source}
    for index, call in enumerate(calls):
        source = found[index].source
        if found[index].commentary or found[index].set_aside:
            continue
        thread = threads[source.recording if source and source.recording in merged else source]
        found[index] = _with_station(found, index, call, thread, lead)
        answered = thread.called is not None and found[index].station == thread.called and thread.last is not None
        thread.asker = found[thread.last or 0].station if answered else None
        thread.last, thread.called = index, _called(call, found[index])
    found = _by_voice(found, voices)
    return [_with_addressee(found, index, calls[index]) for index in range(len(found))]


def _called(call: Call, turn: Turn) -> str | None:
    """The one station from which an answer is due after this turn."""
    station = call.asks or (None if call.group else call.to) or call.first
    if station is None and call.last and turn.tokens[-1].text.rstrip().endswith("?"):
        station = call.last
    return station if station != turn.station else None


def _with_station(turns: Sequence[Turn], index: int, call: Call, thread: _Thread, lead: str | None) -> Turn:
    turn = turns[index]
    if turn.station is not None:
        return turn
    station, grounds = _own_words(call) or _answer(turns, index, call, thread) or _lead_calls(call, lead) or (None, ())
    return replace(turn, station=station, attribution=(*turn.attribution, *grounds))


def _own_words(call: Call) -> tuple[str, tuple[str, ...]] | None:
    return (call.by, call.grounds) if call.by else None


def _answer(turns: Sequence[Turn], index: int, call: Call, thread: _Thread) -> tuple[str, tuple[str, ...]] | None:
    """The station that was just called, or the one that called and now acknowledges."""
    if thread.last is None or _gap_s(turns[thread.last], turns[index]) > _ANSWER_S:
        return None
    before, called = turns[thread.last], thread.called
    if called and called in {call.first, call.last} and len(turns[index].tokens) > 2:
        return called, (f"answers with its name the call to {called}",)
    calls_on = call.first or call.to or call.asks
    if called and not calls_on:
        return called, (f"answers the call to {called}",)
    if called and calls_on and before.station and calls_on != before.station:
        return before.station, (f"goes on calling, as {before.station} did just before",)
    asker = thread.asker
    if asker and asker != before.station and turns[index].tokens[0].norm in _ACKNOWLEDGES:
        return asker, (f"acknowledges the answer to {asker}",)
    return None


def _lead_calls(call: Call, lead: str | None) -> tuple[str, tuple[str, ...]] | None:
    calls = call.first or call.to or call.asks
    if lead and calls and calls != lead:
        return lead, (f"calls others by name, as {lead} does (weak)",)
    return None


def _gap_s(before: Turn, after: Turn) -> float:
    if before.end_s is None or after.start_s is None:
        return 0.0
    return after.start_s - before.end_s


def _by_voice(turns: list[Turn], voices: Sequence[str | None]) -> list[Turn]:
    """Unknown or weakly known turns of a voice get the station that most turns of the voice name themselves by."""
    votes: dict[str, Counter[str]] = defaultdict(Counter)
    for turn, voice in zip(turns, voices, strict=True):
        if voice and turn.station and not any("weak" in ground for ground in turn.attribution):
            votes[voice][turn.station] += 1
    owners = {voice: count.most_common(1)[0] for voice, count in votes.items()}
    sure = {voice: name for voice, (name, n) in owners.items() if n >= VOICE_VOTES and n >= VOICE_SHARE * votes[voice].total()}
    return [_heard_as(turn, sure.get(voice or "")) for turn, voice in zip(turns, voices, strict=True)]


def _heard_as(turn: Turn, owner: str | None) -> Turn:
    if owner is None or NAMED in turn.attribution or turn.commentary:
        return turn
    if turn.station == owner:
        return replace(turn, attribution=(*turn.attribution, f"voice of {owner}"))
    if turn.station is None or any("weak" in ground for ground in turn.attribution):
        return replace(turn, station=owner, attribution=(f"voice of {owner}",))
    return replace(turn, attribution=(*turn.attribution, f"but the voice is that of {owner}"))


def _with_addressee(turns: list[Turn], index: int, call: Call) -> Turn:
    """Addressee and answered turn; earlier turns of the list are complete already."""
    turn = turns[index]
    if turn.commentary or turn.set_aside:
        return turn
    answers = _answered(turns, index)
    named = next((name for name in (call.to, call.first, call.asks, call.last) if name and name != turn.station), None)
    if named is None and answers is not None:
        named = turns[answers].station
    turns[index] = replace(turn, addressee=named, answers=answers)
    return turns[index]


def _answered(turns: Sequence[Turn], index: int) -> int | None:
    """The latest earlier turn that spoke to this station, else the latest by another station, on the same loop and recent."""
    turn, other = turns[index], None
    for back in range(index - 1, max(-1, index - 1 - _BACK), -1):
        before = turns[back]
        if before.commentary or before.set_aside or not _same_thread(before, turn):
            continue
        if _gap_s(before, turn) > _REPLY_S:
            break
        if before.station == turn.station and turn.station is not None:
            continue
        if turn.station is not None and before.addressee == turn.station:
            return back
        other = back if other is None else other
    return other


def _same_thread(one: Turn, other: Turn) -> bool:
    return one.loop is None or other.loop is None or one.loop == other.loop or other.station in {one.addressee, None}
