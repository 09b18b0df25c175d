"""Handing a site over: everything about it in one zip that can be checked and brought back.

record.jsonl       the Record: each line is exactly the bytes that the entry's digest covers
originals/         photos as received, named by their SHA-256
pictures/          what is shown of each photo: 1600 px, upright, blurred where it was blurred
papers/            the PDFs
data/              all rows as JSON Lines, for bringing the site into another installation
index.html         to read all of it without a network
README.txt         how to check it with ordinary tools
manifest.json      what this is, with the Record's last digest
SHA256SUMS         SHA-256 of every other file, for `sha256sum -c`
"""

FORMATS = ("site-export-1", "site-export-2")
"""Every format there has been; all of them are read (`earlier.py`)."""
FORMAT = FORMATS[-1]
RECORD, MANIFEST, SUMS, INDEX, README = (
    "record.jsonl",
    "manifest.json",
    "SHA256SUMS",
    "index.html",
    "README.txt",
)
GENESIS = "0" * 64


class BadExport(Exception):
    """The file is not a whole, unchanged export; the text names the first thing that is wrong."""
