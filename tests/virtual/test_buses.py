"""The buses of a virtual board: who answers, and each fault from its moment on."""

import pytest
from tests.virtual.chip_facts import Driver

from hingeline_virtual.buses import HANGS, NO_ACKNOWLEDGE, BusError, Buses, ChipOnBus
from hingeline_virtual.commands import Fault, Mend


def buses():
    drivers = {0x68: Driver("mpu6050").set_up(), 0x69: Driver("mpu6050").set_up()}
    slots = {address: ChipOnBus(driver.chip) for address, driver in drivers.items()}
    other = ChipOnBus(Driver("lis3dh").set_up().chip)
    return Buses({(0, address): slot for address, slot in slots.items()} | {(1, 0x18): other}), slots


def read(board, time_s, *, bus=0, address=0x68, register=0x3B, length=6):
    return board.read(bus, address, register, length, time_s)


def fault(kind):
    return Fault(do="fault", sensor="all", kind=kind)


def test_nobody_answers_at_an_empty_address():
    board, _ = buses()
    with pytest.raises(BusError) as caught:
        read(board, 1.0, address=0x1D)
    assert caught.value.number == NO_ACKNOWLEDGE


def test_an_absent_chip_comes_back_as_after_power_on():
    board, slots = buses()
    slots[0x68].change(1.0, fault("absent"))
    assert read(board, 0.99) != bytes(6)
    with pytest.raises(BusError):
        read(board, 1.0)
    assert read(board, 1.0, address=0x69) != bytes(6)
    slots[0x68].change(2.0, Mend(do="mend", sensor="all"))
    assert read(board, 2.0, register=0x6B, length=1) == b"\x40"


def test_a_stuck_chip_hangs_its_bus_alone():
    board, slots = buses()
    slots[0x68].change(1.0, fault("stuck"))
    with pytest.raises(BusError) as caught:
        read(board, 1.5, address=0x69)
    assert caught.value.number == HANGS
    assert read(board, 1.5, bus=1, address=0x18, register=0x0F, length=1) == b"\x33"


def test_a_transfer_is_broken_off_once():
    board, slots = buses()
    slots[0x68].change(1.0, fault("nack"))
    with pytest.raises(BusError):
        read(board, 1.5)
    assert len(read(board, 1.6)) == 6


def test_frozen_data_stand_still_until_mended():
    board, slots = buses()
    before = read(board, 1.001)
    slots[0x68].change(1.002, fault("frozen"))
    assert read(board, 1.5) == read(board, 2.5) == before
    slots[0x68].change(3.0, Mend(do="mend", sensor="all"))
    assert read(board, 3.5) != before


def test_a_reset_chip_sleeps_and_a_false_identity_is_told():
    board, slots = buses()
    slots[0x68].change(1.0, fault("reset"))
    assert read(board, 1.5, register=0x6B, length=1) == b"\x40"
    slots[0x69].change(1.0, fault("identity"))
    assert read(board, 1.5, address=0x69, register=0x75, length=1) != b"\x68"


def test_zeros_are_read_until_mended():
    board, slots = buses()
    slots[0x68].change(1.0, fault("zero"))
    assert read(board, 0.99) != bytes(6) == read(board, 1.5)
    slots[0x68].change(3.0, Mend(do="mend", sensor="all"))
    assert read(board, 3.5) != bytes(6)


def test_a_deaf_chip_keeps_what_it_had_and_goes_on_measuring():
    board, slots = buses()
    slots[0x68].change(1.0, fault("deaf"))
    board.write(0, 0x68, 0x6B, b"\x40", 1.5)
    assert read(board, 1.5, register=0x6B, length=1) == b"\x01"
    assert read(board, 1.5) != read(board, 2.5)
    slots[0x68].change(3.0, Mend(do="mend", sensor="all"))
    board.write(0, 0x68, 0x6B, b"\x40", 3.5)
    assert read(board, 3.5, register=0x6B, length=1) == b"\x40"
