"""The WSGI application that gunicorn serves: `gunicorn portal.wsgi`."""

import os

from django.core.wsgi import get_wsgi_application

from portal.whole_body import WholeBody

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

application = WholeBody(get_wsgi_application())
