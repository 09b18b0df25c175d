"""Writing a report at the wall: starting, checking, items, what keeps it back, issuing."""

import json
import re
import uuid
from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.actions.reporting import drafts, issuing
from readiness.models import DefectItem, SiteReport
from readiness.rules.defects.catalogue import KINDS, OFTEN
from readiness.rules.vocabulary import KIND_GROUPS, Caution, KindGroup
from readiness.wording.cautions import caution
from tests.factories import (
    make_contact,
    make_draft,
    make_issued,
    make_item,
    make_photo,
    make_runs,
    make_site,
)
from tests.pages import shown
from tests.photos.pictures import jpeg

pytestmark = pytest.mark.django_db


def url(name, *args):
    return reverse(f"office:{name}", args=args)


@pytest.fixture
def site(builder):
    site = make_site(builder)
    make_runs(site)
    return site


@pytest.fixture
def draft(applicator, site):
    return make_draft(applicator, site)


@pytest.fixture
def wall(site):
    return site.wall_runs.get(position=1)


def item_page(draft, wall, kind):
    return f"{url('item_new', draft.pk)}?wall={wall.pk}&kind={kind}"


def item_data(wall, **more):
    return {
        "item_id": str(uuid.uuid4()),
        "wall_run": wall.pk,
        "required_fix": "",
        "effect": "holds",
        "trade": "renderer",
        **more,
    }


def start(**more):
    return {"visited_on": "2026-11-20", "treatment_wanted_on": "2026-12-18", **more}


# Starting


def test_a_report_needs_walls_first(client_for, applicator, builder):
    site = make_site(builder)
    answer = client_for(applicator).get(url("report_start", site.pk), follow=True)
    assert answer.redirect_chain[0][0] == url("walls", site.pk)
    assert "Enter the walls first" in answer.content.decode()


def test_starting_twice_is_one_draft(client_for, applicator, site):
    client = client_for(applicator)
    first = client.post(url("report_start", site.pk), start())
    again = client.post(url("report_start", site.pk), start())
    assert SiteReport.objects.count() == 1
    assert first.url == again.url == url("report", SiteReport.objects.get().pk)


def test_a_visit_can_not_be_in_the_future_and_what_was_typed_stays(client_for, applicator, site):
    data = start(visited_on="2099-01-01", treatment_wanted_on="2099-02-01", weather="Dry, 24 °C")
    answer = client_for(applicator).post(url("report_start", site.pk), data)
    assert "This day is still to come" in answer.content.decode()
    old = client_for(applicator).post(url("report_start", site.pk), start(visited_on="0026-11-20"))
    assert "Check the year" in old.content.decode()
    assert "Dry, 24 °C" in answer.content.decode()


def test_what_is_still_open_is_carried_over_by_choice(client_for, applicator, site):
    issued = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick", "wet_brick"))
    first, second, third = issued.items.all()
    fixes.accept_on_site(applicator, third)
    client = client_for(applicator)
    page = client.get(url("report_start", site.pk))
    assert [item.pk for item in page.context["carry"].items] == [first.pk, second.pk]
    client.post(url("report_start", site.pk), start(carry_over=[second.pk]))
    carried = SiteReport.objects.drafts().get().items.get()
    assert (carried.carried_from, carried.kind) == (second, "dirty_brick")


def test_an_accepted_item_can_not_be_carried_over(client_for, applicator, site):
    item = make_issued(applicator, site).items.get()
    fixes.accept_on_site(applicator, item)
    answer = client_for(applicator).post(url("report_start", site.pk), start(carry_over=[item.pk]))
    assert "One of these is no longer open" in answer.content.decode()
    assert not SiteReport.objects.drafts().exists()


def test_due_dates_follow_the_day_that_treatment_is_wanted(client_for, applicator, draft, wall):
    usual = make_item(applicator, draft, run=wall)
    by_hand = make_item(applicator, draft, run=wall, due_on=date(2026, 12, 1))
    assert usual.due_on == date(2026, 12, 16)  # two working days before 18 December
    client_for(applicator).post(
        url("report_head", draft.pk), start(treatment_wanted_on="2026-12-11")
    )
    usual.refresh_from_db()
    by_hand.refresh_from_db()
    assert (usual.due_on, by_hand.due_on) == (date(2026, 12, 9), date(2026, 12, 1))


def test_a_draft_can_be_thrown_away_and_its_photos_stay(client_for, applicator, draft, wall):
    item = make_item(applicator, draft, run=wall)
    photo = item.photos.get()
    client_for(applicator).post(url("report_drop", draft.pk))
    assert not SiteReport.objects.exists()
    photo.refresh_from_db()
    assert photo.on_site


# Checking walls


def test_a_wall_is_checked_once_however_often_the_button_is_sent(
    client_for, applicator, draft, wall
):
    client = client_for(applicator)
    for _ in range(2):
        answer = client.post(url("run_check", draft.pk, wall.pk))
    assert answer.url == f"{url('report', draft.pk)}#wall-{wall.pk}"
    assert draft.checks.count() == 1
    client.post(url("run_check", draft.pk, wall.pk), {"checked": "no"})
    assert draft.checks.count() == 0


def test_with_scripts_the_card_the_counts_and_the_plan_come_back(
    client_for, applicator, draft, wall
):
    make_item(applicator, draft, run=wall)
    answer = client_for(applicator).post(
        url("run_check", draft.pk, wall.pk), headers={"HX-Request": "true"}
    )
    text = shown(answer)
    assert "<html" not in text
    assert f'id="wall-{wall.pk}"' in text
    assert "1 of 4 walls checked, 1 item" in text
    plan = text[text.index('id="report-plan" hx-swap-oob="true"') :]
    assert "North wall, 12 m, has items" in plan.replace("\xa0", " ")


def test_a_note_and_photos_show_that_a_wall_was_right(client_for, applicator, draft):
    client, wall = client_for(applicator), draft.site.wall_runs.first()
    photo = make_photo(draft.site, applicator)
    client.post(
        url("run_shown", draft.pk, wall.pk),
        {"note": "Joints full to the bottom course.", "photos_kept": [str(photo.pk)]},
    )
    check = draft.checks.get()
    assert check.wall_run == wall
    assert list(check.photos.all()) == [photo]
    for page in (url("report", draft.pk), url("run_shown", draft.pk, wall.pk)):
        text = client.get(page).content.decode()
        assert "Joints full to the bottom course." in text
        assert str(photo.pk) in text


def test_a_note_that_is_too_long_comes_back_with_its_photos(client_for, applicator, draft):
    client, wall = client_for(applicator), draft.site.wall_runs.first()
    photo = make_photo(draft.site, applicator)
    answer = client.post(
        url("run_shown", draft.pk, wall.pk), {"note": "x" * 201, "photos_kept": [str(photo.pk)]}
    )
    text = answer.content.decode()
    assert "x" * 201 in text
    assert f'name="photos_kept" value="{photo.pk}"' in text
    assert not draft.checks.exists()


def test_what_shows_a_wall_right_stays_on_the_issued_report_and_the_site(
    client_for, applicator, site
):
    draft, wall = make_draft(applicator, site), site.wall_runs.first()
    for run in site.wall_runs.all():
        drafts.check_run(applicator, draft, run)
    photo = make_photo(site, applicator)
    drafts.check_run(applicator, draft, wall, note="Ground clear.", photos=[photo])
    issuing.issue_report(applicator, draft)
    client = client_for(applicator)
    for page in (url("report", draft.pk), url("site", site.pk)):
        text = client.get(page).content.decode()
        assert "Ground clear." in text
        assert str(photo.pk) in text


def test_a_wall_of_another_site_can_not_be_checked(client_for, applicator, draft):
    stranger = make_runs(make_site(), "Theirs")[0]
    assert client_for(applicator).post(url("run_check", draft.pk, stranger.pk)).status_code == 404


# Items


def test_an_item_is_a_wall_then_a_kind_then_a_form(client_for, applicator, draft, wall):
    client, page = client_for(applicator), url("item_new", draft.pk)
    assert f"?wall={wall.pk}" in client.get(page).content.decode()
    kinds = client.get(f"{page}?wall={wall.pk}").content.decode()
    assert all(f"kind={slug}" in kinds for slug in KINDS)
    assert kinds.count('class="kind-drawing"') == len(KINDS) + 1  # nobody can reach it
    form = client.get(item_page(draft, wall, "render_line_low")).content.decode()
    assert "Cut a new joint in the render (struck joint)" in form
    assert caution(Caution.SILICA) in form, "what is said with every fix of the kind"


def test_what_is_found_most_often_comes_first_and_the_rest_by_group(
    client_for, applicator, draft, wall
):
    page = client_for(applicator).get(f"{url('item_new', draft.pk)}?wall={wall.pk}")
    text = page.content.decode()
    order = re.findall(r"kind=(\w+)", text)
    assert order[: len(OFTEN)] == list(OFTEN)
    assert order[-1] == "other"
    assert sorted(order) == sorted(KINDS)
    groups = [words for group, words in KIND_GROUPS.items() if group != KindGroup.OTHER]
    assert re.findall(r"<summary>\s*<span>\s*<strong>([^<]+)</strong>", text) == groups
    for kind in KINDS.values():
        assert f"<span>{kind.name}</span>" in text, "what its tile, item and paper call it"


def test_who_looks_for_a_suspended_floor_reads_that_it_is_not_covered(
    client_for, applicator, draft, wall
):
    client = client_for(applicator)
    for page in (f"{url('item_new', draft.pk)}?wall={wall.pk}", url("walls", draft.site_id)):
        text = " ".join(client.get(page).content.decode().split())
        assert "brick walls on concrete slabs" in text
        assert "uspended floors" in text


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_a_form_that_can_be_saved(client_for, applicator, draft, wall, kind):
    entry = KINDS[kind]
    more = {"trade": entry.trade}
    if entry.measurement:
        more["measured_value"] = 40
    if not entry.fix:
        more["required_fix"] = "Take the old sign down."
    answer = client_for(applicator).post(item_page(draft, wall, kind), item_data(wall, **more))
    item = DefectItem.objects.get()
    assert answer.url == f"{url('report', draft.pk)}?saved={item.pk}#wall-{wall.pk}"
    assert (item.kind, item.wall_run) == (kind, wall)
    assert item.required_fix


def test_a_fix_that_nobody_edited_follows_the_measurement(client_for, applicator, draft, wall):
    client, page = client_for(applicator), item_page(draft, wall, "render_line_low")
    suggested = client.get(page).context["form"]["suggested_fix"].value()
    data = item_data(
        wall, required_fix=suggested, suggested_fix=suggested, measured_value="40", from_mm="2.4",
        to_mm="5.1",
    )  # fmt: skip
    client.post(page, data)
    item = DefectItem.objects.get()
    assert item.required_fix.startswith(
        "The joint cut in the render (struck joint) is 40 mm above finished ground. Cut a new one "
        "35 mm higher from 2.4 m to 5.1 m and make good the old one, or lower the ground by 35 mm, "
    )
    assert (item.from_mm, item.to_mm) == (2_400, 5_100)
    assert item.measured_from == DefectItem.MeasuredFrom.TAPE


def test_a_fix_that_somebody_edited_stays_as_it_is(client_for, applicator, draft, wall):
    page = item_page(draft, wall, "render_line_low")
    data = item_data(wall, required_fix="Ring us first.", suggested_fix="x", measured_value="40")
    client_for(applicator).post(page, data)
    assert DefectItem.objects.get().required_fix == "Ring us first."


def test_the_same_form_sent_twice_is_one_item_and_the_last_words_count(
    client_for, applicator, draft, wall
):
    client, page = client_for(applicator), item_page(draft, wall, "render_line_low")
    data = item_data(wall, measured_value="40", note="first")
    client.post(page, data)
    client.post(page, {**data, "note": "second"})
    assert DefectItem.objects.get().note == "second"


def test_files_of_a_form_that_is_sent_again_are_there_once(client_for, applicator, draft, wall):
    client = client_for(applicator)
    page = item_page(draft, wall, "mortar_drop")
    data = item_data(wall, trade="bricklayer")
    shown = url("run_shown", draft.pk, wall.pk)
    for _ in range(2):  # the answer to the first got lost, so the browser sent it again
        client.post(page, {**data, "photos": SimpleUploadedFile("drop.jpg", jpeg())})
        client.post(shown, {"note": "", "photos": SimpleUploadedFile("wall.jpg", jpeg())})
    assert DefectItem.objects.get().photos.count() == 1
    assert draft.checks.get().photos.count() == 1


def test_scripts_are_told_the_address_to_go_on_to(client_for, applicator, draft, wall):
    answer = client_for(applicator).post(
        item_page(draft, wall, "mortar_drop"),
        item_data(wall, trade="bricklayer", then="another"),
        headers={"X-Answer": "address"},
    )
    go = json.loads(answer.content)["go"]
    assert go.startswith(f"{url('item_new', draft.pk)}?wall={wall.pk}&saved=")


def test_photos_that_were_sent_before_go_with_the_item(client_for, applicator, draft, wall):
    photo = make_photo(draft.site, applicator)
    data = item_data(wall, trade="bricklayer", photos_kept=[str(photo.pk)])
    client_for(applicator).post(item_page(draft, wall, "mortar_drop"), data)
    photo.refresh_from_db()
    assert photo.item == DefectItem.objects.get()


def test_photos_stay_with_the_form_when_it_comes_back(client_for, applicator, draft, wall):
    photo = make_photo(draft.site, applicator)
    data = item_data(wall, from_mm="99", note="by the tap", photos_kept=[str(photo.pk)])
    answer = client_for(applicator).post(item_page(draft, wall, "mortar_drop"), data)
    text = answer.content.decode()
    assert "past the end of North wall, which is 12 m long" in text
    assert str(photo.pk) in text
    assert "by the tap" in text
    assert re.search(r'href="#id_from_mm"', text)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"measured_value": "forty"}, "is not a length"),
        ({"measured_value": "2,4"}, "is not in whole mm. For metres, write"),
        ({"measured_value": "9000"}, "be right. It can be from 0 mm to 2000 mm"),
        ({"from_mm": "5", "to_mm": "2"}, "end must come after the start"),
        ({"to_mm": "2"}, "end must come after the start"),
        ({"from_mm": "left"}, "is not a length"),
    ],
)
def test_bad_input_is_said_beside_its_field(client_for, applicator, draft, wall, typed, said):
    page = item_page(draft, wall, "render_line_low")
    answer = client_for(applicator).post(page, item_data(wall, **typed))
    assert said in answer.content.decode()
    assert not DefectItem.objects.exists()


@pytest.mark.parametrize("typed", ["38", " 38 ", "38mm", "38 MM", "3,8 cm", "38.0", "0.038 m"])
def test_a_measurement_is_read_with_its_unit(client_for, applicator, draft, wall, typed):
    page = item_page(draft, wall, "render_line_low")
    form = client_for(applicator).get(page).context["form"]
    assert form["measured_value"].field.widget.input_type == "text"  # a number's drops "38mm"
    client_for(applicator).post(page, item_data(wall, measured_value=typed))
    assert DefectItem.objects.get().measured_value == 38


def test_something_else_needs_its_own_words(client_for, applicator, draft, wall):
    answer = client_for(applicator).post(item_page(draft, wall, "other"), item_data(wall))
    assert "Say what is wrong and what has to be done" in answer.content.decode()


@pytest.mark.parametrize(("days", "said"), [(1, "is still to come"), (-400, "Check the year")])
def test_washing_can_only_have_been_seen_lately(client_for, applicator, draft, wall, days, said):
    washed = (clock.now() + timedelta(days=days)).strftime("%Y-%m-%dT%H:%M")
    answer = client_for(applicator).post(
        item_page(draft, wall, "dirty_brick"), item_data(wall, cleaned_wet_at=washed)
    )
    assert said in answer.content.decode()
    assert not DefectItem.objects.exists()


def test_a_record_only_item_has_no_state_and_no_due_date(client_for, applicator, draft, wall):
    data = item_data(wall, effect="record", due_on="2026-12-01", trade="bricklayer")
    client_for(applicator).post(item_page(draft, wall, "mortar_drop"), data)
    item = DefectItem.objects.get()
    assert (item.state, item.due_on) == ("", None)


def test_a_measurement_is_held_against_its_rule_while_it_is_typed(client_for, applicator, draft):
    client, page = client_for(applicator), url("item_check", draft.pk)
    low = client.get(page, {"kind": "render_line_low", "measured_value": "40"}).content.decode()
    assert "35 mm less than the 75 mm needed" in low
    assert "Rule:" in low
    assert "Source:" in low
    assert "Cut a new one 35 mm higher" in low
    good = client.get(page, {"kind": "render_line_low", "measured_value": "80"}).content.decode()
    assert "That is enough: at least 75 mm needed" in good
    assert (
        low
        == client.get(page, {"kind": "render_line_low", "measured_value": "40mm"}).content.decode()
    )
    odd = client.get(page, {"kind": "render_line_low", "measured_value": "4o"}).content.decode()
    assert "Enter whole millimetres" in odd
    assert client.get(page, {"kind": "nothing"}).status_code == 404


def test_an_item_can_be_changed_moved_and_taken_out(client_for, applicator, draft, wall, site):
    item, other = make_item(applicator, draft, run=wall), site.wall_runs.get(position=2)
    client = client_for(applicator)
    page = client.get(url("item_edit", item.pk))
    assert page.context["form"]["from_mm"].value() == "1"
    client.post(url("item_edit", item.pk), item_data(other, trade="painter", from_mm="3"))
    item.refresh_from_db()
    assert (item.wall_run, item.trade, item.from_mm) == (other, "painter", 3_000)
    client.post(url("item_remove", item.pk))
    assert not DefectItem.objects.exists()


# Issuing


def test_everything_that_is_missing_is_named_and_linked(client_for, applicator, draft, wall):
    make_item(applicator, draft, kind="render_line_low", run=wall, photo=False)
    item = DefectItem.objects.get()
    client = client_for(applicator)
    answer = client.post(url("issue", draft.pk))
    problems = {problem.sentence: problem.url for problem in answer.context["problems"]}
    assert len(problems) == 5  # four walls and the item
    needs = next(sentence for sentence in problems if sentence.startswith("Item 1"))
    assert "add a photo and measure it" in needs
    assert problems[needs] == url("item", item.pk)
    assert problems["North wall is not checked yet. Check it, then issue the report."].endswith(
        f"#wall-{wall.pk}"
    )
    draft.refresh_from_db()
    assert draft.is_draft


def test_issuing_tells_the_chosen_contacts_only(
    client_for, applicator, draft, site, wall, mailoutbox
):
    chosen, left_out = make_contact(site.builder), make_contact(site.builder)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, draft, run)
    make_item(applicator, draft, run=wall)
    client = client_for(applicator)
    page = client.get(url("issue", draft.pk)).content.decode()
    assert "1 thing to fix" in page  # what they will get
    answer = client.post(url("issue", draft.pk), {"notify": [chosen.memberships.get().pk]})
    assert answer.url == url("issued", draft.pk)
    draft.refresh_from_db()
    assert draft.number == 1
    told = draft.site.messages.values_list("to", flat=True)
    assert list(told) == [chosen.pk]
    assert left_out.pk not in told
    again = client.post(url("issue", draft.pk))
    assert again.url == url("issued", draft.pk)


def test_a_form_that_is_sent_after_the_report_was_issued_keeps_what_was_typed(
    client_for, applicator, site, wall
):
    report = make_issued(applicator, site)
    page = item_page(report, wall, "mortar_drop")
    answer = client_for(applicator).post(page, item_data(wall, note="Behind the tank."))
    assert "is issued and can&#x27;t change" in answer.content.decode()
    assert "Behind the tank." in answer.content.decode()
    assert report.items.count() == 1


def test_a_contact_who_can_not_see_the_site_can_not_be_chosen(client_for, applicator, draft, site):
    limited = make_contact(site.builder, sites=[make_site(site.builder)])
    page = client_for(applicator).get(url("issue", draft.pk))
    assert limited.memberships.get() not in page.context["form"].fields["notify"].queryset


def test_an_issued_report_is_read_not_changed(client_for, applicator, site, wall):
    report = make_issued(applicator, site)
    item, client = report.items.get(), client_for(applicator)
    assert "Issued at" in client.get(url("report", report.pk)).content.decode()
    assert client.get(url("item_edit", item.pk)).url == url("item", item.pk)
    answer = client.post(url("item_remove", item.pk), follow=True)
    assert "is issued and can&#x27;t change" in answer.content.decode()
    answer = client.post(url("run_check", report.pk, wall.pk), {"checked": "no"}, follow=True)
    assert "is issued and can&#x27;t change" in answer.content.decode()
    assert client.get(url("item_new", report.pk)).url == url("report", report.pk)
    assert report.checks.count() == 4
