"""What do counts mean: in g, in degrees about the hinge, in mm?"""
