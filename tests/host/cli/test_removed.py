"""A store or session that is removed while a command measures: told at once, and nothing that was measured is lost."""

import re
import shutil
import signal
from pathlib import Path

import pytest

from hingeline.storage.records import Happening, read


@pytest.mark.parametrize("removed", ["file", "session", "store"])
def test_what_is_removed_during_a_measurement_is_made_anew(person, removed):
    with person.start("wiggle") as command:
        talk = ""
        for line in command.stderr:
            talk += line
            if recording := re.match("Recording in (.*)", line):
                path = Path(recording[1])
            elif "was removed" in line:
                command.send_signal(signal.SIGINT)
                break
            elif path.exists():
                first = path.read_bytes().splitlines()[0]
                if removed == "file":
                    path.unlink()
                else:
                    shutil.rmtree(path.parent if removed == "session" else person.home)
        talk += command.stderr.read()
        assert command.wait(timeout=30) == 130
    assert f"{path} was removed while it was recorded. All of it is recorded in {path}." in talk
    assert "Traceback" not in talk
    assert path.read_bytes().splitlines()[0] == first
    records = list(read(path))
    assert isinstance(records[0], Happening)
    assert any(not isinstance(record, Happening) for record in records)
