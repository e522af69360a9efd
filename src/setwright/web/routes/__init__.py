"""The addresses, a file a subject."""
