"""Where candidate texts come from: the heard frame with other digits, the plan's readouts, axes and steps, frames heard clearly elsewhere,
what a read-back should say, poll answers, named clocks, and terms that sound alike.

Every source puts its candidate into the words around it: a piece keeps what it does not ask about as it was heard.
"""
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from ..session import Card, Scale
from ..wording.correction import Corrector
from ..wording.english import is_function_word
from ..wording.lexicon import Lexicon
from ..wording.say_numbers import cardinal, plain, spell, ways_to_say
from ..wording.soundalike import pronounce_words, sound_likeness
from .number_variants import Run, digits_of, homophone_runs, runs_of, spoken, variants
from .pieces import Piece
from .progress import progress
from .talk import Talk

MOST_PARAMETERS, MOST_CHANGED = 4, 20
SHORT_S, POLL_WINDOW_S, READBACK_S = 4.0, 90.0, 12.0
MOST_AXES, LEAST_AXIS, LEAST_PARAMETER = 4, 0.3, 0.4
LONGEST_NAME = 4
UNIT_WORDS = {"m": "metres", "C": "degrees", "L/min": "litres per minute", "L": "litres", "kg": "kilos", "kt": "knots", "ft": "feet",
              "percent": "percent", "t": "tonnes", "V": "volts", "A": "amps", "g": "g", "bpm": ""}
_ALPHABET = dict(zip("abcdefghij", "alpha bravo charlie delta echo foxtrot golf hotel india juliet".split(), strict=True))
_POLL_SIGNS = frozenset("go goal no-go poll pole ready stand wait standby gold".split())
_STEP_SIGNS = frozenset("step steps card card's alpha bravo charlie delta echo".split())
_CLOCK_SIGNS = frozenset("plus minus left go remaining minutes minute seconds mark clock gone".split())
_OF_MANY = frozenset("both all each these same".split())
"""Beside these a rating is often said in the plural ("both threes")."""
_RATING_SIGNS = frozenset("call rate rating rated give say maybe same both half out".split())


@dataclass
class Asking:
    """What sources may know. plan: whether the session file may be used (a test leaves it out)."""

    talk: Talk
    lexicon: Lexicon
    corrector: Corrector
    _frames: dict[str, int] = field(default_factory=dict)

    def card_at(self, piece: Piece) -> tuple[Card, ...]:
        """The open card; all cards where none is known to be open."""
        cards = self.talk.session.cards
        name = progress(self.talk).at(piece.turn.index).card
        return tuple(card for card in cards if card.id == name) or cards

    @cached_property
    def parameters(self) -> tuple[tuple[str, str], ...]:
        """Names of parameters with their units: the plan's, those of limits, and the packs' of this trade."""
        session = self.talk.session
        planned = [(name, item.unit or "") for card in session.cards for item in card.readouts for name in (item.what, *item.also_called)]
        planned += [(name, item.unit or "") for item in session.parameters for name in (item.what, *item.also_called)]
        planned += [(limit.what, limit.unit or "") for limit in session.limits]
        known = {entry.text.lower() for entry in self.corrector.vocabulary.entries if entry.kind == "parameters"}
        packs = [(form, term.unit or "") for term in self.lexicon.of_kind("parameters") for form in term.forms if form.lower() in known]
        return tuple(dict.fromkeys((*planned, *packs)))

    @cached_property
    def scales(self) -> dict[str, Scale]:
        return {scale.name: scale for scale in self.talk.session.scales}

    @cached_property
    def clear_frames(self) -> tuple[tuple[str, ...], ...]:
        """Words that stood clearly before a number somewhere in this talk, at least twice."""
        counts: dict[tuple[str, ...], int] = {}
        for turn in self.talk.operational():
            for number in self.talk.numbers[turn.index]:
                name = name_before([token.norm for token in turn.tokens], number.start, 0)
                if name and min((t.probability or 0 for t in turn.tokens[number.start - len(name):number.start]), default=0) > 0.7:
                    counts[name] = counts.get(name, 0) + 1
        return tuple(name for name, count in counts.items() if count > 1)


Source = Callable[[Asking, Piece], Iterable[str]]


def name_before(words: Sequence[str], at: int, least: int) -> tuple[str, ...]:
    """Up to LONGEST_NAME words before a number that may name it, without function words in front."""
    start = max(least, at - LONGEST_NAME)
    run = list(words[start:at])
    while run and (is_function_word(run[0]) or not run[0]):
        run = run[1:]
    return tuple(run)


def _chunks(piece: Piece) -> Iterator[tuple[int, Run]]:
    """Each run of numbers, with the token at which its name starts."""
    least = piece.start
    for run in runs_of(piece):
        name = name_before([token.norm for token in piece.turn.tokens], run.start, least)
        yield run.start - len(name), run
        least = run.end


def put(piece: Piece, start: int, end: int, text: str) -> str:
    """The piece with tokens [start, end) of its turn replaced by text."""
    tokens = piece.turn.tokens
    words = [token.text for token in tokens[piece.start:start]] + [text] + [token.text for token in tokens[end:piece.end]]
    return " ".join(word for word in words if word)


def other_digits(asking: Asking, piece: Piece) -> Iterator[str]:
    """The heard frame with other digits: a number is asked about only inside the words around it."""
    if not any(not is_function_word(word) and not word.isdigit() for word in piece.words):
        return
    for run in runs_of(piece):
        if _is_top(piece, run):
            continue
        for value in variants(run, MOST_CHANGED):
            yield from (put(piece, run.start, run.end, way) for way in spoken(value, run, 2 if value in run.values else 1))


def _is_top(piece: Piece, run: Run) -> bool:
    """'out of ten' names the top of a scale and is no value."""
    return [token.norm for token in piece.turn.tokens[max(0, run.start - 2):run.start]] == ["out", "of"]


def planned_readouts(asking: Asking, piece: Piece) -> Iterator[str]:
    """The name before a number replaced by parameters that sound nearest; with the heard value and its nearest others."""
    for start, run in _chunks(piece):
        if _is_top(piece, run):
            continue
        for name, unit in _nearest(asking, piece, start, run.start):
            yield from (put(piece, start, run.end, f"{name} {way}") for value in variants(run, 6) for way in spoken(value, run))
            said = UNIT_WORDS.get(unit, unit)
            if said and run.end < piece.end:
                yield put(piece, start, run.end + 1, f"{name} {spoken(run.values[0], run)[0]} {said}")


def words_like_digits(asking: Asking, piece: Piece) -> Iterator[str]:
    """Runs of words that sound like digits ('to zero eight'), as the number they would be."""
    for run in homophone_runs(piece):
        yield from (put(piece, run.start, run.end, way) for way in (spell(run.digits), *spoken(run.digits, run)))


def _nearest(asking: Asking, piece: Piece, start: int, end: int) -> list[tuple[str, str]]:
    """Parameters by likeness of sound to the words before a number; those due on the open card first among equals."""
    heard = pronounce_words(token.norm for token in piece.turn.tokens[start:end])
    due = {item.what for card in asking.card_at(piece) for item in card.readouts}
    found = [(sound_likeness(heard, pronounce_words(name.split())), name, unit) for name, unit in asking.parameters]
    near = sorted((item for item in found if item[0] >= LEAST_PARAMETER), key=lambda item: -item[0] - 0.15 * (item[1] in due))
    return [(name, unit) for _, name, unit in near[:MOST_PARAMETERS]]


def clear_elsewhere(asking: Asking, piece: Piece) -> Iterator[str]:
    """Words that stood clearly before numbers elsewhere in this talk, where the words before this number sound like them."""
    for start, run in _chunks(piece):
        heard = pronounce_words(token.norm for token in piece.turn.tokens[start:run.start])
        for name in asking.clear_frames:
            if heard and 0.4 < sound_likeness(heard, pronounce_words(name)) < 1:
                ways = (way for value in variants(run, 4) for way in spoken(value, run))
                yield from (put(piece, start, run.end, f"{' '.join(name)} {way}") for way in ways)


def planned_ratings(asking: Asking, piece: Piece) -> Iterator[str]:
    """Every value of the scale in the heard frame; every axis that is due with every value, in short pieces."""
    due = [(axis, asking.scales.get(rating.scale or ""))
           for card in asking.card_at(piece) for rating in card.ratings for axis in rating.axes]
    if not due or not (piece.numbers or set(piece.words) & _RATING_SIGNS):
        return
    values = {value for _, scale in due if scale for value in _values(scale)}
    tops = {run.start for run in runs_of(piece) if _is_top(piece, run)}
    for number in piece.numbers:
        if number.start in tops:
            continue
        if plain(number.value) in values or number.value == int(number.value) and number.value <= 10:
            many = bool(_OF_MANY & set(piece.words))
            yield from (put(piece, number.start, number.end, ways_to_say(value)[0] + ending)
                        for value in sorted(values, key=float) for ending in ("", "s")[:1 + many])
    if piece.span.duration_s <= SHORT_S:
        for axis, scale in _axes_for(piece, [(axis, scale) for axis, scale in due if scale]):
            yield from (f"{axis} {frame}{ways_to_say(value)[0]}" for value in _values(scale) for frame in ("", "is a "))


def _axes_for(piece: Piece, due: Sequence[tuple[str, Scale]]) -> list[tuple[str, Scale]]:
    """The axes whose names sound nearest to the words of a piece that are no numbers; none where nothing sounds like any."""
    heard = pronounce_words(word for word in piece.words if not word.isdigit() and not is_function_word(word))
    ranked = sorted(((sound_likeness(heard, pronounce_words(axis.split())), axis, scale) for axis, scale in dict.fromkeys(due)),
                    key=lambda item: -item[0])
    return [(axis, scale) for likeness, axis, scale in ranked[:MOST_AXES] if likeness > LEAST_AXIS]


def _values(scale: Scale) -> tuple[str, ...]:
    return tuple(str(value) for value in range(int(scale.low), int(scale.high) + 1)) if scale.high - scale.low <= 20 else ()


def poll_answers(asking: Asking, piece: Piece) -> Iterator[str]:
    """Answers of every station, where a poll may be open or an answer's word was heard; short pieces only."""
    session = asking.talk.session
    if piece.span.duration_s > SHORT_S or not (set(piece.words) & _POLL_SIGNS or _after_poll(asking, piece)):
        return
    answers = (session.poll_words.go[0], session.poll_words.no_go[0], session.poll_words.stand_by[0])
    names = [station.name for station in session.stations if not station.commentary]
    yield from answers
    yield from (f"{name} {answer}" for name in names for answer in answers)
    yield from (f"{name} is {answer}" for name in names for answer in answers[:2])
    yield from names


def _after_poll(asking: Asking, piece: Piece) -> bool:
    begin = piece.turn.start_s
    for turn in reversed(asking.talk.turns[:piece.turn.index]):
        if begin is None or turn.start_s is None or begin - turn.start_s > POLL_WINDOW_S:
            return False
        words = " ".join(token.norm for token in turn.tokens)
        if "go no go" in words or "poll" in words or "are you go" in words or "ready to" in words:
            return True
    return False


def read_back(asking: Asking, piece: Piece) -> Iterator[str]:
    """Values said by others just before, where this piece says a number or 'copy': each stands among the candidates."""
    said = _said_before(asking, piece)
    tops = {run.start for run in runs_of(piece) if _is_top(piece, run)}
    for number in (number for number in piece.numbers if number.start not in tops):
        yield from (put(piece, number.start, number.end, way) for text in said for way in (text, *spoken_if_number(text)))
    if said and piece.words and piece.words[0] in ("copy", "copied", "coffee", "roger", "understood"):
        yield from (f"copy {text}" for text in said)
    if piece.span.duration_s <= SHORT_S:
        yield from (way for text in said for way in (text, f"{text} copy", f"{text} roger"))


def spoken_if_number(text: str) -> tuple[str, ...]:
    return ways_to_say(text)[:2]


def _said_before(asking: Asking, piece: Piece) -> list[str]:
    found: list[str] = []
    for turn in reversed(asking.talk.turns[max(0, piece.turn.index - 4):piece.turn.index]):
        if piece.turn.start_s is None or turn.end_s is None or piece.turn.start_s - turn.end_s > READBACK_S:
            break
        numbers = asking.talk.numbers[turn.index]
        found += [" ".join(token.norm for token in turn.tokens[n.start:n.end]) for n in numbers]
        found += [digits_of(n) for n in numbers]
    return list(dict.fromkeys(found))[:8]


def clock_calls(asking: Asking, piece: Piece) -> Iterator[str]:
    """A named clock with the time heard, in words."""
    if not set(piece.words) & _CLOCK_SIGNS or not piece.numbers:
        return
    first, last = piece.numbers[0], piece.numbers[-1]
    time = " ".join(token.norm for token in piece.turn.tokens[first.start:last.end])
    start = max(piece.start, first.start - LONGEST_NAME)
    for clock in asking.talk.session.clocks:
        yield put(piece, start, last.end, f"{clock.name} plus {time}")
        yield f"{clock.name} plus {time} minutes"
    for value in variants(runs_of(piece)[0], 8):
        yield from (put(piece, first.start, last.end, f"plus {way}") for way in ways_to_say(value)[:1])


def planned_steps(asking: Asking, piece: Piece) -> Iterator[str]:
    """Ids of steps and cards as they are spoken, alone and with the words of the plan."""
    if not (set(piece.words) & _STEP_SIGNS or (piece.numbers and piece.numbers[0].start - piece.start <= 2)):
        return
    for card in asking.card_at(piece):
        for step in card.steps:
            for said in step_said(step.id):
                yield f"step {said}"
                yield f"{said}, {step.text}"
                yield f"{said} complete"
    for card in asking.talk.session.cards:
        if "card" in piece.words and card.id.isdigit():
            yield f"card {cardinal(int(card.id))}" + (f", {card.title}" if card.title else "")


def step_said(step: str) -> tuple[str, ...]:
    """'1a' -> 'one alpha', 'step alpha'; '2.3' -> 'two three'."""
    digits, letters = "".join(c for c in step if c.isdigit() or c == "."), "".join(c for c in step.lower() if c in _ALPHABET)
    number = " ".join(ways_to_say(part)[0] for part in digits.split(".") if part)
    if letters:
        return f"{number} {_ALPHABET[letters[0]]}".strip(), _ALPHABET[letters[0]]
    return (number,) if number else ()


def sound_alike_terms(asking: Asking, piece: Piece) -> Iterator[str]:
    """Terms that correction considered for these words and did not dare to write; never a number."""
    near = [change for change in asking.corrector.considered(piece.tokens) if 0 < change.need - change.likeness < NEARLY]
    for change in sorted(near, key=lambda c: c.need - c.likeness)[:MOST_TERMS]:
        yield put(piece, piece.start + change.start, piece.start + change.end, change.text)


NEARLY, MOST_TERMS = 0.3, 10
SOURCES: dict[str, tuple[str, Source]] = {
    "words that sound like digits": ("readouts", words_like_digits),
    "the heard frame with other digits": ("readouts", other_digits),
    "read-back of what was said before": ("readbacks", read_back),
    "ratings due": ("ratings", planned_ratings),
    "readouts due": ("readouts", planned_readouts),
    "poll answers": ("polls", poll_answers),
    "frames clear elsewhere": ("readouts", clear_elsewhere),
    "named clocks": ("clock_calls", clock_calls),
    "steps of the plan": ("steps", planned_steps),
    "terms that sound alike": ("terms", sound_alike_terms),
}
