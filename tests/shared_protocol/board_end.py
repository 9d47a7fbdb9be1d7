"""Runs on MicroPython: what the protocol package makes of lines. Each comes in hex on standard input; the outcome goes
out as JSON: the fields and the verb, packed again, or the error."""

import json
import sys
from binascii import hexlify, unhexlify

from hingeline_protocol.line import LineError, unseal
from hingeline_protocol.messages import VERBS, MessageError, pack, parse


def outcome(raw):
    try:
        message = parse(unseal(raw))
    except (LineError, MessageError) as error:
        return [type(error).__name__] + [str(field) for field in error.args]
    fields = [hexlify(field).decode() if isinstance(field, bytes) else str(field) for field in message]
    return [VERBS[type(message)], hexlify(pack(message)).decode()] + fields  # noqa: RUF005


if __name__ == "__main__":
    for row in sys.stdin:
        print(json.dumps(outcome(unhexlify(row.strip()))))
