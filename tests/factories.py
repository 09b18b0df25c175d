"""Small makers of stored things for tests; every argument has a sensible default."""

from itertools import count

from readiness.models import Builder, BuilderContact, User

_number = count(1)


def make_applicator(email="", name="Alex Applicator", **fields):
    """A technician of the one business."""
    email = email or f"technician{next(_number)}@applicator.example"
    return User.objects.create_user(email, name=name, role=User.Role.APPLICATOR, **fields)


def make_builder(name=""):
    """A building company."""
    return Builder.objects.create(name=name or f"Builder {next(_number)}")


def make_contact(builder=None, email="", name="Sam Supervisor", sites=None, **fields):
    """A user who signs in for a builder; `sites` limits them to those sites. Returns the user."""
    email = email or f"supervisor{next(_number)}@builder.example"
    user = User.objects.create_user(email, name=name, role=User.Role.BUILDER, **fields)
    contact = BuilderContact.objects.create(
        user=user,
        builder=builder or make_builder(),
        position="Site supervisor",
        all_sites=sites is None,
    )
    contact.sites.set(sites or [])
    return user
