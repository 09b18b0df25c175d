"""Keeping an installation going: back-up, moving house, health."""
