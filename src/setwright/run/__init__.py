"""Run: does it stay good? Trends, charts, when to measure next, how many pieces are left."""
