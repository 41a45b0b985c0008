"""The only file that knows the order of the rooms: hear, read, harvest, ask the sound once, harvest again, check, store, hand out."""
import hashlib
import platform
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from functools import partial
from importlib.metadata import version
from pathlib import Path

from .checks.registry import judge, listening_list
from .desk.handout import write_run
from .desk.tables import write_tables
from .desk.whole_files import sweep
from .errors import InputError, SessionFileError
from .harvest import harvest
from .harvest.answers import decide, reread, with_witnesses
from .harvest.conversation import cut_turns
from .harvest.questions import ask
from .harvest.talk import Talk
from .hearing.copies import refine_clocks
from .hearing.hear import hear_windows
from .hearing.recogniser import NO_HINTS, Hints, Recogniser
from .hearing.recording import read_open
from .hearing.recordings import open_recordings
from .hearing.saved_transcript import read_transcript
from .hearing.voice_network import find_voice_network, load_voice_network
from .hearing.voices import with_voices
from .hearing.windows import Window, cut_windows
from .pipeline_accounts import account_of
from .records.passes import Pass
from .records.questions import Answer, Question
from .records.rows import Row
from .records.sound import Recording, Segment, Source, Stretch
from .records.talk import Token
from .reference_run import reference_rows
from .session import RecordingEntry, Session, base_name
from .session_check import Probe, overlaps
from .store.locks import sole_run
from .store.sessions import SessionStore
from .timebase import HEARING_RATE_HZ, RecordingClock
from .wording.correction import corrector_for, read_all, read_with
from .wording.hint_text import hint_text
from .wording.lexicon import Lexicon, load_lexicon, packs_for

Watch = Callable[[str, float, float], None]
"""Told what is done, how much of it, of how much (seconds of sound, questions)."""


def _silent(_what: str, _done: float, _whole: float) -> None:
    """For callers that watch nothing."""


@dataclass(frozen=True, slots=True)
class RunSettings:
    """questions_per_minute: how many spans are weighed for each minute of speech; 0 leaves the second pass out.

    minutes_budget: minutes of work after which the run hands out what it has and stops; the same run called again goes on.
    """

    recordings: Path | None = None
    questions_per_minute: float = 24.0
    watch: Watch = field(default=_silent)
    minutes_budget: float | None = None


class Budget:
    """Minutes of work, counted from its making. share: which part of them is spent when `over` says so."""

    def __init__(self, minutes: float | None) -> None:
        self._ends = float("inf") if minutes is None else time.monotonic() + 60 * minutes
        self._began = time.monotonic()

    def over(self, share: float = 1.0) -> bool:
        return time.monotonic() > self._began + share * (self._ends - self._began)


@dataclass(frozen=True, slots=True)
class Reading:
    """One way through wording, conversation and harvest. reference: rows of the run it is held against."""

    talk: Talk
    rows: Sequence[Row]
    reference: Sequence[Row] = ()


# recordings


def stated_clock(entries: Sequence[RecordingEntry], index: int) -> RecordingClock:
    """A recording's clock where only its transcript is at hand: its offset as given, or by the wall clocks of both starts; else 0."""
    entry, first = entries[index], entries[0]
    rate = entry.rate or 1.0
    if entry.offset_s is not None:
        offset = entry.offset_s
    elif index and entry.start is not None and first.start is not None and (entry.start.tzinfo is None) == (first.start.tzinfo is None):
        offset = (entry.start - first.start).total_seconds()
    else:
        offset = 0.0
    return RecordingClock(offset, rate, entry.start, entry.start_uncertainty_s)


# hearing


HEARING_SHARE = 0.8
"""Of a budget, what hearing may spend; the rest is for weighing and for writing the sheet."""
FIRST_PART_S = 7200.0
"""So much of long loops of the highest priority is heard and handed out before the rest of them."""


@dataclass(frozen=True, slots=True)
class Hearing:
    """How a pass hears: with what, with which hint, watched by whom, for how long."""

    recogniser: Recogniser
    hints: Hints = NO_HINTS
    watch: Watch = _silent
    budget: Budget = field(default_factory=lambda: Budget(None))


def hear(store: SessionStore, number: int, session: Session, hearing: Hearing) -> Iterator[tuple[bool, bool]]:
    """Every window that is not in the store yet, loops in the order of their priority; one transaction a window.

    Yields after each part whether a sheet is due (the first hours of the most important loops, all of them) and whether all was heard;
    stops early where the budget is spent.
    """
    sources = _in_order(session, recordings_of(store, number))
    parts, due = _parts(session, sources)
    done, whole = 0.0, sum(recording.duration for recording, _ in sources) / HEARING_RATE_HZ
    for position, (until_s, recording, source) in enumerate(parts, start=1):
        what = f"hearing {_loop_name(recording, source)}"
        held = account_of(store, number, session, (recording, source))
        windows = [window for window in cut_windows(held) if window.span.end_s <= until_s]
        for window, segments in hear_windows(hearing.recogniser, recording, windows, partial(_done, store, number), hearing.hints):
            if segments is not None:
                store.save_window((number, source, window.index), segments)
            hearing.watch(what, done + window.span.end_s, whole)
            if hearing.budget.over(HEARING_SHARE):
                yield False, False
                return
        if until_s == float("inf"):
            done += recording.duration / HEARING_RATE_HZ
            hearing.watch(what, done, whole)
        yield position in due, position == len(parts)


def _parts(session: Session, sources: Sequence[tuple[Recording, Source]]) -> tuple[list[tuple[float, Recording, Source]], set[int]]:
    """(up to which second of its file, channel) in the order of hearing; behind which of them a first sheet is due (1 = the first)."""
    ranks = {loop.name: loop.priority for loop in session.loops if loop.priority is not None}
    first = [item for item in sources if ranks and ranks.get(_loop_name(*item)) == min(ranks.values())]
    begin_s = min((recording.clock.offset_s for recording, _ in first), default=0.0)
    parts = [(recording.clock.to_file_s(begin_s + FIRST_PART_S), recording, source) for recording, source in first]
    if all(recording.duration / HEARING_RATE_HZ <= until_s for until_s, recording, _ in parts):
        parts = []
    due = {len(parts), len(parts) + len(first)} - {0}
    return [*parts, *((float("inf"), *item) for item in sources)], due


def place_recordings(store: SessionStore, number: int) -> None:
    """Clocks of later recordings from sound they share with earlier ones, where it is enough for a line; else as stated."""
    recordings = recordings_of(store, number)
    if len(recordings) > 1:
        accounts: dict[Source, list[Stretch]] = {}
        for stretch in store.stretches(number):
            accounts.setdefault(stretch.source, []).append(stretch)
        for recording in refine_clocks(recordings, accounts):
            store.add_recording(recording)


def _done(store: SessionStore, number: int, window: Window) -> bool:
    return store.window_done(number, window.source, window.index)


def recordings_of(store: SessionStore, number: int) -> list[Recording]:
    """The recordings that a pass hears; a store may know others, of passes before it."""
    digests = next(item.digests for item in store.passes() if item.number == number)
    return [recording for recording in store.recordings() if recording.recording in digests]


def _in_order(session: Session, recordings: Sequence[Recording]) -> list[tuple[Recording, Source]]:
    """Channels by the priority of their loops; those without one come last, as listed."""
    listed = [(recording, Source(recording.recording, channel)) for recording in recordings for channel in range(recording.channels)]
    priority = {loop.name: loop.priority for loop in session.loops if loop.priority is not None}
    return sorted(listed, key=lambda item: priority.get(_loop_name(*item), 1_000_000))


def _loop_name(recording: Recording, source: Source) -> str:
    return (recording.loops[source.channel] if source.channel < len(recording.loops) else "") or Path(recording.path).name


# reading


def read(segments: Sequence[Segment], tokens: Mapping[str, Sequence[Token]], session: Session,
         clocks: Mapping[str, RecordingClock] | None = None) -> Reading:
    """Conversation and harvest over tokens."""
    talk = Talk(cut_turns(segments, tokens, session, clocks), session)
    return Reading(talk, harvest(talk))


def lexicon_for(session: Session, beside: Path | None = None) -> Lexicon:
    """The packs the session asks for, and those that lie beside its file."""
    return load_lexicon(packs_for(session.lexicon, beside))


# the two commands that outside scoring calls


def harvest_transcripts(given: Sequence[str], session: Session, out: Path, beside: Path | None = None) -> list[Row]:
    """Tables from saved transcripts; each given as FILE or FILE=RECORDING:CHANNEL."""
    segments: list[Segment] = []
    clocks: dict[str, RecordingClock] = {}
    for position, text in enumerate(given):
        path, source, clock, loop = transcript_source(text, position, session)
        clocks[source.recording] = clock
        segments += [replace(item, segment=f"{position}.{item.segment}", loop=item.loop or loop) for item in read_transcript(path, source)]
    reading = read(segments, read_all(segments, session, lexicon_for(session, beside)), session, clocks)
    review, results = judge(reading.rows, reading.talk, clocks=clocks, sound=False)
    del results
    sweep(out)
    write_tables(review.rows, out)
    return list(review.rows)


def transcript_source(text: str, position: int, session: Session) -> tuple[Path, Source, RecordingClock, str | None]:
    """'FILE=RECORDING:CHANNEL' goes through that recording's clock; a bare FILE is on session time."""
    name, mark, rest = text.rpartition("=")
    recording, colon, channel = rest.rpartition(":")
    if not mark or not colon or not channel.isdigit():
        return Path(text), Source(f"t{position + 1}", 0), RecordingClock(), None
    for index, entry in enumerate(session.recordings):
        if base_name(entry.file) == base_name(recording):
            loop = entry.channels[int(channel)] if int(channel) < len(entry.channels) else None
            return Path(name), Source(f"r{index + 1}", int(channel)), stated_clock(session.recordings, index), loop or None
    known = ", ".join(base_name(entry.file) for entry in session.recordings) or "none"
    raise InputError(f"the session names no recording {recording!r}", text, f"recordings it names: {known}")


def run(session: Session, beside: Path, out: Path, recogniser: Recogniser, settings: RunSettings = RunSettings()) -> SessionStore:
    """The whole job: from recordings to a store, tables and a sheet in the folder out. Stopped and started again, it goes on."""
    opened = open_recordings(session, beside, settings.recordings)
    _refuse_overlaps(session, opened)
    with sole_run(out):
        for folder in (out, out / "tables"):
            sweep(folder)
        store = SessionStore.create(out)
        with ExitStack() as when_it_fails:
            when_it_fails.callback(store.close)
            recordings = store.add_recordings(opened)
            store.note("title", session.title)
            made = store.begin_pass(settings_of(settings, session, recogniser), versions(), digests(recogniser, recordings))
            whole = _heard_and_told(store, made, session, (beside, recogniser, settings, out))
            if whole:
                store.finish_pass(made.number)  # last, so that a run stopped while it writes its files goes on and hears nothing again
            when_it_fails.pop_all()
    return store


def _heard_and_told(store: SessionStore, made: Pass, session: Session, given: tuple[Path, Recogniser, RunSettings, Path]) -> bool:
    """Hears, and hands out: after the first hours of the most important loops, after all of them, at last after all. Was all of it done within the budget?"""
    beside, recogniser, settings, out = given
    budget = Budget(settings.minutes_budget)
    hearing = Hearing(recogniser, Hints(prompt=hint_text(session)), settings.watch, budget)
    whole, stands = False, any(item.finished_utc for item in store.passes())  # nothing that was whole gives way to a part
    for due, whole in hear(store, made.number, session, hearing):
        if due and not whole and not stands and not budget.over(HEARING_SHARE):
            reading = second_pass(store, made, session, (beside, recogniser, replace(settings, questions_per_minute=0.0)))
            finish(store, made, reading)
            write_run(store, session, out, recordings_of(store, made.number))
    place_recordings(store, made.number)
    reading = second_pass(store, made, session, (beside, recogniser, settings), budget)
    finish(store, made, reading)
    write_run(store, session, out, recordings_of(store, made.number))
    return whole and not budget.over()


def _refuse_overlaps(session: Session, opened: Sequence[Recording]) -> None:
    faults = list(overlaps(session, [Probe(item.channels, item.duration / HEARING_RATE_HZ) for item in opened]))
    if faults:
        raise SessionFileError("files of one series run at the same time, so nothing could be placed", todo="mend what is named and run again",
                               faults=faults)


def settings_of(settings: RunSettings, session: Session, recogniser: Recogniser) -> dict[str, str]:
    return {**recogniser.settings, "questions_per_minute": str(settings.questions_per_minute), "session": session.model_dump_json(),
            "voices": "spectrum and network" if find_voice_network() else "spectrum",
            "hint": hashlib.sha256(hint_text(session).encode()).hexdigest()[:16]}  # its words may be medical, and copies keep settings


def versions() -> dict[str, str]:
    names = ("debrief", "faster-whisper", "ctranslate2", "spacy", "rapidfuzz")
    return {**{name: version(name) for name in names}, "machine": platform.machine()}


def digests(recogniser: Recogniser, recordings: Iterable[Recording]) -> dict[str, str]:
    return {"model": recogniser.digest, **{recording.recording: recording.sha256 for recording in recordings}}


def second_pass(store: SessionStore, made: Pass, session: Session, given: tuple[Path, Recogniser, RunSettings],
                budget: Budget | None = None) -> Reading:
    """Read, ask the sound once, and read again with its answers; once the budget is spent, nothing more is asked."""
    beside, recogniser, settings = given
    segments = with_voices(store.segments(made.number), recordings_of(store, made.number), load_voice_network())
    clocks = {recording.recording: recording.clock for recording in store.recordings()}
    lexicon = lexicon_for(session, beside)
    store.note(f"lexicon of pass {made.number}", lexicon.digest)
    corrector = corrector_for(segments, session, lexicon)
    tokens = read_with(segments, corrector)
    first = read(segments, tokens, session, clocks)
    speech_s = sum(item.span.duration_s for item in store.stretches(made.number) if item.held_as == "speech")
    most = round(speech_s / 60 * settings.questions_per_minute)
    questions = ask(first.talk, lexicon, corrector, most) if most else ()
    answers = weigh(store, made.number, questions, Hearing(recogniser, watch=settings.watch, budget=budget or Budget(None)))
    again = read(segments, reread(tokens, questions, answers), session, clocks) if answers else first
    return replace(again, rows=with_witnesses(again.rows, questions, answers), reference=reference_rows(session.reference_run, beside))


def weigh(store: SessionStore, number: int, questions: Sequence[Question], hearing: Hearing) -> list[Answer]:
    """Answers to all questions, those the store holds already first; the worthiest come first, and the budget cuts the rest."""
    known, held = {answer.question: answer for answer in store.answers(number)}, store.questions(number)
    if held != list(questions):
        asked = {item.question: item for item in questions}
        known = {item.question: known[item.question] for item in held if item.question in known and asked.get(item.question) == item}
        store.save_questions(number, questions, list(known.values()))
    known_as = {recording.recording: recording for recording in store.recordings()}
    answers = []
    for position, question in enumerate(questions):
        answer = known.get(question.question)
        if answer is None and hearing.budget.over():
            continue
        if answer is None:
            sound = read_open(known_as[question.source.recording], question.source.channel, question.span)
            weighed = hearing.recogniser.weigh(sound, question.candidates, question.heard)
            answer = decide(question, weighed)
            store.save_answers(number, [answer])
        answers.append(answer)
        hearing.watch("weighing what was said", position + 1, len(questions))
    return answers


def finish(store: SessionStore, made: Pass, reading: Reading, agree: Callable[[Sequence[Row]], bool] = lambda _: True) -> bool:
    """Check the rows and, if whoever is asked agrees to them, store everything; the pass is then the one that stands."""
    clocks = {recording.recording: recording.clock for recording in store.recordings()}
    stretches: Sequence[Stretch] = store.stretches(made.number)
    review, results = judge(reading.rows, reading.talk, stretches=stretches, clocks=clocks, sound=True, reference=reading.reference)
    if not agree(review.rows):
        return False
    store.save_turns(made.number, reading.talk.turns)
    rows = store.save_rows(made.number, review.rows)
    numbers = [row.number or 0 for row in rows]
    told = [replace(result, rows=tuple(numbers[i] for i in result.rows)) for result in results]
    heard_first = [replace(item, row=None if item.row is None else numbers[item.row])
                   for item in listening_list(replace(review, rows=rows))]
    store.save_checks(made.number, told, heard_first)
    return True
