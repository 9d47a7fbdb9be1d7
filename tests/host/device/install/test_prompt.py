"""The prompt of a board whose USB goes away when it is restarted, played on pseudo-terminals behind one path."""

import os
import threading

from tests.posix import needs_posix, pty, tty

from hingeline.device.install.prompt import has_micropython

PROMPT = b"raw REPL; CTRL-B to exit\r\n>"


def board(path, plugged):
    """Restart at the first Ctrl-C, port and all, as a Pico with an armed watchdog; then give the prompt."""
    for restarts in (True, False):
        near, far = pty.openpty()
        tty.setraw(far)
        path.symlink_to(os.ttyname(far))
        plugged.set()
        heard = b""
        while (b"\x03" if restarts else b"\x01") not in heard:
            heard += os.read(near, 100)
        if not restarts:
            os.write(near, PROMPT)
            while b"\x02" not in heard:
                heard += os.read(near, 100)
        path.unlink()
        os.close(near)
        os.close(far)


@needs_posix("a pty that goes away")
def test_a_port_that_goes_away_at_ctrl_c_is_opened_again(tmp_path):
    path, plugged = tmp_path / "port", threading.Event()
    thread = threading.Thread(target=board, args=(path, plugged))
    thread.start()
    plugged.wait()
    there, heard = has_micropython(str(path))
    thread.join()
    assert there
    assert PROMPT[:-1] in heard
