"""What papers say, to the builder and to later readers: a module a paper, and what they share."""
