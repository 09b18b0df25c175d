"""An include that is kept depends on what it is given and on nothing else."""

import pytest
from django.template import Context, Template, TemplateSyntaxError
from django.utils import translation
from django.utils.safestring import mark_safe

STATE = "{% made_once 'portal/_state.html' state=state label=label %}"
INCLUDE = "{% include 'portal/_state_made.html' with state=state label=label only %}"
STATES = ["to_fix", "said_fixed", "accepted", "sent_back", "ready", "asked", "record", "", "other"]


def rendered(written, **given):
    return Template(written).render(Context(given))


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("label", ["", "Said & done", "Nothing to fix"])
def test_it_is_what_an_include_gives(state, label):
    for _ in range(2):
        given = {"state": state, "label": label}
        assert rendered(STATE, **given) == rendered(INCLUDE, **given).strip()


def test_each_thing_that_is_given_makes_a_difference():
    made = [
        rendered(STATE, state=state, label=label)
        for state, label in [("to_fix", ""), ("ready", ""), ("to_fix", "Old"), ("to_fix", "New")]
    ]
    assert len(set(made)) == 4


def test_texts_that_look_alike_are_told_apart():
    plain, safe = "<b>", mark_safe("<b>")
    assert "&lt;b&gt;" in rendered(STATE, state="ready", label=plain)
    assert "<b>" in rendered(STATE, state="ready", label=safe)
    assert "&lt;b&gt;" in rendered(STATE, state="ready", label=plain)
    assert ">1<" in rendered(STATE, state="ready", label=1)
    assert ">True<" in rendered(STATE, state="ready", label=True)


def test_it_sees_nothing_of_the_page_around_it():
    given = {"state": "ready", "label": "", "user": "Somebody"}
    assert rendered(STATE, **given) == rendered(STATE, state="ready", label="")


def test_it_is_kept_by_language():
    with translation.override("de"):
        assert rendered(STATE, state="ready", label="") == rendered(INCLUDE, state="ready").strip()


def test_things_that_change_can_not_be_given():
    with pytest.raises(TemplateSyntaxError, match="label"):
        rendered(STATE, state="ready", label=["a list"])


def test_a_dense_part_has_no_line_breaks_and_keeps_attributes_apart():
    written = """{% dense %}
    <p class="a"
       id="b">
      {% if yes %}
        <b>one two</b>
      {% endif %}
      {{ words }}
    </p>
    {% enddense %}"""
    made = rendered(written.replace("\n    ", "\n"), yes=True, words="three\n four")
    assert made == '<p class="a" id="b"><b>one two</b>three\n four</p>'
