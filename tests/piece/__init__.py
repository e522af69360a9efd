"""Tests of the stations Piece and Run."""
