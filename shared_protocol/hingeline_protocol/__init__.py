"""The line protocol between a board and a host, imported by both ends. PROTOCOL.md is its specification."""

PROTOCOL = 1
