"""Packages with checksums: BagIt 1.0 (RFC 8493). A folder with its payload in data/ becomes a bag by the files written beside it."""
import hashlib
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from .. import __version__
from ..desk.row_text import one_line
from ..desk.whole_files import write_whole

ALGORITHMS = ("sha256", "sha512")
"""RFC 8493 wants sha512 written by default; sha256 is the digest by which recordings are known everywhere else here."""
_BLOCK = 1 << 20


def make_bag(folder: Path, about: Mapping[str, str]) -> None:
    """Writes the tag files of a bag round folder/data. about: further lines of bag-info.txt."""
    payload = sorted(path for path in (folder / "data").rglob("*") if path.is_file())
    octets = sum(path.stat().st_size for path in payload)
    info = {"Bagging-Date": datetime.now(UTC).date().isoformat(), "Bag-Software-Agent": f"debrief {__version__}",
            "Payload-Oxum": f"{octets}.{len(payload)}", **about}
    write_whole(folder / "bagit.txt", "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    write_whole(folder / "bag-info.txt", "".join(f"{name}: {one_line(value)}\n" for name, value in info.items()))
    _manifests(folder, "manifest", payload)
    _manifests(folder, "tagmanifest", sorted(path for path in folder.iterdir() if path.is_file() and not path.name.startswith("tagmanifest")))


def _manifests(folder: Path, name: str, files: list[Path]) -> None:
    digests = {path: digests_of(path) for path in files}
    for position, algorithm in enumerate(ALGORITHMS):
        lines = (f"{digests[path][position]}  {escaped(path.relative_to(folder).as_posix())}\n" for path in files)
        write_whole(folder / f"{name}-{algorithm}.txt", "".join(lines))


def digests_of(path: Path) -> tuple[str, ...]:
    """The file's digests in the order of ALGORITHMS, read once."""
    made = [hashlib.new(algorithm) for algorithm in ALGORITHMS]
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            for digest in made:
                digest.update(block)
    return tuple(digest.hexdigest() for digest in made)


def escaped(name: str) -> str:
    """A file path as manifests write it: percent, line feed and carriage return encoded (RFC 8493, 2.1.3), nothing else."""
    return name.replace("%", "%25").replace("\n", "%0A").replace("\r", "%0D")
