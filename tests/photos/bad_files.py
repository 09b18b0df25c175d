"""Generated bad picture files: cut short, lying, huge, nested, or two things at once.

``bad_files()`` yields (name, bytes, must_refuse). Where ``must_refuse`` is False the file may be
taken in (its pixels are whole) but must do no harm.
"""

import io
import random
import struct
import zipfile
import zlib
from collections.abc import Iterator

from PIL import Image

from .heif_files import grid_file
from .pictures import encoded, exif_with, jpeg, landmark, png_chunk, png_header_only

BadFile = tuple[str, bytes, bool]


def bad_files() -> Iterator[BadFile]:
    for maker in (
        cut_jpegs,
        cut_pngs,
        cut_webps,
        cut_heics,
        wrong_magic,
        lying_sizes,
        nested_and_looping,
        huge_metadata,
        polyglots,
        flipped_bytes,
    ):
        yield from maker()


def noisy() -> Image.Image:
    """A picture that does not compress to almost nothing, so that cuts fall inside its data."""
    return Image.blend(landmark(400, 300), Image.effect_noise((400, 300), 60).convert("RGB"), 0.4)


def jpeg_markers(content: bytes) -> list[int]:
    """Offsets of the markers up to the scan."""
    at, found = 2, [0]
    while content[at] == 0xFF:
        found.append(at)
        if content[at + 1] == 0xDA:
            break
        at += 2 + int.from_bytes(content[at + 2 : at + 4], "big")
    return found


def cut_jpegs() -> Iterator[BadFile]:
    for label, options in (("", {}), ("progressive ", {"progressive": True})):
        content = encoded("JPEG", noisy(), exif=exif_with(make="A").tobytes(), **options)
        for at in jpeg_markers(content):
            for extra in (0, 1, 3, 7):
                yield f"{label}jpeg cut at {at}+{extra}", content[: at + extra], True
        scan = jpeg_markers(content)[-1]
        for share in (0.1, 0.3, 0.5, 0.7, 0.9):
            at = scan + int((len(content) - scan) * share)
            # A progressive file has every region once its first scans are whole.
            yield f"{label}jpeg cut in scan {share}", content[:at], True


def cut_pngs() -> Iterator[BadFile]:
    content = encoded("PNG", noisy())
    at = 8
    while at < len(content):
        length = int.from_bytes(content[at : at + 4], "big")
        last = content[at + 4 : at + 8] == b"IEND"
        for extra in (0, 4, 8, 8 + length // 2, 8 + length):
            whole = last or (content[at + 12 + length :][4:8] == b"IEND" and extra == 8 + length)
            yield f"png cut at {at}+{extra}", content[: at + extra], not whole
        at += 12 + length
    broken = bytearray(content)
    broken[len(content) // 2] ^= 0xFF
    yield "png with a wrong checksum", bytes(broken), True


def cut_webps() -> Iterator[BadFile]:
    for label, options in (("", {}), ("lossless ", {"lossless": True})):
        content = encoded("WEBP", noisy(), **options)
        for at in (0, 4, 8, 12, 16, 20, 24, 30):
            yield f"{label}webp cut at {at}", content[:at], True
        for share in (0.2, 0.5, 0.8, 0.95):
            yield f"{label}webp cut {share}", content[: int(len(content) * share)], True


def boxes(content: bytes, start: int = 0, end: int | None = None) -> Iterator[int]:
    """Offsets of ISO media boxes, those inside ``meta`` and ``iprp`` too."""
    at, end = start, end or len(content)
    while at + 8 <= end:
        size, name = struct.unpack(">I4s", content[at : at + 8])
        yield at
        if name in (b"meta", b"iprp", b"ipco"):
            yield from boxes(content, at + (12 if name == b"meta" else 8), at + size)
        at += max(size, 8)


def cut_heics() -> Iterator[BadFile]:
    content = encoded("HEIF", noisy())
    for at in boxes(content):
        for extra in (0, 4, 8, 13):
            yield f"heic cut at {at}+{extra}", content[: at + extra], True
    grid = grid_file()
    for share in (0.3, 0.6, 0.9):
        yield f"heic cut {share}", content[: int(len(content) * share)], True
        yield f"heic grid cut {share}", grid[: int(len(grid) * share)], True
    for at in list(boxes(content))[:8]:
        for size in (0, 1, 7, 0x7FFFFFFF, 0xFFFFFFFF):
            lying = content[:at] + struct.pack(">I", size) + content[at + 4 :]
            yield f"heic box at {at} says {size}", lying, False


def wrong_magic() -> Iterator[BadFile]:
    picture = landmark()
    for kind in ("GIF", "BMP", "TIFF", "ICO", "PPM", "TGA", "PCX", "EPS", "JPEG2000"):
        yield f"{kind} picture", encoded(kind, picture), True
    body = jpeg()
    for name, magic in (
        ("jpeg called png", b"\x89PNG\r\n\x1a\n"),
        ("jpeg called webp", b"RIFF\0\0\0\0WEBP"),
        ("jpeg called heic", b"\0\0\0\x18ftypheic"),
        ("text called jpeg", b"\xff\xd8\xffhello"),
        ("script", b"<script>alert(1)</script>"),
        ("drawing", b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>"),
    ):
        yield name, magic + body[10:] if "text" not in name else magic, True
    for count in (1, 2, 3, 8, 11):
        yield f"{count} zero bytes", b"\0" * count, True
        yield f"first {count} bytes of a jpeg", body[:count], True


def lying_sizes() -> Iterator[BadFile]:
    for width, height in ((30000, 30000), (65000, 65000), (2**31 - 1, 1), (1, 2**31 - 1)):
        yield f"png {width}x{height}", png_header_only(width, height), True
    for width, height in ((0, 0), (0, 100)):
        yield f"png {width}x{height}", png_header_only(width, height), True
    yield "png larger than its data", png_header_only(3000, 3000), True
    content = jpeg()
    at = content.index(b"\xff\xc0")
    for height, width in ((65535, 65535), (65000, 200), (0, 320), (20000, 3000)):
        size = struct.pack(">HH", height, width)
        # libjpeg fills what an early end leaves open, so one within the limits can be taken in.
        refuse = max(width, height) > 20000 or height == 0
        yield f"jpeg {width}x{height}", content[: at + 5] + size + content[at + 9 :], refuse
    bomb = zlib.compress(b"\0" * 40_000_000, 9)
    for name in (b"zTXt", b"iTXt"):
        head = b"note\0\0" if name == b"zTXt" else b"note\0\1\0\0\0"
        whole = encoded("PNG", landmark())
        yield f"png {name.decode()} bomb", whole[:33] + png_chunk(name, head + bomb) + whole[33:], 0
    profile = png_chunk(b"iCCP", b"x\0\0" + bomb)
    yield "png profile bomb", whole[:33] + profile + whole[33:], False


def nested_and_looping() -> Iterator[BadFile]:
    box = b""
    for _ in range(500):
        box = struct.pack(">I4s", len(box) + 12, b"meta") + b"\0" * 4 + box
    yield "heic of 500 nested boxes", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + box, True
    item = struct.pack(">I4s", 16, b"free") + b"\0" * 8
    yield "heic of 20000 empty boxes", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + item * 20000, True
    # A directory whose next and inner directories are itself (TIFF 6.0, section 2).
    loop = struct.pack("<2sHIHHHIIHHIII", b"II", 42, 8, 2, 34665, 4, 1, 8, 34853, 4, 1, 8, 8)
    segment = b"Exif\0\0" + loop
    content = jpeg()
    app1 = b"\xff\xe1" + struct.pack(">H", len(segment) + 2) + segment
    yield "jpeg with looping Exif", content[:2] + app1 + content[2:], False
    frames = [Image.new("RGB", (64, 64), (i, i, i)) for i in range(200)]
    many = encoded("PNG", frames[0], save_all=True, append_images=frames[1:])
    yield "png of 200 frames", many, False
    depth = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>" + b"<a>" * 9000 + b"</a>" * 9000
    xmp = b"http://ns.adobe.com/xap/1.0/\0" + depth[:60000]
    app1 = b"\xff\xe1" + struct.pack(">H", len(xmp) + 2) + xmp
    yield "jpeg with deeply nested XMP", content[:2] + app1 + content[2:], False


def huge_metadata() -> Iterator[BadFile]:
    content = jpeg()
    filler = b"\xff\xe1\xff\xff" + b"Exif\0\0" + b"\xff" * 65527
    yield "jpeg with 20 MB of Exif", content[:2] + filler * 320 + content[2:], False
    comment = b"\xff\xfe\xff\xff" + b"c" * 65533
    yield "jpeg with 20 MB of comments", content[:2] + comment * 320 + content[2:], False
    yield "jpeg with a 12 MB profile", encoded("JPEG", icc_profile=b"p" * 12_000_000), False
    yield "webp with a 12 MB profile", encoded("WEBP", icc_profile=b"p" * 12_000_000), False
    yield "png with a 1 MB profile", encoded("PNG", icc_profile=b"p" * 1_000_000), False
    yield "heic with 1 MB of Exif", encoded("HEIF", exif=b"Exif\0\0II*\0" + b"\xff" * 10**6), False
    for tag in (271, 306, 34853, 34665):
        entry = struct.pack("<2sHIHHHII", b"II", 42, 8, 1, tag, 2, 0xFFFFFFF0, 0xFFFFFF00)
        segment = b"Exif\0\0" + entry + b"\0" * 4
        app1 = b"\xff\xe1" + struct.pack(">H", len(segment) + 2) + segment
        yield f"jpeg whose tag {tag} points outside", content[:2] + app1 + content[2:], False


def polyglots() -> Iterator[BadFile]:
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as bundle:
        bundle.writestr("page.html", "<script>alert(1)</script>")
    script = b"/*<script>alert(document.domain)</script>*/"
    for kind in ("JPEG", "PNG", "WEBP"):
        content = encoded(kind)
        yield f"{kind} then zip", content + archive.getvalue(), False
        yield f"{kind} then script", content + script, False
        yield f"{kind} then PDF", content + b"%PDF-1.4\n1 0 obj<<>>endobj\n%%EOF", False
    yield "zip then jpeg", archive.getvalue() + jpeg(), True
    yield "PDF then jpeg", b"%PDF-1.4\n" + jpeg(), True
    yield "gif and jpeg", b"GIF89a" + jpeg(), True
    comment = b"\xff\xfe" + struct.pack(">H", len(script) + 2) + script
    content = jpeg()
    yield "jpeg with a script in its comment", content[:2] + comment + content[2:], False


def flipped_bytes() -> Iterator[BadFile]:
    chance = random.Random(7)
    for kind in ("JPEG", "PNG", "WEBP", "HEIF", "AVIF"):
        content = encoded(kind, noisy())
        for number in range(14):
            broken = bytearray(content)
            for _ in range(1 + number):
                broken[chance.randrange(12, min(len(content), 700))] = chance.randrange(256)
            yield f"{kind} with flipped bytes {number}", bytes(broken), False
