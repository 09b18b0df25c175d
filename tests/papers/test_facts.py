"""Golden facts: what each report of its own holds stands in its papers."""

import copy
import re
from datetime import UTC, datetime, timedelta

import pytest

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.actions.papers import asking
from readiness.actions.reporting import drafts, issuing
from readiness.actions.visits import confirming
from readiness.models.freeze import without_triggers
from readiness.papers import fix_list, pdf, photo_record, site_report, wording
from readiness.papers.render import render_sample
from readiness.papers.views import Snapshot
from readiness.wording.paper.treatment import from_slab
from tests.factories import confirm, make_applicator, make_builder, make_contact
from tests.papers import reports
from tests.papers.reading import flat, images_of, pages_of

SIZES = pytest.mark.parametrize("size", ["A4", pytest.param("letter", marks=pytest.mark.long)])
MONDAY = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)  # 10:00 am at the site


def test_a_site_with_nothing_wrong_reads_ready_everywhere(db):
    report = reports.issue(walls=1, items=0, levels=False)
    text = flat(reports.text_of(reports.make(report, "site_report")))
    assert "Ready Nothing to fix before we can book." in text
    assert "Not ready" not in text
    assert "nothing found." in text


@pytest.mark.parametrize("walls", [12, pytest.param(40, marks=pytest.mark.long)])
def test_the_plan_stands_on_page_one_of_a_letter_sheet_under_four_trades(db, walls):
    report = reports.issue(walls=walls, business={"paper_size": "letter"})
    first = pages_of(reports.make(report, "site_report"))[0]
    assert "Site cleaner or labourer" in first
    assert "Visited: Mon 23 November 2026" in first
    assert "Ready Not ready" in first, "the key of the plan"


@pytest.mark.long
def test_many_walls_are_listed_two_in_a_line(db):
    report = reports.issue(walls=12, items=3)
    first = pages_of(reports.make(report, "site_report"))[0]
    listed = first[first.index("The walls, by their letters") :]
    assert re.search(r"A · North wall 1 .* B · East wall 1 .* L · West wall 3", listed)


def test_levels_that_fall_short_without_an_item_are_said_on_page_one(db):
    """A person decides what becomes an item, but no paper calls such a wall right."""
    report = reports.issue(items=1, things=reports.THINGS[8:])
    content = reports.make(report, "site_report")
    told = "The levels show a problem on walls A, B and C that is not listed as an item: see Walls."
    assert (
        f"Ready Nothing to fix before we can book. The builder can confirm readiness. {told}"
        in (pages_of(content)[0])
    )
    text = flat(reports.text_of(content))
    assert "West wall (render, 8.4 m): nothing found." in text
    assert "South wall (face brick, 12 m): nothing found." not in text
    own = text.split("Applicator will do it on the day")[1].split("Walls")[0]
    assert "Site cleaner or labourer" not in own, "the applicator does it, no trade by a day"


def test_walls_that_were_not_checked_stand_in_the_way_without_a_first_thing(db):
    content = copy.deepcopy(reports.issue(items=0, levels=False).snapshot)
    content["checks"] = content["checks"][:2]
    said = site_report.answer(Snapshot(content), ())
    assert said["sentence"] == "2 things block the booking."


def test_a_site_report_prints_a_source_beside_each_number_and_no_table_of_them(db):
    report = reports.issue(walls=1, items=1)
    text = flat(reports.text_of(reports.make(report, "site_report"), "-raw"))
    own = "this business's own setting"
    # ABCB Housing Provisions 5.6.4(3), 2025 (quoted): raked at most 10 mm deep
    stricter = f"{own}, stricter than ABCB Housing Provisions 5.6.4(3), 2025"
    assert f"over the limit of 3 mm ({stricter})." in text
    assert "Rates and sizes without a source are this business's own settings." in text
    assert "Rule values" not in text
    assert "memory" not in text.lower()
    # 1 L per 10 m, two courses (common practice, no source): 12 m are 1.2 L
    assert "1.2 L" in text


def test_the_annex_has_every_value_with_its_source_and_what_the_business_set(db):
    changed = {"slab_above_soil_mm": 200, "drying_hours": 48}
    report = reports.issue(walls=1, items=1, business={"rule_overrides": changed})
    asking.queue_rule_values(report)
    text = flat(reports.text_of(reports.make(report, "rule_values"), "-raw"))
    assert "Slab above paving 50 mm ABCB Housing Provisions 3.3.3(b)(ii), 2022 (read)" in text
    assert "Clear gap to an attachment 25 mm AS 3660.2:2017 (quoted)" in text
    assert (
        "Slab above finished soil 200 mm this business's own setting, stricter than ABCB Housing "
        "Provisions 3.3.3(b)(iii), 2025"
    ) in text
    assert "Drying after wet cleaning 48 h this business's own setting" in text
    assert "memory" not in text.lower()


def test_the_guide_prints_published_sources_beside_their_numbers(db):
    text = flat(reports.text_of(render_sample("guide", reports.set_business()).content, "-raw"))
    assert "at least 150 mm (ABCB Housing Provisions 3.3.3(b)(iii), 2025) above finished" in text
    assert "at least 25 mm (AS 3660.2:2017) off the wall" in text
    assert "(25 mm: AS 3660.2:2017)" in text
    assert "Numbers without a source beside them are this business's own settings as of" in text
    assert "memory" not in text.lower()


@pytest.mark.long
@SIZES
def test_a_site_report_says_once_what_distances_and_digests_are(db, size):
    report = reports.issue(items=10, business={"paper_size": size})
    text = flat(reports.text_of(reports.make(report, "site_report"), "-raw"))
    legend = "Required fixes Distances start at the left end of the wall, seen from outside. Beside"
    assert text.count(legend) == 1
    assert text.count("the first half of the file's SHA-256.") == 1


def test_the_legend_stands_at_the_first_chapter_of_items_whichever_that_is(db):
    report = reports.issue(items=1, things=reports.THINGS[9:])
    text = flat(reports.text_of(reports.make(report, "site_report"), "-raw"))
    assert "on record as they were found. Distances start at the left end" in text


def test_a_fix_list_without_drawings_says_where_distances_start(db):
    report = reports.issue(walls=1, items=1, levels=False)
    text = flat(reports.text_of(reports.make(report, "fix_list", "bricklayer"), "-raw"))
    assert text.count("Distances start at the left end of a wall, seen from outside.") == 1


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("from 1.2 m to 1.7 m, then", "from 1.2\u00a0m to 1.7\u00a0m, then"),
        ("35 mm deep for 24 h", "35\u00a0mm deep for 24\u00a0h"),
        ("2 more, 3 houses", "2 more, 3 houses"),
    ],
)
def test_a_number_keeps_to_the_line_of_its_unit(text, kept):
    assert wording.with_units(text) == kept


def test_the_guide_says_how_long_brick_dries_after_what(db):
    text = flat(reports.text_of(render_sample("guide", reports.set_business()).content))
    assert "Let the brick dry for 24 h after washing, and for 24 h after rain." in text


def test_a_line_that_just_fits_is_not_broken_after_its_first_word(db):
    """Templates end a text with a line's end: WeasyPrint 70 counts that as a blank."""
    told = "You get it fixed, and mark each item as fixed with a photo. We check each fix"
    text = reports.text_of(render_sample("guide", reports.set_business()).content, "-layout")
    assert any(told in line for line in text.splitlines())


def test_a_camera_without_a_time_is_said_to_have_none(db):
    entry = {"taken_at": None, "taken_at_local": "", "taken_offset": ""}
    from readiness.papers.views import _taken

    zone = wording.zone_of("QLD")
    assert _taken(entry, zone) == "no time"
    local = {**entry, "taken_at_local": "2026:11:23 10:11:00"}
    assert "(no time zone)" in _taken(local, zone)


@pytest.mark.parametrize("size", ["A4", "letter"])
def test_one_thing_to_fix_with_its_photo_and_its_wall_takes_one_page(size, db):
    report = reports.issue(items=1, things=reports.THINGS[1:], business={"paper_size": size})
    content = reports.make(report, "fix_list", "earthworks")
    assert len(pages_of(content)) == 1
    assert "Soil lies 140 mm up the brick." in flat(reports.text_of(content))


def test_one_thing_takes_one_page_of_a_short_sheet_with_many_words_on_it(db):
    """A long firm name, a note, and a rule's value that takes a second line."""
    business = {
        "name": "Gumnut Barrier Services for the Wide Tallow Creek Valley",
        "letterhead_note": "Termite-management treatments for new brick houses, since a while now",
        "paper_size": "letter",
    }
    applicator = make_applicator()
    site = reports.make_site(applicator, 12)
    note = (
        "Paving to come along the whole wall, up to the step at the back door, and then on to the "
        "garage as drawn."
    )
    things = (("ground_too_high", {"measured_value": 40, "note": note}),)
    report = reports.issue(actor=applicator, site=site, items=1, things=things, business=business)
    assert len(pages_of(reports.make(report, "fix_list", "earthworks"))) == 1


def test_the_confirmation_answers_what_was_wrong_who_fixed_it_and_who_signed(db):
    report, confirmation, _ = reports.story()
    content = reports.make(report, "confirmation")
    text = flat(reports.text_of(content, "-raw"))
    when = wording.when(confirmation.confirmed_at, report.site.zone)
    builder = report.site.builder.name
    assert f"Sam Supervisor signed for {builder} at {when}, on site report 1." in text
    assert f"Reported fixed, for {builder} Checked, for Gumnut Barrier Services" in text
    assert "Trade: bricklayer. Depth of the hole: 38 mm, 35 mm over the limit of 3 mm" in text
    assert "Times without a zone are local to the site: Queensland time." in text
    assert wording.when(confirmation.valid_until, report.site.zone) in text
    assert flat(confirmation.statement) in text
    assert f"Sam Supervisor, Site supervisor, for {builder}" in text
    assert "typing" not in text
    assert text.count("Yes Yes Yes") == 2
    assert text.count("by Sam Supervisor, ") == 4 + 1, "four fixes, and the signature"
    address = confirmation.account_address
    assert f"account {address}, after a code sent to {address}, on Chrome on Android, at" in text
    assert text.count("Accepted by Alex Applicator, ") == 4
    assert text.count("Before.") == text.count("After.") == 4
    assert len([row for row in images_of(content) if row[8] == "jpeg"]) == 8
    record = report.site.record.get(verb="ready_confirmed")
    assert wording.grouped_digest(record.data["sha256"]) in text


@pytest.mark.long
@SIZES
@pytest.mark.parametrize("pairs", [1, 2, 3])
def test_the_cautions_of_a_confirmation_never_stand_on_a_page_of_their_own(db, size, pairs):
    report, _, _ = reports.story(items=pairs, business={"paper_size": size})
    pages = pages_of(reports.make(report, "confirmation"))
    (page,) = [page for page in pages if "Cautions for treatment day" in page]
    assert "What was signed" in page or "What was wrong" in page


def test_two_items_with_their_photos_make_a_confirmation_of_two_pages(db):
    report, _, _ = reports.story(items=2)
    assert len(pages_of(reports.make(report, "confirmation"))) == 2


def test_a_confirmation_made_later_still_shows_how_things_stood_when_it_was_signed(db):
    report, _, _ = reports.story()
    before = reports.make(report, "confirmation")
    item = report.items.first()
    item.state = "sent_back"
    item.save()
    assert reports.make(report, "confirmation") == before


def sent_back(applicator, supervisor, item, at, reason, *, number=600):
    """The item said fixed at a time, and sent back an hour later."""
    with clock.at(at):
        photo = reports.put_photo(item.report.site, number=number)
        fixes.report_fixed(supervisor, item, photos=[photo])
    with clock.at(at + timedelta(hours=1)):
        fixes.send_back(applicator, item, reason=reason)


def one_item(**business):
    """The applicator, the builder's contact, and their report of one item on two walls."""
    builder = make_builder("Wattle Homes")
    applicator = make_applicator(name="Alex Applicator", licence_number="T-2208")
    site = reports.make_site(applicator, 2, builder=builder)
    with clock.at(MONDAY - timedelta(days=1)):
        report = reports.issue(actor=applicator, site=site, items=1, business=business)
    return applicator, make_contact(builder, name="Sam Supervisor"), report


def confirmation_text(supervisor, report) -> str:
    return flat(reports.text_of(reports.make(_confirmed(supervisor, report), "confirmation")))


def _confirmed(supervisor, report):
    confirm(supervisor, report)
    return report


def test_a_name_that_was_typed_to_sign_stays_on_its_paper(db):
    """Version 0.1 asked for it; what was signed then is printed as it was."""
    report, confirmation, _ = reports.story()
    as_then = {"version": 1, "proved_by": "", "proved_at": None, "account_address": ""}
    with without_triggers():
        type(confirmation).objects.filter(pk=confirmation.pk).update(
            signature="Sam P. Supervisor", **as_then
        )
    text = flat(reports.text_of(reports.make(report, "confirmation"), "-raw"))
    assert "Sam P. Supervisor" in text
    assert "Signed by typing the name while signed in to the contact's own account" in text


def test_each_time_that_a_fix_was_sent_back_is_told_with_the_reason(db):
    applicator, supervisor, report = one_item()
    item = report.items.get()
    sent_back(applicator, supervisor, item, MONDAY, "Still hollow.", number=601)
    sent_back(applicator, supervisor, item, MONDAY + timedelta(hours=3), "Loose.", number=602)
    with clock.at(MONDAY + timedelta(hours=6)):
        fixes.report_fixed(supervisor, item, photos=[reports.put_photo(report.site, number=603)])
        fixes.accept_fix(applicator, item)
        text = confirmation_text(supervisor, report)
    first, second = (
        f"Earlier: reported fixed by Sam Supervisor, 23 Nov 2026, {said}; "
        f"sent back by Alex Applicator, 23 Nov 2026, {back}: {reason}"
        for said, back, reason in (
            ("10:00 am", "11:00 am", "Still hollow."),
            ("1:00 pm", "2:00 pm", "Loose."),
        )
    )
    assert text.index(first) < text.index(second)
    assert "by Sam Supervisor, 23 Nov 2026, 4:00 pm" in text


def test_an_item_accepted_on_site_after_it_was_sent_back_is_not_said_to_be_sent_back(db):
    applicator, supervisor, report = one_item()
    item = report.items.get()
    sent_back(applicator, supervisor, item, MONDAY, "Still hollow.")
    with clock.at(MONDAY + timedelta(hours=6)):
        fixes.accept_on_site(applicator, item)
        content = reports.make(_confirmed(supervisor, report), "confirmation")
    text = flat(reports.text_of(content, "-raw"))
    assert "Accepted on site by Alex Applicator, 23 Nov 2026, 4:00 pm" in text
    assert text.count("sent back by Alex Applicator, 23 Nov 2026, 11:00 am: Still hollow.") == 1
    assert "Sent back" not in text
    assert "Reported fixed, and sent back. Camera: " in text
    assert "After. Camera: " not in text
    alternatives = reports.alternatives_of(content)
    assert any("Unfilled mortar joint when reported fixed" in words for words in alternatives)


def test_what_was_sent_back_on_an_earlier_report_is_told_where_the_item_was_carried_on(db):
    applicator, supervisor, report = one_item()
    old = report.items.get()
    sent_back(applicator, supervisor, old, MONDAY, "Still hollow.")
    with clock.at(MONDAY + timedelta(hours=6)):
        later = drafts.start_report(
            applicator, report.site, visited_on=MONDAY.date(), carry_over=[old]
        )
        for run in report.site.wall_runs.all():
            drafts.check_run(applicator, later, run)
        later = issuing.issue_report(applicator, later)
        fixes.accept_on_site(applicator, later.items.get())
        text = confirmation_text(supervisor, later)
    assert "Earlier, as item 1 of report 1: reported fixed by Sam Supervisor" in text


def test_a_fix_that_was_looked_at_after_the_signing_is_told_as_it_was_then(db):
    """Where the builder's word is enough, the applicator may look later and send it back."""
    applicator, supervisor, report = one_item(fixes_needed="said_fixed")
    item = report.items.get()
    with clock.at(MONDAY):
        fixes.report_fixed(supervisor, item, photos=[reports.put_photo(report.site, number=605)])
        _confirmed(supervisor, report)
    before = reports.make(report, "confirmation")
    with clock.at(MONDAY + timedelta(hours=2)):
        fixes.send_back(applicator, item, reason="Not so.")
    assert "Not checked yet" in flat(reports.text_of(before))
    assert reports.make(report, "confirmation") == before


def test_the_papers_say_who_withdrew_a_confirmation_and_why(db):
    report, confirmation, supervisor = reports.story()
    reason = "A trench was dug beside wall B."
    confirmation = confirming.withdraw_confirmation(supervisor, confirmation, reason=reason)
    at = wording.when(confirmation.withdrawn_at, report.site.zone)
    paper = reports.treat(report, confirmation)
    from readiness.papers.render import render_paper

    text = flat(reports.text_of(render_paper(paper).content))
    assert f"; withdrawn by Sam Supervisor at {at}: {reason}" in text
    text = flat(reports.text_of(reports.make(report, "confirmation")))
    assert f"Withdrawn by Sam Supervisor at {at}: {reason}" in text


def test_the_name_of_a_wall_places_no_photo(db):
    """Only a first photo stands at the side, though the place may be called "Tap side"."""
    report = reports.issue(items=1, photos_per_item=2)
    text = pdf.markup(fix_list.draft(report.papers.get(kind="fix_list")))
    assert re.findall(r'<img class="([^"]*)"', text) == ["side", ""]


def test_many_photos_of_one_thing_stand_after_the_drawing_of_its_wall(db):
    report = reports.issue(items=1, photos_per_item=6)
    pages = pages_of(reports.make(report, "fix_list", "bricklayer"))
    assert "North wall, from outside" in pages[0]
    assert "Photo 6." in " ".join(pages[1:])


def test_the_treatment_record_tells_the_whole_story(db):
    report, confirmation, _ = reports.story(items=10)
    paper = reports.treat(report, confirmation)
    from readiness.papers.render import render_paper

    text = flat(reports.text_of(render_paper(paper).content, "-raw"))
    for words in (
        "Treated on Thu 10 December 2026",
        "In the morning, by Alex Applicator (licence T-2208).",
        "Batch number B-7714",
        "Liquid used 4.7 L",
        f"Sam Supervisor, Site supervisor, for {report.site.builder.name}, at",
        "Before and after: in the readiness confirmation. All: in the photo record of report 1.",
        "Trade: bricklayer. Depth of the hole: 38 mm, 35 mm over the limit of 3 mm",
        "8 items that had to be fixed before booking, in site report 1",
        # Not more than one calendar year: AS 3660.2:2017 (seen in an extract)
        "no later than Fri 10 December 2027",
        "open crack, ",
        "Cautions for treatment day",
    ):
        assert words in text


@pytest.mark.parametrize("size", ["A4", "letter"])
def test_the_sign_off_of_a_treatment_stands_with_what_is_signed(db, size):
    pages = pages_of(render_sample("treatment", reports.set_business(paper_size=size)).content)
    (page,) = [page for page in pages if "Sign-off" in page]
    assert "Walls treated" in page


def test_the_words_under_a_photo_end_above_the_next_photo(db):
    """A digest of wide figures takes two lines, as a long place with its measure does."""
    low = {"measured_value": 40, "measured_from": "tape", "from_mm": 0, "to_mm": 3_000}
    report = reports.issue(items=3, things=[("render_line_low", low)])
    content = copy.deepcopy(report.snapshot)
    for item in content["items"]:
        item["photos"][0] |= {"digest": "0d" * 32, "filename": "wall-kh-1187-002.jpg"}
    made, _ = pdf.write(photo_record.build(Snapshot(content, report.digest)))
    page = reports.text_of(made, "-bbox").split("<page")[2]
    words = re.findall(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">([^<]+)<', page)
    ends = [float(bottom) for _, bottom, word in words if word.endswith("002.jpg.")]
    heads = [float(top) for top, _, word in words if word == "Render"]
    assert len(ends) == len(heads) == 2
    assert ends[0] < heads[1]


def test_marks_are_drawn_over_a_photo_and_told_in_words(db):
    from readiness.models import Markup
    from readiness.papers import pdf

    report = reports.issue(walls=1, items=1)
    photo = report.items.first().photos.first()
    shapes = [{"kind": "text", "at": [0.5, 0.5], "text": "38 mm here"}]
    Markup.objects.create(photo=photo, shapes=shapes)
    snapshot = dict(report.snapshot)
    snapshot["items"][0]["photos"][0]["markup"] = shapes
    content, _ = pdf.write(photo_record.build(Snapshot(snapshot, report.digest)))
    assert "38 mm here" in reports.text_of(content)
    alternatives = reports.alternatives_of(content)
    assert any("text “38 mm here”" in words for words in alternatives)


@pytest.mark.parametrize(
    ("levels_mm", "words"),
    [
        ([-172], "172 mm below"),
        ([-172, -86], "86 to 172 mm below"),
        ([-86, 0], "0 to 86 mm below"),
        ([0], "level with it"),
        ([40], "40 mm above"),
        ([-46, 40], "46 mm below to 40 mm above"),
    ],
)
def test_the_end_of_the_band_is_said_from_the_top_of_the_slab(levels_mm, words):
    assert from_slab(min(levels_mm), max(levels_mm)) == words
