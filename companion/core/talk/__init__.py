"""What somebody who talks through a procedure has said: words, clauses that do not count, ideas, steps."""
