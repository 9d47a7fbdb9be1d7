"""Keys of boards on the network, as they are kept."""

import os

from tests.posix import needs_posix

from hingeline.device.link.login import Key
from hingeline.storage.keys import load_key, network_ports, save_key
from hingeline.storage.store import Store

KEY = bytes(range(32))


@needs_posix("rights of files")
def test_a_key_is_for_the_eyes_of_its_owner_and_what_else_is_kept_is_not_hidden(tmp_path):
    """POSIX: 0600 is read and write for the owner alone; what the umask leaves of 0666 is for all."""
    store, umask = Store(tmp_path), os.umask(0o022)
    try:
        secret = save_key(store, "a1", KEY)
        other = store.save("settings", "sides", {}).path
    finally:
        os.umask(umask)
    assert (secret.stat().st_mode & 0o7777, other.stat().st_mode & 0o7777) == (0o600, 0o644)


def test_a_key_comes_back_as_proven_only_where_it_was(tmp_path):
    store = Store(tmp_path)
    assert load_key(store, "a1") is None
    save_key(store, "a1", KEY)
    assert load_key(store, "a1") == Key(KEY.hex(), False)
    save_key(store, "a1", KEY, proven=True)
    assert load_key(store, "a1") == Key(KEY.hex(), True)


def test_each_board_has_its_own_places_on_the_network(tmp_path):
    store = Store(tmp_path)
    assert network_ports(store) == {}
    save_key(store, "a1", KEY, ports=("socket://192.0.2.7:2323", "socket://192.0.2.8:2323"))
    save_key(store, "b2", KEY)
    store.save("settings", "sides", {"left": "a1-0"})
    assert network_ports(store) == {"a1": ("socket://192.0.2.7:2323", "socket://192.0.2.8:2323"), "b2": ()}
