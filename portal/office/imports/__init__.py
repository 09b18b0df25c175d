"""Exports of other portals that wait for an owner."""
