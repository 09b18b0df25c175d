"""What an action refuses, in a log."""

from readiness.actions.errors import Problem, Refused


def test_a_refusal_reads_as_its_sentences():
    refused = Refused([Problem("Wall 2 was not checked."), Problem("Item 3 has no photo.")])
    assert str(refused) == "Wall 2 was not checked. Item 3 has no photo."
    assert str(Refused("Say why you disagree.")) == "Say why you disagree."
