"""What would the boards measure on an aircraft whose true angles are known?

The virtual bench runs the real firmware behind real ports. Chip models, a table, hands and an aircraft stand in for
the hardware; a scenario file gives their true values.

::

    scenario, scenario_file, commands, schedule    what a scenario file holds; what is done, and when
    scene, aircraft, surface, carrier, rotation    where each carrier is, and the force on it
    chips, buses                                   models of the chips at register level, and their faults
    board, process, program, port, on_board        a board: its files, its process, what it asks, its port
    bench, clock, client                           the loop of all this, and its process for tests and the demo
"""
