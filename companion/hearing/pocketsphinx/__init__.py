"""PocketSphinx: the embedded recogniser of US English."""
