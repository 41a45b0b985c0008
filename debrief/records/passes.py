"""A pass: one processing of a session, with everything that decided its result."""
from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pass:
    """settings, versions and digests are plain text maps; they are enough to repeat the pass."""

    number: int
    started_utc: str
    settings: Mapping[str, str]
    versions: Mapping[str, str]
    digests: Mapping[str, str]
    finished_utc: str | None = None
