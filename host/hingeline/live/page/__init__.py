"""The state on a phone: one page on the local network, for who has its key."""
