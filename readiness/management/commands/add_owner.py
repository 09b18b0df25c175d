"""Add the first owner of the applicator's business, or another one."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import validate_email

from readiness.actions.errors import Refused
from readiness.actions.people.profile import add_owner
from readiness.operations.allauth_inside import password_path


class Command(BaseCommand):
    help = "Add an owner of the applicator's business and print a link to choose a password with."

    def add_arguments(self, parser):
        parser.add_argument("email")
        parser.add_argument("--name", default="", help="full name, as it is to stand on papers")

    def handle(self, *args, email, name, **options):
        email = email.strip().lower()
        try:
            validate_email(email)
        except ValidationError as error:
            raise CommandError(f"{email} is not an e-mail address.") from error
        try:
            user = add_owner(email, name)
        except Refused as refused:
            raise CommandError(str(refused)) from refused
        path = password_path(user)
        days = settings.PASSWORD_RESET_TIMEOUT // 86400
        self.stdout.write(f"{user} is an owner. To choose a password, open this link once,")
        self.stdout.write(f"within {days} days:")
        self.stdout.write(f"  {settings.SITE_URL}{path}")
