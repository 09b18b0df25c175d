"""Everything that is stored. Constraints live in the database, states are changed by actions only."""

from .booking import Booking, ReadinessConfirmation
from .paper import Paper
from .people import Builder, BuilderContact, Business, Invitation, User
from .photo import FingerprintBand, Markup, Original, Photo, PhotoFlag, PhotoMeasurement
from .record import RecordEntry
from .report import DefectItem, Fix, RunCheck, SiteReport, TradeLink
from .site import (
    Attachment,
    FinishToCome,
    GroundPoint,
    Joint,
    Site,
    WallRun,
)

__all__ = [
    "Attachment",
    "Booking",
    "Builder",
    "BuilderContact",
    "Business",
    "DefectItem",
    "FingerprintBand",
    "FinishToCome",
    "Fix",
    "GroundPoint",
    "Invitation",
    "Joint",
    "Markup",
    "Original",
    "Paper",
    "Photo",
    "PhotoFlag",
    "PhotoMeasurement",
    "ReadinessConfirmation",
    "RecordEntry",
    "RunCheck",
    "Site",
    "SiteReport",
    "TradeLink",
    "User",
    "WallRun",
]
