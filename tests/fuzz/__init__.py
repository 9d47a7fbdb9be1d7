"""Coverage-guided fuzzing of all that others write: `make fuzz`."""
