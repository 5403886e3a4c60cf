"""A procedure: its frozen model, the kinds of step, their order; loading, proofreading and proving its file."""
