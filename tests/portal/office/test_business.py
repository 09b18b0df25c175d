"""Builders, the business's settings, and what a site keeps: record, photos, e-mails."""

from datetime import timedelta

import pytest
from allauth.mfa.models import Authenticator
from django.db import transaction
from django.urls import reverse

from readiness import clock
from readiness.actions.firm import business, rule_values
from readiness.actions.people import rights
from readiness.actions.people.second_factor import reset_second_factor
from readiness.evidence.record import append
from readiness.models import Builder, Business, Message, RecordEntry
from readiness.models.verbs import Verb
from tests.factories import make_applicator, make_builder, make_issued, make_site
from tests.pages import shown
from tests.recorded import record_rows_by_hand

pytestmark = pytest.mark.django_db


def url(name, *args):
    return reverse(f"office:{name}", args=args)


def settings_data(client, **more):
    """What a browser sends: the fields that are on the page, and no others."""
    answer = client.get(url("business"))
    form, page = answer.context["form"], answer.content.decode()
    data = {name: form[name].value() for name in form.fields if f'name="{name}"' in page}
    return {name: value for name, value in {**data, **more}.items() if value not in (None, False)}


def test_a_builder_is_added_and_changed(client_for, applicator):
    client = client_for(applicator)
    client.post(url("builder_new"), {"name": "Kestrel Homes", "phone": "02 5550 0000"})
    made = Builder.objects.get()
    client.post(url("builder_edit", made.pk), {"name": "Kestrel Homes", "notes": "Ring Sam."})
    made.refresh_from_db()
    assert (made.name, made.notes) == ("Kestrel Homes", "Ring Sam.")


def test_two_builders_of_one_name_are_refused_in_words(client_for, applicator):
    make_builder("Kestrel Homes")
    other, client = make_builder("Other Homes"), client_for(applicator)
    for page in (url("builder_new"), url("builder_edit", other.pk)):
        answer = client.post(page, {"name": "kestrel homes"})
        assert "There is already a builder called" in answer.content.decode()


def test_a_builders_page_has_its_people_and_sites(client_for, applicator, contact, builder):
    site = make_site(builder)
    text = client_for(applicator).get(url("builder", builder.pk)).content.decode()
    assert contact.email in text
    assert str(site) in text
    assert reverse("office:invite", args=[builder.pk]) in text


def test_an_owner_changes_the_settings(client_for, applicator):
    client = client_for(applicator)
    answer = client.post(
        url("business"), settings_data(client, name="Ironbark Barriers", paper_size="letter")
    )
    assert answer.status_code == 302, answer.context["form"].errors
    business = Business.current()
    assert (business.name, business.paper_size) == ("Ironbark Barriers", "letter")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"retention_years": "0"}, "Enter 1 to 100 years"),
        ({"name": ""}, "This field is required"),
        ({"confirmation_statement": ""}, "This field is required"),
    ],
)
def test_settings_that_make_no_sense_are_refused_in_words(client_for, applicator, change, said):
    client = client_for(applicator)
    answer = client.post(url("business"), settings_data(client, **change))
    assert said in answer.content.decode()


def test_staff_read_the_settings_and_only_owners_change_them(client_for, applicator):
    client = client_for(make_applicator())
    assert "Only an owner can change these settings" in client.get(url("business")).content.decode()
    assert client.post(url("business"), {"name": "Mine"}).status_code == 403
    assert Business.current().name != "Mine"


def test_the_record_reads_as_a_history_and_says_that_its_chain_holds(
    client_for, applicator, builder
):
    report = make_issued(applicator, make_site(builder))
    record_rows_by_hand()
    text = client_for(applicator).get(url("record", report.site_id)).content.decode()
    assert "History complete and unchanged" in text
    assert "Not checked here" in text
    assert "Issued report 1" in text
    assert "Added item 1" in text
    assert "<strong>Checked a wall</strong>: North wall" in text
    assert str(applicator) in text


def test_the_record_says_since_when_its_rows_are_held_and_when_that_was_checked(
    client_for, applicator, builder
):
    site, day = make_site(builder), timedelta(days=1)
    start = clock.now()
    with transaction.atomic():
        append(site, None, Verb.SITE_ADDED, {}, at=start)  # as versions did that held no rows
        append(site, None, Verb.DIGESTS_BEGUN, {}, at=start + day, rows=[site])
    with clock.at(start + 3 * day):
        answer = client_for(applicator).get(url("record", site.pk))
    assert "History complete and unchanged" in answer.content.decode()
    assert answer.context["held_since"] == start + day
    assert answer.context["checked_at"] == start + 3 * day


def test_like_entries_of_the_record_are_folded_into_one_line(client_for, applicator, builder):
    report = make_issued(applicator, make_site(builder), kinds=("mortar_drop", "dirty_brick"))
    response = client_for(applicator).get(url("record", report.site_id))
    told = [fold.words for fold in response.context["folds"] if fold.words]
    assert any("2 items added" in words for words in told)
    folded = [len(fold.lines) for fold in response.context["folds"]]
    assert sum(folded) == report.site.record.count()


def test_a_changed_entry_of_the_record_is_named(client_for, applicator, builder):
    report = make_issued(applicator, make_site(builder))
    entry = RecordEntry.objects.filter(site=report.site).order_by("sequence")[1]
    # As somebody with the database in hands would do it, past the guards.
    from django.db import connection

    with connection.cursor() as cursor:
        for trigger in _triggers(cursor, "readiness_recordentry"):
            cursor.execute(f"DROP TRIGGER {trigger}")
        cursor.execute("UPDATE readiness_recordentry SET verb='x' WHERE id=%s", [entry.pk])
    text = client_for(applicator).get(url("record", report.site_id)).content.decode()
    assert "The history was changed or is incomplete" in text
    assert f"Entry {entry.sequence} was changed" in text


def _triggers(cursor, table):
    from django.db import connection

    if connection.vendor != "sqlite":
        cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        return []
    cursor.execute("SELECT name FROM sqlite_master WHERE type='trigger' AND tbl_name=%s", [table])
    return [name for (name,) in cursor.fetchall()]


def test_photos_and_emails_of_a_site_are_listed(client_for, applicator, contact, builder):
    report = make_issued(applicator, make_site(builder), notify=[contact.memberships.get()])
    client = client_for(applicator)
    assert "Item 1, mortar drop" in client.get(url("photos", report.site_id)).content.decode()
    fail(report)
    text = client.get(url("emails", report.site_id)).content.decode()
    assert contact.email in text
    assert "Not sent: The server is down" in text
    text = client.get(url("site", report.site_id)).content.decode()
    assert "1 not sent" in text
    assert "E-mails not sent" in text


def fail(report) -> Message:
    """The e-mail about a report, given up."""
    Message.objects.filter(site=report.site).update(
        state=Message.State.GIVEN_UP,
        given_up_at=clock.now(),
        sent_at=None,
        error="The server is down",
        attempts=7,
    )
    return Message.objects.get(site=report.site)


def test_a_failed_email_is_sent_again_from_its_page(client_for, applicator, contact, builder):
    report = make_issued(applicator, make_site(builder), notify=[contact.memberships.get()])
    message = fail(report)
    client, retry = client_for(applicator), url("email_retry", message.pk)
    assert retry in client.get(url("emails", report.site_id)).content.decode()
    text = client.post(retry, follow=True).content.decode()
    assert "Trying again to send the e-mail to" in text
    assert retry not in text
    assert client_for(contact).post(retry).status_code in (302, 403, 404)


def test_the_owner_reads_who_changed_which_setting_from_what_to_what(
    client_for, applicator, contact
):
    business.change_business(applicator, phone="02 5550 0199")
    rule_values.change_rule_values(applicator, {"invitation_valid_days": "2"})
    rights.switch_contact(applicator, contact.memberships.get(), on=False)
    page = shown(client_for(applicator).get(url("business_record")))
    assert "phone: “”, now “02 5550 0199”" in page
    assert "invitation valid days: the default, now “2”" in page
    assert f"Stopped a person from signing in: {contact}" in page.replace("</strong>", "")


def test_rights_and_second_factors_read_with_what_was_before(client_for, applicator, contact):
    colleague = make_applicator(name="Terry Tech")
    Authenticator.objects.create(user=colleague, type="totp", data={})
    reset_second_factor(applicator, colleague)
    rights.change_contact(
        applicator, contact.memberships.get(), position="Office", sites=None, role="reader"
    )
    page = shown(client_for(applicator).get(url("business_record")))
    assert "Supervisor, all sites; now Read only, all sites" in page
    assert "it was: authenticator app" in page


def test_the_record_of_people_and_settings_is_for_owners(client_for, contact):
    address = url("business_record")
    assert client_for(make_applicator()).get(address).status_code == 403
    assert client_for(contact).get(address).status_code in (403, 404)
