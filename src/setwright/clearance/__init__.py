"""Least distance between a moving tool assembly and bodies, with a proven bound on its error."""
