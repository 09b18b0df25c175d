"""Keeping an installation alive: back-ups, restoring, moving house, the machine's service files.

A folder of back-ups holds:

files/ab/<sha256>       photo originals and papers, each once, shared by all back-ups of the folder
2026-11-26T02-30-00Z/   one back-up by its time (UTC); it gets this name last, when it is whole
    database.sqlite3    or database.pgdump (PostgreSQL's custom format)
    files.jsonl         for each file: store, name, SHA-256 and size in bytes
    secret_key          where the installation keeps it in a file
    signing_key         the private key that signs checkpoints, where a file holds it
    manifest.json       what this is, and what is not in it
    SHA256SUMS          of all of this, for `sha256sum -c SHA256SUMS` in this folder
"""

FORMAT = "readiness-backup-2"
READ = ("readiness-backup-1", FORMAT)
"""The first format had no signing key."""


class Trouble(Exception):
    """It can't be done; the text says why, and what to do, in the operator's words."""
