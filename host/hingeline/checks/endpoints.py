"""What a person has to see to before any advice on a throw: a side that stands, or goes the other way."""

from __future__ import annotations

OTHER_WAY = (
    "It moves the other way. Was it what was asked for, and were the sticks centred when neutral was taken (`b` takes "
    "a reading back)? Check its direction, and that the arrow points to the trailing edge; only if all is right, "
    "{reverse}, then measure again"
)
BOTH_OTHER_WAY = (
    "Both sides move the other way. Are left and right sensors swapped? `hingeline wiggle` tells. If not, check the "
    "stick's direction, and that the arrows point to the trailing edge; only if all is right, {reverse}, then measure "
    "again"
)
ONE_OTHER_WAY = "the other side moves the other way: see to that first"
STANDS = "It did not move: check its plug, its clevis and its channel, then measure again"
REVERSE = {
    "": "reverse the servo in the transmitter",
    "mixed": "reverse the sign of this function in the mix, or, where its other function goes the wrong way too, "
    "reverse the servo",
    "preset": "reverse its sign in the mix",
}
"""What reverses a throw: of a surface with one function, of one with two, and in a preset."""
