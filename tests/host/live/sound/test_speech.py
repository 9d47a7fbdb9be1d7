"""Words, through a program that writes down what it was to say."""

from dataclasses import replace

import pytest
from tests.host.live.states import BOTH, LOST, MATCH
from tests.posix import write_program

from hingeline.errors import UsageProblem
from hingeline.live.sound.speech import PROGRAMS, Speech


@pytest.fixture(params=list(PROGRAMS))
def said(request, tmp_path, monkeypatch):
    """The file that a speaking program of that name writes into; there is no other program."""
    program, file = tmp_path / request.param, tmp_path / "said"
    words = "$HINGELINE_WORDS" if request.param == "powershell" else "$last"
    write_program(program, f'for word; do last=$word; done\necho "{words}" >> "{file}"\n')
    monkeypatch.setenv("PATH", str(tmp_path))
    return file


def hear(said, states) -> list[str]:
    speech = Speech()
    for shown in states:
        speech.show(shown)
        speech._speaking.wait()
    speech.close()
    return said.read_text().splitlines()


def test_it_says_what_is_asked_what_is_wrong_and_the_words(said):
    assert hear(said, [BOTH, LOST, MATCH]) == [
        "flap: down (normal), all the way, and hold.",
        "left sensor lost",
        "left within, right within",
    ]


def test_without_a_program_the_cure_is_told(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(UsageProblem, match="speaks"):
        Speech()


def test_powershell_is_given_words_that_it_does_not_carry_out(tmp_path, monkeypatch):
    """It takes every argument for a part of what it is to do."""
    write_program(tmp_path / "powershell", f'echo "$@" > "{tmp_path}/arguments"\n')
    monkeypatch.setenv("PATH", str(tmp_path))
    hear(tmp_path / "arguments", [replace(BOTH, ask="$(Remove-Item x); flap")])
    arguments = (tmp_path / "arguments").read_text()
    assert "Remove-Item" not in arguments
    assert "System.Speech" in arguments


def test_what_is_taken_is_said_with_what_comes_next(said):
    """Not of the first state, which may be of a run that goes on; and not twice."""
    after = replace(BOTH, taken=3, ask="flap: up.")
    assert hear(said, [BOTH, after, after, replace(after, taken=4)]) == [
        "flap: down (normal), all the way, and hold.",
        "Captured. flap: up.",
        "Captured. flap: up.",
    ]
