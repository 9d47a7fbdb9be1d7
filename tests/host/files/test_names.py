"""Names that every system can hold, as "Naming Files, Paths, and Namespaces" of Microsoft lists what Windows can't.

CONIN$ and CONOUT$ are of its page on consoles, COM0 and LPT0 from memory.
"""

import pytest
from tests.posix import needs_posix

from hingeline.errors import StoreError
from hingeline.files.names import check_name, portable_name, safe_name
from hingeline.files.whole import write_whole

DEVICES = (
    *("CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"),
    *(f"{port}{digit}" for port in ("COM", "LPT") for digit in "0123456789¹²³"),
)
HELD = ("Console.html", "Com10", "COM¹²", "lantern.con", "conin", "LPT", "com-1.html", ".nul", "Čáp 1.rig.toml")


@pytest.mark.parametrize("device", DEVICES)
@pytest.mark.parametrize("ending", ["", ".", ".rig.toml", ".x.rig.toml", " .html", " ", "  .. "])
def test_a_device_is_none_whatever_comes_after_a_dot(tmp_path, device, ending):
    for name in (device + ending, (device + ending).lower()):
        with pytest.raises(StoreError, match="Windows can't hold") as error:
            check_name(tmp_path / name)
        better = error.value.cure.removeprefix("Name it ")
        assert better == f"_{name.rstrip('. ')}"
        check_name(tmp_path / better)


@pytest.mark.parametrize(
    ("name", "better"),
    [("page.html.", "page.html"), ("page.html ", "page.html"), ("... ", "unnamed")]
    + [(f"a{sign}b.html", "a-b.html") for sign in '<>:"\\|?*\x01\n'],
)
def test_what_windows_leaves_out_or_refuses_is_named_with_a_better_name(tmp_path, name, better):
    """A colon is the worst: `a:b.html` is a stream of the file `a` there, which no folder shows."""
    with pytest.raises(StoreError, match=rf"Name it {better}\.$"):
        write_whole(tmp_path / name, b"")
    assert not any(tmp_path.iterdir())


@pytest.mark.parametrize("name", HELD)
def test_other_names_are_taken_as_they_are(tmp_path, name):
    write_whole(tmp_path / name, b"x")
    assert [path.name for path in tmp_path.iterdir()] == [name] == [portable_name(name)]


@needs_posix("files called like devices")
def test_a_file_that_is_there_goes_on_under_its_name(tmp_path):
    (tmp_path / "aux.rig.toml").write_bytes(b"old")
    write_whole(tmp_path / "aux.rig.toml", b"new")
    assert (tmp_path / "aux.rig.toml").read_bytes() == b"new"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("CON", "_CON"),
        ("nul.2", "_nul.2"),
        ("Com¹", "_Com¹"),
        ("Lantern...", "Lantern"),
        ("Lantern. ", "Lantern"),
        ("aux .x", "aux-.x"),
        ("x" * 79 + ".y", "x" * 79),
        ("../..", "unnamed"),
        ("Console", "Console"),
        ("Com10", "Com10"),
    ],
)
def test_a_name_made_of_any_text_is_one_that_every_system_can_hold(text, name):
    """As for the folders of sessions, which have the name of the aircraft."""
    assert safe_name(text) == name
