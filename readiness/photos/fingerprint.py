"""Finding near-duplicates among a million fingerprints through an index.

A fingerprint has 64 bits, cut into four bands of 16. Two fingerprints that differ in at most 7
bits have at least one band that differs in at most 1 bit (four bands with 2 each would make 8).
So looking up, for each band, its value and the 16 values one bit away (68 index keys in all)
finds every fingerprint within 7 bits: recall is complete up to ``NEAR_BITS``, and the exact
distance then removes the rest.
"""

from readiness.models import FingerprintBand, Original

BANDS, BAND_BITS = 4, 16
NEAR_BITS = 7
MASK = (1 << BAND_BITS) - 1


def to_signed(value: int) -> int:
    """An unsigned 64-bit fingerprint as databases store it."""
    return value - (1 << 64) if value >= 1 << 63 else value


def distance(one: int, other: int) -> int:
    """In how many of their 64 bits two (signed) fingerprints differ."""
    return ((one ^ other) & ((1 << 64) - 1)).bit_count()


def band_keys(fingerprint: int) -> list[int]:
    """The four index keys of a signed fingerprint: band number above, its 16 bits below."""
    return [band << BAND_BITS | (fingerprint >> band * BAND_BITS) & MASK for band in range(BANDS)]


def probe_keys(fingerprint: int) -> list[int]:
    """The 68 keys to look up: each band as it is, and with any one bit changed."""
    keys = []
    for key in band_keys(fingerprint):
        keys.append(key)
        keys.extend(key ^ 1 << bit for bit in range(BAND_BITS))
    return keys


def index(original: Original) -> None:
    """Put an original's fingerprint into the index; doing it again changes nothing."""
    if original.fingerprint is None:
        return
    FingerprintBand.objects.bulk_create(
        [
            FingerprintBand(key=key, fingerprint=original.fingerprint, original=original)
            for key in band_keys(original.fingerprint)
        ],
        ignore_conflicts=True,
    )


def near(fingerprint: int) -> list[tuple[str, int]]:
    """Digests of all originals within ``NEAR_BITS``, with their distance, nearest first."""
    rows = FingerprintBand.objects.filter(key__in=probe_keys(fingerprint)).values_list(
        "fingerprint", "original_id"
    )
    found = {}
    for candidate, digest in rows.iterator(chunk_size=5000):
        bits = distance(candidate, fingerprint)
        if bits <= NEAR_BITS:
            found[digest] = bits
    return sorted(found.items(), key=lambda pair: (pair[1], pair[0]))
