"""Piece: the first piece is measured; which register to change, by how much, or that it is best left alone."""
