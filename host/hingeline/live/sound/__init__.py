"""What a person at the bench hears: a tone for the gap, signals for what happens, words where the system speaks."""
