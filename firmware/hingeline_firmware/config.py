"""What the board was told to be: `hingeline-config` in the store, a JSON object. All keys may be left out.

board      name of a pin map, where the microcontroller alone doesn't tell it
buses      [{"id": 0, "sda": 4, "scl": 5}, ...], in place of the pin map's
sensors    [{"chip": "mpu6050", "bus": 0, "address": 104}, ...]: only these are sought, and missed when absent
lines_hz   sample lines a second of each sensor
readings   readings summed in a line
"""

import json

from hingeline_firmware import store
from hingeline_firmware.chips import CHIPS

FILE = "config"
DEFAULTS = {"board": None, "buses": None, "sensors": None, "lines_hz": 50, "readings": 4}


class ConfigError(Exception):
    """The stored configuration can't be used."""


def load():
    """Return the configuration, defaults filled in.

    Raises
    ------
    ConfigError, store.StoreError
        It is damaged, or says what no board can do.
    """
    content = store.load(FILE)
    config = dict(DEFAULTS)
    if content is None:
        return config
    try:
        told = json.loads(content)
    except ValueError as error:
        raise ConfigError("not JSON") from error
    for key in told:
        if key not in DEFAULTS:
            raise ConfigError("%s: expected one of %s" % (key, " ".join(sorted(DEFAULTS))))
    config.update(told)
    for sensor in config["sensors"] or ():
        if sensor.get("chip") not in CHIPS:
            raise ConfigError("chip %s: expected one of %s" % (sensor.get("chip"), " ".join(sorted(CHIPS))))
    return config
