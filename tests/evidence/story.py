"""A site with something of everything that the Record covers, done through the actions."""

import io
import uuid
from datetime import timedelta

from django.utils import timezone

from readiness import clock
from readiness.actions import referrals, sharing
from readiness.actions.firm import days_off
from readiness.actions.fixing import fixes
from readiness.actions.people import inviting, rights
from readiness.actions.photos import keeping
from readiness.actions.reporting import drafts
from readiness.actions.sites import sites
from readiness.actions.tasks import make_paper
from readiness.actions.visits import booking, confirming, putting_off
from readiness.models import Paper
from tests.actions.cases.base import ARROW, MARKS
from tests.factories import SHOW_DAY, confirm, make_issued, make_item
from tests.photos.pictures import jpeg, scene
from tests.recorded import record_rows_by_hand


def tell(applicator, contact, site) -> None:
    """From the walk to a treated house, with a trip in vain; its last paper is really made."""
    sites.note_rain(applicator, site, clock.now() - timedelta(days=1))
    sites.change_site(applicator, site, notify=[contact.memberships.get()])
    report = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick", "unfilled_joint"))
    record_rows_by_hand()
    first, second, third = report.items.order_by("number")
    for item, number in ((first, 1), (second, 2)):
        shown = keeping.add_photo(contact, site, io.BytesIO(jpeg(scene(number), lat=-33, lon=151)))
        fixes.report_fixed(contact, item, photos=[shown], note="Cleaned off.")
    fixes.accept_fix(applicator, first, note="Good.")
    fixes.send_back(applicator, second, reason="Still dirty.")
    fixes.accept_on_site(applicator, second)
    fixes.disagree(contact, third, reason="It was there before.")
    fixes.decide_disagreement(applicator, third, stands=False, reason="Right.")
    keeping.save_markup(applicator, shown, [ARROW], seen_version=0)
    keeping.save_measurement(applicator, shown, MARKS)
    keeping.remove_photo(
        applicator, keeping.add_photo(applicator, site, io.BytesIO(jpeg(scene(3)))), "By mistake."
    )
    _refer(applicator, site)
    sharing.revoke_trade_link(applicator, sharing.share_trade_list(contact, site, "bricklayer"))
    inviting.invite_contact(applicator, site.builder, "kim@wattle.example", sites=[site])
    days_off.keep_day_off(applicator, SHOW_DAY, day_off_id=uuid.uuid4())
    withdrawn = confirm(contact, report)
    confirming.withdraw_confirmation(contact, withdrawn, reason="Rain.")
    for hours, end in ((1, _turned_away), (2, _treated)):
        with clock.at(clock.now() + timedelta(hours=hours)):
            confirm(contact, report)
            day = clock.now().astimezone(site.zone).date()
            offered = booking.offer_date(applicator, site, day=day, half="morning", note="Early.")
            booked = booking.accept_offer(contact, offered)
            putting_off.put_off(
                applicator, booked, cause="wind", day=day, half="afternoon", note="Gusts."
            )
            booked.refresh_from_db()
            end(applicator, booking.accept_offer(contact, booked))
    with clock.at(clock.now() + timedelta(hours=3)):
        _go_on(applicator, site)


def _refer(applicator, site) -> None:
    """Live termites, and a wall that nobody can reach: each decided, the wall twice."""
    rights.set_licence(applicator, applicator, "T-2208")
    photos = [
        keeping.add_photo(applicator, site, io.BytesIO(jpeg(scene(number)))) for number in (4, 5)
    ]
    wall = site.wall_runs.order_by("position").last()
    found = referrals.note_live_termites(
        applicator, site, wall_run=wall, from_mm=2400, note="Mud tube.", photos=photos[:1]
    )
    barred = referrals.note_no_access(
        applicator, wall, cause="boundary", from_mm=0, to_mm=4200, note="No gap."
    )
    for referral, outcomes in (
        (barred, ("can_be_reached", "not_treated")),
        (found, ("treated_separately",)),
    ):
        for outcome in outcomes:
            referrals.decide_referral(
                applicator, referral, outcome=outcome, reason="Seen.", photos=photos[1:]
            )
            photos = []


def _go_on(applicator, site) -> None:
    """A new draft, and the paper of what was signed."""
    draft = drafts.start_report(applicator, site, visited_on=timezone.localdate())
    make_item(applicator, draft, run=site.wall_runs.first(), photo=False)
    paper = site.papers.filter(kind=Paper.Kind.CONFIRMATION).latest("requested_at")
    make_paper.call(str(paper.pk))
    record_rows_by_hand()


def _turned_away(applicator, booked) -> None:
    booking.turn_away(applicator, booked, reason="Soil is back.")


def _treated(applicator, booked) -> None:
    booking.record_treatment(
        applicator, booked, used_ml=5000, batch_number="B-1", weather="dry", note="Done."
    )
