"""Where the voice detector's file lies: among the assets of the recogniser's package, found without importing it."""
from importlib.util import find_spec
from pathlib import Path

from ..errors import ModelError


def detector_file() -> Path:
    """The ONNX file of the voice detector. Raises ModelError when the package is not whole."""
    spec = find_spec("faster_whisper")
    folder = Path(spec.origin).parent / "assets" if spec and spec.origin else Path()
    found = sorted(folder.glob("silero_vad*.onnx")) if spec else []
    if not found:
        raise ModelError("the voice detector that comes with faster-whisper is missing", str(folder),
                         "install faster-whisper again")
    return found[-1]
