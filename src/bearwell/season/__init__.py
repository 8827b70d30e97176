"""Science folded over weather for one tree: its year, its size, its water and its hardening."""
