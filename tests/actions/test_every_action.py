"""Each action leaves its entries in the Record, word for word, and hands on its background work."""

import inspect
import pkgutil
from importlib import import_module

import pytest
from django.core.exceptions import PermissionDenied
from django.db.models import Model
from django_tasks import default_task_backend

from readiness import actions, clock
from readiness.actions import permission
from readiness.actions.firm import business, days_off, rule_values
from readiness.actions.people import inviting, profile, removing, rights, second_factor, vouching
from readiness.actions.photos import keeping
from readiness.actions.reporting import attaching
from readiness.actions.sites import sites
from readiness.actions.visits import confirming, proof
from readiness.evidence.checking import check_business, site_break
from readiness.handover.export import export_site
from readiness.handover.restore import import_site
from readiness.models import Checkpoint, Commitment, Leaf, RecordEntry, Said, Site
from readiness.models.freeze import without_triggers
from readiness.models.verbs import Verb
from tests.actions.cases import CASES, NOW, Cast
from tests.actions.cases.base import THEMSELVES
from tests.factories import make_applicator
from tests.recorded import record_rows_by_hand

pytestmark = pytest.mark.django_db

NEVER_WRITTEN = {"message_sent"}
"""Verbs of no action: when an e-mail went stands in its own row."""

ELSEWHERE = {"imported", "digests_begun"}
"""Verbs that a test of their own below looks at."""

NO_ACTIONS = (
    attaching.attach_photos,
    attaching.attach_to_check,
    attaching.attach_to_decision,
    attaching.attach_to_referral,
    confirming.signer_problems,
    proof.proof_problems,
)
"""They take an actor and are part of other actions."""


@pytest.fixture
def queue(settings):
    """The background tasks that were handed on, none of which is done."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.dummy.DummyBackend"}}
    default_task_backend.clear()
    return default_task_backend.results


@pytest.fixture
def cast(applicator, contact, builder, site, queue):
    with clock.at(NOW):
        yield Cast(applicator, contact, builder, site)


def named(key) -> str:
    action, verbs = key
    return "-".join((action.__name__.strip("_"), *verbs))


@pytest.mark.parametrize("key", CASES, ids=named)
def test_an_action(cast, queue, key, django_capture_on_commit_callbacks, subtests):
    """One run for all that must hold of it, as its case takes longer to tell than to look at."""
    case = CASES[key](cast)
    record_rows_by_hand()
    before = set(RecordEntry.objects.values_list("pk", flat=True))
    with django_capture_on_commit_callbacks(execute=True):
        made = case.do()
        with subtests.test("returns what is stored"):
            for row in made if isinstance(made, list) else [made]:
                if isinstance(row, Model):
                    assert plain(row) == plain(type(row).objects.get(pk=row.pk))
        with subtests.test("hands its work on once it is committed: no worker would find it yet"):
            assert not queue
    entries = RecordEntry.objects.exclude(pk__in=before).order_by("pk")
    with subtests.test("hands its work on"):
        assert sorted(result.task.name for result in queue) == sorted(case.handed_on)
        assert all(isinstance(argument, str) for result in queue for argument in result.args)
    with subtests.test("leaves its entries"):
        leaves_its_entries(case, key, made, entries)
    with subtests.test("tells nothing in an entry that somebody typed"):
        for entry in entries:
            typed = {"note", "reason", "label", "name", "email"} - PROGRAM.get(entry.verb, set())
            assert not typed & set(entry.data)
    with subtests.test("keeps each row that it changes"):
        assert check_business().first_break == ""
        assert [site_break(site) for site in Site.objects.all()] == [""] * Site.objects.count()


PROGRAM = {"corrected": {"reason"}}
"""What a program says of itself; no person wrote it."""


def leaves_its_entries(case, key, made, entries):
    _action, verbs = key
    written = [(entry.verb, told(entry)) for entry in entries]
    expected = [without_silence(data) for data in case.entries(made)]
    assert written == list(zip(verbs, expected, strict=True))
    assert {entry.actor for entry in entries} <= {made if case.actor == THEMSELVES else case.actor}


def told(entry) -> dict:
    """What an entry tells, texts included, without their digests."""
    return {name: value for name, value in entry.told.items() if name != "said"}


def without_silence(data: dict) -> dict:
    """An empty note is none."""
    texts = ("note", "reason")
    return {name: value for name, value in data.items() if value or name not in texts}


def plain(row: Model) -> dict:
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


OF_ONES_OWN = (profile.change_profile, vouching.vouch_by_address)
"""Anybody may, with what is their own."""

DONE_BY_SOMEBODY = [
    key
    for key in CASES
    if "actor" in inspect.signature(key[0]).parameters and key[0] not in OF_ONES_OWN
]

OWNERS_ONLY = (
    business.change_business, rule_values.change_rule_values, keeping.remove_photo,
    days_off.keep_day_off, days_off.remove_day_off,
    inviting.invite_staff, rights.switch_staff, rights.change_ownership,
    rights.sign_out_everywhere, rights.set_licence,
    removing.remove_person, second_factor.reset_second_factor,
)  # fmt: skip


def refuses(case, cast, somebody) -> bool:
    """Whether it is not for this person, who does it instead of whom the case has."""
    before = RecordEntry.objects.count()
    cast.applicator = cast.contact = somebody
    with pytest.raises(PermissionDenied):
        case.do()
    return RecordEntry.objects.count() == before


@pytest.mark.parametrize("key", DONE_BY_SOMEBODY, ids=named)
def test_an_action_is_refused(cast, key, other_contact, subtests):
    """To one after the other, as nothing comes of it."""
    case = CASES[key](cast)
    others = {"another builder": other_contact}
    if case.actor == cast.applicator:
        others["the builder"] = cast.contact
        others["who left the office"] = make_applicator(is_owner=True, is_active=False)
    if key[0] in OWNERS_ONLY:
        others["the rest of the office"] = make_applicator()
    for name, somebody in others.items():
        with subtests.test(name):
            assert refuses(case, cast, somebody)


@pytest.mark.parametrize("verb", list(map(str, Verb)))
def test_every_verb_has_a_case(verb):
    written = {verb for _action, verbs in CASES for verb in verbs} | ELSEWHERE
    assert (verb in written) != (verb in NEVER_WRITTEN)


def every_action():
    """The public functions of `readiness.actions` that somebody does."""
    for found in pkgutil.walk_packages(actions.__path__, "readiness.actions."):
        module = import_module(found.name)
        for name, thing in inspect.getmembers(module, inspect.isfunction):
            is_own = thing.__module__ == module.__name__ and not name.startswith("_")
            is_done = [*inspect.signature(thing).parameters][:1] == ["actor"]
            if is_own and is_done and module is not permission and thing not in NO_ACTIONS:
                yield thing


@pytest.mark.parametrize("action", list(every_action()), ids=lambda action: action.__name__)
def test_every_action_has_a_case(action):
    assert action in {action for action, _verbs in CASES}


def test_an_import_says_so_in_the_record(applicator, site, tmp_path):
    sites.note_rain(applicator, site, clock.now())
    record_rows_by_hand()
    done = export_site(site, tmp_path / "site.zip")
    with without_triggers():
        for model in (Leaf, Checkpoint, Said, Commitment):
            model.objects.all()._raw_delete(using="default")
        RecordEntry.objects.all().delete()
        site.wall_runs.all().delete()
        Site.objects.all().delete()
    entry = import_site(tmp_path / "site.zip").record.last()
    assert (entry.verb, entry.actor) == ("imported", None)
    assert entry.data["entries"] == done.entries == 2
    assert entry.sequence == 3
