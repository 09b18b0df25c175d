"""Treated houses through the front door, for tests of what follows from many of them."""

from datetime import UTC, datetime, timedelta

from readiness import clock
from readiness.actions.visits import booking
from readiness.models import Booking, Site
from tests.factories import confirm, make_issued, make_runs, make_site

FIRST = datetime(2026, 11, 20, 0, 0, tzinfo=UTC)


def treated(
    applicator, contact, used_ml: int, *, days: int = 0, site: Site | None = None, **run
) -> Booking:
    """A house of one wall (60 m unless said), reported, confirmed, booked and treated in one day.

    `days` says how many days after the first Friday.
    """
    with clock.at(FIRST + timedelta(days=days)):
        if site is None:
            site = make_site(contact.memberships.get().builder)
            make_runs(site, "Wall", **({"length_mm": 60_000} | run))
        confirm(contact, make_issued(applicator, site, kinds=()))
        day = clock.now().astimezone(site.zone).date()
        offered = booking.offer_date(applicator, site, day=day, half="afternoon")
        booked = booking.accept_offer(contact, offered)
        return booking.record_treatment(applicator, booked, used_ml=used_ml)
