"""Kit: does it go together?"""
