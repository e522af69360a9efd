"""What every room stands on: units, tolerances, places in a text, digests, errors, kernel compiler. Knows no machining."""
