"""Frames, revolved tool profiles and their convex pieces, bodies, meshes in and out. See docs/conventions.md for axes and signs."""
