"""The photos of a paper: which file, how large on the page, and what stands there without one."""

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from readiness.models import Photo
from readiness.papers import wording
from readiness.photos import sizes
from readiness.photos.markup import svg_overlay
from readiness.wording import photos as say
from readiness.wording.paper import parts

SIZE = "large"
GAP_MM = 5


@dataclass(frozen=True)
class Frame:
    """The largest place that a photo may take on a page, in mm."""

    width_mm: float
    height_mm: float

    def fit(self, width_px: int, height_px: int) -> tuple[float, float]:
        """Width and height in mm that keep the photo's shape within the frame."""
        scale = min(self.width_mm / max(width_px, 1), self.height_mm / max(height_px, 1))
        return round(width_px * scale, 2), round(height_px * scale, 2)


@dataclass(frozen=True)
class Picture:
    """One photo placed on a page. `url` is empty when there is nothing to show, and `why` says so.

    `overlay` is the markup drawn over it, as SVG; sizes are mm.
    """

    url: str
    alt: str
    width_mm: float
    height_mm: float
    overlay: str = ""
    why: str = ""

    @property
    def beside_mm(self) -> float:
        """Width of the picture with the gap to the words beside it."""
        return round(self.width_mm + GAP_MM, 2)


class Album:
    """The photos that one paper shows, read in one query, by the ids that its snapshot keeps."""

    def __init__(self, photo_ids: Iterable[str] = ()):
        self._photos: dict[str, Photo] = {}
        self._names: dict[str, str] = {}
        self.add(photo_ids)

    def add(self, photo_ids: Iterable[str]) -> None:
        """Have more photos at hand, in one query."""
        wanted = set(photo_ids) - self._photos.keys()
        if wanted:
            photos = Photo.objects.with_originals().select_related("site")
            found = photos.filter(pk__in=wanted)
            self._photos |= {str(photo.pk): photo for photo in found}

    def place(self, entry: dict, frame: Frame, alt: str) -> Picture:
        """The photo of a snapshot's entry, fitted into a frame."""
        width_mm, height_mm = frame.fit(entry["width_px"], entry["height_px"])
        url, why = self._url(entry["id"])
        overlay = _overlay(entry, width_mm, height_mm) if url else ""
        return Picture(url, alt, width_mm, height_mm, overlay, why)

    def names(self) -> dict[str, str]:
        """Storage names of the photos placed so far, by photo id."""
        return self._names

    def _url(self, photo_id: str) -> tuple[str, str]:
        photo = self._photos.get(photo_id)
        if photo is None:
            return "", parts.no_photo("not_kept")
        gone_at = photo.removed_at or photo.original.deleted_at
        if gone_at:
            day = wording.short_day(gone_at.astimezone(photo.site.zone).date())
            return "", parts.photo_deleted(day)
        if photo_id not in self._names:
            try:
                self._names[photo_id] = sizes.ready_name(photo, SIZE)
            except sizes.SizesError as error:
                if error.passing:
                    raise  # a paper is made once: better later than without its photos for good
                return "", parts.no_photo("unreadable")
        return f"photo:{photo_id}", ""


def _overlay(entry: dict, width_mm: float, height_mm: float) -> str:
    """The markup over a photo: arrows, circles, lines, texts. Blur is in the photo itself."""
    shapes = [shape for shape in entry.get("markup", ()) if shape["kind"] != "blur"]
    drawn = svg_overlay(shapes, entry["width_px"], entry["height_px"])
    if not drawn:
        return ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm}mm" height="{height_mm}mm" '
        f'viewBox="0 0 {entry["width_px"]} {entry["height_px"]}">'
        f"<title>{escape(parts.marks_on_photo(say.marks(shapes)))}</title>{drawn}</svg>"
    )
