"""What the applicator's template filters say."""

from types import SimpleNamespace

from portal.templatetags.work_words import E_MAILS, along, metres, place, unbroken
from readiness.messages.letters import WRITERS
from readiness.messages.outbox import INVITATION


def item_at(from_mm=None, to_mm=None):
    return SimpleNamespace(
        wall_run=SimpleNamespace(label="North wall"), from_mm=from_mm, to_mm=to_mm
    )


def test_a_number_and_its_unit_stay_on_one_line():
    assert unbroken("from 2.4 m to 5.1 m (2.7 m), 38 mm, 6.2 L") == (
        "from 2.4\xa0m to 5.1\xa0m (2.7\xa0m), 38\xa0mm, 6.2\xa0L"
    )
    assert unbroken("at 8:51 am on Tue") == "at 8:51\xa0am on Tue"


def test_other_words_after_a_number_may_break():
    assert unbroken("4 metres, 12 March, 2 more") == "4 metres, 12 March, 2 more"


def test_a_place_under_its_walls_name_does_not_repeat_the_wall():
    assert along(item_at(2400, 5100)) == "From 2.4\xa0m to 5.1\xa0m (2.7\xa0m)"
    assert along(item_at(3840)) == "At 3.84\xa0m"
    assert along(item_at()) == ""


def test_a_place_on_its_own_names_the_wall():
    assert place(item_at(2400, 5100)) == "North wall, from 2.4\xa0m to 5.1\xa0m (2.7\xa0m)"
    assert metres(12400) == "12.4\xa0m"


def test_lists_of_e_mails_have_a_name_for_each_kind():
    unnamed = sorted({*WRITERS, INVITATION} - set(E_MAILS))
    assert not unnamed, f"Say in E_MAILS what lists call {', '.join(unnamed)}."
