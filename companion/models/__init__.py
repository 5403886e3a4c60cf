"""Models that are fetched once: the catalogue of them, and getting, checking and removing them."""
