"""Least squares, uncertainty (linear and Monte Carlo behind one interface), outliers, filters, choice of checks."""
