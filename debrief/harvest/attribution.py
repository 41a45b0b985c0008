"""Who speaks and to whom, each finding with its grounds.

A station is given to a turn only on evidence: its speaker in the transcript, its own name, the voice it shares with turns that name
themselves, or what the chain of turns makes likely (speakers.py), and how likely. Below LIKELY it stays unknown.
"""
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace

from numpy import float64
from numpy.typing import NDArray

from ..records.talk import Turn
from ..session import Session
from .callsigns import Call, CallBook
from .speakers import ACKNOWLEDGES, Cast, echoes, gap_s, likely_speakers

NAMED = "named in the transcript"
_ANSWER_S = 8.0
_REPLY_S = 20.0
_BACK = 8
_LEAD_ROLES = ("director", "supervisor", "conductor", "master", "controller", "coordinator", "capcom", "lead", "commander", "control")
LIKELY, LIKELY_BY_FORM, LIKELY_IF_CALLED, SURE, WEAK = 0.8, 0.5, 0.3, 0.93, "weak"
"""Probabilities from which a station is given to a turn (less where it calls as the lead does, least where it was just called), and from
which it is no guess; what grounds of a guess say."""
VOICE_SHARE, VOICE_VOTES = 0.7, 2


def lead_of(session: Session) -> str | None:
    """The station that runs the test, by its role in the session file; None where no role says so."""
    for word in _LEAD_ROLES:
        for station in session.stations:
            if word in station.role.lower().split(",")[0].split() and not station.commentary:
                return station.name
    return None


def attribute(turns: Sequence[Turn], calls: Sequence[Call], voices: Sequence[str | None], given: tuple[Session, CallBook]) -> list[Turn]:
    """Turns with station, addressee, the turn they answer, and the grounds of each. given: the session, and the names heard for its stations."""
    found = list(turns)
    cast = Cast(tuple(s for s in given[0].stations if not s.commentary), lead_of(given[0]), *given)
    for thread in _threads(found):
        if all(found[i].station for i in thread):
            continue
        due = [_called(calls[i], found[i]) for i in thread]
        if cast.stations:
            likely = likely_speakers([found[i] for i in thread], [calls[i] for i in thread], due, [voices[i] for i in thread], cast)
        for place, i in enumerate(thread):
            if found[i].station is None and cast.stations:
                expected = _expected([found[j] for j in thread[max(0, place - 2):place + 1]], due[max(0, place - 2):place])
                found[i] = _with_likeliest(found[i], calls[i], likely[place], cast, expected)
    found = _by_voice(found, voices)
    return [_with_addressee(found, index, calls[index]) for index in range(len(found))]


def _threads(turns: Sequence[Turn]) -> list[list[int]]:
    """Indexes of the turns of each channel, in order; channels that carry copies of each other count as one."""
    merged = {turn.source.recording for turn in turns if turn.set_aside and turn.source}
    threads: dict[object, list[int]] = defaultdict(list)
    for index, turn in enumerate(turns):
        if not turn.commentary and not turn.set_aside and turn.tokens:
            source = turn.source
            threads[source.recording if source and source.recording in merged else source].append(index)
    return list(threads.values())


def _called(call: Call, turn: Turn) -> str | None:
    """The one station from which an answer is due after this turn."""
    station = call.asks or (None if call.group else call.to) or call.first
    if station is None and call.last and turn.tokens[-1].text.rstrip().endswith("?"):
        station = call.last
    return station if station not in (turn.station, call.by) else None


def _expected(turns: Sequence[Turn], due: Sequence[str | None]) -> tuple[str | None, str]:
    """Whose turn it is by form, and why: of the station just called, or of the one that called and now acknowledges the answer."""
    if len(turns) < 2 or gap_s(turns[-2], turns[-1]) > _ANSWER_S:
        return None, ""
    if due[-1]:
        return due[-1], f"answers the call to {due[-1]}"
    asker = turns[0].station if len(turns) == 3 and due[0] else None
    if asker and turns[1].station != asker and turns[-1].tokens[0].norm in ACKNOWLEDGES:
        return asker, f"acknowledges the answer to {asker}"
    return None, ""


def _with_likeliest(turn: Turn, call: Call, likely: NDArray[float64], cast: Cast, expected: tuple[str | None, str]) -> Turn:
    """The turn with the station that is likely enough; grounds say whether that is a guess (weak)."""
    called = expected[0] in (call.first, call.to, call.asks)
    best = -1 if called else cast.index.get(expected[0] or "", -1)
    best = best if best >= 0 and likely[best] >= LIKELY_IF_CALLED else int(likely.argmax())
    share, station = float(likely[best]), cast.stations[best].name
    if call.by in cast.index:
        return replace(turn, station=call.by, attribution=(*turn.attribution, *call.grounds))
    formal = station == cast.lead and bool(call.first or call.to or call.asks)
    if share < (LIKELY_IF_CALLED if expected[0] == station and not called else LIKELY_BY_FORM if formal else LIKELY):
        return turn
    why = expected[1] if expected[0] == station else _why(call, cast.lead, station)
    return replace(turn, station=station, attribution=(*turn.attribution, f"{why} ({share:.0%})" if share >= SURE else f"{why} ({share:.0%}, {WEAK})"))


def _why(call: Call, lead: str | None, station: str) -> str:
    if station == lead and (call.first or call.to or call.asks):
        return f"calls others by name, as {lead} does"
    return f"{station} is likeliest by whose turn it is and what is said"


def surely_attributed(turn: Turn) -> bool:
    """Whether the turn's station is known and no guess."""
    return turn.station is not None and not any(WEAK in ground for ground in turn.attribution)


def _by_voice(turns: list[Turn], voices: Sequence[str | None]) -> list[Turn]:
    """Unknown or weakly known turns of a voice get the station that most turns of the voice name themselves by."""
    votes: dict[str, Counter[str]] = defaultdict(Counter)
    for turn, voice in zip(turns, voices, strict=True):
        if voice and turn.station and not any(WEAK in ground for ground in turn.attribution):
            votes[voice][turn.station] += 1
    owners = {voice: count.most_common(1)[0] for voice, count in votes.items()}
    sure = {voice: name for voice, (name, n) in owners.items() if n >= VOICE_VOTES and n >= VOICE_SHARE * votes[voice].total()}
    return [turn if i and echoes(turns[i - 1], turn) else _heard_as(turn, sure.get(voice or "")) for i, (turn, voice) in enumerate(
        zip(turns, voices, strict=True))]


def _heard_as(turn: Turn, owner: str | None) -> Turn:
    if owner is None or NAMED in turn.attribution or turn.commentary:
        return turn
    if turn.station == owner:
        return replace(turn, attribution=(*turn.attribution, f"voice of {owner}"))
    if turn.station is None or any(WEAK in ground for ground in turn.attribution):
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
        if gap_s(before, turn) > _REPLY_S:
            break
        if before.station == turn.station and turn.station is not None:
            continue
        if turn.station is not None and before.addressee == turn.station:
            return back
        other = back if other is None else other
    return other


def _same_thread(one: Turn, other: Turn) -> bool:
    return one.loop is None or other.loop is None or one.loop == other.loop or other.station in {one.addressee, None}
