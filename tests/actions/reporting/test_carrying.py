"""A report that takes the place of another: what is disputed or reported fixed comes along."""

from datetime import UTC, datetime, timedelta

import pytest

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.fixing import fixes
from readiness.actions.photos.keeping import save_markup
from readiness.actions.reporting import drafts, issuing
from readiness.messages.letters import report_letter
from readiness.models import DefectItem, Fix, PhotoFlag
from readiness.papers.history import stories
from readiness.papers.pictures import Frame
from readiness.papers.views import Snapshot
from tests.factories import make_draft, make_issued, make_photo, make_runs, make_site

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _in_november():
    with clock.at(NOW):
        yield


@pytest.fixture
def first(applicator, site):
    return make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))


def draft_after(applicator, first, *items):
    draft = make_draft(applicator, first.site, carry_over=items)
    for run in first.site.wall_runs.all():
        drafts.check_run(applicator, draft, run)
    return draft


def report_fixed(contact, item, **fields):
    photo = make_photo(item.report.site, contact)
    return fixes.report_fixed(contact, item, photos=[photo], **fields)


def fresh(item):
    return DefectItem.objects.get(pk=item.pk)


def sentences(refused) -> str:
    return " ".join(problem.sentence for problem in refused.value.problems)


def test_an_open_fix_comes_along_with_its_photos_and_can_be_answered(applicator, contact, first):
    item = first.items.first()
    draft = draft_after(applicator, first, item)
    with clock.at(NOW + timedelta(hours=1)):  # reported while the draft lies
        said = report_fixed(contact, item, note="Brushed off.")
    with clock.at(NOW + timedelta(hours=2)):
        second = issuing.issue_report(applicator, draft)
    carried = second.items.get()
    assert carried.state == "said_fixed"
    assert carried.state_changed_at == said.said_at
    fix = carried.fixes.get()
    assert (fix.said_by, fix.said_at, fix.note) == (contact, said.said_at, "Brushed off.")
    assert fix.photos.get().original_id == said.photos.get().original_id
    flags = PhotoFlag.objects.filter(photo__fix=said).values_list("code", "sentence")
    assert list(PhotoFlag.objects.filter(photo__fix=fix).values_list("code", "sentence")) == list(
        flags
    )
    assert second.snapshot["items"][0]["state"] == "said_fixed"
    fixes.accept_fix(applicator, carried)
    assert fresh(carried).state == "accepted"


def test_what_was_blurred_stays_blurred_on_the_new_item(applicator, contact, first):
    item = first.items.first()
    shown, said = item.photos.get(), report_fixed(contact, item).photos.get()
    blurs = [{"kind": "blur", "box": [0.2, 0.2, 0.4 + n / 10, 0.4]} for n in range(2)]
    for photo, blur in zip((shown, said), blurs, strict=True):
        save_markup(applicator, photo, [blur], seen_version=0)
    second = issuing.issue_report(applicator, draft_after(applicator, first, item))
    carried = second.items.get()
    of_fix = Fix.objects.get(item=carried).photos.get()
    assert [carried.photos.get().markup.shapes, of_fix.markup.shapes] == [[blurs[0]], [blurs[1]]]
    assert shown.markup.shapes == [blurs[0]], "the earlier report keeps its own"


def test_a_dispute_comes_along_and_is_decided_on_the_new_item(applicator, contact, first):
    item = first.items.first()
    with clock.at(NOW + timedelta(hours=1)):
        fixes.disagree(contact, item, reason="It is paint.")
    with clock.at(NOW + timedelta(hours=2)):
        second = issuing.issue_report(applicator, draft_after(applicator, first, fresh(item)))
        carried = second.items.get()
        assert carried.is_disputed
        assert (carried.disputed_by, carried.dispute_reason) == (contact, "It is paint.")
        assert carried.disputed_at == NOW + timedelta(hours=1)
        fixes.decide_disagreement(applicator, carried, stands=True, reason="It rubs off.")
    assert not fresh(carried).is_disputed


def test_what_was_sent_back_stays_so_with_its_reason(applicator, contact, first):
    item = first.items.first()
    report_fixed(contact, item)
    fixes.send_back(applicator, item, reason="Left end.")
    second = issuing.issue_report(applicator, draft_after(applicator, first, fresh(item)))
    carried = second.items.get()
    assert carried.state == "sent_back"
    assert carried.fixes.get().reason == "Left end."


def test_a_paper_tells_of_a_fix_that_was_sent_back_once(applicator, contact, first):
    item = first.items.first()
    report_fixed(contact, item)
    fixes.send_back(applicator, item, reason="Left end.")
    second = issuing.issue_report(applicator, draft_after(applicator, first, fresh(item)))
    with clock.at(NOW + timedelta(hours=1)):
        report_fixed(contact, second.items.get())
    told = stories(second, Snapshot(second.snapshot), NOW + timedelta(hours=2), Frame(60, 40))
    assert len(told[0].earlier) == 1
    assert "as item 1 of report 1" in told[0].earlier[0]


def test_a_draft_says_when_a_carried_item_was_accepted_meanwhile(applicator, contact, first):
    item = first.items.first()
    draft = draft_after(applicator, first, item)
    fixes.accept_on_site(applicator, item)
    with pytest.raises(Refused) as refused:
        issuing.issue_report(applicator, draft)
    assert "Item 1 (Mortar drop) was accepted in the meantime. Take it out" in sentences(refused)


@pytest.mark.parametrize("left", ["fix", "dispute"])
def test_nothing_that_waits_for_an_answer_is_left_behind(applicator, contact, first, left):
    kept, other = first.items.order_by("number")
    draft = draft_after(applicator, first, kept)
    if left == "fix":
        report_fixed(contact, other)
    else:
        fixes.disagree(contact, other, reason="It is paint.")
    with pytest.raises(Refused) as refused:
        issuing.issue_report(applicator, draft)
    (problem,) = refused.value.problems
    assert problem.about_id == str(other.pk)
    assert problem.sentence.startswith("Item 2 (")
    words = "reported fixed and not carried over. Review it first."
    if left == "dispute":
        words = "disputed and not carried over. Decide it first."
    assert problem.sentence.endswith(f") of report 1 is {words}")


@pytest.mark.parametrize("act", ["fix", "take back", "accept", "on site", "send", "no", "decide"])
def test_an_item_of_an_earlier_report_leads_to_where_it_is_now(applicator, contact, first, act):
    _other, item = first.items.order_by("number")
    report_fixed(contact, item)
    fixes.disagree(contact, item, reason="It is paint.")
    second = issuing.issue_report(applicator, draft_after(applicator, first, fresh(item)))
    acts = {
        "fix": lambda: report_fixed(contact, item),
        "take back": lambda: fixes.take_back_fix(contact, item.fixes.get()),
        "accept": lambda: fixes.accept_fix(applicator, item),
        "on site": lambda: fixes.accept_on_site(applicator, item),
        "send": lambda: fixes.send_back(applicator, item, reason="No."),
        "no": lambda: fixes.disagree(contact, item, reason="No."),
        "decide": lambda: fixes.decide_disagreement(applicator, item, stands=True, reason="No."),
    }
    with pytest.raises(Refused) as refused:
        acts[act]()
    (problem,) = refused.value.problems
    assert problem.sentence == ("Report 2 replaced report 1. Carry on with item 1 there.")
    assert problem.about_id == str(second.items.get().pk)
    assert fresh(item).is_disputed  # as it was
    assert Fix.objects.get(item=item).is_open


def test_only_items_of_the_report_before_are_carried_over(applicator, builder, first):
    item = first.items.first()
    other = make_site(builder)
    make_runs(other)
    for site in (other, make_issued(applicator).site):  # one without a report, one with its own
        with pytest.raises(Refused, match="from the current report only"):
            make_draft(applicator, site, carry_over=[item])
    assert not item.carried_to.exists()


def test_an_item_that_was_not_carried_over_is_closed_to_everyone(applicator, contact, first):
    issuing.issue_report(applicator, draft_after(applicator, first))
    with pytest.raises(Refused, match=r"item 1 is not in it\. Nothing is left to do"):
        report_fixed(contact, first.items.first())


def test_a_fix_sent_again_after_the_new_report_is_the_one_that_came(applicator, contact, first):
    item = first.items.first()
    said = report_fixed(contact, item)
    issuing.issue_report(applicator, draft_after(applicator, first, fresh(item)))
    again = fixes.report_fixed(contact, item, photos=[], fix_id=said.pk)
    assert again == said


def test_the_letter_tells_what_is_left_to_fix_from_what_we_look_at(applicator, contact, first):
    one, two = first.items.order_by("number")
    report_fixed(contact, one)
    draft = draft_after(applicator, first, fresh(one), two)
    letter = report_letter(draft, draft.site, 2)
    assert letter.subject == f"1 thing to fix: {draft.site}"
    assert letter.opening == (
        f"{draft.site.address} is not ready: 1 thing to fix by 16 December. Report 2 has the "
        "details. We are checking 1 more."
    )
    assert [point.split(".")[0] for point in letter.points] == ["2", "Take care"]
    second = issuing.issue_report(applicator, draft)
    assert report_letter(second, second.site, 2) == letter


def test_a_paper_says_how_a_carried_item_stood(applicator, contact, first):
    one, two = first.items.order_by("number")
    report_fixed(contact, one)
    fixes.disagree(contact, two, reason="It is paint.")
    second = issuing.issue_report(
        applicator, draft_after(applicator, first, fresh(one), fresh(two))
    )
    shown = Snapshot(second.snapshot)
    assert [item.carried for item in shown.items(Frame(60, 40))] == [
        "Item 1 of report 1, reported fixed, not checked yet",
        "Item 2 of report 1, disputed",
    ]
    codes = [reason.code for reason in shown.assessment.confirm_reasons]
    assert codes == ["waiting_for_review", "item_disputed"]


def test_a_snapshot_of_the_first_version_is_still_read(applicator, first):
    old = {key: value for key, value in first.snapshot.items() if key != "treated_on"}
    old["items"] = [
        {key: value for key, value in item.items() if key != "disputed_at"} for item in old["items"]
    ]
    shown = Snapshot(old | {"version": 1})
    assert shown.assessment.site_status == "not_ready"
    assert [item.carried for item in shown.items(Frame(60, 40))] == ["", ""]


def test_the_letter_about_a_report_with_nothing_left_to_do_counts_no_nothing(
    applicator, contact, first
):
    item = first.items.first()
    report_fixed(contact, item)
    second = issuing.issue_report(applicator, draft_after(applicator, first, item))
    letter = report_letter(second, second.site, second.number)
    assert letter.subject == f"Report 2: {second.site}"
    assert "We are checking 1 more." not in letter.opening
    assert "nothing for you to fix right now. We are checking 1 thing." in letter.opening
