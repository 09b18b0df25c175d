"""Addresses of servers that may carry a password, as an operator gives them to a command.

What stands on a command line everybody on the machine can read while it runs, and the shell keeps
it. So an address with a password comes from the environment or from standard input.
"""

import os
import re
import sys

from readiness.operations import Trouble

STANDARD_INPUT = "-"
# After user and colon comes a password, after host and colon a port.
_PASSWORD = re.compile(r"//[^/@:]*:(?!\d+(?:[/?#]|$))[^@]*@|[?&]\w*password=")
_NUMBER_FIRST = re.compile(r"//[^/@:?#]*:[^@?#]*@")


def read_address(given: str | None, option: str, variable: str) -> str:
    """The address that was given, or that of the environment, or a line of standard input for "-".

    "" where there is none. Raises ``Trouble`` for a password on the command line.
    """
    if given is None:
        return os.environ.get(variable, "")
    if given == STANDARD_INPUT:
        return _line_of_input(option)
    if _PASSWORD.search(given) or _NUMBER_FIRST.search(given):
        raise Trouble(
            f"Others on this machine can read a password in {option}. Put the address into "
            f"{variable}, or give {option} {STANDARD_INPUT} and the address on standard input."
        )
    return given


def _line_of_input(option: str) -> str:
    line = sys.stdin.readline().strip()
    if not line:
        raise Trouble(f"{option} {STANDARD_INPUT} reads an address from standard input: none came.")
    return line
