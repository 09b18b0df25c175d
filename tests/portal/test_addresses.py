"""Addresses made quickly are those that Django makes."""

import uuid

import pytest
from django.template import Context, Template
from django.test import override_settings
from django.urls import NoReverseMatch, URLPattern, get_resolver, reverse, set_script_prefix
from django.urls.resolvers import RoutePattern
from hypothesis import given
from hypothesis import strategies as st

from portal.addresses import STAND_INS, address

IDS = {"UUIDConverter"}


def routes_of_ids(resolver=None, namespace="", outer=()):
    """(full name, number of ids) of every view whose address holds nothing but ids."""
    for pattern in (resolver or get_resolver()).url_patterns:
        kinds = (*outer, *(type(kind).__name__ for kind in pattern.pattern.converters.values()))
        if not isinstance(pattern, URLPattern):
            inner = f"{pattern.namespace}:" if pattern.namespace else namespace
            yield from routes_of_ids(pattern, inner, kinds)
        elif pattern.name and isinstance(pattern.pattern, RoutePattern) and set(kinds) <= IDS:
            yield f"{namespace}{pattern.name}", len(kinds)


ROUTES = sorted(set(routes_of_ids()))


def test_there_are_such_addresses():
    assert {count for _, count in ROUTES} == {0, 1, 2}
    assert len(ROUTES) > 60


@given(st.lists(st.uuids(), min_size=2, max_size=2))
def test_every_address_is_what_django_makes(ids):
    for name, count in ROUTES:
        assert address(name, *ids[:count]) == reverse(name, args=ids[:count])


@given(st.uuids(), st.sampled_from(["small", "large", "clean"]))
def test_words_stand_in_an_address_beside_ids(photo, size):
    assert address("photos:size", photo, size) == reverse("photos:size", args=[photo, size])


def test_the_same_id_twice_and_the_ids_that_stand_in_are_no_trouble():
    one = uuid.uuid4()
    for ids in ([one, one], STAND_INS[:2], STAND_INS[1::-1]):
        assert address("photos:compare_with", *ids) == reverse("photos:compare_with", args=ids)


def test_a_name_that_is_not_there_is_refused_as_by_django():
    for name, ids in [("nobody:there", []), ("builder:site", []), ("builder:home", STAND_INS[:1])]:
        with pytest.raises(NoReverseMatch):
            address(name, *ids)


def test_an_address_follows_the_path_that_the_portal_is_served_under():
    site = uuid.uuid4()
    before = address("builder:site", site)
    set_script_prefix("/portal/")
    try:
        assert address("builder:site", site) == f"/portal{before}"
    finally:
        set_script_prefix("/")
    with override_settings(ROOT_URLCONF="portal.builder.urls"), pytest.raises(NoReverseMatch):
        address("builder:site", site)


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("{% url 'builder:site' pk %}", "/builder/sites/{pk}/"),
        ("{% url 'builder:site' pk=pk %}", "/builder/sites/{pk}/"),
        ("{% url 'builder:site' text %}", "/builder/sites/{pk}/"),
        ("{% url 'builder:share' pk 'roofer' %}", "/builder/sharing/sites/{pk}/roofer/"),
        ("{% url name pk %}", "/builder/sites/{pk}/"),
        ("{% url 'builder:site' pk as page %}<{{ page }}>", "</builder/sites/{pk}/>"),
        ("{% url 'nobody:there' as page %}<{{ page }}>", "<>"),
        ("{% url 'builder:site' as page %}<{{ page }}>", "<>"),
    ],
)
def test_the_tag_reads_as_djangos(written, read):
    pk = uuid.uuid4()
    context = Context({"pk": pk, "text": str(pk), "name": "builder:site"})
    assert Template(written).render(context) == read.format(pk=pk)


def test_the_tag_refuses_what_djangos_refuses():
    with pytest.raises(NoReverseMatch):
        Template("{% url 'nobody:there' %}").render(Context({}))
