"""Register-level models of the chips, written from their datasheets and not from the firmware's drivers.

Each module here holds the models of one chip and its kin. A model's class is named like its chip.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from pkgutil import iter_modules
from typing import Any

from hingeline_virtual.chips.chip import Chip

for _module in iter_modules(__path__):
    import_module(f"{__name__}.{_module.name}")


def _models(base: Any) -> Iterator[type[Chip]]:
    for model in base.__subclasses__():
        yield model
        yield from _models(model)


CHIPS = {model.__name__.lower(): model for model in _models(Chip)}
"""By the chip's name in a scenario."""
