"""Everything that is stored. Constraints are in the database; actions alone change states."""

from .booking import Booking, ReadinessConfirmation
from .last_done import LastDone
from .message import Message
from .paper import Paper
from .people import Builder, BuilderContact, Business, Invitation, InvitationLink, User
from .photo import FingerprintBand, Markup, Original, Photo, PhotoFlag, PhotoMeasurement
from .record import RecordEntry
from .report import DefectItem, Fix, RunCheck, SiteReport, TradeLink
from .site import Site, WallRun
from .spooled import SpooledOriginal

__all__ = [
    "Booking",
    "Builder",
    "BuilderContact",
    "Business",
    "DefectItem",
    "FingerprintBand",
    "Fix",
    "Invitation",
    "InvitationLink",
    "LastDone",
    "Markup",
    "Message",
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
    "SpooledOriginal",
    "TradeLink",
    "User",
    "WallRun",
]
