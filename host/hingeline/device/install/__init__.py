"""Putting the firmware on a board, through mpremote, and telling what the board then finds on its buses."""
