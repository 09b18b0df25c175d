"""Opens every page about everything that is in the database, as one person."""

from portal.accounts.demo import sign_in_path
from readiness import models
from readiness.models import Paper, User
from tests.portal.test_access_walk import FOR_EVERYBODY, ROOMS_OF_A_SITE, World, every_route, space

FOR_STAFF = ("applicator", "papers", "photos", "accounts", "")
FOR_BUILDERS = ("builder", "papers", "photos", "trade")

SAYS_WHAT_IS_MISSING = "ready"
"""No worker runs beside this test, and it says so."""

NOT_THERE = {
    "account_signup",
    "accounts:invitation",
    "mfa_download_recovery_codes",
    "mfa_edit_webauthn",
    "mfa_remove_webauthn",
    "mfa_view_recovery_codes",
}
"""Pages about what the data has none of: passkeys and codes, and links that are stored nowhere.

Nobody signs up by themselves.
"""


class Found(World):
    """What is in the database, by the word that addresses use."""

    def __init__(self, person):
        everything = {
            "sites": models.Site,
            "reports": models.SiteReport,
            "items": models.DefectItem,
            "fixes": models.Fix,
            "confirmations": models.ReadinessConfirmation,
            "bookings": models.Booking,
            "emails": models.Message,
            "links": models.TradeLink,
            "builders": models.Builder,
            "contacts": models.BuilderContact,
            "invitations": models.Invitation,
            "runs": models.WallRun,
            "papers": models.Paper,
            "photos": models.Photo,
            "befores": models.Photo,
            "upload": models.Site,
            **dict.fromkeys(ROOMS_OF_A_SITE, models.Site),
        }
        self.things = {word: list(model.objects.all()) for word, model in everything.items()}
        self.things["photos"] = self.things["photos"][:6]
        self.things["befores"] = self.things["befores"][:2]
        self.things["runs"] = self.things["runs"][::5]
        self.things["staff"] = list(User.objects.filter(role="applicator"))
        self.things["keys"] = list(person.authenticator_set.all())
        self.words = {
            "trade": sorted({item.trade for item in self.things["items"]}),
            "size": ["small", "large"],
            "kind": [Paper.Kind.SITE_REPORT, Paper.Kind.GUIDE],
            "uidb36": ["x"],
            "key": ["nothing"],
        }
        self.tokens = {
            "invitation": "x",
            "demo": sign_in_path(person).split("/")[-2],
            "trade": self.things["links"][0].token,
        }


def opened(client, person, spaces):
    """The codes that each page of some spaces answered with, for everything there is."""
    found = Found(person)
    codes = {}
    for route, name in every_route():
        if space(name) in spaces or name in FOR_EVERYBODY:
            for path in found.addresses(route):
                codes.setdefault(name, {}).setdefault(client.get(path).status_code, path)
    return codes


def never_opened(codes):
    """Pages that answered for nothing at all."""
    shut = {name for name, seen in codes.items() if not seen.keys() & {200, 302}}
    return shut - {SAYS_WHAT_IS_MISSING}


def broken(codes):
    return {
        path
        for name, seen in codes.items()
        for code, path in seen.items()
        if code >= 500 and name != SAYS_WHAT_IS_MISSING
    }
