"""A test that calls a program which is not installed is skipped in words, not failed."""

import pytest

from tests.conftest import _skip_without_program


def thrown(program):
    """What becomes of a test in which the program was not found."""
    steps = _skip_without_program(None)
    next(steps)
    return steps.throw(FileNotFoundError(2, "No such file or directory", program))


def test_a_program_that_is_not_installed_skips_the_test_and_names_its_package():
    with pytest.raises(pytest.skip.Exception, match=r"pdftotext is .* package: poppler-utils"):
        thrown("pdftotext")


def test_any_other_file_that_is_missing_fails_the_test():
    with pytest.raises(FileNotFoundError):
        thrown("/no/such/photo.jpg")
