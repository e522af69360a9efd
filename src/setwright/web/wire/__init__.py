"""The shapes of the answers: what other programs, and the pages, may rely on. More keys may come; these stay."""
