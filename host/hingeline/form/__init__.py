"""How is the rigging sheet shown and changed without an editor?"""
