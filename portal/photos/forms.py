"""Photos inside other forms.

In a view::

    photos, errors = handle_uploads(request, site)
    if form.is_valid() and not errors and (photos or not needed):
        some_action(request.user, ..., photos=photos)
        return redirect(...)
    context = {"form": form, "site": site, "photos": photos, "photo_errors": errors}

In its template, inside a ``<form method="post" enctype="multipart/form-data">``::

    {% include "portal/photos/_uploader.html" with photos=photos errors=photo_errors %}

(it also needs ``site``; ``name``, ``label``, ``help`` and ``required`` are optional).

With JavaScript each chosen photo is sent at once (``photo-upload.js``) and the form carries only
ids; without it the files come with the form. Either way a photo that was taken in stays: it is
shown again, with its id, when the form has to come back with an error.
"""

from dataclasses import dataclass, field

from django import forms

from portal.requests.ids import as_uuid
from readiness.actions.photos.keeping import add_photo
from readiness.models import Photo, Site
from readiness.photos.limits import LIMITS
from readiness.photos.refused import PhotoRefused, explain


@dataclass
class Uploads:
    """Photos of a form, and sentences about files that were not taken in.

    Unpacks as ``photos, errors``.
    """

    photos: list[Photo] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def __iter__(self):
        return iter((self.photos, self.errors))


def handle_uploads(request, site: Site, name: str = "photos") -> Uploads:
    """Take in the form's new files and gather those that were sent before it.

    ``name`` is the file input's name; ids of photos sent before come as ``<name>_kept``. Only the
    user's own photos of this site that belong to nothing yet count.
    """
    result = Uploads(kept_photos(request, site, name))
    for number, file in enumerate(request.FILES.getlist(name), start=1):
        if number > LIMITS.files_at_once:
            result.errors.append(explain("too_many_files", file.name, {}))
            continue
        try:
            result.photos.append(add_photo(request.user, site, file, filename=file.name))
        except PhotoRefused as refused:
            result.errors.append(refused.message)
    return result


def kept_photos(request, site: Site, name: str = "photos") -> list[Photo]:
    """The photos that the form's hidden fields name, in their order."""
    ids = [parsed for text in request.POST.getlist(f"{name}_kept") if (parsed := as_uuid(text))]
    found = (
        Photo.objects.visible_to(request.user)
        .unattached()
        .with_originals()
        .filter(site=site, uploaded_by=request.user)
        .in_bulk(ids)
    )
    return [found[photo_id] for photo_id in dict.fromkeys(ids) if photo_id in found]


class DeleteForm(forms.Form):
    """Why a photo is deleted for good; the reason stays in the Record."""

    reason = forms.CharField(
        label="Why is it deleted?",
        max_length=200,
        help_text="Stays in the site's record. Leave out names.",
        widget=forms.TextInput(attrs={"class": "form-control"}),
    )
    replace_papers = forms.BooleanField(
        label="Make these papers again without the photo, and show the builder only those",
        required=False,
        initial=True,
        widget=forms.CheckboxInput(attrs={"class": "form-check-input"}),
    )
