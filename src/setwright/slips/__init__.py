"""One catalogue of the mistakes that are made around a setup: what each changes, how far, what shows it."""
