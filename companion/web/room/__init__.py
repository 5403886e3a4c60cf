"""The educator's review room: pages over a folder of records."""
