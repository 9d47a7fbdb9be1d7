"""A list of tables of several kinds, each told by one of its keys: what is wrong in one is told at its own key."""

from __future__ import annotations

from typing import Annotated, Literal

import pytest
from pydantic import Field

from hingeline.errors import SheetError
from hingeline.rig.toml_models import TomlModel, key, parse


class Tea(TomlModel):
    drink: Literal["tea"]
    lumps: int = key("lumps of sugar")


class Milk(TomlModel):
    drink: Literal["milk"]
    warm: bool = key("whether it is warm")


class Order(TomlModel):
    table: list[Annotated[Tea | Milk, Field(discriminator="drink")]]


@pytest.mark.parametrize(
    ("entry", "key", "line"),
    [
        ('drink = "tea"\nlumps = "two"', "table[2].lumps", 6),
        ('drink = "tea"', "table[2].lumps", 4),
        ('drink = "milk"\nwarm = true\nlumps = 2', "table[2].lumps", 7),
    ],
)
def test_a_mistake_is_at_the_key_that_stands_in_the_file(entry, key, line):
    """The kind of the table is a value of it and no part of the key."""
    text = f'[[table]]\ndrink = "milk"\nwarm = false\n[[table]]\n{entry}\n'
    with pytest.raises(SheetError) as caught:
        parse(text, "order.toml", Order, SheetError)
    (mistake,) = caught.value.mistakes
    assert (mistake.key, mistake.line) == (key, line)
