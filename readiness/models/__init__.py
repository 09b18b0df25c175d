"""Everything that is stored. Constraints are in the database; actions alone change states."""

from .booking import Booking, PutOff, ReadinessConfirmation
from .checkpoint import Checkpoint, Leaf, SigningKey, Tile, Timestamp
from .days_off import DayOff
from .last_done import LastDone
from .message import Message
from .paper import Paper
from .people import Builder, BuilderContact, Business, Invitation, InvitationLink, User
from .photo import FingerprintBand, Markup, Original, Photo, PhotoFlag, PhotoMeasurement
from .record import Commitment, RecordEntry, Said
from .referral import Referral, ReferralDecision
from .report import DefectItem, Fix, RunCheck, SiteReport, TradeLink
from .security import SecurityEvent, SecurityKind
from .site import Site, WallRun
from .spooled import SpooledOriginal

__all__ = [
    "Booking",
    "Builder",
    "BuilderContact",
    "Business",
    "Checkpoint",
    "Commitment",
    "DayOff",
    "DefectItem",
    "FingerprintBand",
    "Fix",
    "Invitation",
    "InvitationLink",
    "LastDone",
    "Leaf",
    "Markup",
    "Message",
    "Original",
    "Paper",
    "Photo",
    "PhotoFlag",
    "PhotoMeasurement",
    "PutOff",
    "ReadinessConfirmation",
    "RecordEntry",
    "Referral",
    "ReferralDecision",
    "RunCheck",
    "Said",
    "SecurityEvent",
    "SecurityKind",
    "SigningKey",
    "Site",
    "SiteReport",
    "SpooledOriginal",
    "Tile",
    "Timestamp",
    "TradeLink",
    "User",
    "WallRun",
]
