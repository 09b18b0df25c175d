"""Asking a decoder process for the bed joints of a stored photo."""

from dataclasses import dataclass

import numpy as np

from readiness.models import Photo
from readiness.photos import decoder, sizes, store
from readiness.photos.by_courses import Joints
from readiness.photos.limits import PASSING
from readiness.photos.measuring import CannotMeasure
from readiness.wording.refusals import measuring as refusals

TURN_SECONDS = 5  # somebody waits for the answer


class NotNow(Exception):
    """The photo can't be looked at just now; trying again helps."""


@dataclass(frozen=True)
class Looked:
    """What a photo shows: its bed joints, and outlines (four places as shares of the picture) of
    those that look open.
    """

    joints: Joints
    outlines: list[list[list[float]]]


def look(photo: Photo, corners: list, courses: int, *, open_too: bool) -> Looked:
    """Bed joints between four corners (shares of the displayed picture), from the 1600 px size.

    Raises ``CannotMeasure`` or ``NotNow``.
    """
    try:
        name = sizes.ready_name(photo, "large", clean=True)
        with store.on_disk(name) as path:
            found = decoder.joints(path, corners, courses, open_too=open_too, wait=TURN_SECONDS)
    except sizes.SizesError as error:
        if error.passing:
            raise NotNow from error
        raise CannotMeasure(refusals.picture_not_read()) from error
    except decoder.DecodingError as error:
        if error.problem in PASSING:
            raise NotNow from error
        raise CannotMeasure(refusals.picture_not_read()) from error
    except OSError as error:
        raise NotNow from error
    size_px = np.array([photo.width_px, photo.height_px], float)
    places = np.array(found["places"], float).reshape(-1, 2) * size_px
    numbers, strips = (np.array(found[name], int) for name in ("joints", "strips"))
    joints = Joints(places, numbers, strips, found["counted"], found["fits"])
    return Looked(joints, found["open"])
