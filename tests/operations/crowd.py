"""Work for a worker: reports with their papers, e-mails about them, and invitations.

Run with the environment of the installation that is to have it.
"""

import os

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")
django.setup()

from readiness.actions.people import inviting  # noqa: E402
from tests.factories import (  # noqa: E402
    make_applicator,
    make_builder,
    make_contact,
    make_issued,
    make_runs,
    make_site,
)

REPORTS, INVITATIONS = 2, 20


def main() -> None:
    owner, builder = make_applicator(is_owner=True), make_builder("Wattle Homes")
    contact = make_contact(builder)
    for number in range(INVITATIONS):
        inviting.invite_contact(owner, builder, f"new{number}@wattle.example")
    for _ in range(REPORTS):
        site = make_site(builder)
        make_runs(site)
        make_issued(owner, site, notify=[contact.memberships.get()])


if __name__ == "__main__":
    main()
