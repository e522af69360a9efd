"""What every room stands on: units, tolerances, places in a text, digests, errors, the kernel compiler. Knows nothing of machining."""
