"""The order of the rooms without hearing: what was heard is read again with a changed session file or lexicon, and people's edits stay.

Nothing is written until somebody has seen what would change and agreed. Weighing asks the sound anew only what it was not asked before.
"""
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from .desk.handout import write_run
from .errors import InputError
from .hearing.models import name_of
from .hearing.recogniser import Recogniser
from .pipeline import RunSettings, digests, finish, recordings_of, second_pass, settings_of, versions
from .records.passes import Pass
from .session import Session
from .store.locks import sole_run
from .store.opening import open_to_read
from .store.sessions import Difference, SessionStore

Agree = Callable[[Difference], bool]


@dataclass(frozen=True, slots=True)
class Changed:
    """session and the folder its file lies in, as they are now; agree: is shown what would change, and says whether it stands."""

    session: Session
    beside: Path
    agree: Agree


def read_again(out: Path, changed: Changed, recogniser: Recogniser, settings: RunSettings) -> bool:
    """Reads the pass that stands again; True when the new reading stands now. Raises InputError, StoreError."""
    with sole_run(out), closing(SessionStore.open(out)) as store:
        before = _finished(store, out)
        _refuse_other_sound(before, changed.session, recogniser)
        told = settings_of(settings, changed.session, recogniser)
        made = store.begin_pass(told, versions(), before.digests, heard_in=store.heard_in(before.number))
        _keep_answers(store, before, made)
        reading = second_pass(store, made, changed.session, (changed.beside, recogniser, settings))
        if not finish(store, made, reading, lambda rows: changed.agree(store.would_change(rows))):
            return False
        store.finish_pass(made.number)
        write_run(store, changed.session, out, recordings_of(store, made.number))
    return True


def heard_with(out: Path) -> str | None:
    """The name of the model that heard the pass that stands; None where this machine does not know it. Raises InputError, StoreError."""
    with open_to_read(out) as store:
        return name_of(_finished(store, out).digests["model"])


def _finished(store: SessionStore, out: Path) -> Pass:
    accepted = store.accepted_pass()
    found = next((item for item in store.passes() if item.number == accepted and item.finished_utc), None)
    if found is None:
        raise InputError("no finished pass stands here", str(out), "let `debrief run` end first")
    return found


def _refuse_other_sound(before: Pass, session: Session, recogniser: Recogniser) -> None:
    """Another model, other recordings or other excluded sound need hearing, not reading."""
    heard = Session.model_validate_json(before.settings["session"])
    if before.digests["model"] != digests(recogniser, ())["model"]:
        name = name_of(before.digests["model"])
        raise InputError(f"the sound was heard with another model: {name or 'one that is not on this machine'}",
                         todo=f"{f'give --model {name}, or leave --model out' if name else 'give --model and the folder that holds it'}; "
                              "or use `debrief run`, which hears anew")
    if _what_is_heard(heard) != _what_is_heard(session):
        raise InputError("the session file names other recordings or excludes other sound than before", todo="use `debrief run`, which hears anew")


def _what_is_heard(session: Session) -> tuple[object, ...]:
    """What of a session file decides which sound is heard."""
    return session.recordings, session.excluded


def _keep_answers(store: SessionStore, before: Pass, made: Pass) -> None:
    """Answers of the last reading, so that equal questions are not asked again."""
    if not store.questions(made.number):
        store.save_questions(made.number, store.questions(before.number), store.answers(before.number))
