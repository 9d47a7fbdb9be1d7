"""For scripts on MicroPython: a clock that jumps where the firmware sleeps, and a bus that answers at once."""

TICKS_PERIOD = 1 << 30


class Clock:
    """The functions of `time` that the firmware uses, as a 32-bit board has them."""

    now_us = 0

    @classmethod
    def ticks_us(cls):
        return cls.now_us & TICKS_PERIOD - 1

    @classmethod
    def ticks_ms(cls):
        return cls.now_us // 1000 & TICKS_PERIOD - 1

    @staticmethod
    def ticks_add(ticks, delta):
        return ticks + delta & TICKS_PERIOD - 1

    @staticmethod
    def ticks_diff(later, earlier):
        half = TICKS_PERIOD >> 1
        return (later - earlier + half & TICKS_PERIOD - 1) - half

    @classmethod
    def sleep_us(cls, wait_us):
        cls.now_us += wait_us

    @classmethod
    def sleep_ms(cls, wait_ms):
        cls.now_us += 1000 * wait_ms


class Bus:
    """A bus whose chip is an MPU-6050 that has always measured."""

    RESET = (0x6B, 0x80)
    FIFO_COUNT = 0x72

    def __init__(self):
        self._kept = {0x75: 0x68, 0x3A: 0x01}

    def registers(self, address):
        from hingeline_firmware.registers import Registers  # after the clock is in its place

        return Registers(self, address)

    def readfrom_mem_into(self, address, register, buffer):
        for i in range(len(buffer)):
            buffer[i] = self._kept.get(register + i, 0x3F)
        if register == self.FIFO_COUNT:  # two measurements, whenever it is asked
            buffer[0], buffer[1] = 0, 12
        if register == self.RESET[0]:  # a reset ends at once
            buffer[0] &= ~self.RESET[1]

    def writeto_mem(self, address, register, data):
        self._kept[register] = data[0]
