"""Small makers of stored things for tests; every argument has a sensible default."""

import hashlib
from datetime import date, timedelta
from itertools import count

from readiness import clock
from readiness.actions.reporting import drafts, issuing
from readiness.actions.visits import booking, confirming
from readiness.actions.visits.proof import Proof
from readiness.messages.invitation_links import new_link
from readiness.models import Builder, BuilderContact, DayOff, Original, Photo, Site, User, WallRun
from readiness.rules import days_off

_number = count(1)

SHOW_DAY = days_off.DayOff(
    "Brisbane show day",
    days_off.Repeats.WEEKDAY,
    nth=2,
    weekday=2,
    month=8,
    postcodes=(("4000", "4179"),),
)
"""Second Wednesday of August, in and round the city."""


def make_applicator(email="", name="Alex Applicator", **fields):
    """A technician of the one business."""
    email = email or f"technician{next(_number)}@applicator.example"
    return User.objects.create_user(email, name=name, role=User.Role.APPLICATOR, **fields)


def make_builder(name=""):
    """A building company."""
    return Builder.objects.create(name=name or f"Builder {next(_number)}")


def make_contact(builder=None, email="", name="Sam Supervisor", sites=None, **fields):
    """A user who signs in for a builder; `sites` limits them to those sites. Returns the user."""
    email = email or f"supervisor{next(_number)}@builder.example"
    user = User.objects.create_user(email, name=name, role=User.Role.BUILDER, **fields)
    contact = BuilderContact.objects.create(
        user=user,
        builder=builder or make_builder(),
        position="Site supervisor",
        all_sites=sites is None,
    )
    contact.sites.set(sites or [])
    return user


def join(user, builder, sites=None, **fields):
    """A further membership of a user, in another builder. Returns it."""
    contact = BuilderContact.objects.create(
        user=user,
        builder=builder,
        number=user.memberships.count() + 1,
        position="Site supervisor",
        all_sites=sites is None,
        **fields,
    )
    contact.sites.set(sites or [])
    return contact


def token_of(invitation):
    """The token of a link that was e-mailed to the invited address: the same at each call."""
    if not hasattr(invitation, "token"):
        invitation.token = new_link(invitation).token
    return invitation.token


def make_site(builder=None, state="NSW", **fields):
    """A site of a builder, with no walls yet."""
    number = next(_number)
    defaults = {
        "street": f"{number} Tallowood Way",
        "suburb": "Mirrin Vale",
        "postcode": "2999",
        "job_number": f"J-{number:04d}",
        "created_at": clock.now(),
    }
    return Site.objects.create(
        builder=builder or make_builder(), state=state, **{**defaults, **fields}
    )


def make_runs(site, *labels, length_mm=12_000, finish="face_brick"):
    """Wall runs with right turns, in the order of `labels` (four by default)."""
    labels = labels or ("North wall", "East wall", "South wall", "West wall")
    return [
        WallRun.objects.create(
            site=site, position=place, label=label, length_mm=length_mm, finish=finish
        )
        for place, label in enumerate(labels, 1)
    ]


def make_day_off(entry=SHOW_DAY):
    """An entry of the business's list of days off."""
    row = DayOff()
    row.set_to(entry)
    row.save()
    return row


def make_photo(site, uploaded_by=None, original=None, **fields):
    """A photo's rows, without a file: for tests that do not look at the picture."""
    original = original or _make_original()
    return Photo.objects.create(
        site=site,
        original=original,
        uploaded_by=uploaded_by,
        filename=f"wall-{original.digest[:4]}.jpg",
        received_at=clock.now(),
        **fields,
    )


def _make_original():
    digest = hashlib.sha256(str(next(_number)).encode()).hexdigest()
    return Original.objects.create(
        digest=digest,
        byte_size=1000,
        media_type="image/jpeg",
        width_px=1600,
        height_px=1200,
        received_at=clock.now(),
    )


def make_draft(applicator, site, **fields):
    """A draft report through the front door; treatment is wanted on a day to come."""
    in_a_month = clock.now().astimezone(site.zone).date() + timedelta(days=28)
    wanted = date(2026, 12, 18) if in_a_month < date(2027, 1, 10) else in_a_month
    fields.setdefault("visited_on", date(2026, 11, 20))
    fields.setdefault("treatment_wanted_on", wanted)
    return drafts.start_report(applicator, site, **fields)


def make_item(applicator, report, kind="mortar_drop", run=None, photo=True, **fields):
    """An item of a draft, with a photo."""
    run = run or report.site.wall_runs.filter(removed_at=None).first()
    photos = [make_photo(report.site, applicator)] if photo else []
    fields.setdefault("from_mm", 1000)
    return drafts.add_item(applicator, report, kind=kind, wall_run=run, photos=photos, **fields)


def make_issued(applicator, site=None, kinds=("mortar_drop",), notify=(), **fields):
    """An issued report: every wall checked, one item a kind on the first wall."""
    site = site or make_site()
    runs = list(site.wall_runs.filter(removed_at=None)) or make_runs(site)
    report = make_draft(applicator, site, **fields)
    for run in runs:
        drafts.check_run(applicator, report, run)
    for kind in kinds:
        make_item(applicator, report, kind=kind, run=runs[0])
    return issuing.issue_report(applicator, report, notify=notify)


def all_ticks(site):
    """Every tick of a readiness confirmation, for every wall that stands."""
    return {str(run.pk): list(confirming.TICKS) for run in site.wall_runs.filter(removed_at=None)}


def proof_of(contact, **fields):
    """A code that was sent to the contact's own address and entered just now."""
    given = {"device": "Chrome on Android", "address": contact.email, "at": clock.now()}
    return Proof(**{"method": "code", **given, **fields})


def confirm(contact, report, **fields):
    """A signed confirmation of readiness."""
    given = {"ticks": all_ticks(report.site), "proof": proof_of(contact)}
    return confirming.confirm_ready(contact, report, **{**given, **fields})


def make_turned_away(applicator, contact, site, *, confirmed, visited):
    """A report that was confirmed and booked for a visit (times with zones), which was in vain."""
    with clock.at(confirmed):
        report = make_issued(applicator, site, kinds=())
        confirm(contact, report)
        day = visited.astimezone(site.zone).date()
        offered = booking.offer_date(applicator, site, day=day, half="morning")
        booked = booking.accept_offer(contact, offered)
    with clock.at(visited):
        booking.turn_away(applicator, booked, reason="Soil is back.")
    return report
