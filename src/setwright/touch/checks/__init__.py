"""The checks of Touch, one file each."""
