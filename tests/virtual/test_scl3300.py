"""The SCL3300 as it is spoken to: frames of 32 bits with a CRC, the answer to each with the next one."""

import numpy as np
import pytest
from tests.virtual.chip_facts import Around, Driver

from hingeline_virtual.chips.scl3300 import crc8

# The data sheet's table of commands (Murata SCL3300-D01), as three public drivers quote it.
COMMANDS = """040000F7 080000FD 0C0000FB 100000E9 B0001F6F 240000C7 280000CD 2C0000CB 140000EF 180000E5 1C0000E3
200000C1 340000DF B400001F B4000102 B4000225 B4000338 B400046B B4002098 40000091 640000A7 680000AD 7C0000B3
FC000073 FC00016E"""
READ_X, READ_WHO, READ_STATUS = "040000F7", "40000091", "180000E5"
NORMAL, ERROR = 0b01, 0b11


@pytest.fixture
def chip():
    return Driver("scl3300", Around(np.array([-0.5, 0.25, 0.8])), noise_ug=(0, 0, 0)).chip


def said(chip, command, time_s=1.0):
    """Head, data and return status of the answer to a command, which comes with the next one."""
    chip.exchange(bytes.fromhex(command), time_s)
    answer = chip.exchange(bytes.fromhex(READ_STATUS), time_s)
    assert answer[3] == crc8(answer[:3])
    return answer[0] & 0xFC, int.from_bytes(answer[1:3], "big", signed=True), answer[0] & 3


@pytest.mark.parametrize("command", COMMANDS.split())
def test_the_checksum_is_that_of_the_data_sheet_s_commands(command):
    assert crc8(bytes.fromhex(command[:6])) == int(command[6:], 16)


def test_an_answer_comes_one_frame_later_and_names_its_register(chip):
    said(chip, READ_STATUS)
    assert said(chip, READ_X) == (0x04, -3000, NORMAL)
    assert said(chip, READ_WHO) == (0x40, 0xC1, NORMAL)


def test_what_happened_before_is_an_error_until_the_status_is_read(chip):
    assert said(chip, READ_X)[2] == ERROR
    assert said(chip, READ_X)[2] == NORMAL


@pytest.mark.parametrize(("mode", "counts"), [("B400001F", -3000), ("B4000102", -1500), ("B4000338", -6000)])
def test_modes_have_the_data_sheet_s_counts(chip, mode, counts):
    said(chip, mode, 0.5)
    assert said(chip, READ_X)[1] == counts


def test_a_damaged_command_is_refused_and_told(chip):
    said(chip, READ_STATUS)
    said(chip, "B4000103")
    assert said(chip, "340000DF")[1] == 0
    chip.exchange(bytes.fromhex("040000F6"), 1.0)
    assert said(chip, READ_X)[2] == ERROR


def test_powered_down_it_measures_nothing_and_a_reset_after_waking_up_starts_it_anew(chip):
    said(chip, "B400046B", 0.5)
    chip._scene.force = np.array([0.5, 0.0, 0.8])
    assert said(chip, READ_X, 1.0)[1] == -3000
    said(chip, "B400001F", 1.1)
    said(chip, "B4002098", 1.2)
    assert said(chip, READ_X, 2.0)[1] == 3000


def test_the_other_bank_has_no_measurements(chip):
    said(chip, "FC00016E")
    assert said(chip, READ_X)[1] == 0
    said(chip, "FC000073")
    assert said(chip, READ_X)[1] == -3000
