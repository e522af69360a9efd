"""Time along a path: trapezoid and jerk-limited profiles, corner speeds, dwell and change times."""
