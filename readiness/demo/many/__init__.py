"""Rows by the million, to see how the portal behaves with them. Never for use."""
