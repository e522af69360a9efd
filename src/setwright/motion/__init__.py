"""Time along a path: trapezoid and jerk-limited profiles, corner speeds, dwell and change times."""

from setwright.motion.dynamics import Dynamics, RapidPath
from setwright.motion.timeline import Pause, Timeline, time_along

__all__ = ["Dynamics", "Pause", "RapidPath", "Timeline", "time_along"]
