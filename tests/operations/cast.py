"""Run in the portal's shell: two people who are signed in, and houses to walk round.

The number of houses is read from the environment variable HOUSES.
"""

import json
import os
from importlib import import_module

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY

from tests.factories import make_applicator, make_builder, make_contact, make_runs, make_site
from tests.proving import prove
from tests.recorded import record_rows_by_hand

SessionStore = import_module(settings.SESSION_ENGINE).SessionStore


def signed_in(user) -> str:
    session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[-1]
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    prove(session, user)
    session.save()
    return session.session_key


builder = make_builder("Wattle Homes")
office = make_applicator(email="owner@applicator.example", is_owner=True)
contact = make_contact(builder, email="supervisor@wattle.example")
houses = []
for _ in range(int(os.environ["HOUSES"])):
    site = make_site(builder)
    runs = make_runs(site, "North wall", "South wall")
    houses.append({"site": str(site.pk), "runs": [str(run.pk) for run in runs]})
record_rows_by_hand()
print(
    "READY"
    + json.dumps({"office": signed_in(office), "builder": signed_in(contact), "houses": houses})
)
