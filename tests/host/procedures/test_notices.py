"""What a person hears of the sensors while a procedure waits."""

import numpy as np

from hingeline.procedures.centring import RESTLESS
from hingeline.procedures.notices import RESTLESS_S, Notices


def test_who_never_leaves_it_alone_is_told_once():
    """Moves that follow each other every 0.6 s leave no rest of 0.7 s."""
    said = []
    notices = Notices(said.append, said.append)

    def wait(from_s: float, until_s: float, *, moving: bool) -> None:
        for time_s in np.arange(from_s, until_s, 0.02):
            notices.notice_motion(moving, float(time_s), RESTLESS)

    wait(0.0, RESTLESS_S - 1, moving=True)
    wait(RESTLESS_S - 1, RESTLESS_S, moving=False)
    assert said == []
    wait(RESTLESS_S, 3 * RESTLESS_S, moving=True)
    wait(3 * RESTLESS_S, 3 * RESTLESS_S + 1, moving=False)
    wait(3 * RESTLESS_S + 1, 6 * RESTLESS_S, moving=True)
    assert len(said) == 1
    assert "--hold" in said[0]
