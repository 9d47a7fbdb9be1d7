"""Who may ask this computer for a page?"""
