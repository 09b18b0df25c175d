"""Whom to call about live termites, as pages show it."""

import re
from dataclasses import dataclass

from readiness.models import Business
from readiness.wording.referrals import our_technician, technician


@dataclass(frozen=True)
class Call:
    """Who it is, and their phone as it reads and as a telephone dials it; "" where none is set."""

    who: str
    phone: str

    @property
    def dialled(self) -> str:
        return re.sub(r"[^\d+]", "", self.phone)


def whom_to_call(*, is_ours: bool = True) -> Call:
    """The technician that the business names; to builders and trades it is our technician."""
    business = Business.current()
    who = technician if is_ours else our_technician
    return Call(who(business.technician_name), business.technician_phone)
