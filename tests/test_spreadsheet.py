"""The workbook, opened by a spreadsheet program from outside and read back: nothing runs, numbers are numbers, every value is the same.

Needs LibreOffice Calc (Debian: libreoffice-calc); skipped where it is not on the machine.
"""
import csv
import shutil
import subprocess
from decimal import Decimal

import pytest
from review_session import Size, make_session
from trust_cli import call

from debrief.store import edits
from debrief.store.sessions import SessionStore

SOFFICE = shutil.which("soffice") or shutil.which("libreoffice")
pytestmark = [pytest.mark.outside, pytest.mark.skipif(SOFFICE is None, reason="LibreOffice Calc is not on this machine"), pytest.mark.timeout(300)]


@pytest.fixture
def session(tmp_path, monkeypatch, capsys):
    folder = make_session(tmp_path / "winch", Size(30))
    with SessionStore.open(folder) as store:
        edits.change(store.db, 1, edits.standing(store.db, 1).revision, {"parameter": '=HYPERLINK("http://x","y")'}, "Ann")
        edits.change(store.db, 2, edits.standing(store.db, 2).revision, {"value": Decimal("4.30")}, "Ann")
    assert call(monkeypatch, capsys, "tables", str(folder), "csv", "xlsx", steady=False).code == 0
    return folder


def test_every_readout_comes_back_from_the_spreadsheet_as_it_was(session, tmp_path):
    done = subprocess.run([SOFFICE, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to",
                           'csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1', "--outdir", str(tmp_path / "back"),
                           str(session / "tables" / "debrief.xlsx")], capture_output=True, text=True, check=False, timeout=240)
    assert done.returncode == 0, done.stderr
    assert not [line for line in done.stderr.splitlines() if "javaldx" not in line]  # it misses a Java that no table needs
    back = next(path for path in (tmp_path / "back").glob("*.csv") if "eadouts" in path.name)
    with back.open(newline="", encoding="utf-8") as file:
        came_back = list(csv.DictReader(file))
    with (session / "readouts.csv").open(newline="", encoding="utf-8") as file:
        written = list(csv.DictReader(file))
    assert len(came_back) == len(written) == 27
    for one, other in zip(came_back, written, strict=True):
        assert Decimal(one["value"]) == Decimal(other["value"])
        assert one["parameter"] == other["parameter"].lstrip("'")
        assert one["unit"] == other["unit"]
        assert float(one["start_s"]) == pytest.approx(float(other["start_s"]), abs=0.001)
