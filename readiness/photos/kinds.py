"""Finding what a file is from its first bytes; the name and the sender's word count for nothing."""

HEAD_BYTES = 64

MEDIA_TYPES = {
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "WEBP": "image/webp",
    "HEIF": "image/heic",
    "AVIF": "image/avif",
}
# Kinds that are known and can't be decoded here, with the code of the sentence that says so.
UNREADABLE = {"JXL": "jpeg_xl"}

EXTENSIONS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/webp": "webp",
    "image/heic": "heic",
    "image/heif": "heif",
    "image/avif": "avif",
}

# Brands of ISO/IEC 23008-12 (HEIF) that hold HEVC pictures.
HEIC_BRANDS = {b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"hevm", b"hevs"}
# Brands that say no more than that it is such a file; which codec it needs stands further on.
ANY_CODEC_BRANDS = {b"mif1", b"msf1"}
# Brands of AVIF (AV1 Image File Format, 3.1 and 3.2): one picture, or several.
AVIF_BRANDS = {b"avif", b"avis"}
# ISO/IEC 18181-2: a codestream alone, and one in boxes.
JPEG_XL_STARTS = (b"\xff\x0a", b"\0\0\0\x0cJXL \r\n\x87\n")


def kind_of(head: bytes) -> str | None:
    """The kind (of ``MEDIA_TYPES`` or ``UNREADABLE``) that the first ``HEAD_BYTES`` say."""
    if head.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "WEBP"
    if head[4:8] == b"ftyp":
        return _kind_of_boxes(head)
    return "JXL" if head.startswith(JPEG_XL_STARTS) else None


def _kind_of_boxes(head: bytes) -> str | None:
    """HEIF or AVIF: by the main brand, or by those it is compatible with where that says little."""
    main = head[8:12]
    if main in AVIF_BRANDS:
        return "AVIF"
    if main not in ANY_CODEC_BRANDS:
        return "HEIF" if main in HEIC_BRANDS else None
    end = min(int.from_bytes(head[:4], "big"), len(head))
    compatible = {head[at : at + 4] for at in range(16, end - 3, 4)}
    return "AVIF" if compatible & AVIF_BRANDS and not compatible & HEIC_BRANDS else "HEIF"


def media_type(kind: str, head: bytes) -> str:
    """The media type to serve the original with."""
    if kind == "HEIF" and head[8:12] not in HEIC_BRANDS:
        return "image/heif"
    return MEDIA_TYPES[kind]
