"""Many records -> a class: read into a DuckDB file in the user's cache, counted there."""
