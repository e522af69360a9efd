"""Setwright: sets up a CNC vertical machining centre with the person who has to make it cut the right metal."""

__version__ = "0.1.0"
