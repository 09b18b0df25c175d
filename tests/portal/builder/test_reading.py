"""Who only reads sees everything, one line that says why, and nothing that would then refuse."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions import referrals, sharing
from readiness.actions.fixing import fixes
from readiness.actions.sites import sites
from readiness.actions.visits import booking, confirming
from readiness.models import BuilderContact, RecordEntry
from readiness.models.freeze import without_triggers
from tests.actions.cases.base import FRIDAY, NOW, Cast
from tests.factories import join, make_builder, make_contact, make_photo
from tests.pages import shown

pytestmark = pytest.mark.django_db

OF_ONES_OWN = ("/accounts/",)
"""What somebody does about their own account."""

READ_ONLY = "You can read here. Ask us if you need to do more: we can change your rights."
ACTING = re.compile(r'href="(/builder/fixing/[^"]*|[^"]*#ask)"')
STEPS = ("Ask for a day", "Answer the offer", "Dispute</a>")


def fixing(cast):
    """Items to fix, sent back, disputed, and reported fixed but not reviewed."""
    report = cast.issued(kinds=("mortar_drop", "unfilled_joint", "dirty_brick"))
    first, second, third = report.items.order_by("number")
    for item in (first, second):
        fixes.report_fixed(cast.contact, item, photos=[make_photo(cast.site, cast.contact)])
    fixes.send_back(cast.applicator, second, reason="Still open.")
    fixes.disagree(cast.contact, third, reason="It is clean.")
    sharing.share_trade_list(cast.contact, cast.site, first.trade)


def asked(cast):
    cast.confirmed()
    booking.ask_for_booking(cast.contact, cast.site, preferences=[(FRIDAY, "morning")])


def asked_for_days_that_passed(cast):
    asked(cast)
    cast.site.bookings.update(preferences=[{"date": "2026-11-20", "half": "morning"}])


def turned_down(cast):
    booking.decline_offer(cast.contact, cast.offered(), note="Roofers")


def offered(cast):
    cast.confirmed()
    cast.offered()


def offer_passed(cast):
    cast.offered()
    with without_triggers():
        cast.site.bookings.update(day=NOW.date() - timedelta(days=7))


def withdrawn(cast):
    confirming.withdraw_confirmation(cast.contact, cast.confirmed(), reason="Scaffold")


def turned_away(cast):
    booked = cast.booked()
    with clock.at(NOW + timedelta(days=4)):
        booking.turn_away(cast.applicator, booked, reason="Wet walls")


def treated(cast):
    booked = cast.booked()
    with clock.at(NOW + timedelta(days=4)):
        booking.record_treatment(cast.applicator, booked, used_ml=9000)


def treated_with_another_report(cast):
    treated(cast)
    with clock.at(NOW + timedelta(days=4, hours=2)):
        cast.issued(kinds=())


def closed(cast):
    treated(cast)
    with clock.at(NOW + timedelta(days=5)):
        sites.close_site(cast.applicator, cast.site)


def live_termites(cast):
    fixing(cast)
    cast.offered()
    referrals.note_live_termites(cast.applicator, cast.site)


def out_of_reach(cast):
    cast.confirmed()
    cast.offered()
    referrals.note_no_access(cast.applicator, cast.wall(), cause="boundary")


STAGES = [
    live_termites, out_of_reach,
    fixing, lambda cast: None, lambda cast: cast.issued(kinds=()), lambda cast: cast.confirmed(),
    asked, asked_for_days_that_passed, turned_down, offered, lambda cast: cast.offered(),
    offer_passed, withdrawn, lambda cast: cast.booked(), turned_away, treated,
    treated_with_another_report, closed,
]  # fmt: skip
NAMES = [
    "live termites", "out of reach",
    "fixing", "empty", "to confirm", "confirmed", "asked", "asked, passed", "turned down",
    "offered", "offered, not ready", "offer passed", "withdrawn", "booked", "turned away",
    "treated", "treated, reported", "closed",
]  # fmt: skip


@pytest.fixture
def cast(applicator, contact, builder, site):
    with clock.at(NOW):
        yield Cast(applicator, contact, builder, site)


@pytest.fixture
def reader(builder):
    user = make_contact(builder, "reader@wattle.example", name="Rae Reader")
    user.memberships.update(role=BuilderContact.Role.READER, vouched_how="address")
    return user


def pages_of(site):
    """Every page of the builder's about a site and its things, and the lists."""
    for name in ("home", "sites", "team"):
        yield reverse(f"builder:{name}")
    for name in ("site", "confirm", "book", "history", "report_fixed_many"):
        yield reverse(f"builder:{name}", args=[site.pk])
    yield reverse("papers:site", args=[site.pk])
    for report in site.reports.issued():
        yield reverse("builder:report", args=[report.pk])
        for item in report.items.all():
            for name in ("report_fixed", "disagree"):
                yield reverse(f"builder:{name}", args=[item.pk])
            yield reverse("builder:share", args=[site.pk, item.trade])
    for photo in site.photos.all():
        yield reverse("photos:detail", args=[photo.pk])
        yield reverse("photos:compare", args=[photo.pk])


def forms_on(page: str) -> list[str]:
    """Where the forms of a page post to, without those about the reader's own account."""
    forms = re.findall(r'<form\b[^>]*method="post"[^>]*>', page)
    return [form for form in forms if not re.search(r'action="/accounts/(?!code/)', form)]


def says_why(path: str) -> bool:
    """A page of the builder's about one site, or the people, which says why there is no button."""
    return path.startswith("/builder/team") or (
        path.startswith("/builder/") and path.count("/") > 3
    )


@pytest.mark.parametrize("stage", STAGES, ids=NAMES)
def test_a_reader_finds_no_form_and_no_way_to_one(client_for, cast, reader, stage):
    stage(cast)
    client = client_for(reader)
    for path in pages_of(cast.site):
        answer = client.get(path, follow=True)
        assert answer.status_code in (200, 404), path
        page = shown(answer)
        assert forms_on(page) == [], path
        assert not ACTING.findall(page), path
        assert [words for words in STEPS if words in page] == [], path
        if answer.status_code == 200 and says_why(path):
            assert page.count(READ_ONLY) == 1, path


@pytest.mark.long
@pytest.mark.parametrize("stage", STAGES[:-1], ids=NAMES[:-1])
def test_the_same_pages_have_forms_for_who_acts(client_for, cast, stage):
    """So that the walk above walks where forms are. On an archived site nobody has any."""
    stage(cast)
    client = client_for(cast.contact)
    pages = [shown(client.get(path)) for path in pages_of(cast.site)]
    assert any(forms_on(page) for page in pages)
    assert READ_ONLY not in "".join(pages)


def test_what_a_reader_sends_all_the_same_is_refused(client_for, cast, reader):
    fixing(cast)
    client, before = client_for(reader), RecordEntry.objects.count()
    item, fix = (
        cast.site.reports.get().items.first(),
        cast.site.reports.get().items.first().fixes.get(),
    )
    link = cast.site.trade_links.first()
    sent = {
        reverse("builder:take_back", args=[fix.pk]): {},
        reverse("builder:disagree", args=[item.pk]): {"reason": "No."},
        reverse("builder:share", args=[cast.site.pk, item.trade]): {},
        reverse("builder:revoke", args=[link.pk]): {},
        reverse("builder:book", args=[cast.site.pk]): {"day": "2026-11-27/morning"},
        reverse("papers:guide", args=[cast.site.pk]): {},
    }
    assert {path: client.post(path, data).status_code for path, data in sent.items()} == (
        dict.fromkeys(sent, 403)
    )
    assert RecordEntry.objects.count() == before


def test_who_reads_at_one_builder_has_their_buttons_at_the_other(client_for, cast, contact):
    cast.issued()
    elsewhere = make_builder("Banksia Builders")
    join(contact, elsewhere, role=BuilderContact.Role.READER)
    page = shown(client_for(contact).get(reverse("builder:site", args=[cast.site.pk])))
    assert "Mark as fixed" in page
    team = shown(client_for(contact).get(reverse("builder:team")))
    assert team.count(READ_ONLY) == 1
    assert team.index("Banksia Builders") < team.index(READ_ONLY) < team.index("Wattle Homes")
