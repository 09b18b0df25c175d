"""The two sizes made of each photo: about 1600 px for looking, about 400 px for lists.

They are upright, in sRGB, without any metadata. Where a photo's markup blurs faces or number
plates, its own sizes are made with the blur burned in, and only those are ever served as sizes.
"""

from pathlib import Path

from readiness import clock
from readiness.models import Markup, Original, Photo
from readiness.photos import kinds, store
from readiness.photos.decoder import DecodingError, decode

SIZES = ("large", "small")
MEDIA_TYPE = "image/jpeg"


class SizesError(Exception):
    """The sizes of a photo could not be made now."""


def size_name(original: Original | str, size: str, markup: Markup | None = None) -> str:
    """Where a size lies; one with burned-in blur has the photo and the markup's version in it."""
    if size not in SIZES:
        raise ValueError(f"No such size: {size}")
    digest = original if isinstance(original, str) else original.digest
    blurred = f"-{markup.photo_id}-v{markup.version}" if markup and markup.has_blur else ""
    return f"sizes/{digest[:2]}/{digest[2:4]}/{digest}{blurred}-{size}.jpg"


def put_sizes(original: Original, large: Path, small: Path, markup: Markup | None = None) -> None:
    """Store the two freshly made files. Raises ``store.StoreError``."""
    store.put(large, size_name(original, "large", markup), for_good=False)
    store.put(small, size_name(original, "small", markup), for_good=False)


def markup_of(photo: Photo) -> Markup | None:
    return getattr(photo, "markup", None)


def make_sizes(subject: Photo | Original) -> None:
    """Make missing sizes of a photo or an original; doing it again changes nothing.

    Raises ``SizesError``, and keeps the reason on the original's row.
    """
    original = subject.original if isinstance(subject, Photo) else subject
    _make(original, None)
    if isinstance(subject, Photo) and (markup := markup_of(subject)) and markup.has_blur:
        _make(original, markup)


def _make(original: Original, markup: Markup | None) -> None:
    names = [size_name(original, size, markup) for size in SIZES]
    if original.is_deleted:
        raise SizesError("The photo was deleted.")
    if not all(store.exists(name) for name in names):
        try:
            _decode_into_store(original, markup)
        except (DecodingError, store.StoreError, OSError) as error:
            _note_error(original, str(error)[:200])
            raise SizesError(str(error)) from error
    if original.sizes_made_at is None or original.sizes_error:
        original.sizes_made_at, original.sizes_error = clock.now(), ""
        original.save(update_fields=["sizes_made_at", "sizes_error"])


def _note_error(original: Original, words: str) -> None:
    """Keep why; whoever looks at the picture again meets the same fault and writes nothing."""
    if original.sizes_error != words:
        Original.objects.filter(pk=original.pk).update(sizes_error=words)


def _decode_into_store(original: Original, markup: Markup | None) -> None:
    with store.on_disk(original.storage_name) as path, store.workspace() as folder:
        large, small = folder / "large.jpg", folder / "small.jpg"
        with path.open("rb") as stored:
            kind = kinds.kind_of(stored.read(kinds.HEAD_BYTES))
        if kind is None:
            raise DecodingError("unknown_kind")
        blurs = (
            [shape["box"] for shape in markup.shapes if shape["kind"] == "blur"] if markup else []
        )
        decode(path, kind, large, small, blurs=blurs, fingerprint=False)
        put_sizes(original, large, small, markup)


def open_size(subject: Photo | Original, size: str, *, clean: bool = False):
    """The size open for reading, made first if it is missing.

    For a photo it is the blurred one where its markup blurs anything; ``clean`` asks for the
    picture underneath (for the applicator's own markup screen). Raises ``SizesError``.
    """
    name = ready_name(subject, size, clean=clean)
    try:
        return store.open_file(name)
    except OSError as error:
        raise SizesError(str(error)) from error


def ready_name(subject: Photo | Original, size: str, *, clean: bool = False) -> str:
    """The storage name of a size that is there, made first if need be. Raises ``SizesError``."""
    original = subject.original if isinstance(subject, Photo) else subject
    markup = markup_of(subject) if isinstance(subject, Photo) and not clean else None
    name = size_name(original, size, markup)
    if not store.exists(name):
        _make(original, markup if markup and markup.has_blur else None)
    return name


def drop_sizes(original: Original) -> None:
    """Delete every size of an original, blurred ones too."""
    folder = f"sizes/{original.digest[:2]}/{original.digest[2:4]}"
    for name in list(store.walk(folder)):
        if name.rsplit("/", 1)[-1].startswith(original.digest):
            store.delete(name)
