"""The printed setup record."""
