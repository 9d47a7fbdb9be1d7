"""Where is it kept: calibrations, datum, hinges, sides, sessions?"""
