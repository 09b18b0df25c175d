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
from readiness.actions.firm import business, rule_values
from readiness.actions.people import inviting, removing
from readiness.actions.photos import keeping
from readiness.actions.reporting import attaching
from readiness.actions.sites import sites
from readiness.actions.visits import confirming
from readiness.handover.export import export_site
from readiness.handover.restore import import_site
from readiness.models import RecordEntry, Site
from readiness.models.freeze import without_triggers
from readiness.models.verbs import Verb
from tests.actions.cases import CASES, NOW, Cast
from tests.factories import make_applicator

pytestmark = pytest.mark.django_db

NEVER_WRITTEN = {"message_sent"}
"""Verbs of no action: when an e-mail went stands in its own row."""

ELSEWHERE = {"imported"}
"""Verbs that a test of their own below looks at."""

NO_ACTIONS = (attaching.attach_photos, attaching.attach_to_check, confirming.signer_problems)
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
def test_an_action_leaves_its_entries(cast, key, django_capture_on_commit_callbacks):
    _action, verbs = key
    case = CASES[key](cast)
    before = set(RecordEntry.objects.values_list("pk", flat=True))
    with django_capture_on_commit_callbacks(execute=True):
        made = case.do()
    entries = RecordEntry.objects.exclude(pk__in=before).order_by("pk")
    written = [(entry.verb, entry.data) for entry in entries]
    assert written == list(zip(verbs, case.entries(made), strict=True))
    assert {entry.actor for entry in entries} <= {case.actor}


@pytest.mark.parametrize("key", CASES, ids=named)
def test_an_action_hands_its_work_on(cast, queue, key, django_capture_on_commit_callbacks):
    """Once what it did is committed, and not before: a worker would not find it yet."""
    case = CASES[key](cast)
    with django_capture_on_commit_callbacks(execute=True):
        case.do()
        assert not queue
    assert sorted(result.task.name for result in queue) == sorted(case.handed_on)
    assert all(isinstance(argument, str) for result in queue for argument in result.args)


@pytest.mark.parametrize("key", CASES, ids=named)
def test_what_an_action_returns_is_what_is_stored(cast, key):
    made = CASES[key](cast).do()
    if isinstance(made, inviting.Invited):
        made = made.invitation
    for row in made if isinstance(made, list) else [made]:
        if isinstance(row, Model):
            assert plain(row) == plain(type(row).objects.get(pk=row.pk))


def plain(row: Model) -> dict:
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


DONE_BY_SOMEBODY = [key for key in CASES if "actor" in inspect.signature(key[0]).parameters]

OWNERS_ONLY = (
    business.change_business, rule_values.change_rule_values, keeping.remove_photo,
    inviting.invite_staff, inviting.switch_staff, inviting.change_ownership,
    removing.remove_person,
)  # fmt: skip


def refuses(case, cast, somebody) -> bool:
    """Whether it is not for this person, who does it instead of whom the case has."""
    before = RecordEntry.objects.count()
    cast.applicator = cast.contact = somebody
    with pytest.raises(PermissionDenied):
        case.do()
    return RecordEntry.objects.count() == before


@pytest.mark.parametrize("key", DONE_BY_SOMEBODY, ids=named)
def test_an_action_is_not_for_another_builder(cast, key, other_contact):
    assert refuses(CASES[key](cast), cast, other_contact)


@pytest.mark.parametrize("key", DONE_BY_SOMEBODY, ids=named)
def test_an_action_of_the_office_is_not_for_the_builder(cast, key):
    case = CASES[key](cast)
    if case.actor == cast.applicator:
        assert refuses(case, cast, cast.contact)


@pytest.mark.parametrize("key", DONE_BY_SOMEBODY, ids=named)
def test_an_action_of_the_office_is_not_for_who_left_it(cast, key):
    case = CASES[key](cast)
    if case.actor == cast.applicator:
        assert refuses(case, cast, make_applicator(is_owner=True, is_active=False))


@pytest.mark.parametrize("key", [key for key in CASES if key[0] in OWNERS_ONLY], ids=named)
def test_an_action_of_the_owners_is_not_for_the_rest_of_the_office(cast, key):
    assert refuses(CASES[key](cast), cast, make_applicator())


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
    done = export_site(site, tmp_path / "site.zip")
    with without_triggers():
        RecordEntry.objects.all().delete()
        site.wall_runs.all().delete()
        Site.objects.all().delete()
    entry = import_site(tmp_path / "site.zip").record.last()
    assert (entry.verb, entry.actor) == ("imported", None)
    assert entry.data["entries"] == done.entries == 1
    assert entry.sequence == 2
