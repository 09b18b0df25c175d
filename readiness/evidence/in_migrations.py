"""The Record inside migrations: on the models as they were then, without the rules above them."""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime

from readiness.evidence.forms import Form, Shape, commit, forms_of
from readiness.evidence.kept import OF_BUSINESS, OF_SITES, Kept
from readiness.models.record import GENESIS, digest_of
from readiness.models.verbs import Verb
from readiness.version import VERSION

SITES_AT_ONCE = 50


class RecordOfThatTime:
    """Appends to the Record through a migration's own models."""

    def __init__(self, apps, using: str = "default"):
        self._apps, self._using = apps, using
        self._entries = self.real_name("RecordEntry")._base_manager.using(using)

    def real(self, model):
        """The model as it is at the migration."""
        return self.real_name(model.__name__)

    def real_name(self, name: str):
        return self._apps.get_model("readiness", name)

    def shape(self, kept: Kept) -> Shape:
        return Shape(kept, self.real)

    def shapes(self, tables: Iterable[Kept]) -> Iterator[Shape]:
        """Those of the tables that are there at the migration; others came later."""
        there = {model.__name__ for model in self._apps.get_app_config("readiness").get_models()}
        return (self.shape(kept) for kept in tables if kept.model.__name__ in there)

    def has_digests(self) -> bool:
        """Whether the Record keeps digests of rows already: not in migrations before that."""
        return any(field.name == "rows" for field in self._entries.model._meta.concrete_fields)

    def forms_of(self, rows: Iterable) -> list[Form]:
        """The forms of rows of that time's models, as they are stored now."""
        if not self.has_digests():
            return []
        return forms_of(rows, real=self.real, using=self._using)

    def append(self, site_id, verb: str, data: dict, forms: Iterable[Form] = ()) -> None:
        """One more entry, of nobody, with the digests of the forms."""
        forms = list(forms)
        last = self._entries.filter(site_id=site_id).order_by("-sequence").first()
        entry = self._entries.model(
            site_id=site_id,
            sequence=last.sequence + 1 if last else 1,
            at=max(datetime.now(UTC), last.at) if last else datetime.now(UTC),
            verb=verb,
            data=data,
            previous_digest=last.digest if last else GENESIS,
        )
        if forms:
            entry.rows = {form.row: form.digest for form in forms}
        entry.digest = digest_of(entry)
        entry.save(force_insert=True, using=self._using)
        if forms:
            commit(forms, entry, real=self.real, using=self._using)

    def begin(self) -> None:
        """Hold all rows that are there by their digests, in one entry of each Record.

        What was changed past the portal before cannot be told any more; what is from now on, can.
        """
        sites = self.real_name("Site")._base_manager.using(self._using)
        keys = list(sites.order_by("created_at", "pk").values_list("pk", flat=True))
        for at in range(0, len(keys), SITES_AT_ONCE):
            self.begin_sites(keys[at : at + SITES_AT_ONCE])
        forms: list[Form] = []
        for shape in self.shapes(OF_BUSINESS):
            rows = shape.model._base_manager.using(self._using).filter(shape.kept.when)
            forms += [form for _site, form in shape.read(rows, {})]
        if forms:
            self.append(None, Verb.DIGESTS_BEGUN, {"version": VERSION}, forms)

    def begin_sites(self, keys: list) -> None:
        """Hold the rows of these sites."""
        by_site: dict = {key: [] for key in keys}
        for shape in self.shapes(OF_SITES):
            for site, form in shape.read(shape.of_sites(keys, self._using), {}):
                by_site[site].append(form)
        for site, forms in by_site.items():
            self.append(site, Verb.DIGESTS_BEGUN, {"version": VERSION}, forms)
