"""Which version of the portal this is. pyproject.toml says the same; a test compares them."""

NAME = "Site-readiness portal"
VERSION = "0.2.0"
