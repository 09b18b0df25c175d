"""Handing a site over: export, check and import."""
