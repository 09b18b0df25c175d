"""Building companies: adding one and changing its details."""

from django.db import IntegrityError, transaction

from readiness.actions.errors import Refused
from readiness.actions.permission import require_applicator
from readiness.evidence.record import append
from readiness.models import Builder, User
from readiness.models.search import renamed
from readiness.models.verbs import Verb
from readiness.wording.refusals import people as refusals

BUILDER_FIELDS = ("name", "phone", "notes")


def add_builder(actor: User, *, name: str, phone: str = "", notes: str = "") -> Builder:
    """Add a building company. Refused when there is one of that name."""
    require_applicator(actor)
    builder = Builder(name=name.strip(), phone=phone.strip(), notes=notes)
    return _save(actor, builder, Verb.BUILDER_ADDED)


def change_builder(actor: User, builder: Builder, **fields) -> Builder:
    """Change a building company's details; its sites and people stay."""
    require_applicator(actor)
    unknown = set(fields) - set(BUILDER_FIELDS)
    if unknown:
        raise TypeError(f"Not a detail of a builder: {', '.join(sorted(unknown))}")
    builder = Builder.objects.get(pk=builder.pk)
    for name, value in fields.items():
        setattr(builder, name, value.strip())
    return _save(actor, builder, Verb.BUILDER_CHANGED)


def _save(actor: User, builder: Builder, verb: Verb) -> Builder:
    if not builder.name:
        raise Refused(refusals.builder_without_name())
    try:
        with transaction.atomic():
            builder.save()
            builder.sites.update(search_text=renamed(builder.name))
            append(None, actor, verb, {"builder": str(builder.pk)}, rows=[builder])
    except IntegrityError:
        raise Refused(refusals.builder_known(builder.name)) from None
    return builder
