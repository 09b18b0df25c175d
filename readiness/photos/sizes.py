"""The two sizes made of each photo: about 1600 px for looking, about 400 px for lists.

They are upright, in sRGB, without any metadata. Where a photo's markup blurs faces or number
plates, its own sizes are made with the blur burned in, and only those are ever served as sizes.
"""

from pathlib import Path

from readiness import clock
from readiness.models import Markup, Original, Photo, SpooledOriginal
from readiness.patience import Patience, patience
from readiness.photos import kinds, spool, store
from readiness.photos.decoder import DecodingError, decode
from readiness.photos.limits import DISK_FULL, PASSING

SIZES = ("large", "small")
MEDIA_TYPE = "image/jpeg"
# How long to wait for a turn to decode: in background work, and while somebody looks at a page.
TURN_SECONDS, PAGE_TURN_SECONDS = 120, 2


class SizesError(Exception):
    """The sizes of a photo could not be made now; ``passing``: by no fault of the photo."""

    def __init__(self, message: str, *, passing: bool = False):
        self.passing = passing
        super().__init__(message)


def size_name(original: Original | str, size: str, markup: Markup | None = None) -> str:
    """Where a size lies; one with burned-in blur has the photo and the markup's version in it."""
    if size not in SIZES:
        raise ValueError(f"No such size: {size}")
    digest = original if isinstance(original, str) else original.digest
    blurred = f"-{markup.photo_id}-v{markup.version}" if markup and markup.has_blur else ""
    return f"sizes/{digest[:2]}/{digest[2:4]}/{digest}{blurred}-{size}.jpg"


def put_sizes(original: Original, large: Path, small: Path, markup: Markup | None = None) -> None:
    """Store the two freshly made files. Raises ``store.StoreError``."""
    for size, path in (("large", large), ("small", small)):
        store.put(path, size_name(original, size, markup), for_good=False, may_wait=True)


def markup_of(photo: Photo) -> Markup | None:
    return getattr(photo, "markup", None)


def make_sizes(subject: Photo | Original) -> None:
    """Make missing sizes of a photo or an original; doing it again changes nothing.

    Raises ``SizesError``, and keeps the reason on the original's row unless it passes by itself.
    """
    original = subject.original if isinstance(subject, Photo) else subject
    _make(original, None, TURN_SECONDS)
    if isinstance(subject, Photo) and (markup := markup_of(subject)) and markup.has_blur:
        _make(original, markup, TURN_SECONDS)


def _make(original: Original, markup: Markup | None, turn_seconds: float) -> None:
    names = [size_name(original, size, markup) for size in SIZES]
    if original.is_deleted:
        raise SizesError("The photo was deleted.")
    try:
        if not all(store.exists(name) for name in names):
            _decode_into_store(original, markup, turn_seconds)
    except (DecodingError, store.StoreError, OSError) as error:
        if _passes(error, original):
            raise SizesError(str(error), passing=True) from error
        _note_error(original, str(error)[:200])
        raise SizesError(str(error)) from error
    if original.sizes_made_at is None or original.sizes_error:
        original.sizes_made_at, original.sizes_error = clock.now(), ""
        original.save(update_fields=["sizes_made_at", "sizes_error"])


def _passes(error: Exception, original: Original) -> bool:
    """A busy machine, a store that does not answer, a full disk: another try may well succeed."""
    if isinstance(error, DecodingError):
        return error.problem in {*PASSING, DISK_FULL}
    if isinstance(error, FileNotFoundError):  # unless another machine still keeps it
        return SpooledOriginal.objects.filter(original=original).exists()
    return True


def _note_error(original: Original, words: str) -> None:
    """Keep why; whoever looks at the picture again meets the same fault and writes nothing."""
    if original.sizes_error != words:
        Original.objects.filter(pk=original.pk).update(sizes_error=words)


def _decode_into_store(original: Original, markup: Markup | None, turn_seconds: float) -> None:
    with store.on_disk(original.storage_name) as path, store.workspace() as folder:
        large, small = folder / "large.jpg", folder / "small.jpg"
        with path.open("rb") as stored:
            kind = kinds.kind_of(stored.read(kinds.HEAD_BYTES))
        if kind is None:
            raise DecodingError("unknown_kind")
        blurs = (
            [shape["box"] for shape in markup.shapes if shape["kind"] == "blur"] if markup else []
        )
        decode(path, kind, large, small, blurs=blurs, fingerprint=False, wait=turn_seconds)
        put_sizes(original, large, small, markup)


def open_size(subject: Photo | Original, size: str, *, clean: bool = False):
    """The size open for reading, made first if it is missing.

    For a photo it is the blurred one where its markup blurs anything; ``clean`` asks for the
    picture underneath (for the applicator's own markup screen). Raises ``SizesError``.
    """
    original, markup = _wanted(subject, clean)
    name = size_name(original, size, markup)
    try:
        try:
            return store.open_file(name)
        except FileNotFoundError:
            _make(original, markup, PAGE_TURN_SECONDS)
            return store.open_file(name)
    except OSError as error:
        raise SizesError(str(error), passing=_passes(error, original)) from error


def ready_name(subject: Photo | Original, size: str, *, clean: bool = False) -> str:
    """The storage name of a size that is there, made first if need be. Raises ``SizesError``."""
    original, markup = _wanted(subject, clean)
    name = size_name(original, size, markup)
    if not store.exists(name):
        _make(original, markup, PAGE_TURN_SECONDS)
    return name


def is_lost(photo: Photo) -> bool:
    """Neither the large size nor what it is made from is there, and no other machine keeps it.

    A store that does not answer has lost nothing.
    """
    original, markup = _wanted(photo, clean=False)
    names = (size_name(original, "large", markup), original.storage_name)
    try:
        with patience(Patience.PAGE):
            there = any(store.exists(name) for name in names)
    except OSError:
        return False
    return not there and not SpooledOriginal.objects.filter(original=original).exists()


def _wanted(subject: Photo | Original, clean: bool) -> tuple[Original, Markup | None]:
    """The original, and the markup whose blurs the size has burned in."""
    if isinstance(subject, Original):
        return subject, None
    return subject.original, None if clean else markup_of(subject)


def drop_sizes(original: Original) -> None:
    """Delete every size of an original, blurred ones too."""
    folder = f"sizes/{original.digest[:2]}/{original.digest[2:4]}"
    waiting = [] if store.is_local() else list(spool.names(folder))
    for name in [*waiting, *store.walk(folder)]:
        if name.rsplit("/", 1)[-1].startswith(original.digest):
            store.delete(name)
