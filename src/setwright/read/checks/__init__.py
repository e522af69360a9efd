"""The checks of Read, one file each."""
