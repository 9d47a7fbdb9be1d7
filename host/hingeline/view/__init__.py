"""What a person at the bench is shown: one picture of the measurement, made in one place, and views of it."""
