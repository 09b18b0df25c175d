"""The Record as evidence: whether what is kept is whole."""
