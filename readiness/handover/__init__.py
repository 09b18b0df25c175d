"""Handing a site over: everything about it in one zip that can be checked and brought back.

record.jsonl       the Record: each line is exactly the bytes that the entry's digest covers
originals/         photos as received, named by their SHA-256
pictures/          what is shown of each photo: 1600 px, upright, blurred where it was blurred
papers/            the PDFs
data/              all rows as JSON Lines, for bringing the site into another installation
checkpoint.txt     the signed root over all entries of the installation, up to the site's last
record.json        the same, with the proof that the site's last entry is under that root
index.html         to read all of it without a network
README.txt         how to check it with ordinary tools
manifest.json      what this is, with the Record's last digest and the key that signs
signing_key.pem    that key, for openssl
SHA256SUMS         SHA-256 of every other file, for `sha256sum -c`
SHA256SUMS.sig     the installation's Ed25519 signature over SHA256SUMS
"""

FORMATS = ("site-export-1", "site-export-2", "site-export-3")
"""Every format there has been; all of them are read (`earlier.py`)."""
FORMAT = FORMATS[-1]
SIGNED_SINCE = 2
"""From this place in `FORMATS` on exports are signed, and their rows held by the Record."""
RECORD, MANIFEST, SUMS, INDEX, README = (
    "record.jsonl",
    "manifest.json",
    "SHA256SUMS",
    "index.html",
    "README.txt",
)
SIGNATURE, KEY, CHECKPOINT, PROOF = (
    "SHA256SUMS.sig",
    "signing_key.pem",
    "checkpoint.txt",
    "record.json",
)
GENESIS = "0" * 64


class BadExport(Exception):
    """The file is not a whole, unchanged export; the text names the first thing that is wrong."""
