"""What is to be turned, and by how much?

Figures in, frozen results out, in the trade's words. Directions are those of DEVELOPERS.md: trailing edge up is
positive, a mismatch is left minus right. Limits and tolerances are the rigging sheet's.
"""
