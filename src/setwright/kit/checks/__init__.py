"""The checks of Kit, one file each."""
