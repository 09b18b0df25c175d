"""The sample that was worked by hand, word for word.

Joint 0 (-86) serves while the ground is at most -161: to 0.45 m, and the last perpend of the course
above it is at 0.24 m. Joint 1 (0) serves while finished ground is at most -75: to 4.00 m, where the
paving begins, and the last perpend of the course above it is at 3.96 m. Joint 2 (86) to the end: 76
mm clear at 6 m. That is within 3 mm of the rule over the last 0.1 m only, less than a brick.

Two courses under each, and never above finished ground: joint -1 (-172) has to hold until the
paving begins at 4.00 m, and the next perpend of the course above it is at 4.20 m.
"""

from tests.rules.band.sites import SAMPLE, SAMPLE_ANSWER, answers


def test_the_sample_comes_out_exactly():
    assert answers(SAMPLE) == SAMPLE_ANSWER
