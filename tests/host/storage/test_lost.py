"""A sensor that stopped answering counts until a later datum."""

import pytest

from hingeline.storage.lost import lost_since, save_lost
from hingeline.storage.store import Store

DATUM, LATER, BEFORE = (f"2026-05-17T{hour}:00:00+00:00" for hour in ("10", "11", "09"))


@pytest.mark.parametrize(("began", "counts"), [(LATER, True), (DATUM, False), (BEFORE, False)])
def test_a_sensor_counts_as_lost_from_a_run_that_began_after_the_datum(tmp_path, began, counts):
    store = Store(tmp_path)
    save_lost(store, "a", began)
    assert lost_since(store, ("a", "never lost"), DATUM) == ({"a"} if counts else set())
    assert lost_since(store, ("never lost",), DATUM) == set()
