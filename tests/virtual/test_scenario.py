"""What is wrong in a scenario is told with file, line, key and cure."""

from pathlib import Path

import pytest

from hingeline.errors import ScenarioError
from hingeline_virtual.scenario_file import load_scenario

SOUND = """\
[[boards]]
name = "one"
[[boards.sensors]]
name = "left"
chip = "mpu6050"
[[boards.sensors]]
name = "right"
chip = "mpu6050"
address = 0x69
[[surfaces]]
name = "flap"
side = "left"
positions = { up = 9 }
[[steps]]
do = "tape"
sensor = "left"
surface = "flap"
[[steps]]
do = "stick"
position = "up"
[[steps]]
do = "reset"
board = "one"
"""


def loaded(tmp_path, text):
    path = tmp_path / "s.toml"
    path.write_text(text)
    return load_scenario(path)


def test_a_sound_one_is_loaded_with_its_defaults(tmp_path):
    scenario = loaded(tmp_path, SOUND)
    assert scenario.speed == 1.0
    assert [sensor.address for sensor in scenario.sensors.values()] == [0x68, 0x69]
    assert len(scenario.boards[0].uid) >= 8


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            ('chip = "mpu6050"\naddress', 'chip = "mpu6051"\naddress'),
            r"s.toml:8: boards\[1\].sensors\[2\].chip: found",
        ),
        (
            ("address = 0x69\n", ""),
            r"s.toml:6: boards\[1\].sensors\[2\]: address 0x68 of bus 0 is another sensor's",
        ),
        (('name = "right"', 'name = "left"'), r"s.toml:7: boards\[1\].sensors\[2\].name: found 'left'"),
        (('name = "right"', 'name = "all"'), r"s.toml:7: boards\[1\].sensors\[2\].name: found 'all'"),
        (('name = "one"', 'name = "../one"'), r"s.toml:2: boards\[1\].name: found"),
        (
            ('name = "one"', 'name = "one"\npins = "picco"'),
            r"s.toml:3: .*no such pin map as 'picco'.*Write pico",
        ),
        (("address = 0x69", "bus = 1\naddress = 0x69\npins = 3"), r"s.toml:11: .*pins: no such key"),
        (('side = "left"', 'side = "top"'), r"s.toml:12: surfaces\[1\].side: found \"top\""),
        (('surface = "flap"', 'surface = "flip"'), r"s.toml:17: .*no such surface as 'flip'.*Write flap"),
        (('sensor = "left"', 'sensor = ["left", "tail"]'), r"s.toml:16: .*no such sensor as 'tail'"),
        (('position = "up"', 'position = "down"'), r"s.toml:20: .*no such position as 'down'"),
        (('board = "one"', 'board = "two"'), r"s.toml:23: .*no such board as 'two'"),
        (('do = "reset"', 'do = "sing"'), r"s.toml:2[12]: steps\[3\]"),
        (('name = "left"', 'name = "left"\nbias_mg = [1, 2]'), r"s.toml:5: .*bias_mg"),
        (('name = "left"', 'name = "left"\nbias_mg = [1, 2, nan]'), r"s.toml:5: .*bias_mg"),
        (("[[surfaces]]", "[[surfaces]"), r"s.toml:10: "),
        (
            ("[[surfaces]]", '[[boards]]\nname = "two"\nuid = "zz"\n[[surfaces]]'),
            r"s.toml:12: boards\[2\].uid",
        ),
    ],
)
def test_what_is_wrong_is_told_where_it_stands(tmp_path, change, message):
    assert change[0] in SOUND
    with pytest.raises(ScenarioError, match=message):
        loaded(tmp_path, SOUND.replace(*change, 1))


def test_all_that_is_wrong_is_told_at_once(tmp_path):
    with pytest.raises(ScenarioError) as caught:
        loaded(tmp_path, SOUND.replace("0x69", "300").replace('"left"\npos', '"top"\npos'))
    assert [mistake.line for mistake in caught.value.mistakes] == [9, 12]


def test_a_second_board_with_the_same_uid_is_told(tmp_path):
    twin = '\n[[boards]]\nname = "two"\nuid = "aa"\n[[boards.sensors]]\nname = "tail"\nchip = "lis3dh"\n'
    text = SOUND.replace('name = "one"', 'name = "one"\nuid = "aa"') + twin
    with pytest.raises(ScenarioError, match="uid that nothing else has"):
        loaded(tmp_path, text)


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(ScenarioError, match="it is not there"):
        load_scenario(tmp_path / "none.toml")


def test_a_rigging_sheet_is_told_as_one_alone():
    sheet = Path(__file__).parents[1] / "data" / "complete.rig.toml"
    with pytest.raises(ScenarioError) as caught:
        load_scenario(sheet)
    assert caught.value.message == f"{sheet} is a rigging sheet, not a scenario of the virtual bench"
    assert caught.value.cure == f"Give a scenario of the virtual bench, or run `hingeline rig check {sheet}`"
