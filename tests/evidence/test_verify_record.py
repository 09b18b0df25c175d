"""Checking the Record of many sites: parts, processes, samples, and going on another time."""

import json
import re
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import storages
from django.core.management import CommandError, call_command
from django.db import transaction

from readiness import clock
from readiness.evidence import verification
from readiness.evidence.checking import check_sites
from readiness.evidence.record import append
from readiness.evidence.verification import BadState, Scope, verify, verify_all
from readiness.models import RecordEntry, freeze
from tests.factories import make_applicator, make_photo, make_site
from tests.recorded import record_rows_by_hand

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)
SITES, ENTRIES = 7, 4
QUERIES = 22
"""Entries, salts, one for each table, links of sites, texts, photos and papers."""
ALL_ENTRIES = SITES * ENTRIES + 1
pytestmark = pytest.mark.django_db


def fill(applicator):
    """Seven sites, a day apart; each has four entries, a day apart."""
    made = []
    for number in range(SITES):
        site = make_site(created_at=NOW + timedelta(days=number))
        made.append(site)
        with transaction.atomic():
            for entry in range(ENTRIES):
                at = site.created_at + timedelta(days=entry)
                rows = [] if entry else [site]
                append(site, applicator, "levels_changed", {"entry": entry}, at=at, rows=rows)
    with clock.at(NOW):
        record_rows_by_hand()  # people and builders, in one entry of the business's own Record
    return made


@pytest.fixture
def sites(applicator, monkeypatch):
    monkeypatch.setattr(verification, "SITES_A_PART", 2)
    return fill(applicator)


def damage(site, sequence=3, **change):
    with freeze.without_triggers():
        RecordEntry.objects.filter(site=site, sequence=sequence).update(**change or {"verb": "x"})


def run(*args, **options):
    out, err = StringIO(), StringIO()
    call_command("verify_record", *args, stdout=out, stderr=err, **options)
    return out.getvalue(), err.getvalue()


def told(error):
    return error.value.returncode, str(error.value)


def test_all_is_counted(sites):
    checked = verify_all()
    assert (checked.sites, checked.entries, checked.first_break) == (SITES, ALL_ENTRIES, "")


def test_the_first_break_is_that_of_the_oldest_site(sites):
    damage(sites[5])
    damage(sites[3])
    checked = verify_all()
    assert checked.first_break.startswith(f"{sites[3]} ({sites[3].pk}): entry 3 was changed")
    assert checked.sites == 3


@pytest.mark.long
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("jobs", [2, 3])
def test_several_processes_find_the_same(monkeypatch, jobs):
    monkeypatch.setattr(verification, "SITES_A_PART", 1)
    sites = fill(make_applicator())
    whole = verify(jobs=jobs)
    assert whole == verify()
    assert whole.entries == ALL_ENTRIES
    damage(sites[4])
    damage(sites[6])
    assert verify(jobs=jobs) == verify()
    assert str(sites[4].pk) in verify(jobs=jobs).first_break


def test_since_a_day_checks_what_came_from_then_on_and_that_it_follows(sites):
    since = NOW + timedelta(days=8)  # site 5's last entry, and two of site 6's
    checked = verify(Scope(since=since))
    assert checked.sites == 2
    assert checked.entries == (1 + 1) + (2 + 1), "each with the entry before it"
    damage(sites[5], sequence=1)
    assert verify(Scope(since=since)).first_break == "", "that is not what was asked"
    damage(sites[5], sequence=3)
    assert "entry 3 was changed" in verify(Scope(since=since)).first_break


def test_since_a_day_finds_what_is_missing_in_between(sites):
    with freeze.without_triggers():
        RecordEntry.objects.filter(site=sites[6], sequence=3).delete()
    found = verify(Scope(since=NOW + timedelta(days=7))).first_break
    assert "entry 3 is missing; the next one kept is 4" in found


def test_since_a_day_leaves_older_files_out(sites):
    with clock.at(NOW):
        make_photo(sites[6])  # without a file
        record_rows_by_hand()
    assert "photo" in verify_all().first_break
    assert verify(Scope(since=NOW + timedelta(days=6))).first_break == ""


@pytest.mark.parametrize(
    ("sample", "count"), [("3", 3), ("100%", 7), ("50%", 4), ("43%", 4), ("1%", 1)]
)
def test_a_sample_is_as_large_as_asked_and_the_same_for_a_seed(sites, sample, count):
    drawn = Scope(sample=sample, seed=5).site_ids()
    assert len(drawn) == count
    assert drawn == sorted(drawn) == Scope(sample=sample, seed=5).site_ids()


def test_other_seeds_draw_other_sites(sites):
    drawn = {tuple(Scope(sample="3", seed=seed).site_ids()) for seed in range(20)}
    assert len(drawn) > 5


def test_a_run_goes_on_where_it_stopped(sites, tmp_path, monkeypatch):
    state, plain, seen = tmp_path / "state", verification.check_sites, []

    def check(site_ids, *more):
        if len(seen) == 2:
            raise KeyboardInterrupt
        seen.append(list(site_ids))
        return plain(site_ids, *more)

    monkeypatch.setattr(verification, "check_sites", check)
    with pytest.raises(SystemExit) as stopped:
        run(resume=state)
    assert stopped.value.code == 130
    assert json.loads(state.read_text())["checked"]["sites"] == 4
    seen.clear()
    out, err = run(resume=state)
    assert [pk for part in seen for pk in part] == [site.pk for site in sites[4:]]
    assert "Goes on after 4 sites, 17 entries" in err
    assert out.startswith(f"Whole: {SITES} sites, {ALL_ENTRIES} entries")
    assert not state.exists(), "the next run starts anew"


def test_a_run_that_found_a_break_looks_at_it_again(sites, tmp_path):
    state = tmp_path / "state"
    damage(sites[4])
    for _ in range(2):
        with pytest.raises(CommandError) as error:
            run(resume=state)
        assert told(error)[0] == 1
        assert str(sites[4].pk) in told(error)[1]


def test_the_file_of_another_run_is_refused(sites, tmp_path):
    state = tmp_path / "state"
    damage(sites[6])
    assert verify(resume=state).first_break
    with pytest.raises(BadState, match="other options"):
        verify(Scope(since=NOW), resume=state)
    state.write_text('{"format": 2, "sc')
    with pytest.raises(CommandError) as error:
        run(resume=state)
    assert told(error) == (2, f"{state} is not whole. Delete it to start anew.")


def test_a_part_is_not_told_as_all(sites):
    out, err = run("--sample", "50%", "--records-only", "--since", "2026-11-01")
    assert re.fullmatch(
        r"Whole: 4 sites and 16 entries checked \(a sample of 50% of the sites; only what came "
        r"since 2026-11-01; photos and papers left out\)\.\n"
        r"Whoever holds the database can rewrite all of it .*\n",
        out,
    )
    seed = re.search(r"--seed (\d+)", err).group(1)
    assert f"--seed {seed}" in run("--sample", "50%", "--seed", seed)[1]


@pytest.mark.parametrize(
    "args",
    [("--sample", "0"), ("--sample", "101%"), ("--sample", "few"), ("--since", "31.3.2027"),
     ("--jobs", "0"), ("5f0e3c0e-0000-4000-8000-000000000000",)],
)  # fmt: skip
def test_what_makes_no_sense_is_refused(sites, args):
    with pytest.raises(CommandError):
        run(*args)


def test_a_store_that_does_not_answer_is_no_break(sites, monkeypatch):
    photo = make_photo(sites[0])
    storages["photos"].save(photo.original.storage_name, ContentFile(b"x"))
    record_rows_by_hand()

    def refuse(*args):
        raise ConnectionError("refused")

    monkeypatch.setattr(storages["photos"], "open", refuse)
    with pytest.raises(CommandError) as error:
        run()
    assert told(error)[0] == 3
    assert "can't be read now (refused)" in told(error)[1]


def test_a_page_of_sites_takes_the_same_queries_as_one(sites, django_assert_num_queries):
    with django_assert_num_queries(QUERIES):
        check_sites([sites[0].pk])
    with django_assert_num_queries(QUERIES):
        check_sites([site.pk for site in sites])
