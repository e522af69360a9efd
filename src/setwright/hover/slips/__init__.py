"""The catalogue of slips, one module each; see hover.injecting for their shape."""
