"""How a command ends, whatever happens: its exit status, the terminal as it was, and no traceback."""

from __future__ import annotations

import _thread
import errno
import signal
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from time import perf_counter

import click

from hingeline.cli.streams import fall_silent, prepare_streams, silence_lost_terminals
from hingeline.errors import Interrupted, StoreError, in_words
from hingeline.live import terminal
from hingeline.units import printable

CLOSING_S = 3.0
"""An interrupted command closes what it has opened: for so long it is not interrupted again."""
UNWRITABLE = (errno.ENOSPC, errno.EFBIG, errno.EIO, errno.EBADF, errno.EPIPE)
"""Why a stream takes no more; of our files this is told as an error of its own, before."""
_failures: list[BaseException] = []
"""Of threads: the first one ends the command."""
_heeded: list[int] = []
_interrupted_s = [float("-inf")]


def run_to_its_end(command: Callable[[], int]) -> int:
    """Run a command, and give its exit status; what it says and how it ends is as documented, whatever happens."""
    prepare_streams()
    terminal.remember_terminal()
    _heed_signals()
    threading.excepthook = _fail
    try:
        return _run(command)
    finally:
        terminal.give_back()
        for number in _heeded:  # the command is over: what is told to it now changes nothing
            signal.signal(number, signal.SIG_IGN)


def _run(command: Callable[[], int]) -> int:
    try:
        status = command()
        sys.stdout.flush()
    except click.ClickException as problem:
        status = problem.exit_code
        with suppress(OSError):
            click.echo(f"hingeline: {_in_one_line(problem)}", err=True)
    except (click.Abort, KeyboardInterrupt):
        status = Interrupted.exit_status
        with suppress(OSError):
            click.echo("Interrupted.", err=True)
    except SystemExit as end:  # of click, where nobody reads what it writes
        status = end.code if isinstance(end.code, int) else 1
    except Exception as fault:
        status = _judge(fault)
    return _judge(_failures[0]) if _failures else status


def _in_one_line(problem: click.ClickException) -> str:
    """What is wrong with how a command was called, and where its help is."""
    text = printable(" ".join(problem.format_message().split()))
    context = problem.ctx if isinstance(problem, click.UsageError) else None
    end = "" if text.endswith((".", "?")) else "."
    return text if context is None else f"{text}{end} See `{context.command_path} --help`."


def _judge(fault: BaseException) -> int:
    """Tell a fault in one line, and give the exit status."""
    terminal.give_back()
    if isinstance(fault, OSError) and (status := _unwritable(fault)) is not None:
        return status
    import json

    from hingeline.cli.screen import SCHEMA_VERSION
    from hingeline.cli.unforeseen import EX_SOFTWARE, report_fault

    problem = report_fault(fault)
    fields = {"error": problem.message, "cure": problem.cure, "exit_status": EX_SOFTWARE}
    with suppress(OSError):
        if "--json" in sys.argv:
            click.echo(json.dumps({"schema_version": SCHEMA_VERSION, **fields}))
        click.echo(f"hingeline: {printable(str(problem))}", err=True)
    return EX_SOFTWARE


def _unwritable(fault: OSError) -> int | None:
    """The exit status where an output stream takes no more, which is told if that can be; None where all do."""
    if silence_lost_terminals() and fault.errno == errno.EIO:
        return Interrupted.exit_status
    if fault.filename is not None or fault.errno not in UNWRITABLE:
        return None
    fall_silent(sys.stdout)
    with suppress(OSError):
        click.echo(f"hingeline: Standard output was not written: {in_words(fault)}. Send it elsewhere.", err=True)
    fall_silent(sys.stderr)
    return StoreError.exit_status


def _fail(failure: threading.ExceptHookArgs) -> None:
    """End the command where one of its threads fails: the measuring thread would wait for it."""
    if failure.exc_value is None:
        return
    _failures.append(failure.exc_value)
    if sys.platform == "win32":
        _thread.interrupt_main()
    elif main_id := threading.main_thread().ident:
        signal.pthread_kill(main_id, signal.SIGINT)


def _heed_signals() -> None:
    """Let who ends a command, or closes its terminal, end it as Ctrl-C does: the terminal comes back as it was."""
    # Windows has no SIGHUP, and SIGBREAK for a terminal that closes; nohup has SIGHUP ignored
    for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) in (signal.SIG_DFL, signal.default_int_handler):
            signal.signal(number, _interrupt)
            _heeded.append(number)


def _interrupt(number: int, frame: object) -> None:
    silence_lost_terminals()
    now_s = perf_counter()
    if now_s - _interrupted_s[-1] > CLOSING_S:
        _interrupted_s.append(now_s)
        raise KeyboardInterrupt
