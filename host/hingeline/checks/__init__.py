"""How good is it: what do readings come to beside the rigging sheet?"""
