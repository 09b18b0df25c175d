"""The entries of the catalogue, a module for each group of kinds (`vocabulary.KindGroup`)."""
