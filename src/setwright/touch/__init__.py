"""Touch: where is the part, really?"""
