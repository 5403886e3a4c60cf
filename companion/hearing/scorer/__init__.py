"""The phrase scorer: an open recogniser that is asked which of the allowed phrases was said."""
