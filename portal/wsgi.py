"""The WSGI application that gunicorn serves: `gunicorn portal.wsgi`."""

import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

from portal.requests.whole_body import WholeBody

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

application = WholeBody(get_wsgi_application())

# What is loaded now stays for good: the views too, so that the first visitor does not wait for
# them. Taken out of the garbage collector's rounds, it costs requests nothing more.
_ = get_resolver().url_patterns
gc.collect()
gc.freeze()
