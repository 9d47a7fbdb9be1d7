"""From counts to a deflection with its uncertainty. Arrays in, frozen results out: no ports, files, printing."""
