"""A wall seen twice: before and after, side by side, or one over the other with a slider."""

from django.contrib import messages
from django.http import Http404, JsonResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from portal.photos.marking_views import BODY_LIMIT_BYTES
from portal.photos.views import visible_photo
from portal.requests.json_body import UnreadableBody, json_object
from readiness.actions.errors import Refused
from readiness.actions.photos.keeping import line_up_photos, may_line_up
from readiness.models import Photo


def befores_of(user, photo: Photo) -> list[Photo]:
    """Earlier photos of the same thing that this one can be compared with, the best first."""
    item = photo.fix.item if photo.fix else photo.item
    earlier = Photo.objects.visible_to(user).kept().with_originals().exclude(pk=photo.pk)
    if item is None:
        earlier = earlier.filter(site=photo.site_id, received_at__lt=photo.received_at)
        return list(earlier.order_by("-received_at")[:12])
    items, seen = [item.pk], item
    while seen.carried_from_id and len(items) < 20:
        seen = seen.carried_from
        items.append(seen.pk)
    return list(earlier.filter(item__in=items).order_by("received_at")[:12])


@require_http_methods(["GET", "HEAD", "POST"])
def compare(request, photo_id, before_id=None):
    """Compare a photo with an earlier one; a POST of ``{pairs}`` keeps how they line up."""
    photo = visible_photo(request.user, photo_id)
    befores = befores_of(request.user, photo)
    before = next((one for one in befores if one.pk == before_id), None)
    if before is None and before_id is not None:
        raise Http404
    if before is None:
        before = next((b for b in befores if b.pk == photo.before_id), None) or (
            befores[0] if befores else None
        )
    if before is None:
        messages.info(request, _("There is no earlier photo to compare with this one."))
        return redirect("photos:detail", photo.pk)
    if request.method == "POST":
        return _line_up(request, photo, before)
    pairs = photo.alignment if photo.before_id == before.pk else None
    context = {
        "photo": photo,
        "before": before,
        "befores": befores,
        "pairs": pairs or [],
        "may_line_up": may_line_up(request.user, photo),
    }
    return render(request, "portal/photos/compare.html", context)


def _line_up(request, photo: Photo, before: Photo):
    try:
        pairs = json_object(request, BODY_LIMIT_BYTES).get("pairs")
        line_up_photos(request.user, photo, before, pairs)
    except (Refused, UnreadableBody) as refused:
        return JsonResponse({"error": str(refused)}, status=400)
    return JsonResponse({"pairs": photo.alignment})
