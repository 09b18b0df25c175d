"""Tests of the export, its check and its import."""
