"""Polls: the question, what each station answered, the decision, and who was asked and never answered.

A poll is open from its call to its decision; an answer that comes later is kept as late. Outside polls only a plain GO counts
('you have a GO for the burn'). Where the speaker is not known, the station named last answers.
"""
from collections.abc import Sequence
from dataclasses import dataclass, field

from ..records.rows import Row
from ..wording.english import is_function_word
from .attribution import lead_of, surely_attributed
from .callsigns import plain_word
from .poll_course import Poll
from .poll_openings import Opening, openings
from .poll_rounds import CALL_WORDS, STANCES, rounds
from .poll_rows import Answer, answer_row, unanswered_row
from .poll_words import (
    MILD,
    YES_NO,
    PollWordBook,
    Said,
    condition,
    decides_for_all,
    decision,
    holds_off,
    settled,
    speaks_for,
    told_back,
    turned_round,
)
from .talk import Talk
from .view import View, call_book, phrases, views

_ORDER = 3
"""Words behind a station's name, in one sentence, that ask it to do something and not for its answer."""
_CALL = 6
"""Words of a turn that may still call one more station when all who were asked have answered; a longer one goes on to something else."""
_ROUND = 8
"""Turns within which two answers to names make a poll."""
_VOLUNTEERED = phrases("have a go | has a go | is go | are go | you're go | i am go | i'm go | a go for | status go | am green | we're go")
_PRONOUNS = frozenset("it he she that who what everyone everybody".split())
_LINKS = frozenset("is are 's says still a diver now also and you're go all".split())
_PLACED = frozenset("in on standing cleared".split())
"""First words of answers that open no poll of themselves: 'in place', 'on station', 'cleared'."""
_OF = frozenset("of off with from on at to".split())
_ASK_WORDS = frozenset("and okay ok then so now roger copy thanks finally last first how about diver over to from you go no or all right".split())


def polls(talk: Talk) -> list[Row]:
    """A row for each answer, each decision, and each station that was asked and never answered."""
    walk = _Walk(talk, PollWordBook.of(talk.session), lead_of(talk.session))
    for view in views(talk):
        if not view.turn.commentary and not view.turn.set_aside:
            walk.turn(view)
    return walk.finish()


@dataclass
class _Walk:
    talk: Talk
    book: PollWordBook
    lead: str | None
    found: list[Poll] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    told: set[tuple[int, str | None, str]] = field(default_factory=set)
    unopened: list[tuple[View, str]] = field(default_factory=list)

    def finish(self) -> list[Row]:
        gaps = [(poll, s, at) for poll in self.found for s, at in poll.asked.items() if s not in poll.answered | poll.replied]
        return self.rows + [unanswered_row(self.talk, poll.question, s, at, poll.decided) for poll, s, at in gaps]

    def turn(self, view: View) -> None:
        self._call(view, list(openings(view)))
        self._round(view)
        poll = self.found[-1] if self.found else None
        opened = poll is not None and poll.open(view.turn.index)
        answers = self.book.answers(view, poll.stances(), poll.words) if poll and opened else self.book.answers(view)
        found = rounds(self.talk).get(view.turn.index)
        answers = [] if found and view.turn.index in found.asking else answers
        if poll and not answers and self._just_called(poll, view):
            answers = [said for said in [holds_off(view, poll.learnt, poll.objections)] if said]
            poll.replied |= {view.turn.station} if view.turn.station and view.words else set()
        if poll and opened:
            answers = [turned_round(view, said, poll.learnt) for said in answers] if poll.objections else answers
            self._in_poll(poll, view, answers)
        elif answers:
            self._outside(poll if poll and poll.late(view.turn.index) else None, view, answers)

    def _just_called(self, poll: Poll, view: View) -> bool:
        """Whether the turn answers a call of this poll: the station called in the turn before speaks now, as far as is known."""
        called = {station for station, (turn, _) in poll.asked.items() if turn == view.turn.index - 1 and station not in poll.answered}
        of_all = not poll.asked and poll.taker is not None and view.turn.station not in (None, poll.taker, *poll.answered) and len(view.words) <= _CALL
        return poll.open(view.turn.index) and (of_all or len(called) == 1 and (view.turn.station is None or view.turn.station in called))

    # the question ------------------------------------------------------------------------------------------------------------

    def _call(self, view: View, called: Sequence[Opening]) -> None:
        poll = self.found[-1] if self.found else None
        for opening in called:
            if poll and poll.open(view.turn.index) and self._belongs(poll, view, opening):
                poll.question = opening.question or poll.question
            elif opening.formal or not (poll and poll.open(view.turn.index)):
                taker = view.turn.station if surely_attributed(view.turn) else self.lead or view.turn.station
                poll = Poll(opening.question, view.turn.index, taker, view.turn.index, words=opening.words, objections=opening.objections)
                poll.learnt |= opening.learnt
                self.found.append(poll)

    def _round(self, view: View) -> None:
        """A round of calls by name that are answered with one word: the call of a poll, or more words of the one that is open."""
        found = rounds(self.talk).get(view.turn.index)
        poll = self.found[-1] if self.found else None
        if found is None:
            return
        if poll is None or not poll.open(view.turn.index):
            if view.turn.index != found.first:
                return
            taker = view.turn.station if surely_attributed(view.turn) else self.lead or view.turn.station
            poll = Poll("", view.turn.index, taker, view.turn.index)
            self.found.append(poll)
        poll.objections = poll.objections or found.against
        poll.words, poll.learnt = poll.words | found.words | found.about, poll.learnt | found.words
        for turn, start, station in found.calls:
            if turn == view.turn.index and station not in (poll.taker, self.lead):
                poll.ask(station, turn, start)
                poll.named = station

    def _belongs(self, poll: Poll, view: View, opening: Opening) -> bool:
        """'First the poll' before its question, or GO or NO GO asked of one station within a poll."""
        one = not opening.question and any(opening.start <= m.start < opening.end for m in view.names)
        return one or not poll.answered and len(poll.asked) < 2 and view.turn.index - poll.turn <= 4

    # answers -----------------------------------------------------------------------------------------------------------------

    def _in_poll(self, poll: Poll, view: View, answers: Sequence[Said]) -> None:
        place = decision(view)
        answers = settled(view, answers)
        self._decide_unanswered(poll, view, answers)
        events = sorted([(m.start, m) for m in view.names] + [(a.start, a) for a in answers], key=lambda item: item[0])
        for at, event in events:
            if poll.decided == view.turn.index and not (place and place[0] <= at < place[1]):
                continue
            if not isinstance(event, Said):
                self._named(poll, view, event.station, at, event.end, answers)
            elif place and place[0] <= at < place[1] and self._decides(poll, view, at):
                self._decide(poll, view, place)
            else:
                self._answer(poll, view, event)
        self._standby_asked(poll, view)

    def _decide_unanswered(self, poll: Poll, view: View, answers: Sequence[Said]) -> None:
        """A decision whose words are no answer of one station ('then we go without the tower'), before what else the turn holds."""
        place = decision(view)
        if place and poll.decided is None and not any(place[0] <= a.start < place[1] for a in answers) and self._decides(poll, view, place[0]):
            self._decide(poll, view, place)

    def _named(self, poll: Poll, view: View, station: str, start: int, end: int, answers: Sequence[Said]) -> None:
        if view.turn.station not in (None, poll.taker) or station in (poll.taker, self.lead) or not self.talk.session.station(station):
            return
        if set(view.before(start, 2)) & _OF and not view.turn.tokens[start - 1].ends_clause:
            return  # 'everybody clear of the rope?' calls nobody
        if view.words[end:end + 1] == ("to",) and start <= 1:
            return  # 'Lay master to all': who speaks
        first, stop = view.clause(start)
        others = set(view.words[first:start]) | set(view.words[end:stop])
        names = {w for m in view.names for w in view.words[m.start:m.end]}
        answered_here = any(first <= answer.start < stop for answer in answers)
        told_to = end == len(view.words) and not view.asks(start, end) and any(view.sentence(start)[0] <= answer.start < start for answer in answers)
        last = view.sentence(start)[1]
        ordered = set(view.words[stop:last]) - _ASK_WORDS - STANCES - names - poll.words
        told = len(ordered) >= _ORDER and stop < last and not view.asks(start, last) and not any(stop <= answer.start < last for answer in answers)
        elsewhere = {w for w in view.words[view.sentence(start)[0]:last] if not is_function_word(w)} - CALL_WORDS - names - poll.words
        over = bool(poll.asked) and poll.answered.issuperset(poll.asked) and len(view.words) > _CALL and not view.asks(start, last)
        told = told or over or (bool(elsewhere) and not elsewhere & STANCES and (view.asks(start, last) or len(elsewhere) > 1))
        stance = others & STANCES if view.asks(start, last) else set()
        if not answered_here and not told and not told_to and not others - _ASK_WORDS - names - stance and not told_back(view, start):
            poll.words |= stance
            poll.ask(station, view.turn.index, start)
        if view.turn.station is None or not answered_here:
            poll.named = station

    def _standby_asked(self, poll: Poll, view: View) -> None:
        """A station that goes by the name of the stand-by words, asked as 'stand by?' in the recogniser's spelling."""
        station = self.book.standby
        if station and view.turn.station in (None, poll.taker) and any(
                view.has(("stand", "by"), s) and view.asks(s, e) | (e - s == 3) for s, e in view.clauses):
            poll.asked.setdefault(station, (view.turn.index, 0))

    def _decides(self, poll: Poll, view: View, at: int) -> bool:
        """The taker decides; where the speaker is not known, 'we are GO' does unless a station was named just before."""
        if view.turn.station is not None:
            return view.turn.station == poll.taker or poll.taker is None and view.turn.station == self.lead
        if any(m.end <= at and view.clause(m.start) == view.clause(at) for m in view.names):
            return False
        pending = [s for s in poll.asked if s not in poll.answered]
        place = decision(view)
        if place and poll.answered and decides_for_all(view, place):
            return True
        return bool(poll.answered) and not (pending and poll.named in pending and view.turn.index - poll.last <= 1 and at <= 3)

    def _decide(self, poll: Poll, view: View, place: tuple[int, int]) -> None:
        if poll.decided is not None:
            return
        poll.decided = view.turn.index
        station = view.turn.station or poll.taker or self.lead
        sure = view.turn.station is not None
        self._tell(view, Answer(Said(*place, "GO"), station, poll.question, decision=True,
                                doubt="" if sure else "the decision is taken to be the test lead's"))

    def _answer(self, poll: Poll, view: View, said: Said, late: bool = False) -> None:
        called = {s for s, (turn, _) in poll.asked.items() if turn == view.turn.index - 1}
        mild = said.end - said.start == 1 and view.words[said.start] in MILD and view.words[said.start] not in poll.words and not any(
            m.end == said.start and m.station in called for m in view.names)
        mild = mild and self._subject(view, said) not in called and not (said.reply == "GO" and view.turn.station in poll.against)
        if mild or view.asks(*view.sentence(said.start)) or told_back(view, said.start) or not self._asked_last(poll, view, said):
            return
        station, given_by, doubt = self._who(poll, view, said)
        called_behind = poll.asked.get(station or "", (-1, 0)) > (view.turn.index, said.start)
        due = not called_behind and not said.open_only or given_by is not None or not called_behind and station is not None and self._due(
            poll, view, station, said)
        if station is None or station == poll.taker and given_by is None or not due:
            return
        if late and station in poll.answered:
            return
        poll.answered.add(station)
        poll.against.pop(station, None)
        poll.against |= {station: said.reply} if said.reply != "GO" else {}
        poll.last = view.turn.index if not late else poll.last
        self._tell(view, Answer(said, station, poll.question, poll.asked.get(station), given_by, late, doubt=doubt,
                                condition=condition(view, said.end)))

    def _asked_last(self, poll: Poll, view: View, said: Said) -> bool:
        """'Yes' and 'no' answer what was asked last: a poll's call, and not another question put since ('what is the limit?')."""
        if view.words[said.start] not in YES_NO or said.end - said.start > 1 or view.before(said.start) == ("a",):
            return True
        before = next((v for v in reversed(views(self.talk)[max(0, view.turn.index - 3):view.turn.index]) if not v.turn.commentary), None)
        calls = {turn for turn, _ in poll.asked.values()} | {poll.turn, poll.last}
        return before is None or before.turn.index in calls or not before.asks(0, len(before.words)) and view.turn.index - max(calls) <= 2

    def _due(self, poll: Poll, view: View, station: str, said: Said) -> bool:
        """Words such as 'ready' or 'stand by' count for a station that was asked, or names itself, or before anybody was asked."""
        if station not in poll.answered and station == self._subject(view, said):
            return True
        asked = poll.asked.get(station)
        if asked is None and station not in poll.answered and any("answers the call" in ground for ground in view.turn.attribution):
            return True
        if station in poll.against and (said.reply == "GO" or said.reply == "NO-GO" and poll.against[station] == "STAND BY"):
            return True
        return asked is not None and (station not in poll.answered or view.turn.index - asked[0] <= 2) or not poll.asked

    def _who(self, poll: Poll, view: View, said: Said) -> tuple[str | None, str | None, str]:
        """The station that answers, who gives its answer if another does, and what is in doubt about it."""
        speaker = view.turn.station
        proxy = self._for_another(poll, view, said)
        if proxy:
            return proxy
        named = self._subject(view, said)
        if named and named != speaker:
            return named, speaker if speaker not in (None, poll.taker) else None, "" if speaker != poll.taker else "said by the taker"
        unclear = None if surely_attributed(view.turn) else self._unclear_subject(view, said)
        if unclear:
            return unclear, None, "the name was not heard clearly"
        first = self._before_another(poll, view, said)
        if first:
            return first, None, "one turn holds the answers of two stations"
        near = next((m.station for m in reversed(view.names) if m.start < said.start and self.talk.session.station(m.station)
                     and view.before(m.start) not in (("with",), ("for",), ("on",), ("of",))), None)
        if speaker is not None and (near is None or near == poll.taker or surely_attributed(view.turn)):
            return speaker, None, "" if surely_attributed(view.turn) else "who speaks is a guess"
        waited = next(iter(poll.against)) if poll.named in poll.answered and len(poll.against) == 1 and said.reply == "GO" else None
        station = near or waited or self._next_in_list(poll) or poll.named
        return station, None, "" if near else "the speaker is not known: the station asked last"

    def _before_another(self, poll: Poll, view: View, said: Said) -> str | None:
        """'Red?' 'Go. Winch is go.': what comes before the name is the answer of the one who was called, where the voices were not parted."""
        called = [s for s, (turn, _) in poll.asked.items() if turn == view.turn.index - 1 and s not in poll.answered]
        whole = view.sentence(said.start) == (said.start, said.end)
        other = next((m for m in view.names if m.start >= said.end), None)
        names_itself = other is not None and other.station == view.turn.station and (other.start, other.end) != view.sentence(other.start)
        return called[0] if whole and names_itself and len(called) == 1 and called[0] != view.turn.station else None

    @staticmethod
    def _next_in_list(poll: Poll) -> str | None:
        """Where several stations were asked in one breath, they answer in that order."""
        turn = poll.asked[poll.named][0] if poll.named in poll.asked else None
        listed = [station for station, asked in poll.asked.items() if asked[0] == turn]
        return next((station for station in listed if station not in poll.answered), None) if len(listed) > 1 else None

    def _for_another(self, poll: Poll, view: View, said: Said) -> tuple[str | None, str | None, str] | None:
        first, _ = view.sentence(said.start)
        if not speaks_for(view) or not set(view.words[first:said.start]) & {"she", "he", "they", "says", "say", "for"}:
            return None
        by = view.turn.station or next((m.station for m in view.names), None)
        whom = next((m.station for m in reversed(view.names) if m.start < said.start and m.station != by), None)
        return (whom, by, "given by another station") if whom else None

    def _unclear_subject(self, view: View, said: Said) -> str | None:
        """'Tower head is GO', 'Bobbing's GO': the station that words before the answer resemble."""
        first, _ = view.clause(said.start)
        if view.words[said.start - 1:said.start] == ("is",):
            words = view.words[first:said.start - 1]
        elif said.start and view.words[said.start - 1].endswith("'s"):
            words = (*view.words[first:said.start - 1], view.words[said.start - 1].removesuffix("'s"))
        else:
            return None
        words = words[1:] if words[:1] == ("and",) else words
        if not words or len(words) > 3 or any(m.start >= first and m.end <= said.start for m in view.names) or set(words) <= _PRONOUNS:
            return None
        found = call_book(self.talk).at(words, 0, like=True)
        return found.station if found and found.end == len(words) else call_book(self.talk).sounds_like("".join(words))

    def _subject(self, view: View, said: Said) -> str | None:
        """The station named as the subject of the answer: 'Chase is GO', 'Yellow GO', 'Winch is ready, GO'."""
        first, _ = view.clause(said.start)
        for mention in reversed(view.names):
            if first <= mention.start and mention.end <= said.start and not set(view.words[mention.end:said.start]) - _LINKS:
                known = self.talk.session.station(mention.station)
                return known.name if known else None
        first = view.sentence(said.start)[0]
        if view.names or set(view.words[first + 1:said.start]) - _LINKS or first == said.start:
            return None
        tail = plain_word(view.turn.tokens[first])
        owners = {station for words, station in call_book(self.talk).names.items() if words[-1] == tail and len(words) > 1}
        return owners.pop() if len(owners) == 1 and len(tail) == 1 else None  # 'b is locked': the last word of one station's name

    # outside a poll ------------------------------------------------------------------------------------------------------------

    def _outside(self, late: Poll | None, view: View, answers: Sequence[Said]) -> None:
        if self._called_round(view, answers):
            return
        for said in answers:
            if late and self._was_missing(late, view, said):
                self._answer(late, view, said, late=True)
            elif not said.open_only or view.words[said.start] == "green":
                self._volunteer(view, said)

    def _called_round(self, view: View, answers: Sequence[Said]) -> bool:
        """A second station that answers to its name a moment after another one: a poll whose call was not heard."""
        known = [said for said in answers if view.words[said.start] not in MILD | _PLACED and view.before(said.start) != ("are",)
                 and not view.asks(*view.sentence(said.start)) and not told_back(view, said.start)]
        station = self._subject(view, known[0]) or view.turn.station if known else None
        asked = station is not None and self.talk.session.station(station) is not None and station != self.lead and self._by_name(view, station)
        if not asked or station is None:
            return False
        self.unopened = [item for item in self.unopened if view.turn.index - item[0].turn.index <= _ROUND and item[1] != station]
        self.unopened.append((view, station))
        if len(self.unopened) < 2:
            return False
        first = self.unopened[0][0].turn.index
        self.found.append(Poll("", first, self.lead, first))
        self.rows = [row for row in self.rows if row.turn is None or row.turn < first]
        for earlier, name in self.unopened:
            self.told -= {key for key in self.told if key[0] == earlier.turn.index}
            self.found[-1].asked[name] = (earlier.turn.index, 0)
            self._in_poll(self.found[-1], earlier, self.book.answers(earlier))
        self.unopened = []
        return True

    def _by_name(self, view: View, station: str) -> bool:
        """Whether the station was called by name just before, or answers with its name."""
        before = views(self.talk)[view.turn.index - 1] if view.turn.index else view
        called = before is not view and len(before.words) <= 4 and any(m.station == station for m in before.names)
        return called or any(m.station == station for m in view.names)

    def _was_missing(self, poll: Poll, view: View, said: Said) -> bool:
        station = self._who(poll, view, said)[0]
        return station in poll.asked and station not in poll.answered

    def _volunteer(self, view: View, said: Said) -> None:
        place = view.find(_VOLUNTEERED, max(0, said.start - 2), said.end + 1)
        if not place or place[1] < said.end or view.asks(*view.sentence(said.start)) or told_back(view, said.start):
            return
        if "systems" in view.before(said.start, 3):
            return
        station = self._subject(view, said) or view.turn.station
        stop = view.sentence(said.start)[1]
        about = " ".join(token.text for token in view.turn.tokens[said.end:stop]).rstrip(" .,") if said.reply == "GO" else ""
        doubt = "" if station else "the speaker is not known"
        self._tell(view, Answer(said, station, about.removeprefix("for ").removeprefix("to "), doubt=doubt))

    def _tell(self, view: View, answer: Answer) -> None:
        key = (view.turn.index, answer.station, answer.said.reply)
        if key not in self.told:
            self.told.add(key)
            self.rows.append(answer_row(self.talk, view, answer))
