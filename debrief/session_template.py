"""A first session file for a folder of recordings, commented, and the published schema of every key a session file may have."""
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from .errors import SessionFileError
from .session_model import Session, base_name

_HEAD = '''# Session file. Only the recordings are required; `debrief check` says what each missing part costs.

# All the rest is optional and better filled in before the recording is heard: take away the '# ' in front of what you need.
# title = "what was tested, which run"
# place = "where"
# reference_run = "yesterday's run" # what 'than last time' means; the folder that it was written to, and values are held against it
# lexicon = ["core"]                # word lists; a .toml of your own may lie beside this file
# campaign = "campaign.toml"        # stations, scales, limits and more that many sessions share; what stands here wins
# cards_from = "cards.csv"          # cards from a CSV or XLSX sheet
# checks_off = []                   # names of checks to leave out

# Sound files, and the loop on each of their channels.
'''
_REST = '''
# The words that mean yes, no and not yet when the lead asks station by station.
# [poll_words]
# go = ["GO"]
# no_go = ["NO GO"]
# stand_by = ["stand by"]

# Who may speak. rates: gives ratings. commentary: talks to the public, no row is taken from it.
# [[stations]]
# name = "Lead"
# role = "leads the test"
# aliases = ["Control"]

# [[stations]]
# name = "Crew One"
# role = "in the cabin"
# rates = true

# [[changes]]                       # who swapped when: seconds of the first recording, or "h:mm:ss"
# station = "Crew One"
# person = "second crew"
# at_s = "1:10:00"

# [[scales]]
# name = "ten-point"
# low = 1
# high = 10
# best = 1
# note = "1 is best"

# [[cards]]
# id = "1"
# title = "First card"
# steps = [{ id = "1a", text = "power on" }, { id = "1b", text = "ten minutes of rest" }]
# ratings = [{ axes = ["comfort"], scale = "ten-point", by = ["Crew One"] }]
# readouts = [{ what = "cabin temperature", unit = "C", subject = "cabin" }]

# [[limits]]
# what = "cabin temperature"
# unit = "C"
# max = 30

# [[relations]]                     # what must hold between values: dew point, sum, falls, rises
# kind = "dew point"
# of = "dew point"
# from = ["temperature", "humidity"]
# tolerance = 1.0

# [[clocks]]
# name = "power clock"
# starts = "power on"
# limit_min = 10

# [[parameters]]                    # medical: left out of copies for distribution
# what = "heart rate"
# unit = "bpm"
# medical = true

# [[excluded]]                      # sound that is never decoded
# from_s = "0:00:00"
# to_s = "0:00:05"
# why = "private talk before the test"
'''


@dataclass(frozen=True, slots=True)
class NewRecording:
    """A recording for a new session file: its path as it shall be written, its channels, its start where the file states one."""

    file: str
    channels: int = 1
    start: datetime | None = None


def new_session(folder: Path, recordings: Sequence[NewRecording]) -> Path:
    """Write a commented session.toml into a folder (made if need be); returns its path.

    Raises SessionFileError where one is there already, no recording is given, or the folder cannot be written to.
    """
    path = folder / "session.toml"
    if not recordings:
        raise SessionFileError("no recording is given", str(folder), "name at least one sound file")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8") as out:
            out.write(template(recordings))
    except FileExistsError:
        raise SessionFileError("there is a session file already", str(path), "edit it, or give another folder") from None
    except UnicodeEncodeError:
        path.unlink(missing_ok=True)
        raise SessionFileError("a recording's name is not valid text", str(path), "rename the file") from None
    except OSError as error:
        raise SessionFileError(f"cannot be written: {error.strerror}", str(path), "check the folder and its permissions") from error
    return path


def template(recordings: Sequence[NewRecording]) -> str:
    """The text of a new session file. Loops get names from the files; a person gives better ones."""
    entries: list[str] = []
    loops: list[str] = []
    for recording in recordings:
        names = _loop_names(recording, loops)
        loops += names
        start = f"start = {recording.start.isoformat()}\n" if recording.start else \
            "# start = 2031-05-14T13:58:20+02:00   # wall clock at the first sample, with time zone\n# start_uncertainty_s = 1.0\n"
        listed = ", ".join(map(_quoted, names))
        entries.append(f"[[recordings]]\nfile = {_quoted(recording.file)}\nchannels = [{listed}]\n{start}")
    tables = [f"[[loops]]\nname = {_quoted(name)}\n# priority = {place}\n" for place, name in enumerate(loops, 1)]
    notes = "\n# The loops on those channels, in your own words. priority: 1 is heard first.\n"
    return _HEAD + "\n".join(entries) + notes + "\n".join(tables) + _REST


def _loop_names(recording: NewRecording, taken: Sequence[str]) -> list[str]:
    stem = base_name(recording.file).rsplit(".", 1)[0] or "loop"
    stem = "".join(character if character.isprintable() else "_" for character in stem)  # a loop's name is shown everywhere
    names = [stem] if recording.channels == 1 else [f"{stem} {channel}" for channel in range(1, recording.channels + 1)]
    return [name if name not in taken else f"{name} ({len(taken) + 1})" for name in names]


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def session_schema() -> str:
    """JSON Schema of a session file, as text; editors that know TOML schemas complete and check with it."""
    schema = Session.model_json_schema(by_alias=True)
    return json.dumps({"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "debrief session file"},
                      indent=2, ensure_ascii=False) + "\n"
