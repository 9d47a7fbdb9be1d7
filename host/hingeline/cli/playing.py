"""The terminal of whoever practises: the live screen, and keys that are heard by the hands first."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from rich.console import Console

from hingeline.cli.screen import Screen
from hingeline.demo.hands import Hands
from hingeline.errors import ScenarioError
from hingeline.live.keys import KEYS, hear_typed
from hingeline.live.screen import LiveScreen
from hingeline.live.showing import Showing
from hingeline.procedures.keys import Keys
from hingeline.units import Side
from hingeline_virtual.client import VirtualBench


class Player:
    """Moves what is on the bench as keys say. The thread that hears keys calls it."""

    def __init__(self, hands: Hands, bench: VirtualBench) -> None:
        self.hands, self._bench = hands, bench
        self._turn = threading.Lock()

    def play(self, typed: str, keys: Keys) -> None:
        """Do what a key says: the hands move something, or the measurement heeds it."""
        moved = self.hands.after(typed)
        if moved.deeds:
            self.hands = moved.hands
            with self._turn, suppress(ScenarioError):  # the bench ends with the measurement
                for deed in moved.deeds:
                    self._bench.do(**deed)
        elif key := KEYS.get(typed.lower()):
            keys.pressed.put(key)

    def neutrals_deg(self) -> dict[Side, float]:
        """Where both sides truly stand at neutral."""
        with self._turn:
            states = self._bench.do("truth")["surfaces"]
        neutrals = {state["surface"]: state["neutral_deg"] for state in states}
        return {side: neutrals[f"{self.hands.surface} {side}"] for side in ("left", "right")}


@contextmanager
def open_practice_views(screen: Screen, keys: Keys, player: Player) -> Iterator[Showing]:
    """Show the screen with the hands' keys on it, and hear keys; the terminal is as before after."""
    keys.are_heard = True
    console = Console(stderr=True, highlight=False, legacy_windows=False)
    screen.hold()
    try:
        with (
            LiveScreen(console, True, lambda: player.hands.hint) as large,
            hear_typed(lambda typed: player.play(typed, keys)),
            Showing([large]) as showing,
        ):
            screen.has_views = True
            yield showing
    finally:
        screen.has_views = False
        screen.release()
