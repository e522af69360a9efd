"""Estimates from readings: least squares, uncertainty (linear and Monte Carlo), coverage, outliers. Knows no machining."""
