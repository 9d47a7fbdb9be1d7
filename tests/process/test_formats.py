"""Files of every format version open; those of a later one are refused, both versions named, with advice."""

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.process.saves import SENSOR

from hingeline import __version__
from hingeline.cli import cli
from hingeline.measure.cautions import datum_cautions
from hingeline.report.results import read_session
from hingeline.rig import load_sheet
from hingeline.storage.calibrations import load_datum
from hingeline.storage.keys import load_key
from hingeline.storage.sealed import seal, unseal
from hingeline.storage.sessions import find
from hingeline.storage.sides import load_hinge, load_sides
from hingeline.storage.store import Store
from hingeline_calibration.calibration import Calibration
from hingeline_virtual.scenario_file import load_scenario

FORMATS = Path(__file__).parents[1] / "data" / "formats"
VERSIONS = sorted(path for path in FORMATS.iterdir() if path.is_dir())
UP_TO_DATE = "pip install --upgrade hingeline"


@pytest.fixture(params=VERSIONS, ids=lambda path: path.name)
def version(request, tmp_path, monkeypatch) -> Path:
    """The files of one version."""
    folder = shutil.copytree(request.param, tmp_path / "version")
    monkeypatch.setenv("HINGELINE_HOME", str(folder / "home"))
    monkeypatch.chdir(tmp_path)
    return folder


def run(*arguments: object) -> tuple[int, str, str]:
    told = CliRunner().invoke(cli, [str(one) for one in arguments], standalone_mode=False, catch_exceptions=False)
    return told.return_value or 0, told.stdout, told.stderr


def test_what_was_kept_opens(version):
    store = Store()
    calibrations = [Calibration.from_dict(store.load("calibration", one)) for one in store.keys("calibration")]
    datum = load_datum(store)
    assert set(load_sides(store).values()) == set(datum.gravity) == {one.sensor_id for one in calibrations}
    assert load_key(Store(), "e66166d8e325") == ("00112233445566778899aabbccddeeff", False)
    assert load_hinge(store, "Moss Lantern, flap left", SENSOR, "2025-09-14T16:00:00+00:00").yaw_sd_deg == 0.1
    assert load_sheet(version / "lantern.rig.toml").aircraft == "Moss Lantern"
    assert load_scenario(version / "lantern.toml").boards
    (old,) = datum_cautions(datum, calibrations, "2026-09-14T16:00:00+00:00")
    assert re.match(r"the datum is 8\d\d\d hours old; .* take it again", old)


def test_the_commands_go_on_with_it(version):
    assert run("calibration", "show", SENSOR)[0] == 0
    assert run("calibration", "restore", SENSOR, 1)[0] == 0
    assert "2025-09-14" in run("sessions")[1]
    assert read_session(find(version / "home", "Moss Lantern")).rows
    assert run("rig", "check", version / "lantern.rig.toml")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "file", "said", "known"),
    [
        ("calibration show", f"home/calibration/{SENSOR}/*", '"format": ', 1),
        ("report", "home/sessions/*/*/*.log", '"format": ', 2),
        ("rig check", "*.rig.toml", "schema_version = ", 1),
    ],
)
def test_a_later_version_is_refused_with_advice(version, arguments, file, said, known):
    (path,) = version.glob(file)
    content = path.read_text(encoding="utf-8")
    path.write_text(re.sub(rf"({said})\d", r"\g<1>7", content, count=1), encoding="utf-8")
    of_what = {"report": path.parent, "rig check": path}.get(arguments, SENSOR)
    status, stdout, stderr = run(*arguments.split(), of_what)
    assert status == 2
    for told in ("7", f"this hingeline {__version__} knows up to {known}", UP_TO_DATE):
        assert told in stdout + stderr


@pytest.mark.parametrize("kind", ["calibration", "datum"])
def test_a_later_record_in_a_form_of_today_is_refused_with_advice(version, kind):
    key = SENSOR if kind == "calibration" else "bench"
    (path,) = (version / "home" / kind / key).iterdir()
    path.write_bytes(seal(kind, key, {**unseal(path.read_bytes(), path, kind), "format": 7}))
    with pytest.raises(Exception, match=rf"a {kind} of format 7, expected at most 1\. .*{UP_TO_DATE}"):
        load_datum(Store()) if kind == "datum" else Calibration.from_dict(Store().load(kind, key))
