"""Marking up a photo and measuring on it. Both screens keep their work if the connection drops."""

import uuid

from django.http import JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from portal.photos.views import visible_photo
from portal.requests.access import applicator_required
from portal.requests.json_body import UnreadableBody, json_object
from readiness.actions.errors import Refused
from readiness.actions.photos.keeping import StaleMarkup, save_markup, save_measurement
from readiness.facts import report_values, rule_values
from readiness.models import Markup, Photo
from readiness.photos import measurements, measuring, sizes
from readiness.photos.markup import MarkupError
from readiness.rules.defects.catalogue import AT_LEAST, INFORMATION

BODY_LIMIT_BYTES = 200_000


def marks_of(photo: Photo) -> dict:
    """Shapes and version of a photo's markup, as the screen takes them."""
    markup = sizes.markup_of(photo) or Markup(photo=photo, version=0)
    return {"shapes": markup.shapes, "version": markup.version}


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
def markup(request, photo_id):
    """The markup screen; a POST of ``{shapes, version}`` saves and answers with the new version.

    409 answers with what somebody else saved meanwhile.
    """
    photo = visible_photo(request.user, photo_id)
    if request.method != "POST":
        return render(
            request, "portal/photos/markup.html", {"photo": photo, "marks": marks_of(photo)}
        )
    try:
        data = json_object(request, BODY_LIMIT_BYTES)
        seen = data.get("version")
        kept = save_markup(
            request.user,
            photo,
            data.get("shapes"),
            seen_version=seen if isinstance(seen, int) else -1,
        )
    except (MarkupError, UnreadableBody) as error:
        return JsonResponse({"error": str(error)}, status=400)
    except StaleMarkup as stale:
        theirs = {"shapes": stale.markup.shapes, "version": stale.markup.version}
        return JsonResponse({"error": str(stale), **theirs}, status=409)
    return JsonResponse({"shapes": kept.shapes, "version": kept.version})


@require_http_methods(["GET", "HEAD", "POST"])
@applicator_required
def measure(request, photo_id):
    """The measuring screen; a POST works marks out, and with ``save`` keeps them.

    Answers ``{value_mm, uncertainty_mm, sentence, decides}``, or 400 with ``error``.
    """
    photo = visible_photo(request.user, photo_id)
    if request.method != "POST":
        return render(request, "portal/photos/measure.html", measure_context(photo))
    try:
        data = json_object(request, BODY_LIMIT_BYTES)
        result = measurements.work_out(photo, data, rule_values())
        answer = in_words(photo, result)
        if data.get("save"):
            kept = save_measurement(
                request.user,
                photo,
                data,
                measurement_id=_id(data.get("id")),
                fill_item=bool(data.get("fill_item")),
            )
            answer["saved"] = str(kept.pk)
    except (measuring.CannotMeasure, UnreadableBody) as error:
        return JsonResponse({"error": str(error)}, status=400)
    except Refused as refused:
        return JsonResponse({"error": str(refused)}, status=400)
    return JsonResponse(answer)


def _id(text) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except (TypeError, ValueError, AttributeError):
        return None


def rule_of(photo: Photo):
    """The measurement of the photo's item, the value its rule needs (or None), both or None."""
    item = photo.item
    spec = item.kind_entry.measurement if item else None
    if spec is None or spec.unit != "mm":
        return None, None
    needed = report_values(item.report)[spec.rule_key] if spec.rule_key else None
    return spec, needed


def in_words(photo: Photo, result: measurements.Result) -> dict:
    """The answer for the screen: numbers and one sentence, held against the item's rule."""
    measured = result.measured
    answer = {
        "value_mm": measured.value_mm,
        "uncertainty_mm": measured.uncertainty_mm,
        "reference": result.reference.description,
        "sentence": f"{measured}.",
        "decides": True,
    }
    spec, needed = rule_of(photo)
    if needed is not None and spec.comparison != INFORMATION:
        verdict = measuring.verdict(measured, int(needed), at_least=spec.comparison == AT_LEAST)
        answer |= {"sentence": verdict.sentence, "decides": verdict.decides}
    return answer


def measure_context(photo: Photo) -> dict:
    run = measurements.wall_run_of(photo)
    spec, needed = rule_of(photo)
    can_fill = bool(spec and photo.item.report.is_draft)
    return {
        "photo": photo,
        "coursing": measurements.coursing_of(run, rule_values()),
        "spec": spec,
        "needed": needed,
        "can_fill": can_fill,
        "kept": photo.measurements.all(),
    }
