"""Where the demo session lies: beside the package in a checkout, inside it in a wheel."""
from pathlib import Path

from .errors import InputError

_PACKAGE = Path(__file__).resolve().parent
PLACES = (_PACKAGE / "_demo", _PACKAGE.parent / "demo_audio")


def demo_folder() -> Path:
    """The folder that holds the demo's session.toml, recordings, truth.jsonl and rows.json. Raises InputError where it is missing."""
    for place in PLACES:
        if (place / "session.toml").is_file():
            return place
    raise InputError("the demo session is not installed", str(PLACES[0]), "install debrief again")
