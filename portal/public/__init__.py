"""Pages for everybody, without an account."""
