"""What is wrong between this computer and a sensor, in the order in which it would keep a measurement from working."""
