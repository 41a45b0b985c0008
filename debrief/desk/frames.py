"""`debrief.read_session`: the tables of a store as typed pandas frames."""
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
import pyarrow as pa

from ..records.kinds import KINDS
from ..records.sound import Recording
from ..store.sessions import SessionStore
from .formats import arrow_table

_NULLABLE = {pa.int64(): pd.Int64Dtype(), pa.bool_(): pd.BooleanDtype(), pa.float64(): pd.Float64Dtype(), pa.string(): pd.StringDtype()}


@dataclass(frozen=True)
class SessionFrames(Mapping[str, pd.DataFrame]):
    """A frame a kind, by name (`frames["readouts"]` or `frames.readouts`), as it stands: people's words over the machine's.

    Every frame is indexed by the row's number; `attrs` holds unit and meaning of the columns. turns: the talk, one turn a line.
    """

    title: str
    recordings: tuple[Recording, ...]
    tables: Mapping[str, pd.DataFrame]
    turns: pd.DataFrame

    def __getitem__(self, name: str) -> pd.DataFrame:
        return self.tables[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.tables)

    def __len__(self) -> int:
        return len(self.tables)

    def __getattr__(self, name: str) -> pd.DataFrame:
        if name.startswith("_") or name not in KINDS:
            raise AttributeError(f"no table {name!r}; there are {', '.join(KINDS)}")
        return self.tables[name]


def read_session(path: str | Path) -> SessionFrames:
    """The frames of a store, given as the file or the folder that holds it. Raises StoreError."""
    with SessionStore.open(Path(path), read_only=True) as store:
        rows, recordings = store.rows(), tuple(store.recordings())
        accepted = store.accepted_pass()
        turns = store.turns(accepted) if accepted is not None else []
        talk = pd.DataFrame([{"turn": turn.index, "start_s": turn.start_s, "end_s": turn.end_s, "loop": turn.loop, "station": turn.station,
                              "text": turn.text, "commentary": turn.commentary} for turn in turns],
                            columns=["turn", "start_s", "end_s", "loop", "station", "text", "commentary"])
        return SessionFrames(store.noted("title") or "", recordings,
                             {table: frame(arrow_table(rows, table, recordings)) for table in KINDS}, talk.set_index("turn"))


def frame(table: pa.Table) -> pd.DataFrame:
    """An Arrow table as a frame with types that know what is missing, indexed by row number."""
    made = table.to_pandas(types_mapper=_NULLABLE.get, maps_as_pydicts="strict").set_index("row")
    made.attrs = {field.name: {key.decode(): value.decode() for key, value in (field.metadata or {}).items()} for field in table.schema}
    return made
