"""Read: what does this paperwork ask for?"""
