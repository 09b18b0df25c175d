"""Finding what a file is from its first bytes; the name and the sender's word count for nothing."""

HEAD_BYTES = 64

MEDIA_TYPES = {
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "WEBP": "image/webp",
    "HEIF": "image/heic",
}

EXTENSIONS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "image/heic": "heic",
    "image/heif": "heif",
}

# Brands of ISO/IEC 23008-12 (HEIF) that hold HEVC pictures.
HEIC_BRANDS = {b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"hevm", b"hevs"}
HEIF_BRANDS = HEIC_BRANDS | {b"mif1", b"msf1"}


def kind_of(head: bytes) -> str | None:
    """The kind (a key of ``MEDIA_TYPES``) that the first ``HEAD_BYTES`` say, or None."""
    if head.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "WEBP"
    if head[4:8] == b"ftyp" and head[8:12] in HEIF_BRANDS:
        return "HEIF"
    return None


def media_type(kind: str, head: bytes) -> str:
    """The media type to serve the original with."""
    if kind == "HEIF" and head[8:12] not in HEIC_BRANDS:
        return "image/heif"
    return MEDIA_TYPES[kind]
