"""The checks of Prove, one file each."""
