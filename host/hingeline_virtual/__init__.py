"""Sensors, table and aircraft without hardware: real firmware, real ports, a scene whose truths are known."""
