"""Sending photos in, and getting them out by permission."""

import uuid

from django.contrib import messages
from django.http import Http404, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from portal.photos.serving import photo_url, serve_original, serve_size
from portal.requests import trouble
from portal.requests.access import applicator_required
from readiness.actions.errors import Refused
from readiness.actions.papers.replacing import outdated_papers, replace_papers
from readiness.actions.photos.keeping import add_photo, discard_photo
from readiness.models import Business, Photo, Site, SpooledOriginal
from readiness.photos import sizes
from readiness.photos.refused import PhotoRefused
from readiness.rules.words import counted
from readiness.wording import photos as say
from readiness.wording.referrals import outcome_words

BLURRED_SINCE = "A part of a photo is blurred now."
SIZES = {"large": ("large", False), "small": ("small", False), "clean": ("large", True)}
SHOWN_WITH = (
    "site",
    "uploaded_by",
    "item__report",
    "item__wall_run",
    "fix__item__wall_run",
    "run_check__wall_run",
    "referral",
    "referral_decision",
)
FOR_A_SIZE = ("original__deleted_at", "removed_at", "markup__version", "markup__shapes")


def visible_photo(user, photo_id) -> Photo:
    """The photo, or 404 for whoever may not see it."""
    photos = Photo.objects.visible_to(user).kept().with_originals().select_related(*SHOWN_WITH)
    return get_object_or_404(photos, pk=photo_id)


def visible_picture(user, photo_id) -> Photo:
    """The same photo with as much as its sizes take: a page asks for dozens of them."""
    photos = Photo.objects.visible_to(user).kept().with_originals().only(*FOR_A_SIZE)
    return get_object_or_404(photos, pk=photo_id)


@require_POST
def upload(request, site_id):
    """Take one photo in: ``photo`` is the file, ``id`` the UUID that the client chose for it.

    Sending the same id again answers as the first time, so a lost answer can simply be sent
    again. Answers 400 with ``error``, a sentence, when the file is refused; 503 or 507 when the
    file is all right and it should be sent again later.
    """
    site = get_object_or_404(Site.objects.visible_to(request.user), pk=site_id)
    file = request.FILES.get("photo")
    try:
        photo_id = uuid.UUID(request.POST.get("id", "")) if request.POST.get("id") else None
    except ValueError:
        return JsonResponse({"error": _("The photo's id is not a UUID.")}, status=400)
    if file is None:
        return JsonResponse({"error": _("No photo arrived. Send it again.")}, status=400)
    try:
        photo = add_photo(request.user, site, file, photo_id=photo_id, filename=file.name)
    except PhotoRefused as refused:
        return trouble.refused(refused)
    return JsonResponse(
        {
            "id": str(photo.pk),
            "filename": photo.filename,
            "small": photo_url(photo, "small"),
            "width": photo.width_px,
            "height": photo.height_px,
            "digest": photo.short_digest,
            "notes": notes_on(photo),
        }
    )


def notes_on(photo: Photo) -> list[str]:
    """What to know about a photo that was taken in, as sentences without their full stop."""
    notes = [note.removesuffix(".") for note in photo.original.metadata.get("notes", [])]
    if SpooledOriginal.objects.filter(original=photo.original_id).exists():
        text = _("The photo store does not answer: kept on the portal's machine until it does")
        notes.append(text)
    return notes


@require_POST
def discard(request, photo_id):
    """Take an upload back that belongs to nothing yet."""
    photo = visible_photo(request.user, photo_id)
    try:
        discard_photo(request.user, photo)
    except Refused as refused:
        return JsonResponse({"error": str(refused)}, status=409)
    return JsonResponse({"id": str(photo.pk)})


@require_safe
def size(request, photo_id, size):
    """A size of the photo; ``clean`` (without blur) is for the applicator's markup screen only."""
    if size not in SIZES:
        raise Http404
    name, clean = SIZES[size]
    if clean and not request.user.is_applicator:
        raise Http404
    return serve_size(request, visible_picture(request.user, photo_id), name, clean=clean)


@require_safe
@applicator_required
def original(request, photo_id):
    """The unchanged file with everything the camera wrote into it: the applicator only."""
    photo = visible_photo(request.user, photo_id)
    try:
        return serve_original(request, photo)
    except FileNotFoundError:
        return render(request, "portal/photos/lost.html", {"photo": photo}, status=404)


@require_safe
def detail(request, photo_id):
    """One photo, with what the camera said and what the server received, kept apart."""
    photo = visible_photo(request.user, photo_id)
    is_ours = request.user.is_applicator
    markup = sizes.markup_of(photo)
    context = {
        "photo": photo,
        "facts": photo.original.metadata,
        "is_lost": sizes.is_lost(photo),
        "waiting": SpooledOriginal.objects.filter(original=photo.original_id).first(),
        "flags": photo.flags.select_related("other_photo") if is_ours else [],
        "measurements": photo.measurements.all(),
        "marks_in_words": say.marks(markup.shapes) if markup else "",
        "older_papers": outdated_papers(photo) if is_ours and markup and markup.has_blur else [],
        "shows_position": is_ours or Business.current().share_positions,
        "shown_for": shown_for(photo),
        "site_page": reverse("office:site" if is_ours else "builder:site", args=[photo.site_id]),
    }
    return render(request, "portal/photos/detail.html", context)


@require_POST
@applicator_required
def replace(request, photo_id):
    """Papers made before the photo was blurred are made again; the builder sees only those then."""
    photo = visible_photo(request.user, photo_id)
    made = replace_papers(request.user, photo, reason=BLURRED_SINCE)
    if made:
        papers = counted(len(made), "paper")
        text = _("The builder now sees only the newest edition of %(papers)s.")
        messages.success(request, text % {"papers": papers})
    return redirect("papers:site", photo.site_id)


def _of(item) -> dict:
    return {"number": item.number, "kind": item.kind_entry.name}


def shown_for(photo: Photo) -> str:
    """What the photo is kept for, in words."""
    if photo.item:
        return _("Item %(number)s: %(kind)s, as found") % _of(photo.item)
    if photo.fix:
        return _("Item %(number)s: %(kind)s, reported fixed") % _of(photo.fix.item)
    if photo.run_check:
        return _("%(wall)s, checked") % {"wall": photo.run_check.wall_run}
    if photo.referral or photo.referral_decision:
        return _of_referral(photo)
    return _("The site") if photo.on_site else _("Not used yet")


def _of_referral(photo: Photo) -> str:
    if photo.referral_decision:
        return _("A technician's decision: %(outcome)s") % {
            "outcome": outcome_words(photo.referral_decision.outcome)
        }
    if photo.referral.is_termites:
        return _("Live termites or mud tubes, as found")
    return _("A wall that nobody can reach")
