"""Where injections went, kept under a random tag that only the ward's own paper ties to a person."""
