"""Talk to the public on a working loop: kept, and kept apart. No row may come from it.

Common practice, no source: commentary greets and addresses listeners, tells of the crew in the third person, explains, and
runs in long plain sentences without callsigns. One such sign is chance; a turn is held for commentary by the sum of signs,
and its neighbours without any call follow it. A session that names its stations and no commentator needs more.
"""
import re
from collections.abc import Sequence
from dataclasses import replace

from ..records.talk import Turn
from ..session import Session

_ENOUGH = 3.0
_ENOUGH_UNPLANNED = 4.5
_ANY_SIGN = 0.5
"""What a piece must show to be commentary by its voice alone: voices are grouped by ear, and one group may hold two people."""
_MOST_PIECES = 12
_FOLLOWS_S = 1.6
_ONE_SIGN = 1.0
"""What one piece of a stretch must show by itself: many weak signs over many turns are chance."""
_BREATH_S = 0.7
"""A pause inside one person's sentence; another station answers later than this, or says its name."""
_SIGNS: tuple[tuple[float, str], ...] = (
    (3.0, (r"\b(ladies (and|in|an) gent\w*|lady's and gent\w*|boys and girls|for the (children|kids)|if you('ve| have)? just joined|welcome (to|everybody|everyone)|"
          r"warm welcome|good (morning|afternoon|evening) (from|everybody|everyone|ladies)|thank you for (coming|joining|watching)|"
          r"(for|to) our (viewers|visitors|guests|listeners)|open (day|house))")),
    (2.0, (r"^\W*((and )?this is )?(the )?(\w+ )?(launch|mission|flight|race|event|range|show|tower|test) (control|commentary|centre|center)"
          r"( (again|here))?\b(?! (to|from|go|copies|roger))(?=[.,:;]| at | as | with | we('re| are))")),
    (2.0, r"\b(visitors?|spectators?|audience|viewers|grandstand|crowd|guests|folks|families|public affairs)\b"),
    (2.0, (r"\b(in front of you|behind the glass|(what|that \w+) you (may |can |now )?(see|hear|are seeing|are hearing)|"
          r"you (can|may|might|will) (now )?(see|hear|watch|have (seen|heard))|as you can see|a good time to|hold on to your)\b")),
    (1.5, r"\bthat \w+ you \w+ (\w+ )?in the (room|hall|hangar|building|background|distance|air|water|basin|tank)\b"),
    (1.5, (r"\b(that is quite (normal|common)|means (that )?(it|she|he|they|the)\b|a bit like|as much as (an?|two|three|ten) \w+|"
          r"in other words|nothing to worry)\b")),
    (1.5, (r"\b(the (pilots?|divers?|crew|team|subject|test subject|supervisor|astronauts?|flight crew|volunteers|person in|"
          r"gentleman|lady|conductor|controllers?))\b.{0,40}\b(is|are|has|have|will|must|can|could|who)\b")),
    (1.0, (r"\b(that (gentleman|lady)|last year|(stands|weighs|measures) [\w -]{3,30}(tall|high|long|wide|tonnes|tons)\b|the (\w+ )?people|"
          r"in a few (moments|minutes)|the countdown (is|has)|everybody aboard|"
          r"(twice|three times|half) as (long|far|high|fast|deep|many|much|hot|cold)|"
          r"is (now )?being|are (now )?being|what a (splash|sight|view|landing)|we expect)\b")),
    (1.0, (r"\b(the|that) ((big|little|small|large) )?(white|orange|red|yellow|blue|green|black|silver) (\w+ ){1,2}"
           r"(is|has|that|you|climbing|hanging|coming|going)\b")),
    (1.0, r"\b(he|she|they) (can|could|will|must|would|may|has|have)\b"),
    (0.5, r"\b(so called|called a|slowly|colou?r|orange|full size|soft|beautiful)\b"),
)
_COMPILED = tuple((weight, re.compile(pattern)) for weight, pattern in _SIGNS)
_WORKING = re.compile(r"\b(roger|copy|copied|over|wilco|say again|stand by|standby|affirm(ative)?|negative|go for|no go|mark|step|card|"
                      r"comms? check|radio check|signal|station|i('ve| have)|i'm|my|please|psi|percent)\b")


_FIRST_PERSON = re.compile(r"\b(i|i'\w+|we|we'\w+|my|our|me|us)\b")
_NUMBER_WORD = re.compile(r"\b(one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\w+teen|\w+ty|hundred|thousand|point)\b")


def mark_commentary(turns: Sequence[Turn], session: Session, named: frozenset[int]) -> list[Turn]:
    """Turns with commentary marked by its language. named: indexes of turns whose words name a station in a call.

    Turns with a known speaker are left as they are: there the station decides.
    """
    enough = _ENOUGH if not session.stations or any(s.commentary for s in session.stations) else _ENOUGH_UNPLANNED
    name = next((s.name for s in session.stations if s.commentary), None)
    scores = [0.0 if _speaker_given(turn) else public_score(turn.text, turn.index in named) for turn in turns]
    marked = [score >= enough for score in scores]
    for block in _in_one_breath(turns, named):
        for i in _public_part(turns, scores, block, enough):
            marked[i] = True
    _spread(turns, scores, marked, named)
    return [_as_commentary(turn, name) if mark else turn for turn, mark in zip(turns, marked, strict=True)]


def close_commentary(turns: Sequence[Turn], session: Session, named: frozenset[int]) -> list[Turn]:
    """Once stations are told: turns of a station that only comments, and what was cut off in the middle of its sentences, are commentary.

    A piece between two pieces of commentary, without room for an answer, belongs to it whoever it was taken for; one that only follows or
    goes before belongs to it while nobody else is known to speak. named: indexes of turns whose words name a station in a call.
    """
    comments = {station.name: station.commentary for station in session.stations}
    found = [_as_commentary(turn, None) if comments.get(turn.station or "") and not turn.commentary and (
        _speaker_given(turn) or public_score(turn.text, turn.index in named) >= _ANY_SIGN) else turn for turn in turns]
    channels: dict[object, list[int]] = {}
    for turn in found:
        channels.setdefault(turn.source, []).append(turn.index)
    name = next((station for station, public in comments.items() if public), None)
    for order in channels.values():
        for step in (range(1, len(order)), range(len(order) - 2, -1, -1)):
            for place in step:
                before, after = _neighbour(found, order, place - 1), _neighbour(found, order, place + 1)
                turn = found[order[place]]
                touching = [other for other in (before, after) if other and other.commentary and _close(other, turn, _BREATH_S)]
                if (touching and not turn.commentary and order[place] not in named and not _speaker_given(turn)
                        and (len(touching) == 2 or turn.station is None or comments.get(turn.station))):
                    found[order[place]] = replace(_as_commentary(turn, None), station=name, attribution=("goes on with talk to the public",))
    return found


def _neighbour(turns: Sequence[Turn], order: Sequence[int], place: int) -> Turn | None:
    return turns[order[place]] if 0 <= place < len(order) else None


def _public_part(turns: Sequence[Turn], scores: Sequence[float], block: Sequence[int], enough: float) -> Sequence[int]:
    """The longest run of a stretch that sounds like talk to the public as a whole; work may stand close before and behind it."""
    if max(scores[i] for i in block) < _ONE_SIGN:
        return ()
    for length in range(min(len(block), _MOST_PIECES), 1, -1):
        for start in range(len(block) - length + 1):
            run = block[start:start + length]
            if max(scores[i] for i in run) >= _ONE_SIGN and public_score(" ".join(turns[i].text for i in run)) >= enough:
                return run
    return ()


def _in_one_breath(turns: Sequence[Turn], named: frozenset[int]) -> list[list[int]]:
    """Indexes of turns that follow each other on a channel without room for an answer and without a call: likely one person's sentences."""
    blocks: list[list[int]] = []
    last: dict[object, list[int]] = {}
    for turn in turns:
        block = last.get(turn.source)
        if (block and turn.source is not None and turn.index not in named and block[-1] not in named
                and not _speaker_given(turn) and not _speaker_given(turns[block[-1]]) and _close(turns[block[-1]], turn, _BREATH_S)):
            block.append(turn.index)
        else:
            last[turn.source] = block = [turn.index]
            blocks.append(block)
    return [block for block in blocks if len(block) > 1]


def _speaker_given(turn: Turn) -> bool:
    return "named in the transcript" in turn.attribution


def public_score(text: str, has_call: bool = False) -> float:
    """How much a stretch of talk sounds like talk to the public (3 and more: it does)."""
    plain = text.lower().replace("’", "'")
    score = sum(weight * min(2, len(sign.findall(plain))) for weight, sign in _COMPILED)
    words = len(plain.split())
    if score and words >= 15:
        score += 0.5 + min(words, 45) / 45 + (0.0 if _FIRST_PERSON.search(plain) else 0.6)
    score -= 0.75 * len(_WORKING.findall(plain))
    return score - (2.0 if has_call else 0.0)


def _spread(turns: Sequence[Turn], scores: Sequence[float], marked: list[bool], named: frozenset[int]) -> None:
    """Neighbours on the channel without pause or call, that do not sound like work, belong to the same commentary."""
    order = list(range(len(turns)))
    for step in (order, order[::-1]):
        last: dict[object, int] = {}
        for index in step:
            turn = turns[index]
            before = last.get(turn.source)
            if (before is not None and marked[before] and not marked[index] and index not in named
                    and not _speaker_given(turn) and _close(turns[before], turn)
                    and (scores[index] >= 0.5 or _plain_talk(turn))):
                marked[index] = True
            last[turn.source] = index


def _plain_talk(turn: Turn) -> bool:
    """Long and without figures, callsign or the short forms of work."""
    text = turn.text.lower()
    working = _WORKING.search(text) or _FIRST_PERSON.search(text) or _NUMBER_WORD.search(text) or any(char.isdigit() for char in text)
    return len(turn.tokens) >= 8 and not working


def _close(one: Turn, other: Turn, within_s: float = _FOLLOWS_S) -> bool:
    if one.start_s is None or other.start_s is None or one.end_s is None or other.end_s is None:
        return False
    return max(one.start_s, other.start_s) - min(one.end_s, other.end_s) < within_s


def _as_commentary(turn: Turn, name: str | None) -> Turn:
    return replace(turn, commentary=True, station=turn.station or name,
                   attribution=(*turn.attribution, "sounds like talk to the public"))
