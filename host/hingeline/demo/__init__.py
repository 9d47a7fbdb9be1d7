"""The demonstration: the whole job on the virtual bench, truth beside measurement at every step."""
