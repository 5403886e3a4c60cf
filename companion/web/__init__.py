"""Pages on this machine's own loopback: what a session shows, and the educator's room. They decide nothing."""
